//! What came of a plan: done against planned, each drill's measure, and whether to step
//! up, hold or change the drill, with the reason.
//!
//! The rule: an exit is met only with the certainty that it states; nothing is changed
//! by itself, the coach decides. Start at [`Progress::of`]; the rules are the rows of `decide`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::measure::{Measured, Seen};
use super::propose::RULES;
use super::speed::SpeedSummary;
use crate::dose::catalogue::{ALL, goal_of};
use crate::dose::{Counted, Held, Shown, ShownDrill, stock};
use crate::lesson::Log;
use crate::model::{AuthorId, Day, Dose, Purpose, StockDrill};

/// Share of what was asked below which nothing can be said of a drill (assumed).
const ENOUGH_DONE: f64 = 0.5;
/// Times done from which "no change shown" asks for another drill (assumed).
const MANY_TIMES: u32 = 8;
/// Days of the plan from which it does (assumed).
const MANY_DAYS: i64 = 21;

/// What to do with a drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// More of it, or the next harder.
    StepUp,
    /// As it is.
    Hold,
    /// Another drill instead.
    Change,
}

/// Why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// The exit is met with the stated certainty.
    ExitMet,
    /// Called better; not there yet.
    Better,
    /// Called worse.
    Worse,
    /// Not sure yet, and the best guess goes the right way.
    Leaning,
    /// Done often enough, no change has been shown, and the best guess is none either.
    NoChange,
    /// Too little was done to tell.
    NotDone,
    /// Done, and too early to tell.
    TooEarly,
    /// Nothing of it was measured.
    NotMeasured,
    /// Pain was reported: speed work is stopped.
    Pain,
    /// Taken out of the plan.
    Dropped,
    /// Of another plan.
    OtherPlan,
}

/// One time that a drill was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DoneLine {
    /// When.
    pub day: Day,
    /// Whose device wrote it.
    pub by: String,
    /// Sets.
    pub sets: i64,
    /// Repetitions in all.
    pub repetitions: i64,
    /// Good tries, where they were counted.
    pub good: Option<i64>,
    /// Of how many.
    pub tries: Option<i64>,
}

/// What came of one drill.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrillProgress {
    /// The drill as it is shown to do.
    #[serde(flatten)]
    pub drill: ShownDrill,
    /// Times that the plan asked for so far, as shown to do.
    pub asked_times: u32,
    /// Times it was done; logs of one day add up.
    pub done_times: u32,
    /// Each time, by day.
    pub done: Vec<DoneLine>,
    /// Its measure, where it has one.
    pub measured: Option<Measured>,
    /// What to do.
    pub decision: Decision,
    /// Why.
    pub reason: Reason,
    /// The next dose, if it is to step up.
    pub next_dose: Option<Dose>,
    /// Another drill with the same purpose, if it is to change.
    pub instead: Option<StockDrill>,
}

/// What came of a plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Progress {
    /// The plan as it is to be done.
    #[serde(flatten)]
    pub shown: Shown,
    /// Drill by drill, in the plan's order.
    pub progress: Vec<DrillProgress>,
    /// Swings for speed.
    pub speed: SpeedSummary,
}

impl Progress {
    /// What came of a plan up to the day that it was read for.
    pub fn of(shown: Shown, log: &Log, names: &BTreeMap<AuthorId, String>) -> Self {
        let seen = Seen::of(log);
        let progress = shown.drills.iter().map(|drill| of_drill(&shown, drill, log, &seen, names)).collect();
        Self { progress, speed: SpeedSummary::of(&log.papers), shown }
    }
}

fn of_drill(
    shown: &Shown,
    drill: &ShownDrill,
    log: &Log,
    seen: &Seen<'_>,
    names: &BTreeMap<AuthorId, String>,
) -> DrillProgress {
    let who = |author: &AuthorId| names.get(author).cloned().unwrap_or_else(|| "another device".into());
    let papers = &log.papers;
    let done: Vec<DoneLine> = papers
        .done_of(drill.planned)
        .filter(|done| done.value.day <= shown.day && done.value.was_done())
        .map(|done| DoneLine {
            day: done.value.day,
            by: who(&done.last.author),
            sets: done.value.sets.get(),
            repetitions: done.value.repetitions.get(),
            good: done.value.good.map(crate::model::Count::get),
            tries: done.value.tries.map(crate::model::Count::get),
        })
        .collect();
    let counted = Counted::of(papers, shown, drill);
    let judged_by = papers.drills.get(&drill.drill).and_then(|entry| goal_of(&entry.value));
    let measured = judged_by.map(|(goal, exit)| Measured::of(seen, drill.planned, goal, exit, drill.since));
    let mut progress = DrillProgress {
        drill: drill.clone(),
        asked_times: counted.asked_times,
        done_times: counted.done_times,
        done,
        measured,
        decision: Decision::Hold,
        reason: Reason::TooEarly,
        next_dose: None,
        instead: None,
    };
    (progress.decision, progress.reason) = decide(&progress, counted.plan_days);
    if progress.decision == Decision::StepUp {
        progress.next_dose = drill.stock.zip(drill.dose).and_then(|(drill, dose)| harder(drill, dose));
        if progress.next_dose.is_none() {
            // There is no more of it: the drill has done its work.
            progress.decision = Decision::Change;
        }
    }
    if progress.decision == Decision::Change {
        progress.instead = another(shown, drill);
    }
    progress
}

/// What to do with a drill: the first row that fits.
fn decide(drill: &DrillProgress, plan_days: i64) -> (Decision, Reason) {
    let (done, asked) = (f64::from(drill.done_times), f64::from(drill.asked_times));
    let measured = drill.measured.as_ref();
    let better = measured.and_then(|measured| measured.better);
    let since = |measured: &&Measured| measured.points.iter().any(|point| point.day >= drill.drill.since);
    let of_points = measured.filter(|measured| measured.goal != crate::model::Goal::Feel);
    let unmeasured = measured.is_none() || of_points.is_some_and(|measured| !since(&measured));
    if drill.drill.held.contains(&Held::EarlierPlan) {
        (Decision::Hold, Reason::OtherPlan)
    } else if drill.drill.dropped {
        (Decision::Hold, Reason::Dropped)
    } else if drill.drill.held.contains(&Held::Pain) {
        (Decision::Hold, Reason::Pain)
    } else if asked >= 2.0 && done < ENOUGH_DONE * asked {
        (Decision::Hold, Reason::NotDone)
    } else if measured.is_some_and(|measured| measured.exit_met) && drill.done_times > 0 {
        (Decision::StepUp, Reason::ExitMet)
    } else if better == Some(false) {
        (Decision::Change, Reason::Worse)
    } else if better == Some(true) {
        (Decision::Hold, Reason::Better)
    } else if unmeasured {
        (Decision::Hold, Reason::NotMeasured)
    } else if measured.is_some_and(|measured| measured.leaning) {
        (Decision::Hold, Reason::Leaning)
    } else if drill.done_times >= MANY_TIMES && plan_days >= MANY_DAYS {
        (Decision::Change, Reason::NoChange)
    } else {
        (Decision::Hold, Reason::TooEarly)
    }
}

/// One step more: repetitions first, then sets. Caps apply when the plan is read.
fn harder(drill: StockDrill, dose: Dose) -> Option<Dose> {
    let stock = stock(drill);
    let [_, _, most_repetitions] = stock.repetitions;
    let [_, _, most_sets] = stock.sets;
    let more = (dose.repetitions() + 2).min(most_repetitions);
    if more > dose.repetitions() {
        return Dose::new(dose.sets(), more, dose.times_a_week()).ok();
    }
    (dose.sets() < most_sets)
        .then(|| Dose::new(dose.sets() + 1, dose.repetitions(), dose.times_a_week()).ok())
        .flatten()
}

/// Another drill that goes at the same fault, which the plan doesn't have.
fn another(shown: &Shown, drill: &ShownDrill) -> Option<StockDrill> {
    let own = drill.stock?;
    let purpose: Purpose = stock(own).purpose;
    let in_plan = |wanted: StockDrill| shown.drills.iter().any(|drill| drill.stock == Some(wanted));
    let beside =
        RULES.iter().filter(|(_, drills)| drills.contains(&own)).flat_map(|(_, drills)| drills.iter());
    let like = ALL.iter().filter(|stock| stock.purpose == purpose).map(|stock| &stock.drill);
    beside.chain(like).copied().find(|wanted| !in_plan(*wanted))
}
