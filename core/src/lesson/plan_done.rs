//! Was the plan done, and did it work?
//!
//! The rule: what was done is counted; whether it worked is only said by the
//! comparison with the baseline, which holds however often one looks. A change
//! since the baseline is no proof that the plan made it. Start at [`PlanDone::of`].

use std::collections::BTreeMap;

use serde::Serialize;

use super::changed::{Changed, Verdict};
use super::feel::{Feel, FeelTurn};
use super::log::Log;
use crate::book::{Conflict, Entry};
use crate::face::Pattern;
use crate::face::compare::Change;
use crate::model::{AuthorId, Day, Drill, Kind, PlannedDrill, Purpose, RecordId, field_word, value_word};

/// A plan and what was done of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanDone {
    /// What it is after.
    pub aim: String,
    /// Its first day.
    pub from: Day,
    /// Its last day.
    pub until: Option<Day>,
    /// Its drills, in order.
    pub drills: Vec<DrillDone>,
    /// Whether what its drills are for has changed, each purpose once.
    pub effects: Vec<Effect>,
}

/// One planned drill and what was done of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrillDone {
    /// The drill's name.
    pub drill: String,
    /// What it is for.
    pub purpose: Option<Purpose>,
    /// Sets a time.
    pub sets: i64,
    /// Repetitions a set.
    pub repetitions: i64,
    /// Times a week.
    pub times_a_week: i64,
    /// Times that the plan asked for so far.
    pub asked_times: u32,
    /// Times it was logged.
    pub done_times: u32,
    /// Repetitions logged in all.
    pub done_repetitions: i64,
}

/// Whether one thing that a plan is for has changed since the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Effect {
    /// What for.
    pub purpose: Purpose,
    /// What the comparison says.
    pub verdict: EffectVerdict,
}

/// What the comparison says of one purpose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EffectVerdict {
    /// Changed for the better.
    Better {
        /// The session, from 1, after which that was first sure.
        first_called_at: u32,
    },
    /// Changed for the worse.
    Worse {
        /// The session, from 1, after which that was first sure.
        first_called_at: u32,
    },
    /// No change has been shown.
    NotShown,
    /// Club, ball or powder differ, which has to be asked about first.
    AskFirst,
    /// Nothing to compare yet, or too few sessions for any call.
    TooEarly,
    /// No comparison follows this over many looks.
    NotFollowed,
}

/// A field of a planned drill that both sides wrote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanConflict {
    /// The drill.
    pub drill: String,
    /// The field.
    pub field: String,
    /// Who wrote what; the last one counts.
    pub values: Vec<WrittenValue>,
}

/// A value and who wrote it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WrittenValue {
    /// Whose device wrote it.
    pub by: String,
    /// The value, in words.
    pub value: String,
}

impl WrittenValue {
    /// The values of a field that several devices wrote; `names` says whose they are.
    pub fn of(conflict: &Conflict, names: &BTreeMap<AuthorId, String>) -> Vec<Self> {
        let who = |author: &AuthorId| names.get(author).cloned().unwrap_or_else(|| "another device".into());
        let written = conflict.values.iter();
        written.map(|(stamp, value)| Self { by: who(&stamp.author), value: value_word(value) }).collect()
    }
}

impl PlanDone {
    /// The latest plan of a log, read on a day, with the pattern at the baseline
    /// and what changed since.
    pub fn of(
        log: &Log,
        as_of: Day,
        baseline: Option<&Pattern>,
        changed: Option<&Changed>,
        feel: &Feel,
    ) -> Option<Self> {
        let plan = log.plans.last()?;
        let last_day = plan.value.until.map_or(as_of, |until| until.min(as_of));
        let days = (last_day.days_since(plan.value.from) + 1).max(0);
        let drills: Vec<DrillDone> = drills_of(log, plan.id)
            .into_iter()
            .map(|planned| {
                let done: Vec<_> = log.practice.iter().filter(|done| done.planned == planned.id).collect();
                let dose = planned.value.dose;
                DrillDone {
                    drill: drill_name(log, &planned.value),
                    purpose: log.drills.get(&planned.value.drill).and_then(|drill: &Drill| drill.purpose),
                    sets: dose.sets(),
                    repetitions: dose.repetitions(),
                    times_a_week: dose.times_a_week(),
                    // Whole times only: a started week asks for its share, rounded down.
                    asked_times: (dose.times_a_week() * days / 7) as u32,
                    done_times: done.len() as u32,
                    done_repetitions: done.iter().map(|done| done.repetitions.get()).sum(),
                }
            })
            .collect();
        let mut purposes: Vec<Purpose> = Vec::new();
        for purpose in drills.iter().filter_map(|drill| drill.purpose) {
            if !purposes.contains(&purpose) {
                purposes.push(purpose);
            }
        }
        let effect = |purpose| Effect { purpose, verdict: verdict(purpose, baseline, changed, feel) };
        Some(Self {
            aim: plan.value.aim.to_string(),
            from: plan.value.from,
            until: plan.value.until,
            drills,
            effects: purposes.into_iter().map(effect).collect(),
        })
    }

    /// Times done, of times asked for, over all drills; a drill done more often
    /// than asked makes up for no other.
    pub fn times(&self) -> (u32, u32) {
        self.drills.iter().fold((0, 0), |(done, asked), drill| {
            (done + drill.done_times.min(drill.asked_times), asked + drill.asked_times)
        })
    }
}

fn verdict(
    purpose: Purpose,
    baseline: Option<&Pattern>,
    changed: Option<&Changed>,
    feel: &Feel,
) -> EffectVerdict {
    if purpose == Purpose::Feel {
        return match (feel.trend.called, feel.trend.called_at) {
            (Some(FeelTurn::Better), Some(at)) => EffectVerdict::Better { first_called_at: at },
            (Some(FeelTurn::Worse), Some(at)) => EffectVerdict::Worse { first_called_at: at },
            _ if feel.trend.more_sessions > 0 => EffectVerdict::TooEarly,
            _ => EffectVerdict::NotShown,
        };
    }
    if matches!(purpose, Purpose::Speed | Purpose::Face) {
        return EffectVerdict::NotFollowed;
    }
    let Some(changed) = changed else { return EffectVerdict::TooEarly };
    match changed.verdict {
        Verdict::NothingToCompare | Verdict::TooEarly => EffectVerdict::TooEarly,
        Verdict::AskFirst => EffectVerdict::AskFirst,
        Verdict::NotShown => EffectVerdict::NotShown,
        Verdict::Changed if purpose == Purpose::ContactScatter => {
            let scatter = &changed.comparison.scatter;
            called(scatter.first_called_at, scatter.estimate.is_some_and(|ratio| ratio < 1.0))
        }
        Verdict::Changed => moved_nearer(baseline, changed),
    }
}

fn called(first_called_at: Option<u32>, better: bool) -> EffectVerdict {
    match first_called_at {
        None => EffectVerdict::NotShown,
        Some(first_called_at) if better => EffectVerdict::Better { first_called_at },
        Some(first_called_at) => EffectVerdict::Worse { first_called_at },
    }
}

/// Whether the axes that were called brought the middle nearer to the target point.
fn moved_nearer(baseline: Option<&Pattern>, changed: &Changed) -> EffectVerdict {
    let bias = &changed.comparison.bias;
    let at = |axis: &Change, from: Option<f64>| {
        let (from, at) = (from.unwrap_or(0.0), axis.first_called_at?);
        let to = from + axis.estimate.unwrap_or(0.0);
        Some((at, to * to - from * from))
    };
    let toe = at(&bias.toe, baseline.and_then(|pattern| pattern.bias_toe_mm));
    let high = at(&bias.high_axis, baseline.and_then(|pattern| pattern.bias_high_mm));
    let farther: f64 = [toe, high].into_iter().flatten().map(|(_, farther)| farther).sum();
    called([toe, high].into_iter().flatten().map(|(at, _)| at).min(), farther < 0.0)
}

/// The drills of a plan in their order, ties by identity.
fn drills_of(log: &Log, plan: RecordId) -> Vec<&Entry<PlannedDrill>> {
    let mut planned: Vec<&Entry<PlannedDrill>> =
        log.planned.iter().filter(|p| p.value.plan == plan).collect();
    planned.sort_by(|a, b| a.value.order.get().total_cmp(&b.value.order.get()).then(a.id.cmp(&b.id)));
    planned
}

fn drill_name(log: &Log, planned: &PlannedDrill) -> String {
    log.drills
        .get(&planned.drill)
        .map_or_else(|| "a drill that did not come yet".into(), |d| d.name.to_string())
}

/// Fields of the latest plan's drills that both sides wrote. `names` says whose
/// devices wrote what.
pub(super) fn conflicts(log: &Log, names: &BTreeMap<AuthorId, String>) -> Vec<PlanConflict> {
    let Some(plan) = log.plans.last() else { return Vec::new() };
    drills_of(log, plan.id)
        .into_iter()
        .flat_map(|planned| {
            planned.conflicts.iter().map(|conflict| PlanConflict {
                drill: drill_name(log, &planned.value),
                field: field_word(Kind::PLANNED_DRILL, conflict.field),
                values: WrittenValue::of(conflict, names),
            })
        })
        .collect()
}
