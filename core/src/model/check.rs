//! Refusals: why a value can't be what it was given as.
//!
//! Every constructor of the model answers with a [`Refusal`] that names the
//! field, the value as given, what is allowed and why. Start at [`Range`].

use serde::Serialize;

/// A value that the model won't hold: what, where, what is allowed and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{field}: {value} is not allowed; {allowed} ({reason})")]
pub struct Refusal {
    /// The field, in the words of the trade, such as `head speed`.
    pub field: String,
    /// The value as it was given.
    pub value: String,
    /// What would be accepted, with its unit.
    pub allowed: String,
    /// Why the limit is where it is.
    pub reason: String,
}

impl Refusal {
    /// A refusal from its four parts.
    pub fn new(
        field: impl Into<String>,
        value: impl Into<String>,
        allowed: impl Into<String>,
        reason: impl Into<String>,
    ) -> Self {
        Self {
            field: field.into(),
            value: quoted(&value.into()),
            allowed: allowed.into(),
            reason: reason.into(),
        }
    }
}

/// A value for an error message: short, and without control characters that
/// could play with a terminal.
pub fn quoted(value: &str) -> String {
    const MOST: usize = 60;
    let clean: String =
        value.chars().take(MOST).map(|c| if is_unprintable(c) { '\u{fffd}' } else { c }).collect();
    if value.chars().nth(MOST).is_some() { format!("{clean}…") } else { clean }
}

/// Control characters, and those that reorder the text around them.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The allowed range of one quantity, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The field, in the words of the trade.
    pub field: &'static str,
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Why the limits are where they are.
    pub reason: &'static str,
}

impl Range {
    /// The value, if it is a number within the range.
    ///
    /// # Errors
    /// A [`Refusal`] for a value outside the range, NaN or an infinity.
    pub fn check(&self, value: f64) -> Result<f64, Refusal> {
        if value.is_finite() && value >= self.low && value <= self.high {
            // One zero only: -0.0 and 0.0 must be the same bytes in a book.
            return Ok(if value == 0.0 { 0.0 } else { value });
        }
        Err(self.refuse(value.to_string()))
    }

    /// A refusal of `value`, as this range words it.
    pub fn refuse(&self, value: impl Into<String>) -> Refusal {
        Refusal::new(
            self.field,
            value,
            format!("{} to {} {}", self.low, self.high, self.unit).trim_end().to_owned(),
            self.reason,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEED: Range =
        Range { field: "head speed", low: 5.0, high: 75.0, unit: "m/s", reason: "a driver in a swing" };

    #[test]
    fn a_refusal_names_field_value_range_and_reason() {
        let said = SPEED.check(100.0).unwrap_err().to_string();
        assert_eq!(said, "head speed: 100 is not allowed; 5 to 75 m/s (a driver in a swing)");
    }

    #[test]
    fn what_is_not_a_number_is_refused() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(SPEED.check(bad).is_err());
        }
    }

    #[test]
    fn a_negative_zero_becomes_the_one_zero() {
        let range = Range { low: -1.0, high: 1.0, ..SPEED };
        assert!(range.check(-0.0).unwrap().is_sign_positive());
    }

    #[test]
    fn a_quoted_value_is_short_and_can_not_move_the_cursor() {
        let said = quoted(&format!("\u{1b}[2J{}", "x".repeat(500)));
        assert!(!said.contains('\u{1b}'));
        assert_eq!(said.chars().count(), 61);
    }
}
