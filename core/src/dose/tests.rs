//! Plans of every shape: what is shown to do never passes a cap.

use std::collections::BTreeMap;

use proptest::prelude::*;
use uuid::Uuid;

use super::papers::is_full_speed;
use super::*;
use crate::book::{Entry, OrRemoved};
use crate::model::quantity::HeadSpeed;
use crate::model::{
    AuthorId, Count, Day, Dose, Drill, Effort, Name, Order, Pain, Plan, PlannedDrill, Practice, Purpose,
    Record, RecordId, SpeedLimits, SpeedSource, SpeedSwing, StockDrill, SwingSide,
};
use crate::sync::{Body, Hlc, Stamp, State};

/// The device that wrote every entry of these tests last.
fn device() -> AuthorId {
    AuthorId::from_bytes([2; 16])
}

fn id(n: u8) -> RecordId {
    RecordId(Uuid::from_bytes([n; 16]))
}

pub fn day(n: i64) -> Day {
    Day::from_number(20_600 + n).unwrap()
}

fn count(n: i64) -> Count {
    Count::new(n).unwrap()
}

/// A record that two devices wrote without knowing of each other, where `other` is there.
fn entry<R: Record + Clone>(id: RecordId, value: &R, other: Option<&R>) -> Entry<R> {
    let stamp = |n: u8| Stamp { hlc: Hlc::after(None, i64::from(n)), author: AuthorId::from_bytes([n; 16]) };
    let mut state = State::default();
    if let Some(other) = other {
        state.merge(stamp(1), Body { fields: other.to_fields(), replaces: vec![] });
    }
    state.merge(stamp(2), Body { fields: value.to_fields(), replaces: vec![] });
    let value = R::from_fields(&state.current()).unwrap();
    Entry { id, value, last: stamp(2), conflicts: state.conflicts(), revived: false }
}

fn any_dose() -> impl Strategy<Value = Dose> {
    (1_i64..=20, 1_i64..=100, 1_i64..=14).prop_map(|(a, b, c)| Dose::new(a, b, c).unwrap())
}

fn any_drill() -> impl Strategy<Value = Drill> {
    (0_usize..16, 0_usize..5, 0_usize..4, any::<bool>()).prop_map(|(stock, purpose, effort, two_sided)| {
        Drill {
            stock: StockDrill::ALL.get(stock).map(|(_, drill)| *drill),
            effort: Effort::ALL.get(effort).map(|(_, effort)| *effort),
            two_sided,
            ..Drill::named(Name::new("drill").unwrap(), Purpose::ALL.get(purpose).map(|(_, p)| *p))
        }
    })
}

fn any_limits() -> impl Strategy<Value = SpeedLimits> {
    let maybe = || proptest::option::of((0_i64..200).prop_map(count));
    (maybe(), maybe(), proptest::option::of((0_i64..5).prop_map(count)))
        .prop_map(|(a_day, a_week, rest_days)| SpeedLimits { a_day, a_week, rest_days })
}

type PlannedStrategy = (Drill, Option<Drill>, Dose, Dose, bool, bool);

prop_compose! {
    /// Papers as any two histories could leave them.
    pub fn any_papers()(
        born in proptest::collection::vec(1900_i64..2025, 0..3),
        limits in any_limits(),
        others in proptest::option::of(any_limits()),
        drills in proptest::collection::vec(
            (any_drill(), proptest::option::of(any_drill()), any_dose(), any_dose(), any::<bool>(), any::<bool>()), 0..7),
        done in proptest::collection::vec((0_u8..9, -9_i64..4, 1_i64..120), 0..12),
        swings in proptest::collection::vec((-9_i64..4, 0_u8..9, 1_usize..20), 0..5),
        pains in proptest::collection::vec((-60_i64..5, proptest::option::of(-50_i64..10)), 0..2),
    ) -> Papers {
        let plan = |speed| Plan { speed, ..Plan::new(Name::new("aim").unwrap(), day(-20), None) };
        let mut papers = Papers {
            birth_years: born,
            plans: vec![entry(id(100), &plan(limits), others.map(plan).as_ref())],
            ..Papers::default()
        };
        for (n, drill) in drills.iter().enumerate() {
            let (drill, other, dose, other_dose, disputed, removed): &PlannedStrategy = drill;
            let n = n as u8;
            let planned = |dose: &Dose| PlannedDrill {
                plan: id(100), drill: id(50 + n), dose: *dose, order: Order::new(f64::from(n % 3)).unwrap(), note: None, since: None,
            };
            let entry_of = entry(id(n), &planned(dose), disputed.then(|| planned(other_dose)).as_ref());
            papers.planned.push(OrRemoved { entry: entry_of, removed: *removed });
            // One drill's own record may not have come yet.
            if n != 5 {
                papers.drills.insert(id(50 + n), entry(id(50 + n), drill, other.as_ref()));
            }
        }
        for (n, (of, ago, repetitions)) in done.iter().enumerate() {
            let practice = Practice::of(id(*of), day(*ago), count(1), count(*repetitions));
            papers.practice.push(entry(id(150 + n as u8), &practice, None));
        }
        for (on, of, how_many) in &swings {
            for _ in 0..*how_many {
                let swing = SpeedSwing {
                    session: None, day: day(*on), side: SwingSide::Playing, head_speed: HeadSpeed::new(40.0).unwrap(),
                    source: SpeedSource::Typed, planned: (*of < 7).then(|| id(*of)),
                };
                papers.swings.push(entry(id(200), &swing, None));
            }
        }
        for (on, cleared) in &pains {
            let pain = Pain { day: day(*on), note: None, cleared: cleared.map(day) };
            papers.pains.push(entry(id(210), &pain, None));
        }
        papers
    }
}

/// Full-speed efforts logged on a day, counted without the code under test: every
/// practice of a drill that may be full speed and every swing, the more of both where a
/// swing names a drill.
fn logged(papers: &Papers, on: Day) -> i64 {
    let planned: BTreeMap<RecordId, RecordId> =
        papers.planned.iter().map(|p| (p.entry.id, p.entry.value.drill)).collect();
    let full = |id: &RecordId| planned.get(id).and_then(|d| papers.drills.get(d)).is_none_or(is_full_speed);
    let mut sum =
        papers.swings.iter().filter(|s| s.value.day == on && s.value.planned.is_none()).count() as i64;
    let mut ids: Vec<RecordId> = papers.practice.iter().map(|p| p.value.planned).collect();
    ids.extend(papers.swings.iter().filter_map(|s| s.value.planned));
    ids.sort();
    ids.dedup();
    for of in ids {
        let done: i64 = papers
            .practice
            .iter()
            .filter(|p| p.value.planned == of && p.value.day == on && full(&of))
            .map(|p| p.value.repetitions.get())
            .sum();
        let read =
            papers.swings.iter().filter(|s| s.value.planned == Some(of) && s.value.day == on).count() as i64;
        sum += done.max(read);
    }
    sum
}

/// Checks what is shown against the caps, without the code that applied them.
pub fn keeps_the_caps(papers: &Papers, on: Day) {
    let Some(shown) = read(papers, &BTreeMap::new(), on) else { return };
    let caps = &shown.caps;
    let (limits, ceiling) = (caps.limits, caps.ceiling);
    assert!(limits.a_day <= ceiling.a_day && limits.a_week <= ceiling.a_week);
    assert!(limits.rest_days >= ceiling.rest_days);
    // The largest caps that anybody may have, by the letter of the rules.
    let young = papers.birth_years.iter().any(|born| 2026 - born <= 16 || 2026 - born > 60);
    let most = if papers.birth_years.is_empty() || young { (18, 36) } else { (36, 90) };
    let (mut a_day, mut a_week) = (0, 0);
    for drill in &shown.drills {
        let Some(dose) = drill.dose else { continue };
        assert!(!drill.dropped);
        assert!(dose.sets() <= drill.asked.sets() && dose.repetitions() <= drill.asked.repetitions());
        assert!(dose.times_a_week() <= drill.asked.times_a_week());
        if papers.drills.get(&drill.drill).is_none_or(is_full_speed) {
            assert!(!caps.stopped_by_pain, "speed work in spite of pain");
            assert!(dose.times_a_week() * (limits.rest_days + 1) <= 7.max(limits.rest_days + 1));
            assert!(!drill.two_sided || dose.repetitions() % 2 == 0, "both sides get the same");
            a_day += dose.sets() * dose.repetitions();
            a_week += dose.sets() * dose.repetitions() * dose.times_a_week();
        }
        assert!(
            dose == drill.asked || !drill.held.is_empty(),
            "less is shown and nobody says why: {drill:?}"
        );
    }
    assert!(a_day <= limits.a_day && a_day <= most.0 && a_week <= limits.a_week && a_week <= most.1);

    // As the device reads it that did something last: what is under way there counts too.
    let reads = papers.practice.last().map_or_else(device, |done| done.last.author);
    let now = today(papers, &shown, reads);
    let to_do: i64 = now
        .drills
        .iter()
        .filter(|item| papers.drills.get(&item.drill.drill).is_none_or(is_full_speed))
        .map(TodayDrill::repetitions_left)
        .sum();
    if to_do > 0 {
        assert!(now.warm_up, "no speed work without a warm-up");
        assert!(to_do + logged(papers, on) <= limits.a_day);
        for first in -6..=0 {
            let week: i64 = (first..first + 7)
                .map(|n| Day::from_number(on.number() + n).unwrap())
                .map(|d| logged(papers, d))
                .sum();
            assert!(week + to_do <= limits.a_week, "{week} and {to_do}");
        }
        for away in 1..=limits.rest_days {
            for near in [on.number() - away, on.number() + away] {
                assert_eq!(logged(papers, Day::from_number(near).unwrap()), 0, "no rest day between");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]
    #[test]
    fn what_is_shown_to_do_never_passes_a_cap_whatever_the_papers_say(papers in any_papers()) {
        keeps_the_caps(&papers, day(0));
    }
}

pub fn papers_of(drills: &[(StockDrill, [i64; 3])]) -> Papers {
    let mut papers = Papers {
        birth_years: vec![1985],
        plans: vec![entry(id(100), &Plan::new(Name::new("aim").unwrap(), day(-20), None), None)],
        ..Papers::default()
    };
    for (n, (stock, [sets, repetitions, times])) in drills.iter().enumerate() {
        let n = n as u8;
        let drill = Drill { stock: Some(*stock), ..Drill::named(Name::new("drill").unwrap(), None) };
        papers.drills.insert(id(50 + n), entry(id(50 + n), &drill, None));
        let dose = Dose::new(*sets, *repetitions, *times).unwrap();
        let planned = PlannedDrill {
            plan: id(100),
            drill: id(50 + n),
            dose,
            order: Order::new(f64::from(n)).unwrap(),
            note: None,
            since: None,
        };
        papers.planned.push(OrRemoved { entry: entry(id(n), &planned, None), removed: false });
    }
    papers
}

fn doses(papers: &Papers) -> Vec<Option<[i64; 3]>> {
    let shown = read(papers, &BTreeMap::new(), day(0)).unwrap();
    shown.drills.iter().map(|drill| drill.dose.map(Into::into)).collect()
}

#[test]
fn a_lawful_plan_is_shown_as_it_was_written_and_a_sum_that_is_not_is_held_back_in_order() {
    let papers = papers_of(&[(StockDrill::TwoSided, [3, 6, 2]), (StockDrill::HeldFinish, [20, 100, 14])]);
    assert_eq!(doses(&papers), [Some([3, 6, 2]), Some([20, 100, 14])]);
    let papers = papers_of(&[(StockDrill::TwoSided, [3, 6, 2]), (StockDrill::LateSwish, [2, 5, 2])]);
    // 18 of 24 a day are gone: one set of five fits, and 24 of 60 a week are left for it.
    assert_eq!(doses(&papers), [Some([3, 6, 2]), Some([1, 5, 2])]);
    let shown = read(&papers, &BTreeMap::new(), day(0)).unwrap();
    assert_eq!(shown.drills[1].held, [Held::Day]);
}

#[test]
fn an_unknown_age_counts_as_young_and_a_coach_may_go_down_and_up_to_the_ceiling() {
    let mut papers = papers_of(&[(StockDrill::TwoSided, [4, 6, 3])]);
    assert_eq!(doses(&papers), [Some([4, 6, 2])]);
    papers.birth_years.clear();
    assert_eq!(doses(&papers), [Some([2, 6, 2])]);
    let mut raised = papers.plans[0].value.clone();
    raised.speed.a_day = Some(count(200));
    papers.plans[0] = entry(id(100), &raised, None);
    let caps = Caps::of(&papers, papers.plans.first(), day(0));
    assert_eq!((caps.limits.a_day, caps.coach_over_ceiling), (18, true));
    assert_eq!(caps.why, [Why::UnknownAge, Why::Coach]);
    // Two coaches, two caps: the lower one holds, whichever was written last.
    let mut lowered = raised.clone();
    lowered.speed.a_day = Some(count(4));
    papers.plans[0] = entry(id(100), &raised, Some(&lowered));
    assert_eq!(Caps::of(&papers, papers.plans.first(), day(0)).limits.a_day, 4);
}

#[test]
fn pain_stops_speed_work_until_it_is_cleared_and_then_lowers_the_caps() {
    let mut papers = papers_of(&[(StockDrill::LateSwish, [3, 6, 3]), (StockDrill::TargetDot, [3, 8, 2])]);
    let pain = |cleared| Pain { day: day(-9), note: None, cleared };
    papers.pains = vec![entry(id(9), &pain(None), None)];
    assert_eq!(doses(&papers), [None, Some([3, 8, 2])]);
    assert_eq!(read(&papers, &BTreeMap::new(), day(0)).unwrap().stop, Some(Stop::Pain));
    papers.pains = vec![entry(id(9), &pain(Some(day(-2))), None)];
    assert_eq!(doses(&papers), [Some([1, 6, 2]), Some([3, 8, 2])]);
    // One says cleared, the other took that back: it is not cleared.
    papers.pains = vec![entry(id(9), &pain(Some(day(-2))), Some(&pain(Some(day(-1)))))];
    assert_eq!(doses(&papers)[0], None);
}

#[test]
fn today_counts_what_is_done_and_keeps_rest_days() {
    let mut papers = papers_of(&[(StockDrill::TwoSided, [3, 6, 2])]);
    let shown = |papers: &Papers| read(papers, &BTreeMap::new(), day(0)).unwrap();
    let now = today(&papers, &shown(&papers), device());
    assert_eq!((now.drills[0].sets_left, now.warm_up, now.efforts_left), (3, true, 24));
    papers.practice.push(entry(id(150), &Practice::of(id(0), day(0), count(1), count(6)), None));
    assert_eq!(today(&papers, &shown(&papers), device()).drills[0].sets_left, 2);
    papers.practice[0].value.day = day(-1);
    let now = today(&papers, &shown(&papers), device());
    assert_eq!((now.drills[0].sets_left, now.speed_again_on), (0, Some(day(1))));
    assert_eq!(now.drills[0].held_today, [Held::Rest]);
}

#[test]
fn every_drill_is_in_the_catalogue_with_a_dose_that_the_model_allows() {
    for (_, drill) in StockDrill::ALL {
        let stock = stock(*drill);
        assert_eq!(stock.drill, *drill);
        for n in 0..3 {
            Dose::new(stock.sets[n], stock.repetitions[n], stock.times[n]).unwrap();
        }
        let ordered = |of: [i64; 3]| of[0] <= of[1] && of[1] <= of[2];
        assert!(ordered(stock.sets) && ordered(stock.repetitions) && ordered(stock.times), "{drill:?}");
        assert_eq!(stock.purpose == Purpose::Speed, stock.effort == Effort::FullSpeed);
    }
}

#[test]
fn a_drill_that_anybody_called_full_speed_counts_as_full_speed() {
    let plain = Drill::named(Name::new("drill").unwrap(), Some(Purpose::Feel));
    let fast: [Drill; 3] = [
        Drill { effort: Some(Effort::FullSpeed), ..plain.clone() },
        Drill { purpose: Some(Purpose::Speed), ..plain.clone() },
        Drill { stock: Some(StockDrill::LateSwish), ..plain.clone() },
    ];
    assert!(!is_full_speed(&entry(id(1), &plain, None)));
    for drill in fast {
        assert!(is_full_speed(&entry(id(1), &drill, None)), "{drill:?}");
        // The other side wrote otherwise, and later.
        assert!(is_full_speed(&entry(id(1), &plain, Some(&drill))), "{drill:?}");
    }
    // Our own drills keep their effort, whatever their record is edited to.
    let mild = Drill { stock: Some(StockDrill::TwoSided), effort: Some(Effort::Easy), ..plain };
    assert!(is_full_speed(&entry(id(1), &mild, None)));
}
