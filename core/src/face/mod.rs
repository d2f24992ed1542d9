//! What a set of strike marks on the club face says.
//!
//! A strike mark is a point in the face frame: origin at the face centre, x
//! toward the toe, y toward the crown, millimetres, the same for right- and
//! left-handers. [`pattern`](pattern()) turns marks into a [`Pattern`]: how far
//! the middle of the marks sits from the target point (bias), how widely they
//! spread (scatter), which of the two makes most of the miss, how many came off
//! the middle, and how sure all that is.
//!
//! Invariant: every number is finite or absent, every figure that a person acts
//! on has an interval, and the same input gives the same bytes on every device
//! (no platform mathematics: only IEEE basic operations, `sqrt` and `libm`).
//!
//! Where to start: [`pattern`](pattern()), then [`Pattern`] and [`Reading`];
//! [`mod@compare`] for whether a pattern has changed, [`balls_for_shift`] for how
//! many balls it takes to see that.

pub mod compare;
mod ellipse;
mod interval;
pub mod normal;
mod pattern;
pub mod photo;
pub mod quantile;
mod reading;
mod size;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests_coverage;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests_reference;

use serde::Serialize;

pub use ellipse::{Ellipse, Spread};
pub use interval::{Intervals, Range, Region, Share, clopper_pearson};
pub use pattern::{Pattern, pattern};
pub use reading::{Direction, Lean, Reading, Verdict};
pub use size::{balls_for_ratio, balls_for_shift};

/// No mark or setting may lie farther out than this, in mm: about twice the
/// greatest distance between two points of any allowed club head. It keeps
/// numbers from overflowing; whether a mark lies on *this* face is the caller's
/// question.
pub const MAX_MM: f64 = 250.0;

/// Fewer marks than this give no verdict: with four marks the 95 % interval of a
/// spread still runs from 0.6 to 3.7 times what was seen.
pub const FEWEST_FOR_READING: u32 = 5;

/// One strike mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Strike {
    /// Distance from the face centre toward the toe, mm.
    pub toe_mm: f64,
    /// Distance from the face centre toward the crown, mm.
    pub high_mm: f64,
    /// Standard deviation of the reading along each axis, mm; 0 when the reading
    /// counts as exact.
    pub sigma_mm: f64,
}

/// What the coach has set for judging a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Settings {
    /// Where the coach wants the strike: toward the toe, mm.
    pub target_toe_mm: f64,
    /// Where the coach wants the strike: toward the crown, mm.
    pub target_high_mm: f64,
    /// A mark within this distance of the target point counts as a centre
    /// strike, mm.
    pub centre_radius_mm: f64,
    /// A bias smaller than this is not worth acting on, mm.
    pub tolerance_mm: f64,
}

impl Default for Settings {
    /// Target 6 mm above the centre, centre radius 12 mm, tolerance 4 mm.
    ///
    /// All three are common practice, no source: a strike a little above the
    /// centre goes farthest, and a miss of one or two dimple widths (4 to 8 mm)
    /// is a good strike.
    fn default() -> Self {
        Self { target_toe_mm: 0.0, target_high_mm: 6.0, centre_radius_mm: 12.0, tolerance_mm: 4.0 }
    }
}

/// Why a set of marks has no pattern.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FaceError {
    /// A coordinate of a mark is not a number or lies beyond any club head.
    #[error(
        "mark {number}: {field} is {value}; it must be a number from -{MAX_MM} to {MAX_MM} mm, \
         because no club head is larger"
    )]
    Mark {
        /// Which mark, counted from 1.
        number: usize,
        /// `toe_mm` or `high_mm`.
        field: &'static str,
        /// What was given.
        value: f64,
    },
    /// The standard deviation of a reading is negative, not a number or absurd.
    #[error(
        "mark {number}: sigma_mm is {value}; it must be a number from 0 to {MAX_MM} mm, \
         because it is a standard deviation on the face"
    )]
    Sigma {
        /// Which mark, counted from 1.
        number: usize,
        /// What was given.
        value: f64,
    },
    /// A setting is out of its range.
    #[error("{field} is {value}; it must be {allowed}")]
    Setting {
        /// The setting's name.
        field: &'static str,
        /// What was given.
        value: f64,
        /// The allowed range, in words.
        allowed: &'static str,
    },
}

/// Refuses what can't be a mark or a setting.
pub(crate) fn check(strikes: &[Strike], settings: &Settings) -> Result<(), FaceError> {
    let on_head = |v: f64| v.is_finite() && v.abs() <= MAX_MM;
    for (index, strike) in strikes.iter().enumerate() {
        let number = index + 1;
        for (field, value) in [("toe_mm", strike.toe_mm), ("high_mm", strike.high_mm)] {
            if !on_head(value) {
                return Err(FaceError::Mark { number, field, value });
            }
        }
        if !on_head(strike.sigma_mm) || strike.sigma_mm < 0.0 {
            return Err(FaceError::Sigma { number, value: strike.sigma_mm });
        }
    }
    for (field, value) in
        [("target_toe_mm", settings.target_toe_mm), ("target_high_mm", settings.target_high_mm)]
    {
        if !on_head(value) {
            return Err(FaceError::Setting {
                field,
                value,
                allowed: "a number from -250 to 250 mm, because no club head is larger",
            });
        }
    }
    for (field, value) in
        [("centre_radius_mm", settings.centre_radius_mm), ("tolerance_mm", settings.tolerance_mm)]
    {
        if !on_head(value) || value <= 0.0 {
            return Err(FaceError::Setting {
                field,
                value,
                allowed: "a number above 0 and up to 250 mm, because it is a distance on the face",
            });
        }
    }
    Ok(())
}
