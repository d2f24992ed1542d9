//! The people of a strand: one student, and the coaches who work with them.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::check::{Range, Refusal};
use super::fields::Fields;
use super::ids::PersonId;
use super::quantity::{CentreRadius, High, Toe};
use super::record::{Kind, Record, coded, need, need_name, quantity};
use super::text::Name;
use super::units::UnitSystem;

coded!(
    /// The hand a golfer plays from.
    #[derive(Default)]
    Hand, "hand" {
        /// Stands left of the ball line, swings to the left shoulder.
        #[default] Right = 1 "right",
        /// The mirror image.
        Left = 2 "left",
    }
);

coded!(
    /// What a person is in a book.
    Role, "role" {
        /// Hits the balls.
        Student = 1 "student",
        /// Teaches.
        Coach = 2 "coach",
        /// Reads and never writes: a guardian, an academy's head.
        Reader = 3 "reader",
    }
);

/// Where the coach wants the strike, and how near counts as centred.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// Toward the toe from the face centre.
    pub toe_mm: Toe,
    /// Toward the crown from the face centre.
    pub high_mm: High,
    /// Strikes within this distance of the point count as centred.
    pub radius_mm: CentreRadius,
}

impl Target {
    /// A target from its three figures.
    ///
    /// # Errors
    /// A [`Refusal`] for a figure outside its range.
    pub fn new(toe_mm: f64, high_mm: f64, radius_mm: f64) -> Result<Self, Refusal> {
        Ok(Self {
            toe_mm: Toe::new(toe_mm)?,
            high_mm: High::new(high_mm)?,
            radius_mm: CentreRadius::new(radius_mm)?,
        })
    }
}

/// Year of birth; only the bands that the limits of speed work need are
/// ever read from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "i64", into = "i64")]
pub struct BirthYear(i64);

impl BirthYear {
    const RANGE: Range = Range {
        field: "birth year",
        low: 1900.0,
        high: 2200.0,
        unit: "",
        reason: "of somebody who swings a club",
    };

    /// The year.
    ///
    /// # Errors
    /// A [`Refusal`] for a year in which no player of today was born.
    pub fn new(year: i64) -> Result<Self, Refusal> {
        Self::RANGE.check(year as f64).map(|_| Self(year))
    }

    /// The year as a number.
    pub fn get(self) -> i64 {
        self.0
    }
}

impl TryFrom<i64> for BirthYear {
    type Error = Refusal;
    fn try_from(year: i64) -> Result<Self, Refusal> {
        Self::new(year)
    }
}

impl From<BirthYear> for i64 {
    fn from(year: BirthYear) -> i64 {
        year.0
    }
}

/// The student of a strand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Student {
    /// Their name.
    pub name: Name,
    /// The hand they play from.
    pub hand: Hand,
    /// What they read distances and speeds in.
    pub units: UnitSystem,
    /// Year of birth, where told: the limits of speed work depend on it.
    pub birth_year: Option<BirthYear>,
    /// Who they are across devices, once they have a device of their own.
    pub person: Option<PersonId>,
    /// The coach's target point; the default where none is set.
    pub target: Option<Target>,
    /// Progress is measured from the sessions up to and including this day.
    pub baseline_until: Option<super::time::Day>,
}

impl Student {
    /// A student of whom only name and hand are known.
    pub fn new(name: Name, hand: Hand) -> Self {
        Self {
            name,
            hand,
            units: UnitSystem::default(),
            birth_year: None,
            person: None,
            target: None,
            baseline_until: None,
        }
    }
}

impl Record for Student {
    const KIND: Kind = Kind::STUDENT;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, Some(self.hand.code()));
        f.put(3, Some(i64::from(self.units == UnitSystem::Imperial)));
        f.put(4, self.birth_year.map(BirthYear::get));
        f.put(5, self.person.map(|p| p.0));
        f.put(6, self.target.map(|t| t.toe_mm.mm()));
        f.put(7, self.target.map(|t| t.high_mm.mm()));
        f.put(8, self.target.map(|t| t.radius_mm.mm()));
        f.put(9, self.baseline_until.map(super::time::Day::number));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        let target = match (quantity(f, 6)?, quantity(f, 7)?, quantity(f, 8)?) {
            (Some(toe_mm), Some(high_mm), Some(radius_mm)) => Some(Target { toe_mm, high_mm, radius_mm }),
            _ => None,
        };
        Ok(Self {
            name: need_name(f, 1)?,
            hand: need(f.whole(2).and_then(Hand::from_code), "hand")?,
            units: if f.whole(3) == Some(1) { UnitSystem::Imperial } else { UnitSystem::Metric },
            birth_year: f.whole(4).map(BirthYear::new).transpose()?,
            person: f.id(5).map(PersonId),
            target,
            baseline_until: f.whole(9).map(super::time::Day::from_number).transpose()?,
        })
    }
}

/// A teaching professional who works with the student.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Coach {
    /// Their name.
    pub name: Name,
    /// Who they are across devices, once their device has written.
    pub person: Option<PersonId>,
}

impl Record for Coach {
    const KIND: Kind = Kind::COACH;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, self.person.map(|p| p.0));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self { name: need_name(f, 1)?, person: f.id(2).map(|id: Uuid| PersonId(id)) })
    }
}
