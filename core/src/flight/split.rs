//! The split of one shot: how much comes from where on the face it was struck,
//! and how much from face, path and speed.
//!
//! The same swing is computed twice: as struck, and struck at the target point.
//! The difference is the strike's part, the rest the delivery's. Curvature of
//! off-centre hits is a small difference of two large terms (sources.md 9), so
//! it carries a band. Start at [`split`]; [`off_centre_band`] gives the band of
//! one shot.

use serde::{Deserialize, Serialize};

use super::batch::{Shot, hit};
use super::delivery::Delivery;
use super::error::FlightError;
use super::inverse::Setting;
use super::law::AirLaw;

/// Effective inertia of a head whose shaft resists its turn, as a multiple of
/// the free head's: the upper end of the band. 20 % is the step that sources.md
/// 9 computes with; the true amount is not known (I10).
pub const STIFFER: f64 = 1.2;

/// One figure of a shot in two parts, which add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// The shot as struck minus the same swing struck at the target point.
    pub from_strike: f64,
    /// The rest: the same swing struck at the target point.
    pub from_delivery: f64,
}

/// A shot in its parts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Split {
    /// Start direction, deg.
    pub start_deg: Part,
    /// Curve: landing right of the start line, m.
    pub curve_m: Part,
    /// Ball speed, m/s.
    pub ball_speed_mps: Part,
    /// Carry, m.
    pub carry_m: Part,
    /// Lower and upper end of the strike's part of the curve, m: from a free
    /// head to one with [`STIFFER`] times its inertia.
    pub curve_from_strike_band_m: [f64; 2],
}

/// Splits a shot by striking the same swing at the target point, mm toward toe and crown.
///
/// # Errors
/// As [`hit`], for the delivery as struck or at the target point.
pub fn split<L: AirLaw>(
    setting: &Setting<L>,
    delivery: &Delivery,
    target_mm: [f64; 2],
) -> Result<Split, FlightError> {
    let [toe_mm, high_mm] = target_mm;
    let centred = delivery.struck_at(toe_mm, high_mm);
    let free = pair(setting, delivery, &centred)?;
    let stiff = setting.head.with_inertia_times(STIFFER);
    let other = pair(&Setting { head: &stiff, ..*setting }, delivery, &centred)?;
    let part = |f: fn(&Shot) -> f64| {
        let (struck, at_target) = (f(&free[0]), f(&free[1]));
        Part { from_strike: struck - at_target, from_delivery: at_target }
    };
    let curve = |shot: &Shot| shot.flight.curve_m(shot.launch.start_deg);
    let [a, b] = [&free, &other].map(|[struck, at_target]| curve(struck) - curve(at_target));
    Ok(Split {
        start_deg: part(|s| s.launch.start_deg),
        curve_m: part(|s| s.flight.curve_m(s.launch.start_deg)),
        ball_speed_mps: part(|s| s.launch.ball_speed_mps),
        carry_m: part(|s| s.flight.carry_m),
        curve_from_strike_band_m: [a.min(b), a.max(b)],
    })
}

/// How far the figures of one shot that rest on the head's turn can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// Lower and upper sidespin, rpm.
    pub sidespin_rpm: [f64; 2],
    /// Lower and upper landing right of the start line, m.
    pub curve_m: [f64; 2],
    /// Lower and upper landing right of the target line, m.
    pub lateral_m: [f64; 2],
}

impl Band {
    /// The band between a free head's shot and a [`STIFFER`] one's.
    pub fn between(free: &Shot, stiff: &Shot) -> Self {
        let band = |f: fn(&Shot) -> f64| {
            let (a, b) = (f(free), f(stiff));
            [a.min(b), a.max(b)]
        };
        Self {
            sidespin_rpm: band(|s| s.launch.sidespin_rpm),
            curve_m: band(|s| s.flight.curve_m(s.launch.start_deg)),
            lateral_m: band(|s| s.flight.lateral_m),
        }
    }
}

/// The band of a shot, from a free head to one with [`STIFFER`] times its
/// inertia: narrow in the middle of the face, wide toward toe and heel. The free
/// head, which every other result here is of, is one of its ends.
///
/// # Errors
/// As [`hit`].
pub fn off_centre_band<L: AirLaw>(setting: &Setting<L>, delivery: &Delivery) -> Result<Band, FlightError> {
    let stiff = setting.head.with_inertia_times(STIFFER);
    let free = hit(setting.head, setting.hand, setting.face, setting.flier, delivery)?;
    let other = hit(&stiff, setting.hand, setting.face, setting.flier, delivery)?;
    Ok(Band::between(&free, &other))
}

fn pair<L: AirLaw>(setting: &Setting<L>, a: &Delivery, b: &Delivery) -> Result<[Shot; 2], FlightError> {
    let shot = |d| hit(setting.head, setting.hand, setting.face, setting.flier, d);
    Ok([shot(a)?, shot(b)?])
}
