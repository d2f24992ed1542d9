//! Homework: the plan that doses drills, what was done of it, and notes.

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};
use super::count::{Count, count};
use super::fields::{FieldNo, Fields};
use super::ids::RecordId;
use super::record::{Kind, Record, need, need_name, quantity, remark};
use super::text::{Name, Remark};
use super::time::Day;
use super::under_way::UnderWay;

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

    /// Times on one day at most: two where a week has fewer days than times.
    pub fn times_a_day(self) -> i64 {
        (self.times_a_week + 6) / 7
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
    /// What the coach says of full-speed efforts. It binds only where it is
    /// lawful: caps apply when the plan is read.
    pub speed: SpeedLimits,
}

/// The coach's own caps of full-speed efforts; what isn't said is the usual.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpeedLimits {
    /// Efforts a day at most.
    pub a_day: Option<Count>,
    /// Efforts in seven days at most.
    pub a_week: Option<Count>,
    /// Days without any between two days of them, at least.
    pub rest_days: Option<Count>,
}

impl Plan {
    /// A plan with the usual caps.
    pub fn new(aim: Name, from: Day, until: Option<Day>) -> Self {
        Self { aim, from, until, speed: SpeedLimits::default() }
    }

    /// The field of [`SpeedLimits::a_day`].
    pub const A_DAY: FieldNo = 4;
    /// The field of [`SpeedLimits::a_week`].
    pub const A_WEEK: FieldNo = 5;
    /// The field of [`SpeedLimits::rest_days`].
    pub const REST_DAYS: FieldNo = 6;
    /// The fields of caps: where two people wrote one, the stricter value holds.
    pub const CAPS: [FieldNo; 3] = [Self::A_DAY, Self::A_WEEK, Self::REST_DAYS];
}

impl Record for Plan {
    const KIND: Kind = Kind::PLAN;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.aim.as_str()));
        f.put(2, Some(self.from.number()));
        f.put(3, self.until.map(Day::number));
        f.put(Self::A_DAY, self.speed.a_day.map(Count::get));
        f.put(Self::A_WEEK, self.speed.a_week.map(Count::get));
        f.put(Self::REST_DAYS, self.speed.rest_days.map(Count::get));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            aim: need_name(f, 1)?,
            from: Day::from_number(need(f.whole(2), "first day")?)?,
            until: f.whole(3).map(Day::from_number).transpose()?,
            speed: SpeedLimits {
                a_day: count(f, Self::A_DAY)?,
                a_week: count(f, Self::A_WEEK)?,
                rest_days: count(f, Self::REST_DAYS)?,
            },
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
    /// The day from which it is asked for; the plan's first day where not told.
    pub since: Option<Day>,
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

    /// A place between two others; before or after all where one is not there.
    /// Nothing where there is no room left: after some fifty halvings the list
    /// has to be numbered anew.
    pub fn between(before: Option<Self>, after: Option<Self>) -> Option<Self> {
        let place = match (before, after) {
            (None, None) => 1.0,
            (Some(before), None) => before.0 + 1.0,
            (None, Some(after)) => after.0 - 1.0,
            (Some(before), Some(after)) => f64::midpoint(before.0, after.0),
        };
        let above = before.is_none_or(|before| place > before.0);
        let below = after.is_none_or(|after| place < after.0);
        Self::new(place).ok().filter(|_| above && below)
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

impl PlannedDrill {
    /// The field of [`Self::order`].
    pub const ORDER: FieldNo = 6;
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
        f.put(Self::ORDER, Some(self.order.0));
        f.put(7, self.note.as_ref().map(Remark::as_str));
        f.put(8, self.since.map(Day::number));
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
            order: need(quantity(f, Self::ORDER)?, "order")?,
            note: remark(f, 7)?,
            since: f.whole(8).map(Day::from_number).transpose()?,
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
    /// Tries that were good by the drill's own measure, such as balls through the gate.
    pub good: Option<Count>,
    /// Of how many tries.
    pub tries: Option<Count>,
    /// The session whose balls were hit in it.
    pub session: Option<RecordId>,
    /// Where the student is in it, where it was counted as it was done.
    pub under_way: Option<UnderWay>,
}

impl Practice {
    /// The field of [`Self::repetitions`].
    pub const REPETITIONS: FieldNo = 4;

    /// So many sets and repetitions, and nothing else said.
    pub fn of(planned: RecordId, day: Day, sets: Count, repetitions: Count) -> Self {
        Self {
            planned,
            day,
            sets,
            repetitions,
            note: None,
            good: None,
            tries: None,
            session: None,
            under_way: None,
        }
    }

    /// Where the student is in it, until it is ended.
    pub fn going(&self) -> Option<&UnderWay> {
        self.under_way.as_ref().filter(|under_way| under_way.ended_ms.is_none())
    }

    /// Whether anything was done: a drill that was only opened is none that was done.
    pub fn was_done(&self) -> bool {
        self.sets.get() > 0 || self.repetitions.get() > 0
    }
}

impl Record for Practice {
    const KIND: Kind = Kind::PRACTICE;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.planned.0));
        f.put(2, Some(self.day.number()));
        f.put(3, Some(self.sets.get()));
        f.put(Self::REPETITIONS, Some(self.repetitions.get()));
        f.put(5, self.note.as_ref().map(Remark::as_str));
        f.put(6, self.good.map(Count::get));
        f.put(7, self.tries.map(Count::get));
        f.put(8, self.session.map(|s| s.0));
        if let Some(under_way) = &self.under_way {
            under_way.put(&mut f);
        }
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            planned: RecordId(need(f.id(1), "planned drill")?),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            sets: Count::new(f.whole(3).unwrap_or(0))?,
            repetitions: Count::new(f.whole(Self::REPETITIONS).unwrap_or(0))?,
            note: remark(f, 5)?,
            good: count(f, 6)?,
            tries: count(f, 7)?,
            session: f.id(8).map(RecordId),
            under_way: UnderWay::get(f)?,
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
