//! A count of things done.

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};
use super::fields::{FieldNo, Fields};

/// An optional count in a field.
pub(super) fn count(f: &Fields, no: FieldNo) -> Result<Option<Count>, Refusal> {
    f.whole(no).map(Count::new).transpose()
}

/// A count of things done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "i64", into = "i64")]
pub struct Count(i64);

impl Count {
    const RANGE: Range =
        Range { field: "count", low: 0.0, high: 2000.0, unit: "", reason: "what a person can do in one day" };

    /// Nothing.
    pub const NONE: Self = Self(0);

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

    /// One more.
    ///
    /// # Errors
    /// A [`Refusal`] for an absurd one.
    pub fn more(self) -> Result<Self, Refusal> {
        Self::new(self.0 + 1)
    }

    /// One less, and never below none.
    #[must_use]
    pub fn less(self) -> Self {
        Self((self.0 - 1).max(0))
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
