//! One visit: place, day, ball, and whether the face was powdered.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::Fields;
use super::ids::RecordId;
use super::record::{Kind, Record, coded, need, need_name};
use super::text::Name;
use super::time::Day;

coded!(
    /// Where a session took place.
    Place, "place" {
        /// With the coach.
        Lesson = 1 "lesson",
        /// Alone on a practice range.
        Range = 2 "range",
        /// On the course: never with powder (Rules of Golf 4.1a(3)).
        Course = 3 "course",
    }
);

coded!(
    /// The kind of ball.
    Ball, "ball" {
        /// A ball as played on the course.
        Course = 1 "course",
        /// A range ball: shorter and more varied.
        Range = 2 "range",
        /// A foam or other limited-flight ball.
        Foam = 3 "foam",
    }
);

/// One visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Session {
    /// What the player calls it.
    pub name: Name,
    /// The local day.
    pub day: Day,
    /// Where.
    pub place: Option<Place>,
    /// Which balls.
    pub ball: Option<Ball>,
    /// Whether the face was powdered; a shot may say otherwise.
    pub powder: Option<bool>,
    /// The club used; a shot may say otherwise.
    pub club: Option<RecordId>,
}

impl Record for Session {
    const KIND: Kind = Kind::SESSION;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, Some(self.day.number()));
        f.put(3, self.place.map(Place::code));
        f.put(4, self.ball.map(Ball::code));
        f.put(5, self.powder);
        f.put(6, self.club.map(|c| c.0));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            name: need_name(f, 1)?,
            day: Day::from_number(need(f.whole(2), "day")?)?,
            place: f.whole(3).and_then(Place::from_code),
            ball: f.whole(4).and_then(Ball::from_code),
            powder: f.bool(5),
            club: f.id(6).map(RecordId),
        })
    }
}
