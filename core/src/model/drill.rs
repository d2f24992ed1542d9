//! A drill: what it is for, how hard it is, what it is judged by.
//!
//! How much of it is the plan's; see [`PlannedDrill`](super::PlannedDrill).

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::{FieldNo, Fields, Value};
use super::record::{Kind, Record, coded, need_name, remark};
use super::text::{Name, Remark};

coded!(
    /// What a drill is for.
    Purpose, "purpose" {
        /// Moving the middle of the strike pattern.
        ContactBias = 1 "contact bias",
        /// Tightening the strike pattern.
        ContactScatter = 2 "contact scatter",
        /// Swinging faster.
        Speed = 3 "speed",
        /// Squaring the face.
        Face = 4 "face",
        /// Knowing where the ball was struck.
        Feel = 5 "feel",
    }
);

coded!(
    /// How hard a drill's swings are.
    Effort, "effort" {
        /// No ball at speed: rehearsals, half swings, a paddle.
        Easy = 1 "easy",
        /// Swings as in play.
        Normal = 2 "normal",
        /// As fast as the player can: counted against the caps of speed work.
        FullSpeed = 3 "full speed",
    }
);

coded!(
    /// What a drill is judged by.
    Goal, "goal" {
        /// The share of strikes within the centre radius.
        CentreRate = 1 "centre rate",
        /// Where the middle of the strikes lies, sole to crown.
        MiddleHeight = 2 "middle, low to high",
        /// Where the middle of the strikes lies, heel to toe.
        MiddleWidth = 3 "middle, heel to toe",
        /// How far the strikes spread.
        Scatter = 4 "scatter",
        /// The share of balls that start on line.
        StartLine = 5 "start line",
        /// The share of finishes that were held.
        FinishHeld = 6 "finish held",
        /// The guess of a strike against its mark.
        Feel = 7 "feel",
        /// Speed from the other side as a share of that from the playing side.
        SpeedRatio = 8 "speed ratio",
        /// Head speed from the playing side.
        HeadSpeed = 9 "head speed",
    }
);

coded!(
    /// A drill of our own catalogue. Its texts are in `words::drill`.
    StockDrill, "drill" {
        /// A finger dot in the powder at the target point.
        TargetDot = 1 "target dot",
        /// Tee heights in steps.
        TeeLadder = 2 "tee-height ladder",
        /// Distances from the ball in steps.
        DistanceLadder = 3 "distance ladder",
        /// The finish held for a count of three.
        HeldFinish = 4 "held finish",
        /// A block of balls with the club gripped down.
        GrippedDown = 5 "gripped-down block",
        /// Half swings with the feet together.
        FeetTogether = 6 "feet together",
        /// Full swings from both sides.
        TwoSided = 7 "two-sided speed sets",
        /// Swings heard past the ball with the club turned round.
        LateSwish = 8 "late swish",
        /// Slow rehearsals with the back of the lead hand to the target.
        SlowHand = 9 "slow hand to the target",
        /// A flat paddle that shows where the face points.
        FlatPaddle = 10 "flat paddle",
        /// Two sticks as a gate on the start line.
        StartGate = 11 "start-line gate",
        /// The strike called before the look.
        CallStrike = 12 "call your strike",
    }
);

/// A drill and how to do it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drill {
    /// Its name.
    pub name: Name,
    /// What it is for.
    pub purpose: Option<Purpose>,
    /// How to do it, as CommonMark; no markup in it is trusted.
    pub how: Option<Remark>,
    /// The drill of our catalogue that it is, if any.
    pub stock: Option<StockDrill>,
    /// How hard its swings are.
    pub effort: Option<Effort>,
    /// Whether swings are made from the other side too.
    pub two_sided: bool,
    /// What it takes.
    pub equipment: Option<Remark>,
    /// What to write down.
    pub log: Option<Remark>,
    /// What to be careful about.
    pub care: Option<Remark>,
    /// What it is judged by.
    pub goal: Option<Goal>,
}

impl Drill {
    /// The field of [`Self::purpose`].
    pub const PURPOSE: FieldNo = 2;
    /// The field of [`Self::stock`].
    pub const STOCK: FieldNo = 4;
    /// The field of [`Self::effort`].
    pub const EFFORT: FieldNo = 5;
    /// The field of [`Self::two_sided`].
    pub const TWO_SIDED: FieldNo = 6;

    /// A drill of which only the name and what it is for are known.
    pub fn named(name: Name, purpose: Option<Purpose>) -> Self {
        Self {
            name,
            purpose,
            how: None,
            stock: None,
            effort: None,
            two_sided: false,
            equipment: None,
            log: None,
            care: None,
            goal: None,
        }
    }
}

impl Record for Drill {
    const KIND: Kind = Kind::DRILL;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(Self::PURPOSE, self.purpose.map(Purpose::code));
        f.put(3, self.how.as_ref().map(Remark::as_str));
        f.put(Self::STOCK, self.stock.map(StockDrill::code));
        f.put(Self::EFFORT, self.effort.map(Effort::code));
        f.put(Self::TWO_SIDED, self.two_sided.then_some(true));
        f.put(7, self.equipment.as_ref().map(Remark::as_str));
        f.put(8, self.log.as_ref().map(Remark::as_str));
        f.put(9, self.care.as_ref().map(Remark::as_str));
        f.put(10, self.goal.map(Goal::code));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            name: need_name(f, 1)?,
            purpose: f.whole(Self::PURPOSE).and_then(Purpose::from_code),
            how: remark(f, 3)?,
            stock: f.whole(Self::STOCK).and_then(StockDrill::from_code),
            effort: f.whole(Self::EFFORT).and_then(Effort::from_code),
            two_sided: f.get(Self::TWO_SIDED) == Some(&Value::Bool(true)),
            equipment: remark(f, 7)?,
            log: remark(f, 8)?,
            care: remark(f, 9)?,
            goal: f.whole(10).and_then(Goal::from_code),
        })
    }
}
