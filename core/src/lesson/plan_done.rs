//! Was the plan done, and did it work?
//!
//! The rule: what was done is counted as the plan counts it; whether it worked is only said by the
//! comparison with the baseline, which holds however often one looks. A change
//! since the baseline is no proof that the plan made it. Start at [`PlanDone::of`].

use serde::Serialize;

use super::changed::{Changed, Verdict};
use super::feel::{Feel, FeelTurn};
use crate::dose::{Counted, Held, Papers, PlanConflict, Shown, ShownDrill};
use crate::face::Pattern;
use crate::face::compare::Change;
use crate::model::{Day, Purpose};

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
    /// Sets a time, as is to be done within the caps; as asked where all of it is held back.
    pub sets: i64,
    /// Repetitions a set.
    pub repetitions: i64,
    /// Times a week.
    pub times_a_week: i64,
    /// Why less is to be done than the plan asks.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub held: Vec<Held>,
    /// Times to be done so far, within the caps.
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

/// A field of the plan or one of its drills that both sides wrote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrillConflict {
    /// The drill; "the plan" for a field of the plan itself.
    pub drill: String,
    /// The field, and who wrote what.
    #[serde(flatten)]
    pub conflict: PlanConflict,
}

impl PlanDone {
    /// A plan as it was read, with the pattern at the baseline and what changed since.
    pub fn of(
        papers: &Papers,
        shown: &Shown,
        baseline: Option<&Pattern>,
        changed: Option<&Changed>,
        feel: &Feel,
    ) -> Self {
        let drills: Vec<DrillDone> =
            shown.drills.iter().map(|drill| DrillDone::of(papers, shown, drill)).collect();
        let mut purposes: Vec<Purpose> = Vec::new();
        for purpose in drills.iter().filter_map(|drill| drill.purpose) {
            if !purposes.contains(&purpose) {
                purposes.push(purpose);
            }
        }
        let effect = |purpose| Effect { purpose, verdict: verdict(purpose, baseline, changed, feel) };
        Self {
            aim: shown.aim.clone(),
            from: shown.from,
            until: shown.until,
            drills,
            effects: purposes.into_iter().map(effect).collect(),
        }
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
        Verdict::NotShown | Verdict::TooLate => EffectVerdict::NotShown,
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

impl DrillDone {
    fn of(papers: &Papers, shown: &Shown, drill: &ShownDrill) -> Self {
        let counted = Counted::of(papers, shown, drill);
        let dose = drill.dose.unwrap_or(drill.asked);
        Self {
            drill: drill.name.clone(),
            purpose: drill.purpose,
            sets: dose.sets(),
            repetitions: dose.repetitions(),
            times_a_week: dose.times_a_week(),
            held: drill.held.clone(),
            asked_times: counted.asked_times,
            done_times: counted.done_times,
            done_repetitions: counted.done_repetitions,
        }
    }
}

/// Fields of a plan and its drills that both sides wrote.
pub(super) fn conflicts(shown: &Shown) -> Vec<DrillConflict> {
    let of = |drill: &str, conflicts: &[PlanConflict]| {
        let told =
            |conflict: &PlanConflict| DrillConflict { drill: drill.into(), conflict: conflict.clone() };
        conflicts.iter().map(told).collect::<Vec<_>>()
    };
    let mut all = of("the plan", &shown.conflicts);
    all.extend(shown.drills.iter().flat_map(|drill| of(&drill.name, &drill.conflicts)));
    all
}
