//! Records: the kinds, and how each turns into numbered fields and back.
//!
//! To add a field: take the next free number in that record's file, write it
//! in `to_fields`, read it in `from_fields`. Numbers and kinds are for ever:
//! books of every age hold them.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::{FieldNo, Fields};
use super::text::{Name, Remark};

/// The kind of a record, as its number in a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Kind(pub u16);

impl Kind {
    /// The student whom a strand is about.
    pub const STUDENT: Self = Self(1);
    /// A teaching professional who works with the student.
    pub const COACH: Self = Self(2);
    /// A driver.
    pub const CLUB: Self = Self(3);
    /// One visit to tee, range or course.
    pub const SESSION: Self = Self(4);
    /// One ball.
    pub const SHOT: Self = Self(5);
    /// One swing for speed.
    pub const SPEED_SWING: Self = Self(6);
    /// A drill and how to do it.
    pub const DRILL: Self = Self(7);
    /// A plan's frame: its aim and days.
    pub const PLAN: Self = Self(8);
    /// One drill of a plan with its dose.
    pub const PLANNED_DRILL: Self = Self(9);
    /// What was done of a planned drill.
    pub const PRACTICE: Self = Self(10);
    /// A note.
    pub const NOTE: Self = Self(11);
    /// A trial of two ways to hit the ball.
    pub const TRIAL: Self = Self(12);
    /// Pain that was reported.
    pub const PAIN: Self = Self(13);
    /// Somebody who belongs to the strand.
    pub const MEMBER: Self = Self(14);
    /// What is kept of a picture of the face.
    pub const STRIKE_PHOTO: Self = Self(15);
    /// That something was erased; see `sync::erasure`.
    pub const ERASURE: Self = Self(16);
    /// The guardian's box.
    pub const GUARDIAN: Self = Self(17);
    /// The newest kind that this version reads.
    pub const NEWEST: Self = Self::GUARDIAN;

    /// What the kind is called, for messages.
    pub fn word(self) -> &'static str {
        match self.0 {
            1 => "student",
            2 => "coach",
            3 => "club",
            4 => "session",
            5 => "shot",
            6 => "speed swing",
            7 => "drill",
            8 => "plan",
            9 => "planned drill",
            10 => "practice",
            11 => "note",
            12 => "trial",
            13 => "report of pain",
            14 => "person of the student's",
            15 => "strike photo",
            16 => "erasure",
            17 => "guardian's box",
            _ => "record of a newer version",
        }
    }
}

/// Every kind has this field: `true` where the record was removed.
///
/// It lives far above the others, so that a kind's own fields count from 1.
pub const REMOVED: FieldNo = 60_000;

/// A record of one kind.
pub trait Record: Sized {
    /// Its kind.
    const KIND: Kind;

    /// All its fields; what has no value is there as cleared, so that
    /// an edit can clear it.
    fn to_fields(&self) -> Fields;

    /// The record from its fields, ignoring those it doesn't know.
    ///
    /// # Errors
    /// A [`Refusal`] if a needed field is missing or a value isn't allowed.
    fn from_fields(fields: &Fields) -> Result<Self, Refusal>;
}

/// The refusal of a record that lacks a field it can't be without.
pub(super) fn missing(field: &'static str) -> Refusal {
    Refusal::new(field, "nothing", "a value", "the record means nothing without it")
}

/// A needed field.
pub(super) fn need<T>(value: Option<T>, field: &'static str) -> Result<T, Refusal> {
    value.ok_or_else(|| missing(field))
}

/// A needed name.
pub(super) fn need_name(fields: &Fields, no: FieldNo) -> Result<Name, Refusal> {
    Name::new(need(fields.text(no), "name")?)
}

/// An optional text.
pub(super) fn remark(fields: &Fields, no: FieldNo) -> Result<Option<Remark>, Refusal> {
    fields.text(no).map(Remark::new).transpose()
}

/// An optional quantity.
pub(super) fn quantity<T: TryFrom<f64, Error = Refusal>>(
    fields: &Fields,
    no: FieldNo,
) -> Result<Option<T>, Refusal> {
    fields.number(no).map(T::try_from).transpose()
}

/// Enumerations that are stored by number and written by name.
///
/// A number from a newer version reads as absent: the record stays usable and
/// its bytes keep the value.
macro_rules! coded {
    ($(#[$doc:meta])* $name:ident, $field:literal { $($(#[$vdoc:meta])* $variant:ident = $no:literal $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// Every value with its word.
            pub const ALL: &[(&'static str, Self)] = &[$(($word, Self::$variant)),+];

            /// The number it is stored as.
            pub fn code(self) -> i64 {
                match self { $(Self::$variant => $no),+ }
            }

            /// The value stored as that number.
            pub fn from_code(code: i64) -> Option<Self> {
                match code { $($no => Some(Self::$variant),)+ _ => None }
            }

            /// Its word.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The value that a word stands for; upper and lower case alike.
            ///
            /// # Errors
            /// A [`Refusal`](crate::model::Refusal) that lists the words.
            pub fn named(word: &str) -> Result<Self, $crate::model::Refusal> {
                let low = word.trim().to_lowercase();
                Self::ALL.iter().find(|(w, _)| *w == low).map(|(_, v)| *v).ok_or_else(|| {
                    let words: Vec<&str> = Self::ALL.iter().map(|(w, _)| *w).collect();
                    $crate::model::Refusal::new($field, word, format!("one of: {}", words.join(", ")), "only these words are known")
                })
            }
        }
    };
}
pub(crate) use coded;
