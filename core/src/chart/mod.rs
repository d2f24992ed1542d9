//! Charts as scenes: lists of drawing primitives in millimetres.
//!
//! A chart turns plain values into a [`Scene`]; a shell draws the scene, or asks
//! for it as SVG ([`to_svg`]). Colours are named by role and resolved by a
//! [`Theme`] at the very end.
//!
//! Invariant: nothing is told by colour alone (shapes, fills and line patterns
//! differ as well), every scene reads as text too, and the same values give the
//! same bytes on every device.
//!
//! Where to start: [`scene`] for what can be drawn, [`face_chart`],
//! [`trend_chart`], [`season_chart`], [`flight_paths`], [`landing_chart`], [`face_map`],
//! [`parts_chart`] and [`ticks_chart`] for what is.

mod advance;
mod axis;
mod card_code;
mod face;
mod face_frame;
mod face_looks;
mod face_map;
mod face_map_cell;
mod face_pad;
mod face_plot;
mod flight_frame;
mod flight_path;
mod landing;
mod landing_frame;
mod layout;
mod length;
pub mod measure;
mod moved;
mod parts;
pub mod scene;
mod season;
mod svg;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_cmp)]
mod tests;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_cmp)]
mod tests_flight;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_cmp)]
mod tests_season;
pub mod theme;
mod ticks;
mod trend;
mod trend_signs;

pub use card_code::card_code;
pub use face::{FaceChart, Hand, MarkSet, MarkedPattern, face_chart, face_glance};
pub use face_map::{FaceMap, MapCell, face_map};
pub use face_pad::{FacePad, face_pad, felt_zones};
pub use flight_path::{FlightPaths, FlownPath, PathSpot, flight_paths};
pub use landing::{Landing, LandingOval, LandingScatter, LandingSet, landing_chart};
pub use length::Length;
pub use parts::{PartBar, PartsOfWhole, parts_chart, parts_glance};
pub use scene::Scene;
pub use season::{SeasonChart, SeasonLook, season_chart};
pub use svg::{escape, to_svg};
pub use theme::Theme;
pub use ticks::{TickRow, Ticks, ticks_chart};
pub use trend::{Band, Trend, TrendPoint, trend_chart};

/// Width of a scene for a phone held upright, mm: 360 CSS pixels.
pub const PHONE_WIDTH_MM: f64 = 95.25;
/// Width of a scene across a printed page, mm (A4 less its margins).
pub const PRINT_WIDTH_MM: f64 = 170.0;

/// Text of labels, mm (11 CSS pixels on a phone, 8.5 points on paper).
pub(crate) const LABEL_MM: f64 = 3.0;
/// Text of titles, mm.
pub(crate) const TITLE_MM: f64 = 4.2;
/// Space around everything, mm.
pub(crate) const MARGIN_MM: f64 = 3.0;
/// Distance from one line of labels to the next, mm.
pub(crate) const LEADING_MM: f64 = 4.4;

/// Why a chart can't be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChartError {
    /// A number that the chart needs is not a number or out of its range.
    #[error("{field} is {value}; it must be {allowed}")]
    Value {
        /// What the number is.
        field: &'static str,
        /// What was given.
        value: f64,
        /// The allowed range, in words.
        allowed: &'static str,
    },
    /// A text that no QR code can hold.
    #[error("a text of {letters} letters is too long for a QR code; send it as a file")]
    TooLong {
        /// How long it is.
        letters: usize,
    },
}

/// Refuses a number outside `low..=high`.
pub(crate) fn within(
    field: &'static str,
    value: f64,
    low: f64,
    high: f64,
    allowed: &'static str,
) -> Result<(), ChartError> {
    if value.is_finite() && (low..=high).contains(&value) {
        return Ok(());
    }
    Err(ChartError::Value { field, value, allowed })
}

/// Refuses a width that no label fits on, or that no paper has.
pub(crate) fn check_width(width_mm: f64) -> Result<(), ChartError> {
    within("width_mm", width_mm, 60.0, 1000.0, "from 60 to 1000 mm, so that labels fit")
}
