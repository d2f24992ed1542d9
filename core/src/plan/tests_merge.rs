//! Two people edit one plan, each in their own book: merges lose nothing, and what the
//! plan shows to do stays within the caps, whatever they did.

use std::collections::BTreeMap;

use proptest::prelude::*;
use tempfile::TempDir;

use super::*;
use crate::act::{
    DrillChange, Edit, NewDrill, NewStudent, PlanChange, add_drill, add_student, begin_drill, begin_plan,
    change_drill, clear_pain, do_drill, drop_drill, edit_plan, log_practice, record_speed, report_pain,
};
use crate::book::{Book, Draft, StudentEntry, testing};
use crate::dose::{day, keeps_the_caps};
use crate::model::quantity::HeadSpeed;
use crate::model::*;

/// Coach and student, each with a book, and one plan in both.
struct Pair {
    _dir: TempDir,
    books: [Book; 2],
    student: StudentEntry,
    plan: RecordId,
    drills: Vec<RecordId>,
    ms: i64,
    /// Repetitions that were tapped and acknowledged.
    tapped: i64,
}

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn count(n: i64) -> Count {
    Count::new(n).unwrap()
}

fn new_drill(stock: StockDrill, [sets, repetitions, times]: [i64; 3]) -> NewDrill {
    let purpose = Some(super::stock(stock).purpose);
    let drill = Drill { stock: Some(stock), ..Drill::named(name(stock.word()), purpose) };
    NewDrill { drill, dose: Dose::new(sets, repetitions, times).unwrap(), note: None }
}

impl Pair {
    fn new(born: Option<i64>) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let mut ms = day(-10).number() * 86_400_000;
        let mut now = || {
            ms += 1000;
            at(ms)
        };
        let mut coach = Book::create(&dir.path().join("coach"), name("Coach"), Role::Coach, now()).unwrap();
        let mut own = Book::create(&dir.path().join("own"), name("Student"), Role::Student, now()).unwrap();
        testing::meet(&mut coach, &mut own);
        let new = NewStudent {
            name: name("Student"),
            hand: Hand::Left,
            units: UnitSystem::Metric,
            birth_year: born.map(|year| BirthYear::new(year).unwrap()),
        };
        let student = add_student(&mut coach, now(), new).unwrap();
        // Histories make the student as young as any: what they need to exchange files.
        let agreed = Guardian { agrees: true, day: day(-10), name: None };
        let keys = testing::keys(&coach);
        coach.set_guardian(&keys, &student, &agreed, now()).unwrap();
        let plan = Plan::new(name("aim"), day(-10), Some(day(20)));
        let drills =
            vec![new_drill(StockDrill::TwoSided, [3, 6, 2]), new_drill(StockDrill::TargetDot, [3, 8, 2])];
        let drills = begin_plan(&mut coach, student.strand, now(), &plan, drills).unwrap();
        let plan = coach.records::<Plan>(student.strand).unwrap()[0].id;
        let mut pair = Self { _dir: dir, books: [coach, own], student, plan, drills, ms, tapped: 0 };
        pair.send(0);
        pair.send(1);
        pair
    }

    fn now(&mut self) -> Now {
        self.ms += 1000;
        at(self.ms)
    }

    /// All of one side's news to the other.
    fn send(&mut self, from: usize) {
        let now = self.now();
        let to = if from == 0 { "Student" } else { "Coach" };
        let file = testing::file(&mut self.books[from], &self.student, to, now, true);
        let receipt = testing::receive(&mut self.books[1 - from], &file, now);
        assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
    }

    fn papers(&self, side: usize) -> Papers {
        let student = self.books[side].student("Student").unwrap();
        Papers::read(&self.books[side], &student).unwrap()
    }

    fn shown(&self, side: usize) -> Shown {
        read(&self.papers(side), &self.books[side].device_names().unwrap(), day(0)).unwrap()
    }

    /// What one side does; a drill that it doesn't have is left alone.
    fn step(&mut self, step: &Step) {
        let now = self.now();
        let strand = self.student.strand;
        let side = usize::from(step.student);
        let known: Vec<RecordId> =
            self.books[side].records::<PlannedDrill>(strand).unwrap().into_iter().map(|p| p.id).collect();
        let book = &mut self.books[side];
        let drill = known.get(step.drill % known.len().max(1)).copied();
        let n = step.n;
        match (step.what, drill) {
            (0, _) => {
                let stock = StockDrill::ALL[n as usize % 12].1;
                let place = (n % 2 == 0).then_some(1 + n as usize % 5);
                add_drill(
                    book,
                    strand,
                    now,
                    self.plan,
                    new_drill(stock, [1 + n % 20, 1 + n, 1 + n % 14]),
                    place,
                )
                .unwrap();
            }
            (1, Some(drill)) => {
                let change = match n % 5 {
                    0 => DrillChange { sets: Some(1 + n % 20), ..DrillChange::default() },
                    1 => DrillChange { repetitions: Some(1 + n), ..DrillChange::default() },
                    2 => DrillChange { times_a_week: Some(1 + n % 14), ..DrillChange::default() },
                    3 => DrillChange { place: Some(1 + n as usize % 6), ..DrillChange::default() },
                    _ => DrillChange {
                        note: Some(Some(Remark::new("note").unwrap())),
                        ..DrillChange::default()
                    },
                };
                change_drill(book, strand, now, drill, change).unwrap();
            }
            (2, Some(drill)) => drop_drill(book, strand, now, drill).unwrap(),
            (3, Some(drill)) => {
                let practice = Practice::of(drill, day(-(n % 8)), count(1), count(n));
                log_practice(book, strand, now, &practice).unwrap();
            }
            (4, drill) => {
                let swing = SpeedSwing {
                    session: None,
                    day: day(-(n % 8)),
                    side: SwingSide::Other,
                    head_speed: HeadSpeed::new(40.0).unwrap(),
                    source: SpeedSource::Radar,
                    planned: drill.filter(|_| n % 3 == 0),
                };
                record_speed(book, strand, now, &[swing]).unwrap();
            }
            (5, _) => {
                let speed = SpeedLimits {
                    a_day: (n % 2 == 0).then(|| count(n)),
                    a_week: (n % 3 == 0).then(|| count(2 * n)),
                    rest_days: (n % 5 == 0).then(|| count(n % 4)),
                };
                let plan = PlanChange { speed, ..PlanChange::default() };
                // What a student may not raise is refused, and changes nothing.
                let changed = edit_plan(book, &self.student, now, self.plan, Edit { plan, drill: None });
                assert!(changed.is_ok() || side == 1, "{changed:?}");
            }
            (6, _) if n % 3 == 0 => {
                report_pain(book, strand, now, None).unwrap();
            }
            (6, _) => {
                clear_pain(book, strand, now, day(-(n % 40))).unwrap();
            }
            (7, Some(drill)) => {
                // The drill's own record changes what it is.
                let planned = book.record::<PlannedDrill>(strand, drill).unwrap().unwrap().value;
                if let Some(mut entry) = book.record::<Drill>(strand, planned.drill).unwrap() {
                    entry.value.stock = StockDrill::ALL.get(n as usize % 14).map(|(_, drill)| *drill);
                    entry.value.effort = Effort::ALL.get(n as usize % 4).map(|(_, effort)| *effort);
                    book.write(strand, now, [Draft::put(planned.drill, &entry.value)]).unwrap();
                }
            }
            (8, _) => self.send(side),
            (9, _) => {
                // A plan of its own, on any day: the other side doesn't know of it yet.
                let plan = Plan::new(name("another"), day(-(n % 12)), (n % 3 == 0).then(|| day(n % 30)));
                let stock = StockDrill::ALL[n as usize % 12].1;
                begin_plan(book, strand, now, &plan, vec![new_drill(stock, [1 + n % 20, 1 + n, 1 + n % 14])])
                    .unwrap();
            }
            (10, Some(drill)) => {
                let on = day(-(n % 8)).number() * 86_400_000 + self.ms % 86_400_000;
                let Ok(practice) = begin_drill(book, &self.student, at(on), drill) else { return };
                for tap in 0..n % 9 {
                    let good = (n % 2 == 0).then_some(tap % 3 == 0);
                    do_drill(book, &self.student, at(on + 1 + tap), practice, Tap::Count { good }).unwrap();
                    self.tapped += 1;
                }
            }
            (11, _) => {
                let mut own = book.student("Student").unwrap().student.value;
                own.birth_year = (n % 4 != 0).then(|| BirthYear::new(1940 + (3 * n) % 80).unwrap());
                book.write(strand, now, [Draft::put(RecordId(strand.0), &own)]).unwrap();
            }
            _ => {}
        }
    }
}

fn at(ms: i64) -> Now {
    let mut entropy = [0; 16];
    entropy[..8].copy_from_slice(&ms.to_le_bytes());
    Now { at: Moment { utc_ms: ms, offset_min: 0 }, entropy }
}

#[derive(Debug, Clone)]
struct Step {
    student: bool,
    what: u8,
    drill: usize,
    n: i64,
}

fn any_step() -> impl Strategy<Value = Step> {
    (any::<bool>(), 0_u8..12, 0_usize..6, 0_i64..100).prop_map(|(student, what, drill, n)| Step {
        student,
        what,
        drill,
        n,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 200, ..ProptestConfig::default() })]
    #[test]
    fn after_any_two_histories_merged_in_any_order_both_read_the_same_plan_within_its_caps(
        steps in proptest::collection::vec(any_step(), 0..30),
        born in prop_oneof![Just(None), (1940_i64..2016).prop_map(Some)],
        coach_first in any::<bool>(),
    ) {
        let mut pair = Pair::new(born);
        for step in &steps {
            pair.step(step);
            // Nor may a plan that is half merged pass a cap.
            keeps_the_caps(&pair.papers(usize::from(step.student)), day(0));
        }
        let first = usize::from(!coach_first);
        pair.send(first);
        pair.send(1 - first);
        pair.send(first);
        let strand = pair.student.strand;
        prop_assert_eq!(pair.books[0].digest(strand).unwrap(), pair.books[1].digest(strand).unwrap());
        prop_assert_eq!(pair.papers(0), pair.papers(1));
        for on in [-1, 0, 1, 5] {
            keeps_the_caps(&pair.papers(0), day(on));
        }
        // Nothing that anybody logged is lost.
        let logged = steps.iter().filter(|s| s.what == 4).count();
        prop_assert_eq!(pair.papers(1).swings.len(), logged);
        let counted = |side: usize| -> i64 {
            let papers = pair.papers(side);
            let of = papers.practice.iter().filter(|done| done.value.under_way.is_some());
            of.map(|done| done.value.repetitions.get()).sum()
        };
        prop_assert_eq!([counted(0), counted(1)], [pair.tapped; 2]);
    }
}

/// Some in every run, a tenth of `CHALKFACE_HISTORIES` in the long form: these write to disk.
#[allow(clippy::disallowed_methods)]
fn cases() -> u32 {
    let long = std::env::var("CHALKFACE_HISTORIES").ok().and_then(|n| n.parse::<u32>().ok());
    long.map_or(48, |histories| histories / 10)
}

#[test]
fn edits_of_different_fields_both_hold_and_of_the_same_field_show_both_values() {
    let mut pair = Pair::new(Some(1985));
    let strand = pair.student.strand;
    let dot = pair.drills[1];
    let change = |sets, times_a_week| DrillChange { sets, times_a_week, ..DrillChange::default() };
    let now = pair.now();
    change_drill(&mut pair.books[0], strand, now, dot, change(Some(5), None)).unwrap();
    let now = pair.now();
    change_drill(&mut pair.books[1], strand, now, dot, change(None, Some(4))).unwrap();
    pair.send(0);
    pair.send(1);
    let of = |shown: Shown| shown.drills.into_iter().find(|drill| drill.planned == dot).unwrap();
    assert_eq!(of(pair.shown(0)).asked, Dose::new(5, 8, 4).unwrap());
    assert!(of(pair.shown(0)).conflicts.is_empty());
    let now = pair.now();
    change_drill(&mut pair.books[0], strand, now, dot, change(Some(2), None)).unwrap();
    let now = pair.now();
    change_drill(&mut pair.books[1], strand, now, dot, change(Some(4), None)).unwrap();
    pair.send(1);
    pair.send(0);
    for side in [0, 1] {
        let drill = of(pair.shown(side));
        assert_eq!(drill.asked.sets(), 4);
        let values: Vec<_> =
            drill.conflicts[0].values.iter().map(|v| (v.by.as_str(), v.value.as_str())).collect();
        assert_eq!(
            (drill.conflicts[0].field.as_str(), values),
            ("sets", vec![("Coach", "2"), ("Student", "4")])
        );
    }
}

#[test]
fn a_drill_that_one_drops_and_the_other_does_stays_visible_with_who_did_it() {
    let mut pair = Pair::new(Some(1985));
    let strand = pair.student.strand;
    let dot = pair.drills[1];
    let now = pair.now();
    drop_drill(&mut pair.books[0], strand, now, dot).unwrap();
    // The student doesn't know, and does it.
    let now = pair.now();
    log_practice(&mut pair.books[1], strand, now, &Practice::of(dot, day(-1), count(3), count(24))).unwrap();
    assert_eq!(pair.shown(0).drills.len(), 1);
    pair.send(1);
    pair.send(0);
    for side in [0, 1] {
        let shown = pair.shown(side);
        let drill = shown.drills.iter().find(|drill| drill.planned == dot).unwrap();
        assert_eq!(
            (drill.dropped, drill.dose, drill.held.as_slice()),
            (true, None, [Held::Dropped].as_slice())
        );
        let names = pair.books[side].device_names().unwrap();
        let student = pair.books[side].student("Student").unwrap();
        let log = crate::lesson::Log::read(&pair.books[side], &student).unwrap();
        let progress = Progress::of(shown, &log, &names);
        let line = &progress.progress.iter().find(|p| p.drill.planned == dot).unwrap().done[0];
        assert_eq!((line.by.as_str(), line.repetitions), ("Student", 24));
    }
}

#[test]
fn a_drill_that_one_drops_and_the_other_edits_later_is_back_and_says_so() {
    let mut pair = Pair::new(Some(1985));
    let strand = pair.student.strand;
    let dot = pair.drills[1];
    let now = pair.now();
    drop_drill(&mut pair.books[0], strand, now, dot).unwrap();
    let now = pair.now();
    let note =
        DrillChange { note: Some(Some(Remark::new("I like this one").unwrap())), ..DrillChange::default() };
    change_drill(&mut pair.books[1], strand, now, dot, note).unwrap();
    pair.send(1);
    pair.send(0);
    let shown = pair.shown(0);
    let drill = shown.drills.iter().find(|drill| drill.planned == dot).unwrap();
    assert!(drill.revived && !drill.dropped && drill.dose.is_some());
}

#[test]
fn drills_put_between_the_same_two_by_both_are_both_there_in_one_order() {
    let mut pair = Pair::new(Some(1985));
    let strand = pair.student.strand;
    for (side, stock) in
        [(0, StockDrill::HeldFinish), (1, StockDrill::StartGate), (0, StockDrill::CallStrike)]
    {
        let (now, plan) = (pair.now(), pair.plan);
        add_drill(&mut pair.books[side], strand, now, plan, new_drill(stock, [1, 5, 1]), Some(2)).unwrap();
    }
    pair.send(0);
    pair.send(1);
    let order = |shown: Shown| shown.drills.iter().map(|drill| drill.name.clone()).collect::<Vec<_>>();
    let both = order(pair.shown(0));
    assert_eq!(both, order(pair.shown(1)));
    assert_eq!((both.len(), both[0].as_str(), both[4].as_str()), (5, "two-sided speed sets", "target dot"));
}

#[test]
fn there_is_room_at_the_same_place_a_hundred_times_over() {
    let mut pair = Pair::new(Some(1985));
    let (strand, plan) = (pair.student.strand, pair.plan);
    let mut made = Vec::new();
    for _ in 0..100 {
        let now = pair.now();
        let new = new_drill(StockDrill::HeldFinish, [1, 5, 1]);
        made.push(add_drill(&mut pair.books[0], strand, now, plan, new, Some(2)).unwrap());
    }
    let found: Vec<RecordId> = pair.shown(0).drills.iter().map(|drill| drill.planned).collect();
    made.reverse();
    assert_eq!(found[1..101], made);
}

#[test]
fn a_plan_of_two_lawful_halves_shows_what_was_held_back() {
    let mut pair = Pair::new(Some(1985));
    let (strand, plan) = (pair.student.strand, pair.plan);
    for side in [0, 1] {
        let now = pair.now();
        let new = new_drill(StockDrill::LateSwish, [1, 6, 2]);
        add_drill(&mut pair.books[side], strand, now, plan, new, None).unwrap();
        // Alone each is lawful: 18 and 6 efforts of 24 a day.
        assert!(pair.shown(side).drills.iter().all(|drill| drill.held.is_empty()));
    }
    pair.send(0);
    pair.send(1);
    let shown = pair.shown(0);
    let held: Vec<_> = shown.drills.iter().filter(|drill| !drill.held.is_empty()).collect();
    assert_eq!(held.len(), 1);
    assert_eq!((held[0].dose, held[0].held.as_slice()), (None, [Held::Day].as_slice()));
    let names: BTreeMap<_, _> = pair.books[0].device_names().unwrap();
    assert!(names.values().any(|name| name == "Coach"));
}
