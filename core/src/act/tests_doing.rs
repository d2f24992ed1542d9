//! A drill done tap by tap, with the app killed between any two of them.

use proptest::prelude::*;
use tempfile::TempDir;

use super::{
    NewDrill, NewStudent, Unsaid, add_student, begin_drill, begin_plan, do_drill, drop_drill, log_drill_ball,
    log_rows, report_pain,
};
use crate::book::{Book, BookError, StudentEntry, testing};
use crate::dose::{Going, Papers, Tap, TodayDrill, read, today};
use crate::lesson::Log;
use crate::model::*;
use crate::table::Row;

/// Noon of the day on which all of this happens, ms.
const NOON: i64 = 1_777_032_000_000;

/// A student's device with a plan. The book is closed and opened again before every use:
/// what isn't on the disk is gone.
struct Phone {
    _dir: TempDir,
    path: std::path::PathBuf,
    student: StudentEntry,
    drills: Vec<RecordId>,
    ms: i64,
}

fn drill(stock: StockDrill, [sets, repetitions]: [i64; 2]) -> NewDrill {
    let drill = Drill { stock: Some(stock), ..Drill::named(Name::new(stock.word()).unwrap(), None) };
    NewDrill { drill, dose: Dose::new(sets, repetitions, 3).unwrap(), note: None }
}

impl Phone {
    fn new(drills: Vec<NewDrill>) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("own.book");
        let mut book = Book::create(&path, Name::new("Ina").unwrap(), Role::Student, at(NOON)).unwrap();
        let new = NewStudent {
            name: Name::new("Ina").unwrap(),
            hand: Hand::Left,
            units: UnitSystem::Metric,
            birth_year: Some(BirthYear::new(1990).unwrap()),
        };
        let student = add_student(&mut book, at(NOON + 1), new).unwrap();
        let plan = Plan::new(Name::new("aim").unwrap(), at(NOON).at.local_day(), None);
        let drills = begin_plan(&mut book, student.strand, at(NOON + 2), &plan, drills).unwrap();
        Self { _dir: dir, path, student, drills, ms: NOON + 1000 }
    }

    fn book(&self) -> Book {
        Book::open(&self.path).unwrap()
    }

    fn now(&mut self) -> Now {
        self.ms += 1000;
        at(self.ms)
    }

    fn begin(&mut self, drill: usize) -> Result<RecordId, BookError> {
        let now = self.now();
        begin_drill(&mut self.book(), &self.student, now, self.drills[drill])
    }

    fn tap(&mut self, practice: RecordId, tap: Tap) -> Result<Practice, BookError> {
        let now = self.now();
        do_drill(&mut self.book(), &self.student, now, practice, tap)
    }

    fn item(&self, drill: usize) -> TodayDrill {
        let book = self.book();
        let papers = Papers::read(&book, &self.student).unwrap();
        let shown = read(&papers, &book.device_names().unwrap(), at(self.ms).at.local_day()).unwrap();
        let mut drills = today(&papers, &shown, book.device()).drills;
        drills.retain(|item| item.drill.planned == self.drills[drill]);
        drills.remove(0)
    }

    fn going(&self, drill: usize) -> Going {
        self.item(drill).going.unwrap()
    }
}

fn at(ms: i64) -> Now {
    let mut entropy = [0; 16];
    entropy[..8].copy_from_slice(&ms.to_le_bytes());
    Now { at: Moment { utc_ms: ms, offset_min: 0 }, entropy }
}

fn any_tap() -> impl Strategy<Value = Tap> {
    prop_oneof![
        6 => proptest::option::of(any::<bool>()).prop_map(|good| Tap::Count { good }),
        1 => (1_i64..6).prop_map(|step| Tap::Step { to: StepNo::new(step).unwrap() }),
        1 => Just(Tap::SetDone),
        1 => Just(Tap::RestDone),
        2 => Just(Tap::Undo),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, ..ProptestConfig::default() })]
    #[test]
    fn killed_between_any_two_taps_a_drill_goes_on_with_every_count(
        taps in proptest::collection::vec(any_tap(), 0..25),
        stock in 0_usize..12,
    ) {
        let mut phone = Phone::new(vec![drill(StockDrill::ALL[stock].1, [3, 4])]);
        let practice = phone.begin(0).unwrap();
        // Repetitions in the order in which they were counted, with whether they were good.
        let mut counted: Vec<Option<bool>> = Vec::new();
        let mut may_undo = false;
        for tap in taps {
            let before = phone.going(0);
            let answer = phone.tap(practice, tap);
            match (tap, &answer) {
                (Tap::Count { good }, Ok(_)) => {
                    counted.push(good);
                    may_undo = true;
                }
                (Tap::Undo, Ok(_)) => {
                    prop_assert!(may_undo);
                    counted.pop();
                    may_undo = false;
                }
                (Tap::SetDone, Ok(_)) => may_undo = false,
                (Tap::Undo, Err(_)) => prop_assert!(!may_undo),
                (Tap::SetDone, Err(_)) => prop_assert_eq!(before.at.in_set.get(), 0),
                (_, answer) => prop_assert!(answer.is_ok(), "{answer:?}"),
            }
            let after = phone.going(0);
            match answer {
                Err(_) => prop_assert_eq!(&before, &after),
                Ok(practice) => prop_assert_eq!(practice.under_way.as_ref(), Some(&after.at)),
            }
            let item = phone.item(0);
            prop_assert_eq!(item.repetitions_done, counted.len() as i64);
            let at_steps: i64 = after.at.at_step.values().map(|count| count.get()).sum();
            prop_assert_eq!(at_steps, counted.len() as i64);
            prop_assert!(after.at.in_set.get() < 4);
            let tries = counted.iter().flatten().count() as i64;
            let good = counted.iter().flatten().filter(|good| **good).count() as i64;
            prop_assert_eq!(after.good.unwrap_or((0, 0)), (good, tries));
            // Begun again, by an app that was started anew, it is the same one.
            prop_assert_eq!(phone.begin(0).unwrap(), practice);
        }
        prop_assert!(phone.book().check().unwrap().ok);
    }
}

#[test]
fn a_two_sided_set_is_counted_side_by_side_and_then_rests() {
    let mut phone = Phone::new(vec![drill(StockDrill::TwoSided, [3, 6])]);
    let practice = phone.begin(0).unwrap();
    let mut steps = Vec::new();
    for _ in 0..6 {
        steps.push(phone.going(0).at.step.get());
        phone.tap(practice, Tap::Count { good: None }).unwrap();
    }
    assert_eq!(steps, [3, 3, 3, 4, 4, 4]);
    let going = phone.going(0);
    assert_eq!((going.at.step.get(), going.at.in_set.get()), (3, 0));
    // Two minutes from the last swing; whoever shows it counts.
    assert_eq!(going.at.rest_until_ms, Some(phone.ms + 120_000));
    assert_eq!((phone.item(0).sets_done, phone.item(0).sets_left, phone.item(0).left_in_set), (1, 2, 0));
    phone.tap(practice, Tap::Count { good: None }).unwrap();
    assert_eq!((phone.item(0).sets_left, phone.item(0).left_in_set), (1, 5));
    assert_eq!(phone.going(0).at.rest_until_ms, None);
}

#[test]
fn full_speed_swings_that_are_counted_use_up_the_cap_and_no_more_are_shown() {
    let mut phone =
        Phone::new(vec![drill(StockDrill::TwoSided, [4, 6]), drill(StockDrill::LateSwish, [3, 6])]);
    let first = phone.begin(0).unwrap();
    for _ in 0..21 {
        phone.tap(first, Tap::Count { good: None }).unwrap();
    }
    // Of 24 a day three are left: the set that is under way, and none of the other drill.
    assert_eq!((phone.item(0).left_in_set, phone.item(0).sets_left), (3, 0));
    assert_eq!(phone.item(1).repetitions_left(), 0);
    assert!(phone.begin(1).is_err());
    phone.tap(first, Tap::Count { good: None }).unwrap();
    let now = phone.now();
    report_pain(&mut phone.book(), phone.student.strand, now, None).unwrap();
    assert_eq!(phone.item(0).repetitions_left(), 0);
    // What was done all the same is counted.
    phone.tap(first, Tap::Count { good: None }).unwrap();
    assert_eq!(phone.item(0).repetitions_done, 23);
    phone.tap(first, Tap::End).unwrap();
    assert!(phone.item(0).going.is_none());
    assert!(phone.begin(0).is_err(), "pain stops speed work");
}

#[test]
fn a_set_that_the_cap_made_shorter_is_over_when_it_was_shown_to_be() {
    // Of 24 a day 18 go to the first drill; of the set of ten six are left.
    let mut phone =
        Phone::new(vec![drill(StockDrill::TwoSided, [3, 6]), drill(StockDrill::LateSwish, [1, 10])]);
    assert_eq!((phone.item(1).sets_left, phone.item(1).repetitions), (1, 6));
    let practice = phone.begin(1).unwrap();
    for _ in 0..6 {
        phone.tap(practice, Tap::Count { good: None }).unwrap();
    }
    assert_eq!((phone.item(1).sets_done, phone.item(1).repetitions_left()), (1, 0));
    assert!(phone.going(1).at.rest_until_ms.is_some());
    // The coach takes the drill out; what is done all the same is counted.
    let now = phone.now();
    drop_drill(&mut phone.book(), phone.student.strand, now, phone.drills[1]).unwrap();
    phone.tap(practice, Tap::Count { good: None }).unwrap();
    assert_eq!(phone.item(1).repetitions_done, 7);
    assert_eq!(phone.item(1).repetitions_left(), 0);
}

#[test]
fn a_ball_in_a_drill_is_a_shot_of_the_log_that_knows_its_drill_and_can_be_taken_back() {
    let mut phone =
        Phone::new(vec![drill(StockDrill::StartGate, [2, 5]), drill(StockDrill::SlowHand, [2, 5])]);
    let gate = phone.begin(0).unwrap();
    let ball = |start| Row {
        mark: Some(StrikeMark::new(4.0, 2.0, None, MarkRead::Tap).unwrap()),
        start_by_eye: Some(start),
        ..Row::default()
    };
    for start in [StartByEye::Straight, StartByEye::Left, StartByEye::Straight] {
        let now = phone.now();
        log_drill_ball(&mut phone.book(), &phone.student, now, gate, &ball(start).shot(RecordId::UNNAMED))
            .unwrap();
    }
    let balls = |phone: &Phone| -> Vec<(Option<RecordId>, Day)> {
        let log = Log::read(&phone.book(), &phone.student).unwrap();
        let of = |visit: &crate::lesson::Visit| {
            let day = visit.session.day;
            visit.shots.iter().map(move |shot| (shot.practice, day)).collect::<Vec<_>>()
        };
        log.visits.iter().flat_map(of).collect()
    };
    let today = at(phone.ms).at.local_day();
    assert_eq!(balls(&phone), [(Some(gate), today); 3]);
    assert_eq!((phone.going(0).good, phone.item(0).repetitions_done), (Some((2, 3)), 3));
    phone.tap(gate, Tap::Undo).unwrap();
    assert_eq!(balls(&phone).len(), 2);
    assert_eq!((phone.going(0).good, phone.going(0).at.balls.get()), (Some((1, 2)), 2));
    // A ball between slow rehearsals is no repetition of them, and of the day's one session.
    let slow = phone.begin(1).unwrap();
    let now = phone.now();
    log_drill_ball(
        &mut phone.book(),
        &phone.student,
        now,
        slow,
        &ball(StartByEye::Straight).shot(RecordId::UNNAMED),
    )
    .unwrap();
    assert_eq!((phone.item(1).repetitions_done, phone.going(1).good), (0, Some((1, 1))));
    assert_eq!(Log::read(&phone.book(), &phone.student).unwrap().visits.len(), 1);
    // The same ball in a file counts as another: it doesn't say that it was hit in a drill.
    let now = phone.now();
    let unsaid = Unsaid { day: today, place: None };
    log_rows(&mut phone.book(), phone.student.strand, now, &[ball(StartByEye::Left)], unsaid).unwrap();
    assert_eq!(balls(&phone).len(), 4);
}

#[test]
fn strikes_that_a_drill_puts_off_on_purpose_are_in_the_log_but_in_no_pattern_of_the_student() {
    let mut phone =
        Phone::new(vec![drill(StockDrill::TeeLadder, [2, 6]), drill(StockDrill::StartGate, [2, 5])]);
    let marked = |toe, high| Row {
        mark: Some(StrikeMark::new(toe, high, None, MarkRead::Tap).unwrap()),
        ..Row::default()
    };
    for (which, row) in [(0, marked(-5.0, 14.0)), (1, marked(4.0, 2.0))] {
        let practice = phone.begin(which).unwrap();
        for _ in 0..4 {
            let now = phone.now();
            log_drill_ball(&mut phone.book(), &phone.student, now, practice, &row.shot(RecordId::UNNAMED))
                .unwrap();
        }
        phone.tap(practice, Tap::End).unwrap();
    }
    let log = Log::read(&phone.book(), &phone.student).unwrap();
    assert_eq!(log.visits.iter().map(|visit| visit.shots.len()).sum::<usize>(), 8);
    let (baseline, _) = crate::lesson::spans(&log).unwrap();
    let pattern = baseline.unwrap().pattern;
    assert_eq!(pattern.count, 4);
    let law = crate::flight::FiveConstantLaw::ODS_FIT;
    let flier = crate::flight::Flier::new(&law, &crate::flight::Conditions::default()).unwrap();
    let head = crate::flight::Club::default().conforming().unwrap();
    let mut balls = crate::lesson::Gathering::new(&head, crate::flight::Hand::Left, &flier);
    crate::lesson::gather_log(&mut balls, &log).unwrap();
    let (model, left_out) = balls.model(&crate::lesson::Assumed::default()).unwrap();
    assert_eq!((model.balls, left_out.off_on_purpose), (4, 4));
}

#[test]
fn a_drill_goes_on_where_and_on_the_day_when_it_was_begun() {
    let mut phone = Phone::new(vec![drill(StockDrill::HeldFinish, [2, 5])]);
    let practice = phone.begin(0).unwrap();
    phone.tap(practice, Tap::Count { good: Some(true) }).unwrap();
    // Another device of the student's takes in the file, and counts a practice of its own.
    let path = phone.path.with_file_name("tablet.book");
    let now = phone.now();
    let mut tablet = Book::create(&path, Name::new("Ina").unwrap(), Role::Student, now).unwrap();
    // A tablet that joins holds nothing yet.
    let (mut own, at) = (phone.book(), phone.now());
    let (root, hers, its) = (testing::root(&own), testing::keys(&own), testing::keys(&tablet));
    own.begin_identity(&hers, &root, at).unwrap();
    tablet.begin_identity(&its, &testing::root(&tablet), at).unwrap();
    own.add_device(&hers, &tablet.card(&its, at).unwrap()).unwrap();
    tablet.join(&its, &own.card(&hers, at).unwrap()).unwrap();
    let bytes = testing::file(&mut own, &phone.student, "Ina", at, true);
    testing::receive(&mut tablet, &bytes, at);
    drop(own);
    let now = phone.now();
    let refused = do_drill(&mut tablet, &phone.student, now, practice, Tap::Count { good: None });
    assert!(refused.unwrap_err().to_string().contains("another device"));
    let now = phone.now();
    let own = begin_drill(&mut tablet, &phone.student, now, phone.drills[0]).unwrap();
    assert_ne!(own, practice);
    // The day after, it is begun again; the old one can only be ended.
    phone.ms += 86_400_000;
    assert!(phone.item(0).going.is_none());
    assert!(phone.tap(practice, Tap::Count { good: None }).unwrap_err().to_string().contains("another day"));
    phone.tap(practice, Tap::End).unwrap();
    assert_eq!(phone.item(0).times_this_week, 1);
}
