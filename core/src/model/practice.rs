//! Homework: drills, the plan that doses them, what was done, speed swings
//! and notes.

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};
use super::fields::Fields;
use super::ids::RecordId;
use super::quantity::HeadSpeed;
use super::record::{Kind, Record, coded, need, need_name, quantity, remark};
use super::text::{Name, Remark};
use super::time::Day;

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

/// A drill and how to do it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drill {
    /// Its name.
    pub name: Name,
    /// What it is for.
    pub purpose: Option<Purpose>,
    /// How to do it.
    pub how: Option<Remark>,
}

impl Record for Drill {
    const KIND: Kind = Kind::DRILL;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, self.purpose.map(Purpose::code));
        f.put(3, self.how.as_ref().map(Remark::as_str));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            name: need_name(f, 1)?,
            purpose: f.whole(2).and_then(Purpose::from_code),
            how: remark(f, 3)?,
        })
    }
}

/// How much of a drill: sets, repetitions and times a week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "[i64; 3]", into = "[i64; 3]")]
pub struct Dose {
    sets: i64,
    repetitions: i64,
    times_a_week: i64,
}

impl Dose {
    const SETS: Range =
        Range { field: "sets", low: 1.0, high: 20.0, unit: "sets", reason: "one practice session" };
    const REPETITIONS: Range = Range {
        field: "repetitions",
        low: 1.0,
        high: 100.0,
        unit: "repetitions a set",
        reason: "one set of a drill",
    };
    const TIMES: Range =
        Range { field: "times a week", low: 1.0, high: 14.0, unit: "times", reason: "twice a day at most" };

    /// A dose from sets, repetitions a set and times a week.
    ///
    /// # Errors
    /// A [`Refusal`] for a figure outside its range.
    pub fn new(sets: i64, repetitions: i64, times_a_week: i64) -> Result<Self, Refusal> {
        Self::SETS.check(sets as f64)?;
        Self::REPETITIONS.check(repetitions as f64)?;
        Self::TIMES.check(times_a_week as f64)?;
        Ok(Self { sets, repetitions, times_a_week })
    }

    /// Sets a time.
    pub fn sets(self) -> i64 {
        self.sets
    }

    /// Repetitions a set.
    pub fn repetitions(self) -> i64 {
        self.repetitions
    }

    /// Times a week.
    pub fn times_a_week(self) -> i64 {
        self.times_a_week
    }
}

impl TryFrom<[i64; 3]> for Dose {
    type Error = Refusal;
    fn try_from([sets, repetitions, times]: [i64; 3]) -> Result<Self, Refusal> {
        Self::new(sets, repetitions, times)
    }
}

impl From<Dose> for [i64; 3] {
    fn from(dose: Dose) -> Self {
        [dose.sets, dose.repetitions, dose.times_a_week]
    }
}

/// A plan's frame: what it is after, and from which day to which.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What it is after.
    pub aim: Name,
    /// Its first day.
    pub from: Day,
    /// Its last day: the next lesson.
    pub until: Option<Day>,
}

impl Record for Plan {
    const KIND: Kind = Kind::PLAN;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.aim.as_str()));
        f.put(2, Some(self.from.number()));
        f.put(3, self.until.map(Day::number));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            aim: need_name(f, 1)?,
            from: Day::from_number(need(f.whole(2), "first day")?)?,
            until: f.whole(3).map(Day::from_number).transpose()?,
        })
    }
}

/// One drill of a plan.
///
/// Dose figures are fields of their own, so that coach and student may each
/// change another one and both changes hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlannedDrill {
    /// The plan.
    pub plan: RecordId,
    /// The drill's record.
    pub drill: RecordId,
    /// How much of it.
    pub dose: Dose,
    /// Its place in the plan: smaller first, ties by record.
    pub order: Order,
    /// What the coach or the student adds.
    pub note: Option<Remark>,
}

/// A place in a list; between any two there is room for another.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Order(f64);

impl Order {
    const RANGE: Range =
        Range { field: "order", low: -1e9, high: 1e9, unit: "", reason: "a place in a list of a few drills" };

    /// A place.
    ///
    /// # Errors
    /// A [`Refusal`] for what is not a number.
    pub fn new(place: f64) -> Result<Self, Refusal> {
        Self::RANGE.check(place).map(Self)
    }

    /// The number.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Order {
    type Error = Refusal;
    fn try_from(place: f64) -> Result<Self, Refusal> {
        Self::new(place)
    }
}

impl From<Order> for f64 {
    fn from(order: Order) -> f64 {
        order.0
    }
}

impl Record for PlannedDrill {
    const KIND: Kind = Kind::PLANNED_DRILL;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.plan.0));
        f.put(2, Some(self.drill.0));
        f.put(3, Some(self.dose.sets));
        f.put(4, Some(self.dose.repetitions));
        f.put(5, Some(self.dose.times_a_week));
        f.put(6, Some(self.order.0));
        f.put(7, self.note.as_ref().map(Remark::as_str));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            plan: RecordId(need(f.id(1), "plan")?),
            drill: RecordId(need(f.id(2), "drill")?),
            dose: Dose::new(
                need(f.whole(3), "sets")?,
                need(f.whole(4), "repetitions")?,
                need(f.whole(5), "times a week")?,
            )?,
            order: need(quantity(f, 6)?, "order")?,
            note: remark(f, 7)?,
        })
    }
}

/// What was done of a planned drill on one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Practice {
    /// The planned drill.
    pub planned: RecordId,
    /// The local day.
    pub day: Day,
    /// Sets done.
    pub sets: Count,
    /// Repetitions done, over all sets.
    pub repetitions: Count,
    /// How it went.
    pub note: Option<Remark>,
}

/// A count of things done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "i64", into = "i64")]
pub struct Count(i64);

impl Count {
    const RANGE: Range =
        Range { field: "count", low: 0.0, high: 2000.0, unit: "", reason: "what a person can do in one day" };

    /// A count.
    ///
    /// # Errors
    /// A [`Refusal`] for a negative or absurd one.
    pub fn new(count: i64) -> Result<Self, Refusal> {
        Self::RANGE.check(count as f64).map(|_| Self(count))
    }

    /// The number.
    pub fn get(self) -> i64 {
        self.0
    }
}

impl TryFrom<i64> for Count {
    type Error = Refusal;
    fn try_from(count: i64) -> Result<Self, Refusal> {
        Self::new(count)
    }
}

impl From<Count> for i64 {
    fn from(count: Count) -> i64 {
        count.0
    }
}

impl Record for Practice {
    const KIND: Kind = Kind::PRACTICE;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.planned.0));
        f.put(2, Some(self.day.number()));
        f.put(3, Some(self.sets.0));
        f.put(4, Some(self.repetitions.0));
        f.put(5, self.note.as_ref().map(Remark::as_str));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            planned: RecordId(need(f.id(1), "planned drill")?),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            sets: Count::new(f.whole(3).unwrap_or(0))?,
            repetitions: Count::new(f.whole(4).unwrap_or(0))?,
            note: remark(f, 5)?,
        })
    }
}

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
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            session: f.id(1).map(RecordId),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            side: need(f.whole(3).and_then(SwingSide::from_code), "side")?,
            head_speed: need(quantity(f, 4)?, "head speed")?,
            source: f.whole(5).and_then(SpeedSource::from_code).unwrap_or(SpeedSource::Typed),
        })
    }
}

/// A note that coach or student left.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// The local day.
    pub day: Day,
    /// What it says.
    pub text: Remark,
    /// What it is about: a session, a shot, a planned drill; or nothing.
    pub about: Option<RecordId>,
}

impl Record for Note {
    const KIND: Kind = Kind::NOTE;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.day.number()));
        f.put(2, Some(self.text.as_str()));
        f.put(3, self.about.map(|a| a.0));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            day: Day::from_number(need(f.whole(1), "day")?)?,
            text: Remark::new(need(f.text(2), "text")?)?,
            about: f.id(3).map(RecordId),
        })
    }
}
