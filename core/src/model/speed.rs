//! Swings for speed, and pain that stops them.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::Fields;
use super::ids::RecordId;
use super::quantity::HeadSpeed;
use super::record::{Kind, Record, coded, need, quantity, remark};
use super::text::Remark;
use super::time::Day;

coded!(
    /// The side a speed swing is made from.
    SwingSide, "side" {
        /// The side the player plays from.
        Playing = 1 "playing",
        /// The other side.
        Other = 2 "other",
    }
);

coded!(
    /// Where a speed figure comes from.
    SpeedSource, "source" {
        /// A radar.
        Radar = 1 "radar",
        /// Typed in from something else.
        Typed = 2 "typed",
    }
);

/// One swing for speed, with or without a ball.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeedSwing {
    /// The session it belongs to, if any.
    pub session: Option<RecordId>,
    /// The local day.
    pub day: Day,
    /// The side it was made from.
    pub side: SwingSide,
    /// Head speed.
    pub head_speed: HeadSpeed,
    /// Where the figure comes from.
    pub source: SpeedSource,
    /// The planned drill that it was made for, so that it isn't counted twice.
    pub planned: Option<RecordId>,
}

impl Record for SpeedSwing {
    const KIND: Kind = Kind::SPEED_SWING;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, self.session.map(|s| s.0));
        f.put(2, Some(self.day.number()));
        f.put(3, Some(self.side.code()));
        f.put(4, Some(self.head_speed.mps()));
        f.put(5, Some(self.source.code()));
        f.put(6, self.planned.map(|p| p.0));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            session: f.id(1).map(RecordId),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            side: need(f.whole(3).and_then(SwingSide::from_code), "side")?,
            head_speed: need(quantity(f, 4)?, "head speed")?,
            source: f.whole(5).and_then(SpeedSource::from_code).unwrap_or(SpeedSource::Typed),
            planned: f.id(6).map(RecordId),
        })
    }
}

/// Pain that somebody reported: speed work stops until it is cleared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pain {
    /// The local day on which it was reported.
    pub day: Day,
    /// Where and when it hurts.
    pub note: Option<Remark>,
    /// The day from which a licensed professional allows full swings again.
    pub cleared: Option<Day>,
}

impl Record for Pain {
    const KIND: Kind = Kind::PAIN;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.day.number()));
        f.put(2, self.note.as_ref().map(Remark::as_str));
        f.put(Self::CLEARED, self.cleared.map(Day::number));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            day: Day::from_number(need(f.whole(1), "day")?)?,
            note: remark(f, 2)?,
            cleared: f.whole(Self::CLEARED).map(Day::from_number).transpose()?,
        })
    }
}

impl Pain {
    /// The field of [`Self::cleared`]: where two people wrote it, it doesn't hold.
    pub const CLEARED: super::fields::FieldNo = 3;
}
