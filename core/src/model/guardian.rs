//! The guardian's box: whether what is about somebody under 16 may leave their device.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::Fields;
use super::record::{Kind, Record, need};
use super::text::Name;
use super::time::Day;

/// What a guardian said, as it was set on the student's device or, for a student
/// without one, by who made the strand. It counts only as far as who owns the strand
/// wrote it; see `book::guardian`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Guardian {
    /// Whether files may be sent.
    pub agrees: bool,
    /// The day on which they said so.
    pub day: Day,
    /// Who said so, where told.
    pub name: Option<Name>,
}

impl Record for Guardian {
    const KIND: Kind = Kind::GUARDIAN;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.agrees));
        f.put(2, Some(self.day.number()));
        f.put(3, self.name.as_ref().map(Name::as_str));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            agrees: f.bool(1) == Some(true),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            name: f.text(3).map(Name::new).transpose()?,
        })
    }
}
