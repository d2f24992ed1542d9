//! What was done of a drill, against what was to be done so far.
//!
//! The rule: a plan asks for what it shows to do, within the caps, and brief and plan
//! count by this one piece of code. Start at [`Counted::of`].

use serde::Serialize;

use super::papers::Papers;
use super::read::{Shown, ShownDrill};
use crate::model::{Day, Dose, Practice};

/// How often a drill was done and should have been.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counted {
    /// Days for which it was asked for so far.
    pub plan_days: i64,
    /// Times to be done so far: whole times only, so a started week asks for its share,
    /// rounded down.
    pub asked_times: u32,
    /// Times it was done.
    pub done_times: u32,
    /// Repetitions logged in all.
    pub done_repetitions: i64,
}

impl Counted {
    /// What was done of a drill up to the day that its plan was read for.
    pub fn of(papers: &Papers, shown: &Shown, drill: &ShownDrill) -> Self {
        let last_day = shown.until.map_or(shown.day, |until| until.min(shown.day));
        let plan_days = (last_day.days_since(drill.since) + 1).max(0);
        let asked = drill.dose.map_or(0, Dose::times_a_week);
        let done: Vec<&Practice> = papers
            .done_of(drill.planned)
            .map(|entry| &entry.value)
            .filter(|done| done.day <= shown.day && done.was_done())
            .collect();
        let mut days: Vec<Day> = done.iter().map(|done| done.day).collect();
        days.dedup();
        let on = |day: Day| done.iter().filter(move |done| done.day == day);
        let sets = |day: Day| on(day).map(|done| done.sets.get()).sum();
        Self {
            plan_days,
            asked_times: (asked * plan_days / 7) as u32,
            done_times: days.iter().map(|day| times_of(sets(*day), drill.asked)).sum(),
            done_repetitions: done.iter().map(|done| done.repetitions.get()).sum(),
        }
    }
}

/// Times of one day on which something was done: logs of one day add up to one time,
/// and to two only where the plan asks for it twice a day and for so many sets.
pub(super) fn times_of(sets: i64, asked: Dose) -> u32 {
    (sets / asked.sets()).clamp(1, asked.times_a_day()) as u32
}
