//! A trial of two ways to hit the ball: which ball is next, and what came of it.
//!
//! The rules: no difference is told before the last ball is hit or left out, or
//! the trial was ended, so nobody stops where it looks good; what is called is
//! judged once, by the one measure that was chosen at the start, at 5 %; other
//! measures are told with their ranges and call nothing.
//!
//! The test and its 90 % range are those of the drawn order (`randomise`). Start
//! at [`TrialResult::of`], [`Standing`].

mod outcome;
mod power;
mod randomise;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_coverage;

use std::collections::BTreeMap;

use serde::Serialize;

use super::fits::FitOfShot;
use super::log::Log;
use crate::book::Entry;
use crate::model::{Arm, BallNo, Day, Measure, RecordId, Refusal, Trial, TrialKind};

pub use outcome::Source;
pub use power::{Foresight, POWER};
pub use randomise::{Randomised, Value, randomisation};

/// Level of the ranges.
pub const LEVEL: f64 = 0.90;
/// A p-value up to this calls a difference.
pub const CALLED_AT: f64 = 0.05;

/// The ball to hit next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct NextBall {
    /// Its number.
    pub ball: BallNo,
    /// Its block, from 1.
    pub block: u16,
    /// How to hit it.
    pub arm: Arm,
}

/// How far a trial is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    /// The trial's record.
    #[serde(rename = "record")]
    pub id: RecordId,
    /// The day on which it began.
    pub day: Day,
    /// What the arms differ in.
    pub kind: TrialKind,
    /// What each arm is called.
    pub arms: [String; 2],
    /// What it is judged by.
    pub measure: Measure,
    /// Its blocks.
    pub blocks: u16,
    /// Balls a block.
    pub balls_a_block: u16,
    /// Balls in all.
    pub balls: u16,
    /// Balls that were hit.
    pub hit: u16,
    /// Balls that were left out and not hit after all.
    pub left_out: u16,
    /// Balls that were hit more than once: the first one of which the measure was
    /// read counts.
    pub repeated: u16,
    /// The day on which it was ended before its last ball.
    pub ended: Option<Day>,
    /// The ball to hit next; none where it is over.
    pub next: Option<NextBall>,
}

/// One measure, arm against arm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureFound {
    /// Which.
    pub measure: Measure,
    /// Whether the trial is judged by it.
    pub judged_by: bool,
    /// Where its values come from.
    pub source: Source,
    /// Balls of each arm that count.
    pub balls: [u32; 2],
    /// Balls that don't count, as their block has none of the other arm.
    pub alone: u32,
    /// Mean of each arm, in the measure's unit: m, mm, m/s, degrees.
    pub means: [f64; 2],
    /// Second arm less first, with its 90 % range.
    pub difference: Randomised,
}

/// What came of a trial.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrialResult {
    /// How far it is.
    pub standing: Standing,
    /// Whether it is too early to look: differences are told at the end.
    pub withheld: bool,
    /// Every measure that was read of balls of both arms; empty while withheld.
    pub measures: Vec<MeasureFound>,
    /// The arm that the measure it is judged by calls better.
    pub better: Option<Arm>,
    /// What it could see; once it is over, the ranges say that better.
    pub foresight: Option<Foresight>,
}

/// A shot's place in a log: visit and shot.
type At = (usize, usize);

/// Balls of a trial: number, visit, shot; in the order in which they were logged.
fn balls_of(log: &Log, id: RecordId) -> BTreeMap<BallNo, Vec<At>> {
    let mut balls: BTreeMap<BallNo, Vec<(RecordId, At)>> = BTreeMap::new();
    for (v, visit) in log.visits.iter().enumerate() {
        for ((s, shot), of) in visit.shots.iter().enumerate().zip(&visit.shot_ids) {
            if let Some(trial) = shot.trial.filter(|trial| trial.trial == id) {
                balls.entry(trial.ball).or_default().push((*of, (v, s)));
            }
        }
    }
    balls
        .into_iter()
        .map(|(ball, mut shots)| {
            // Records' identities are in the order of their making.
            shots.sort_by_key(|(id, _)| *id);
            (ball, shots.into_iter().map(|(_, at)| at).collect())
        })
        .collect()
}

impl Standing {
    /// How far a trial is.
    pub fn of(log: &Log, trial: &Entry<Trial>) -> Self {
        let Trial { day, kind, ref arms, measure, ref order, ref left_out, ended } = trial.value;
        let hit = balls_of(log, trial.id);
        let open = |ball: &BallNo| !hit.contains_key(ball) && !left_out.contains(ball);
        let next = order.each().find(open).filter(|_| ended.is_none());
        let next =
            next.and_then(|ball| Some(NextBall { ball, block: order.block(ball), arm: order.arm(ball)? }));
        Self {
            id: trial.id,
            day,
            kind,
            arms: arms.each_ref().map(ToString::to_string),
            measure,
            blocks: order.blocks(),
            balls_a_block: order.balls_a_block(),
            balls: order.balls(),
            hit: order.each().filter(|ball| hit.contains_key(ball)).count() as u16,
            left_out: left_out.iter().filter(|ball| !hit.contains_key(ball)).count() as u16,
            repeated: hit.values().filter(|shots| shots.len() > 1).count() as u16,
            ended,
            next,
        }
    }

    /// Whether every ball was hit or left out, or the trial was ended.
    pub fn is_over(&self) -> bool {
        self.next.is_none()
    }

    /// What an arm is called.
    pub fn name(&self, arm: Arm) -> &str {
        let [first, second] = &self.arms;
        match arm {
            Arm::First => first,
            Arm::Second => second,
        }
    }
}

/// Whether a new trial may begin: one that still has a next ball goes first.
///
/// # Errors
/// A refusal that says what to do.
pub fn may_begin(log: &Log) -> Result<(), Refusal> {
    let open = latest(log).map(|trial| Standing::of(log, trial)).filter(|standing| !standing.is_over());
    open.map_or(Ok(()), |standing| {
        Err(Refusal::new(
            "trial",
            format!("one begun on {} has {} of {} balls hit", standing.day, standing.hit, standing.balls),
            "one trial at a time: hit its balls, leave them out, or end it",
            "a trial that is begun anew when it looks bad proves nothing",
        ))
    })
}

/// The latest trial of a log.
pub fn latest(log: &Log) -> Option<&Entry<Trial>> {
    log.trials.last()
}

impl TrialResult {
    /// What came of a trial. `fits` are those of the log, for carries that were
    /// not read.
    pub fn of(log: &Log, fits: &[FitOfShot], trial: &Entry<Trial>) -> Self {
        let standing = Standing::of(log, trial);
        let withheld = !standing.is_over();
        let measures: Vec<MeasureFound> = if withheld {
            Vec::new()
        } else {
            Measure::ALL.iter().filter_map(|(_, measure)| found(log, fits, trial, *measure)).collect()
        };
        let judged = measures.iter().find(|found| found.judged_by);
        // Ended early, it can't be known why: nothing is called.
        let called = judged.filter(|found| standing.ended.is_none() && found.difference.p_value <= CALLED_AT);
        let better = called.map(|found| {
            let more_is_better = matches!(found.measure, Measure::Carry | Measure::HeadSpeed);
            if (found.difference.estimate > 0.0) == more_is_better { Arm::Second } else { Arm::First }
        });
        let of = &trial.value;
        let foresight = withheld.then(|| Foresight::of_order(log, fits, of.measure, &of.order));
        Self { standing, withheld, measures, better, foresight }
    }
}

fn found(log: &Log, fits: &[FitOfShot], trial: &Entry<Trial>, measure: Measure) -> Option<MeasureFound> {
    let order = &trial.value.order;
    // Every shot of every ball, first the choice of one kind of value for all.
    let all: Vec<(BallNo, Arm, At)> = balls_of(log, trial.id)
        .into_iter()
        .filter_map(|(ball, shots)| Some((ball, order.arm(ball)?, shots)))
        .flat_map(|(ball, arm, shots)| shots.into_iter().map(move |at| (ball, arm, at)))
        .collect();
    let shots: Vec<At> = all.iter().map(|(_, _, at)| *at).collect();
    let arm_at = |n: usize| all.get(n).map_or(0, |(_, arm, _)| arm.code() as usize);
    let (values, source) = outcome::values_of(log, fits, measure, &shots, &arm_at);
    let mut blocks: BTreeMap<u16, Vec<Value>> = BTreeMap::new();
    let mut before = None;
    for ((ball, arm, _), value) in all.iter().zip(values) {
        let Some(value) = value.filter(|_| before != Some(*ball)) else { continue };
        before = Some(*ball);
        blocks.entry(order.block(*ball)).or_default().push((value, *arm == Arm::Second));
    }
    let blocks: Vec<Vec<Value>> = blocks.into_values().collect();
    // The seed is the trial's own, so that every device draws the same orders.
    let difference = randomisation(&blocks, LEVEL, trial.id.bytes())?;
    let (mut balls, mut sums, mut alone) = ([0; 2], [0.0; 2], 0);
    for block in &blocks {
        let seconds = block.iter().filter(|(_, second)| *second).count();
        if seconds == 0 || seconds == block.len() {
            alone += block.len() as u32;
            continue;
        }
        for (value, second) in block {
            let arm = usize::from(*second);
            if let (Some(balls), Some(sum)) = (balls.get_mut(arm), sums.get_mut(arm)) {
                *balls += 1;
                *sum += value;
            }
        }
    }
    let [first, second] = sums;
    let [n_first, n_second] = balls.map(f64::from);
    Some(MeasureFound {
        measure,
        judged_by: measure == trial.value.measure,
        source,
        balls,
        alone,
        means: [first / n_first, second / n_second],
        difference,
    })
}
