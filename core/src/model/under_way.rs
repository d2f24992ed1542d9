//! Where a student is in a drill that is being done, so that an app that was
//! interrupted goes on at the same repetition, with the same rest.
//!
//! The rule: it is part of the [`Practice`](super::Practice) whose counts it moves, so
//! that one change holds both and no end of power can tear them apart. Nothing in it
//! ticks: a rest carries its end, and whoever shows it counts.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};
use super::count::Count;
use super::fields::{FieldNo, Fields};
use super::ids::RecordId;

/// A step of a drill's text, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "i64", into = "i64")]
pub struct StepNo(u8);

impl StepNo {
    /// The first step.
    pub const FIRST: Self = Self(1);

    const RANGE: Range =
        Range { field: "step", low: 1.0, high: 30.0, unit: "", reason: "a drill has a few steps" };

    /// A step's number.
    ///
    /// # Errors
    /// A [`Refusal`] for a number that no drill has.
    pub fn new(number: i64) -> Result<Self, Refusal> {
        Self::RANGE.check(number as f64).map(|n| Self(n as u8))
    }

    /// The number, from 1.
    pub fn get(self) -> u8 {
        self.0
    }
}

impl TryFrom<i64> for StepNo {
    type Error = Refusal;
    fn try_from(number: i64) -> Result<Self, Refusal> {
        Self::new(number)
    }
}

impl From<StepNo> for i64 {
    fn from(step: StepNo) -> i64 {
        i64::from(step.0)
    }
}

/// What was counted last, so that it can be taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastCount {
    /// The step at which it was counted.
    pub step: StepNo,
    /// Whether it counted as a repetition, or was only a ball.
    pub repetition: bool,
    /// Whether it was good by the drill's own measure, where that was told.
    pub good: Option<bool>,
    /// The repetitions of the set before it.
    pub in_set: Count,
    /// The ball that was logged with it.
    pub shot: Option<RecordId>,
}

/// Where a student is in a drill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UnderWay {
    /// When it was begun, ms since 1970 UTC.
    pub begun_ms: i64,
    /// When it was ended; until then it is under way.
    pub ended_ms: Option<i64>,
    /// The step that is next.
    pub step: StepNo,
    /// Repetitions of a whole set, as was shown to do when it was begun.
    pub a_set: Count,
    /// Repetitions of the set under way.
    pub in_set: Count,
    /// When the rest after the last set is over, ms since 1970 UTC.
    pub rest_until_ms: Option<i64>,
    /// Balls logged in it.
    pub balls: Count,
    /// Repetitions at each step, over all sets.
    pub at_step: BTreeMap<StepNo, Count>,
    /// What was counted last.
    pub last: Option<LastCount>,
}

impl UnderWay {
    const BEGUN: FieldNo = 9;
    const ENDED: FieldNo = 10;
    const STEP: FieldNo = 11;
    const IN_SET: FieldNo = 12;
    const REST: FieldNo = 13;
    const BALLS: FieldNo = 14;
    const LAST_STEP: FieldNo = 15;
    const LAST_REPETITION: FieldNo = 16;
    const LAST_GOOD: FieldNo = 17;
    const LAST_IN_SET: FieldNo = 18;
    const LAST_SHOT: FieldNo = 19;
    const A_SET: FieldNo = 20;
    /// Repetitions at a step are stored this far above its number.
    const AT_STEP: FieldNo = 100;

    /// A drill that begins now, at a step, in sets of so many.
    pub fn begun(begun_ms: i64, step: StepNo, a_set: Count) -> Self {
        Self {
            begun_ms,
            ended_ms: None,
            step,
            a_set,
            in_set: Count::NONE,
            rest_until_ms: None,
            balls: Count::NONE,
            at_step: BTreeMap::new(),
            last: None,
        }
    }

    /// Writes it into the fields of its practice.
    pub(super) fn put(&self, f: &mut Fields) {
        f.put(Self::BEGUN, Some(self.begun_ms));
        f.put(Self::ENDED, self.ended_ms);
        f.put(Self::STEP, Some(i64::from(self.step)));
        f.put(Self::A_SET, Some(self.a_set.get()));
        f.put(Self::IN_SET, Some(self.in_set.get()));
        f.put(Self::REST, self.rest_until_ms);
        f.put(Self::BALLS, Some(self.balls.get()));
        f.put(Self::LAST_STEP, self.last.map(|last| i64::from(last.step)));
        f.put(Self::LAST_REPETITION, self.last.map(|last| last.repetition));
        f.put(Self::LAST_GOOD, self.last.and_then(|last| last.good));
        f.put(Self::LAST_IN_SET, self.last.map(|last| last.in_set.get()));
        f.put(Self::LAST_SHOT, self.last.and_then(|last| last.shot).map(|id| id.0));
        for (step, count) in &self.at_step {
            f.put(Self::AT_STEP + FieldNo::from(step.get()), Some(count.get()));
        }
    }

    /// Reads it from the fields of a practice; none where that was logged as a whole.
    pub(super) fn get(f: &Fields) -> Result<Option<Self>, Refusal> {
        let Some(begun_ms) = f.whole(Self::BEGUN) else { return Ok(None) };
        let count = |no| Count::new(f.whole(no).unwrap_or(0));
        let mut at_step = BTreeMap::new();
        for (no, _) in f.iter().filter(|(no, _)| *no > Self::AT_STEP) {
            // A step that only a newer version's drills have is kept unread.
            if let Ok(step) = StepNo::new(i64::from(no - Self::AT_STEP)) {
                at_step.insert(step, count(no)?);
            }
        }
        let last = match f.whole(Self::LAST_STEP) {
            Some(step) => Some(LastCount {
                step: StepNo::new(step)?,
                repetition: f.bool(Self::LAST_REPETITION).unwrap_or(true),
                good: f.bool(Self::LAST_GOOD),
                in_set: count(Self::LAST_IN_SET)?,
                shot: f.id(Self::LAST_SHOT).map(RecordId),
            }),
            None => None,
        };
        Ok(Some(Self {
            begun_ms,
            ended_ms: f.whole(Self::ENDED),
            step: f.whole(Self::STEP).map_or(Ok(StepNo::FIRST), StepNo::new)?,
            a_set: count(Self::A_SET)?,
            in_set: count(Self::IN_SET)?,
            rest_until_ms: f.whole(Self::REST),
            balls: count(Self::BALLS)?,
            at_step,
            last,
        }))
    }
}
