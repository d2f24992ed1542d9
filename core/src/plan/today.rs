//! What is to be done on a day: what the plan asks, less what is done already, less
//! what rest days and the last seven days don't allow.
//!
//! The rule: what is shown to do today, added to every full-speed effort that any
//! log tells of, passes no cap: not of today, not of any seven days that today is
//! among, and not of the rest days on either side.

use serde::Serialize;

use super::papers::Papers;
use super::read::{Held, Shown, ShownDrill, within};
use crate::model::{Day, Effort};

/// What to do on a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Today {
    /// The day.
    pub day: Day,
    /// Whether the plan has ended, or not begun.
    pub outside_plan: bool,
    /// Whether a warm-up comes first: always before swings at normal or full speed.
    pub warm_up: bool,
    /// Full-speed efforts that are still allowed today.
    pub efforts_left: i64,
    /// Full-speed efforts that were made today.
    pub efforts_done: i64,
    /// Today is a rest day from speed work; the first day on which it goes on.
    pub speed_again_on: Option<Day>,
    /// The drills.
    pub drills: Vec<TodayDrill>,
}

/// One drill today.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TodayDrill {
    /// The drill as the plan shows it.
    #[serde(flatten)]
    pub drill: ShownDrill,
    /// Times it was done in the seven days that end today, today aside.
    pub times_this_week: i64,
    /// Sets done today.
    pub sets_done: i64,
    /// Repetitions done today.
    pub repetitions_done: i64,
    /// Sets to do now.
    pub sets_left: i64,
    /// Repetitions a set.
    pub repetitions: i64,
    /// Rest after a set, s.
    pub rest_s: i64,
    /// Why there is less to do today than the plan shows.
    pub held_today: Vec<Held>,
}

/// What a plan asks on the day that it was read for.
pub fn today(papers: &Papers, shown: &Shown) -> Today {
    let day = shown.day;
    let limits = shown.caps.limits;
    let outside_plan = day < shown.from || shown.until.is_some_and(|until| day > until);
    let efforts_done = papers.efforts_on(day);
    let resting = rest_until(papers, day, limits.rest_days);
    let stopped = shown.caps.stopped_by_pain || resting.is_some() || outside_plan;
    let fits_today = limits.a_day - efforts_done;
    let fits_week = limits.a_week - fullest_week(papers, day);
    let efforts_left = if stopped { 0 } else { fits_today.min(fits_week).max(0) };
    let mut left = efforts_left;
    let drills: Vec<TodayDrill> = shown
        .drills
        .iter()
        .map(|drill| {
            let mut item = started(papers, drill, day, outside_plan);
            if drill.effort == Effort::FullSpeed && item.sets_left > 0 {
                let (sets, repetitions) = within(item.sets_left, item.repetitions, left, drill.two_sided);
                if sets * repetitions < item.sets_left * item.repetitions {
                    let why = if resting.is_some() {
                        Held::Rest
                    } else if fits_week < fits_today {
                        Held::Week
                    } else {
                        Held::Day
                    };
                    item.held_today.push(why);
                }
                (item.sets_left, item.repetitions) = (sets, repetitions);
                left -= sets * repetitions;
            }
            item
        })
        .collect();
    let warm_up = drills.iter().any(|item| item.sets_left > 0 && item.drill.effort != Effort::Easy);
    Today { day, outside_plan, warm_up, efforts_left, efforts_done, speed_again_on: resting, drills }
}

/// A drill with what was done of it, before the caps of today.
fn started(papers: &Papers, drill: &ShownDrill, day: Day, outside_plan: bool) -> TodayDrill {
    let on = |wanted: Day| papers.done_of(drill.planned).filter(move |done| done.value.day == wanted);
    let sets_done = on(day).map(|done| done.value.sets.get()).sum();
    let repetitions_done = on(day).map(|done| done.value.repetitions.get()).sum();
    let before = (1..7).filter_map(|ago| Day::from_number(day.number() - ago).ok());
    let times_this_week = before.filter(|day| on(*day).next().is_some()).count() as i64;
    let dose = drill.dose.filter(|dose| !outside_plan && times_this_week < dose.times_a_week());
    TodayDrill {
        drill: drill.clone(),
        times_this_week,
        sets_done,
        repetitions_done,
        sets_left: dose.map_or(0, |dose| (dose.sets() - sets_done).max(0)),
        repetitions: drill.dose.map_or(0, crate::model::Dose::repetitions),
        rest_s: drill.stock.map_or(60, |stock| super::stock(stock).rest_s),
        held_today: Vec::new(),
    }
}

/// The first day on which speed work may go on, if `day` is a rest day. A day logged
/// ahead, by a device in another time zone, asks for rest before it too.
fn rest_until(papers: &Papers, day: Day, rest_days: i64) -> Option<Day> {
    let near: Vec<Day> = papers
        .speed_days()
        .filter(|speed| *speed != day && speed.days_since(day).abs() <= rest_days)
        .collect();
    let last = near.into_iter().max()?;
    let again = last.number().max(day.number()) + rest_days + 1;
    let again = if last < day { last.number() + rest_days + 1 } else { again };
    Day::from_number(again).ok()
}

/// Most efforts in any seven days that `day` is among.
fn fullest_week(papers: &Papers, day: Day) -> i64 {
    let on = |number: i64| Day::from_number(number).map_or(0, |day| papers.efforts_on(day));
    let around: Vec<i64> = (day.number() - 6..=day.number() + 6).map(on).collect();
    around.windows(7).map(|week| week.iter().sum()).max().unwrap_or(0)
}
