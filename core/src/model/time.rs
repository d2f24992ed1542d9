//! Time as the core knows it: instants in UTC with the local offset kept, and
//! local days. The clock itself is the caller's; see [`Now`].

use chrono::{DateTime, Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};

/// An instant, and the local offset where it was written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Moment {
    /// Milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
    /// Minutes that local time is ahead of UTC.
    pub offset_min: i16,
}

impl Moment {
    /// The local day: what a player calls today, by the stored offset.
    pub fn local_day(self) -> Day {
        let local_ms = self.utc_ms.saturating_add(i64::from(self.offset_min) * 60_000);
        let date = DateTime::from_timestamp_millis(local_ms).map_or(NaiveDate::MIN, |t| t.date_naive());
        Day(date)
    }
}

/// What the caller brings with every event: the clock, and fresh random bytes.
///
/// The core has neither of its own, so the same events with the same `Now`
/// give the same book everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// The instant of the event.
    pub at: Moment,
    /// Unpredictable bytes, new with each event: new ids are made from them.
    pub entropy: [u8; 16],
}

/// A local calendar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(NaiveDate);

impl Day {
    const ALLOWED: Range = Range {
        field: "year",
        low: 1990.0,
        high: 2200.0,
        unit: "",
        reason: "a day on which somebody could have logged shots with this",
    };

    /// The day written as `YYYY-MM-DD` (ISO 8601).
    ///
    /// # Errors
    /// A [`Refusal`] for any other form, or a day that doesn't exist.
    pub fn parse(text: &str) -> Result<Self, Refusal> {
        let day = NaiveDate::parse_from_str(text, "%Y-%m-%d")
            .ok()
            .filter(|_| text.len() == 10)
            .ok_or_else(|| Refusal::new("day", text, "a day such as 2026-04-30", "ISO 8601, year first"))?;
        Self::ALLOWED.check(f64::from(day.year()))?;
        Ok(Self(day))
    }

    /// Days since 1970-01-01.
    pub fn number(self) -> i64 {
        i64::from(self.0.num_days_from_ce()) - 719_163
    }

    /// The day with that number of days since 1970-01-01.
    ///
    /// # Errors
    /// A [`Refusal`] outside the years that the model allows.
    pub fn from_number(number: i64) -> Result<Self, Refusal> {
        let refuse = || Self::ALLOWED.refuse(format!("day {number}"));
        let from_ce = i32::try_from(number.saturating_add(719_163)).map_err(|_| refuse())?;
        let day = NaiveDate::from_num_days_from_ce_opt(from_ce).ok_or_else(refuse)?;
        Self::ALLOWED.check(f64::from(day.year()))?;
        Ok(Self(day))
    }

    /// Days from `earlier` to this one.
    pub fn days_since(self, earlier: Self) -> i64 {
        self.number() - earlier.number()
    }

    /// Year, month and day of the month.
    pub fn parts(self) -> (i32, u32, u32) {
        (self.0.year(), self.0.month(), self.0.day())
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

impl TryFrom<String> for Day {
    type Error = Refusal;
    fn try_from(text: String) -> Result<Self, Refusal> {
        Self::parse(&text)
    }
}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_local_day_follows_the_stored_offset() {
        let late = Moment { utc_ms: 1_772_407_800_000, offset_min: 0 }; // 2026-03-01 23:30 UTC
        assert_eq!(late.local_day().to_string(), "2026-03-01");
        let east = Moment { offset_min: 60, ..late };
        assert_eq!(east.local_day().to_string(), "2026-03-02");
    }

    #[test]
    fn a_day_survives_its_number() {
        let day = Day::parse("2026-02-28").unwrap();
        assert_eq!(Day::from_number(day.number()).unwrap(), day);
        assert_eq!(Day::parse("1970-01-01").unwrap_err().field, "year");
        assert_eq!(Day::parse("2000-01-01").unwrap().number(), 10_957);
    }

    #[test]
    fn a_day_that_does_not_exist_is_refused() {
        for bad in ["2026-02-30", "30.04.2026", "", "2026-4-1", "99999-01-01"] {
            assert!(Day::parse(bad).is_err(), "{bad}");
        }
    }
}
