//! A drill while it is being done: what each tap makes of the counts.
//!
//! The rule: a tap changes one practice, and nothing else; so the book after any tap is
//! all there is to go on from. A rest has its end, and nothing here ticks. Start at
//! [`Shape::of`] and [`tap`].

use serde::Serialize;

use super::catalogue::{Balls, CountedAt};
use super::papers::is_two_sided;
use super::stock;
use crate::model::{Count, Day, Drill, Goal, LastCount, Practice, RecordId, Refusal, StepNo, UnderWay};

/// Rest after a set of a drill that isn't ours, s (common practice, no source).
pub const USUAL_REST_S: i64 = 60;

/// What a drill asks for while it is being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Shape {
    /// Rest after a set, s.
    pub rest_s: i64,
    /// At which steps they are counted.
    pub counted_at: CountedAt,
    /// Which balls it has.
    pub balls: Balls,
    /// What it is judged by, where that is known.
    pub goal: Option<Goal>,
    /// Swings are made from both sides.
    pub two_sided: bool,
}

impl Shape {
    /// The shape of a drill; of one that isn't known, the usual one.
    pub fn of(drill: Option<&Drill>) -> Self {
        let ours = drill.and_then(|drill| drill.stock).map(stock);
        Self {
            rest_s: ours.map_or(USUAL_REST_S, |ours| ours.rest_s),
            counted_at: ours.map_or(CountedAt::InSet(&[1]), |ours| ours.counted_at),
            balls: ours.map_or(Balls::EachRepetition, |ours| ours.balls),
            goal: drill.and_then(super::catalogue::goal_of).map(|(goal, _)| goal),
            two_sided: drill.is_some_and(is_two_sided),
        }
    }

    /// The step at which the next repetition is counted, after so many whole sets and
    /// so many repetitions of the next one, of `a_set`.
    pub fn step_after(&self, sets: i64, in_set: i64, a_set: i64) -> StepNo {
        let at = |steps: &[u8], place: i64| {
            let place = usize::try_from(place).unwrap_or(0).min(steps.len().saturating_sub(1));
            steps.get(place).and_then(|step| StepNo::new(i64::from(*step)).ok()).unwrap_or(StepNo::FIRST)
        };
        match self.counted_at {
            CountedAt::InSet(steps) => at(steps, in_set * steps.len() as i64 / a_set.max(1)),
            CountedAt::SetBySet(steps) => at(steps, sets % (steps.len() as i64).max(1)),
        }
    }

    /// Whether a try is good or not by the drill's own measure, so that it is asked for.
    pub fn asks_whether_good(&self) -> bool {
        matches!(self.goal, Some(Goal::FinishHeld | Goal::StartLine)) && self.balls == Balls::EachRepetition
    }
}

/// What a student does while they do a drill: each is one tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "tap", rename_all = "snake_case")]
pub enum Tap {
    /// One repetition; good by the drill's own measure or not, where that was told.
    Count {
        /// Whether it was good.
        good: Option<bool>,
    },
    /// A ball that was logged, good by the drill's own measure or not, where that was seen.
    Ball {
        /// The ball.
        shot: RecordId,
        /// Whether it was good.
        good: Option<bool>,
    },
    /// On to a step, as the student says.
    Step {
        /// The step.
        to: StepNo,
    },
    /// The set is over, with fewer repetitions than planned.
    SetDone,
    /// The rest is over before its time.
    RestDone,
    /// The last count is taken back.
    Undo,
    /// The drill is over for now.
    End,
}

/// A drill that begins now, in sets of so many.
pub fn begun(planned: RecordId, day: Day, at_ms: i64, shape: &Shape, a_set: Count) -> Practice {
    let under_way = UnderWay::begun(at_ms, shape.step_after(0, 0, a_set.get()), a_set);
    Practice { under_way: Some(under_way), ..Practice::of(planned, day, Count::NONE, Count::NONE) }
}

/// A practice after a tap at a time.
///
/// # Errors
/// A [`Refusal`] where the drill isn't under way, there is nothing to take back, or a
/// count gets absurd.
pub fn tap(mut practice: Practice, shape: &Shape, at_ms: i64, tap: Tap) -> Result<Practice, Refusal> {
    let Some(mut now) = practice.under_way.take().filter(|now| now.ended_ms.is_none()) else {
        return Err(refused(
            "drill",
            "one that is under way",
            "it was ended, or logged as a whole; begin it again",
        ));
    };
    match tap {
        Tap::Count { good } => counted(&mut practice, &mut now, shape, at_ms, (None, true, good))?,
        Tap::Ball { shot, good } => {
            let repetition = shape.balls == Balls::EachRepetition;
            counted(&mut practice, &mut now, shape, at_ms, (Some(shot), repetition, good))?;
            now.balls = now.balls.more()?;
        }
        Tap::Step { to } => now.step = to,
        Tap::SetDone if now.in_set == Count::NONE => {
            return Err(refused(
                "set",
                "one with at least one repetition",
                "nothing of this set was counted",
            ));
        }
        Tap::SetDone => {
            end_set(&mut practice, &mut now, shape, at_ms)?;
            // What is taken back would be a repetition of a set that was longer.
            now.last = None;
        }
        Tap::RestDone => now.rest_until_ms = None,
        Tap::Undo => taken_back(&mut practice, &mut now)?,
        Tap::End => {
            now.ended_ms = Some(at_ms);
            now.rest_until_ms = None;
            now.last = None;
        }
    }
    practice.under_way = Some(now);
    Ok(practice)
}

type Counted = (Option<RecordId>, bool, Option<bool>);

fn counted(
    practice: &mut Practice,
    now: &mut UnderWay,
    shape: &Shape,
    at_ms: i64,
    (shot, repetition, good): Counted,
) -> Result<(), Refusal> {
    now.last = Some(LastCount { step: now.step, repetition, good, in_set: now.in_set, shot });
    now.rest_until_ms = None;
    if let Some(good) = good {
        practice.tries = Some(practice.tries.unwrap_or(Count::NONE).more()?);
        let so_far = practice.good.unwrap_or(Count::NONE);
        practice.good = Some(if good { so_far.more()? } else { so_far });
    }
    if !repetition {
        return Ok(());
    }
    practice.repetitions = practice.repetitions.more()?;
    let at_step = now.at_step.entry(now.step).or_insert(Count::NONE);
    *at_step = at_step.more()?;
    now.in_set = now.in_set.more()?;
    if now.in_set >= now.a_set {
        end_set(practice, now, shape, at_ms)
    } else {
        now.step = shape.step_after(practice.sets.get(), now.in_set.get(), now.a_set.get());
        Ok(())
    }
}

fn end_set(practice: &mut Practice, now: &mut UnderWay, shape: &Shape, at_ms: i64) -> Result<(), Refusal> {
    practice.sets = practice.sets.more()?;
    now.in_set = Count::NONE;
    now.step = shape.step_after(practice.sets.get(), 0, now.a_set.get());
    now.rest_until_ms = Some(at_ms.saturating_add(shape.rest_s * 1000));
    Ok(())
}

fn taken_back(practice: &mut Practice, now: &mut UnderWay) -> Result<(), Refusal> {
    let Some(last) = now.last.take() else {
        return Err(refused(
            "count to take back",
            "one that was just made",
            "only the last one can be taken back, once",
        ));
    };
    now.step = last.step;
    now.rest_until_ms = None;
    if let Some(good) = last.good {
        // Without any try there is no share either.
        practice.tries = practice.tries.map(Count::less).filter(|tries| *tries != Count::NONE);
        practice.good = practice
            .good
            .map(|so_far| if good { so_far.less() } else { so_far })
            .filter(|_| practice.tries.is_some());
    }
    if last.shot.is_some() {
        now.balls = now.balls.less();
    }
    if last.repetition {
        practice.repetitions = practice.repetitions.less();
        if let Some(at_step) = now.at_step.get_mut(&last.step) {
            *at_step = at_step.less();
        }
        if now.in_set == Count::NONE {
            practice.sets = practice.sets.less();
        }
        now.in_set = last.in_set;
    }
    Ok(())
}

fn refused(field: &str, allowed: &str, reason: &'static str) -> Refusal {
    Refusal::new(field, "none", allowed, reason)
}
