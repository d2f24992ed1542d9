//! What is to be done on a day: what the plan asks, less what is done already, less
//! what rest days and the last seven days don't allow.
//!
//! The rule: what is shown to do today, added to every full-speed effort that any
//! log tells of, passes no cap: not of today, not of any seven days that today is
//! among, and not of the rest days on either side.

use serde::Serialize;

use super::catalogue::Balls;
use super::counted::times_of;
use super::going::{Shape, USUAL_REST_S};
use super::papers::Papers;
use super::read::{Held, Shown, ShownDrill, within};
use crate::book::Entry;
use crate::model::{AuthorId, Day, Dose, Effort, Practice, RecordId, UnderWay};

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
    /// Where the student is in it, where it is being done on this device: what an app
    /// that was interrupted goes on from.
    pub going: Option<Going>,
    /// Repetitions to do of the set that is under way.
    pub left_in_set: i64,
    /// Whole sets to do after that.
    pub sets_left: i64,
    /// Repetitions a set.
    pub repetitions: i64,
    /// Rest after a set, s.
    pub rest_s: i64,
    /// Why there is less to do today than the plan shows.
    pub held_today: Vec<Held>,
}

impl TodayDrill {
    /// Repetitions to do now, over all sets.
    pub fn repetitions_left(&self) -> i64 {
        self.left_in_set + self.sets_left * self.repetitions
    }
}

/// A drill that is being done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Going {
    /// The record of what is done of it.
    pub practice: RecordId,
    /// Where the student is in it.
    #[serde(flatten)]
    pub at: UnderWay,
    /// Tries that were good so far, and of how many, where they are counted.
    pub good: Option<(i64, i64)>,
    /// Whether a try is asked for as good or not.
    pub asks_whether_good: bool,
    /// Which balls it has.
    pub balls_of: Balls,
}

/// What a plan asks on the day that it was read for. `device` is the one that reads: a
/// drill goes on where it was begun, so that no two devices count one practice.
pub fn today(papers: &Papers, shown: &Shown, device: AuthorId) -> Today {
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
            let mut item = started(papers, drill, shown, device, outside_plan);
            let wanted = item.repetitions_left();
            if drill.effort == Effort::FullSpeed && wanted > 0 {
                let in_set = item.repetitions - item.left_in_set;
                item.left_in_set = fair_rest(in_set, item.left_in_set.min(left), drill.two_sided);
                left -= item.left_in_set;
                let (sets, repetitions) = within(item.sets_left, item.repetitions, left, drill.two_sided);
                left -= sets * repetitions;
                if item.left_in_set + sets * repetitions < wanted {
                    let why = if resting.is_some() {
                        Held::Rest
                    } else if fits_week < fits_today {
                        Held::Week
                    } else {
                        Held::Day
                    };
                    item.held_today.push(why);
                }
                item.sets_left = sets;
                if sets > 0 {
                    item.repetitions = repetitions;
                }
            }
            item
        })
        .collect();
    let warm_up = drills.iter().any(|item| item.repetitions_left() > 0 && item.drill.effort != Effort::Easy);
    Today { day, outside_plan, warm_up, efforts_left, efforts_done, speed_again_on: resting, drills }
}

/// A drill with what was done of it, before the caps of today.
fn started(
    papers: &Papers,
    drill: &ShownDrill,
    shown: &Shown,
    device: AuthorId,
    outside_plan: bool,
) -> TodayDrill {
    let day = shown.day;
    let on = |wanted: Day| {
        papers.done_of(drill.planned).filter(move |done| done.value.day == wanted && done.value.was_done())
    };
    let sets_on = |wanted: Day| on(wanted).map(|done| done.value.sets.get()).sum::<i64>();
    let sets_done = sets_on(day);
    let repetitions_done = on(day).map(|done| done.value.repetitions.get()).sum();
    let before = (1..7).filter_map(|ago| Day::from_number(day.number() - ago).ok());
    let done_before = before.filter(|day| on(*day).next().is_some());
    let times_this_week = done_before.map(|day| i64::from(times_of(sets_on(day), drill.asked))).sum();
    let dose = drill.dose.filter(|dose| !outside_plan && times_this_week < dose.times_a_week());
    let times_today = |dose: Dose| dose.times_a_day().min(dose.times_a_week() - times_this_week);
    let sets_left = dose.map_or(0, |dose| (dose.sets() * times_today(dose) - sets_done).max(0));
    let going = going(papers, drill.planned, day, device);
    // Sets of a drill that is under way stay as long as they were when it was begun.
    let a_set = going.as_ref().map(|going| going.at.a_set.get()).filter(|_| drill.dose.is_some());
    let repetitions = a_set.unwrap_or_else(|| drill.dose.map_or(0, Dose::repetitions));
    let in_set = going.as_ref().map_or(0, |going| going.at.in_set.get().clamp(0, repetitions));
    let under_way = in_set > 0 && sets_left > 0;
    TodayDrill {
        drill: drill.clone(),
        times_this_week,
        sets_done,
        repetitions_done,
        going,
        left_in_set: if under_way { repetitions - in_set } else { 0 },
        sets_left: sets_left - i64::from(under_way),
        repetitions,
        rest_s: drill.stock.map_or(USUAL_REST_S, |stock| super::stock(stock).rest_s),
        held_today: Vec::new(),
    }
}

/// The latest practice of a drill on a day that is under way on a device.
fn going(papers: &Papers, planned: RecordId, day: Day, device: AuthorId) -> Option<Going> {
    let of_device = |done: &&Entry<Practice>| done.value.day == day && done.last.author == device;
    let (entry, at) = papers
        .done_of(planned)
        .filter(of_device)
        .filter_map(|entry| Some((entry, entry.value.going()?)))
        .last()?;
    let planned = papers.planned.iter().find(|assigned| assigned.entry.id == planned)?;
    let shape = Shape::of(papers.drill_of(&planned.entry.value).map(|entry| &entry.value));
    Some(Going {
        practice: entry.id,
        at: at.clone(),
        good: entry.value.good.zip(entry.value.tries).map(|(good, tries)| (good.get(), tries.get())),
        asks_whether_good: shape.asks_whether_good(),
        balls_of: shape.balls,
    })
}

/// What of a set's rest leaves both sides with the same.
fn fair_rest(in_set: i64, left: i64, two_sided: bool) -> i64 {
    if two_sided && (in_set + left) % 2 != 0 { (left - 1).max(0) } else { left }
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
