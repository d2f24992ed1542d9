//! Units at the edge: what a header or a player calls them, and the exact
//! factors to the SI units inside.
//!
//! Factors are exact by definition: the international yard and inch
//! (1959 agreement: 1 yd = 0.9144 m), hence the mile per hour.

use serde::{Deserialize, Serialize};

/// Metres per second in one mile per hour (exact).
pub const MPH_IN_MPS: f64 = 0.447_04;
/// Metres in one yard (exact).
pub const YARD_IN_M: f64 = 0.9144;
/// Metres in one inch (exact).
pub const INCH_IN_M: f64 = 0.0254;

/// What a player reads distances and speeds in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// Metres, metres per second, millimetres.
    #[default]
    Metric,
    /// Yards, miles per hour; the face stays in millimetres.
    Imperial,
}

/// A unit that may stand in a column's header, after its last underscore.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Metres per second.
    Mps,
    /// Miles per hour.
    Mph,
    /// Kilometres per hour.
    Kph,
    /// Metres.
    M,
    /// Yards.
    Yd,
    /// Feet.
    Ft,
    /// Millimetres.
    Mm,
    /// Inches.
    In,
    /// Degrees.
    Deg,
    /// Revolutions per minute.
    Rpm,
}

impl Unit {
    /// Every unit with its name in a header.
    pub const ALL: [(&'static str, Self); 10] = [
        ("mps", Self::Mps),
        ("mph", Self::Mph),
        ("kph", Self::Kph),
        ("m", Self::M),
        ("yd", Self::Yd),
        ("ft", Self::Ft),
        ("mm", Self::Mm),
        ("in", Self::In),
        ("deg", Self::Deg),
        ("rpm", Self::Rpm),
    ];

    /// The unit of that name in a header.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|(n, _)| *n == name).map(|(_, u)| *u)
    }

    /// The value in the unit that the core holds: m/s, m, mm, deg or rpm.
    ///
    /// Division by a power of ten or multiplication by the exact factor, so
    /// that the same number typed twice is the same bits.
    pub fn to_inner(self, value: f64) -> f64 {
        match self {
            Self::Mph => value * MPH_IN_MPS,
            Self::Kph => value / 3.6,
            Self::Yd => value * YARD_IN_M,
            Self::Ft => value * YARD_IN_M / 3.0,
            Self::In => value * 25.4,
            Self::Mps | Self::M | Self::Mm | Self::Deg | Self::Rpm => value,
        }
    }
}

impl UnitSystem {
    /// A speed for a player: value and unit.
    pub fn speed(self, mps: f64) -> (f64, &'static str) {
        match self {
            Self::Metric => (mps, "m/s"),
            Self::Imperial => (mps / MPH_IN_MPS, "mph"),
        }
    }

    /// A distance for a player: value and unit.
    pub fn distance(self, m: f64) -> (f64, &'static str) {
        match self {
            Self::Metric => (m, "m"),
            Self::Imperial => (m / YARD_IN_M, "yd"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hundred_miles_an_hour_are_44_704_metres_a_second() {
        assert!((Unit::Mph.to_inner(100.0) - 44.704).abs() < 1e-12);
        assert!((UnitSystem::Imperial.speed(44.704).0 - 100.0).abs() < 1e-12);
    }

    #[test]
    fn an_inch_is_25_4_millimetres_and_a_yard_three_feet() {
        assert!((Unit::In.to_inner(1.0) - 25.4).abs() < 1e-12);
        assert!((Unit::Ft.to_inner(3.0) - Unit::Yd.to_inner(1.0)).abs() < 1e-12);
    }
}
