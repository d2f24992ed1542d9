//! The project's compact list of checks that concerns impact and flight, each
//! with its source and status code (sources.md section 10), and the properties
//! that must hold whatever the numbers are. Start at `published`.
#![allow(clippy::float_cmp, reason = "the same bits are what is promised")]

mod batch;
mod closed_forms;
mod delivery_from_seen;
mod face_map;
mod flights;
mod parity;
mod published;

use super::*;

/// A repeatable stream of numbers in 0..1: no randomness, only variety.
pub(super) struct Variety(u64);

impl Variety {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn next(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// A wide range of deliveries that meet the ball.
    pub fn delivery(&mut self) -> Delivery {
        Delivery {
            head_speed_mps: self.next(20.0, 60.0),
            loft_deg: self.next(5.0, 30.0),
            face_deg: self.next(-8.0, 8.0),
            path_deg: self.next(-10.0, 10.0),
            attack_deg: self.next(-8.0, 8.0),
            toe_mm: self.next(-40.0, 40.0),
            high_mm: self.next(-22.0, 22.0),
        }
    }

    /// A wide range of launches.
    pub fn launch(&mut self) -> Launch {
        Launch {
            ball_speed_mps: self.next(25.0, 85.0),
            launch_deg: self.next(2.0, 30.0),
            start_deg: self.next(-12.0, 12.0),
            backspin_rpm: self.next(500.0, 6000.0),
            sidespin_rpm: self.next(-2000.0, 2000.0),
            rifle_rpm: 0.0,
        }
    }
}

pub(super) fn driver() -> Head {
    Club::default().conforming().unwrap()
}

/// sources.md's standard case: 45 m/s, loft 13 deg, all else 0.
pub(super) fn standard() -> Delivery {
    Delivery { head_speed_mps: 45.0, loft_deg: 13.0, ..Delivery::default() }
}

pub(super) fn struck(head: &Head, hand: Hand, delivery: &Delivery) -> Launch {
    impact(head, hand, Face::Dry, delivery).unwrap().launch
}

pub(super) fn still_air<L: AirLaw>(law: &L) -> Flier<'_, L> {
    Flier::new(law, &Conditions::default()).unwrap()
}

/// Changes one number until `f` of it is zero; `f` must change sign between the ends.
pub(super) fn solve(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let sign = f(low) > 0.0;
    assert_ne!(sign, f(high) > 0.0, "no change of sign between {low} and {high}");
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == sign { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
