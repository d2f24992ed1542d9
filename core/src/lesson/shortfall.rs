//! What a student's drives lose to contact, to speed and to the face.
//!
//! The rule: nothing is counted twice. With target strikes, the student's own best
//! repeatable speed and a square face, alone and together, there are eight swings;
//! each cause gets its gain averaged over all orders in which the three could be
//! put right (Shapley, in Contributions to the Theory of Games II, 307, 1953), so
//! that the three add up to the whole. Start at [`Shortfall`].

use serde::Serialize;

use super::student_model::Swing;
use super::what_if::Ranged;
use super::what_if::drives::Moved;

/// A student's best repeatable head speed: the one that one ball in ten exceeds
/// (assumed), so many standard deviations above the mean.
pub const BEST_REPEATABLE_SD: f64 = 1.281_551_565_544_600_4;

/// The parts of one shortfall.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Parts<T> {
    /// Strikes off the target point.
    pub contact: T,
    /// Head speed below the student's own best repeatable one.
    pub speed: T,
    /// A face that is not square to the target.
    pub face: T,
    /// All three together: their sum.
    pub whole: T,
}

/// What drives lose, each figure with its 90 % interval. Positive is a loss; a
/// part may be negative where one fault hides another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shortfall {
    /// Mean carry, m.
    pub carry_m: Parts<Ranged>,
    /// Fairways, as a fraction of all drives.
    pub fairway_rate: Parts<Ranged>,
}

/// Which part.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part {
    Contact,
    Speed,
    Face,
    Whole,
}

impl Part {
    pub fn of(self, parts: &Parts<f64>) -> f64 {
        match self {
            Self::Contact => parts.contact,
            Self::Speed => parts.speed,
            Self::Face => parts.face,
            Self::Whole => parts.whole,
        }
    }
}

impl Parts<f64> {
    pub(super) fn map(&self, f: impl Fn(Part, f64) -> Ranged) -> Parts<Ranged> {
        Parts {
            contact: f(Part::Contact, self.contact),
            speed: f(Part::Speed, self.speed),
            face: f(Part::Face, self.face),
            whole: f(Part::Whole, self.whole),
        }
    }
}

/// The seven swings with something put right: contact is 1, speed 2 and face 4 of
/// the set's number, from 1.
pub(super) fn parts(swing: &Swing, target_mm: [f64; 2]) -> [Moved; 7] {
    let [_, _, face, _, _, toe, high] = swing.mean;
    let [speed_sd, ..] = swing.sd;
    core::array::from_fn(|i| {
        let set = i + 1;
        let mut moved = Moved::NOT;
        let [move_speed, _, move_face, _, _, move_toe, move_high] = &mut moved.shift;
        let [scale_speed, _, scale_face, _, _, scale_toe, scale_high] = &mut moved.scale;
        if set & 1 != 0 {
            (*move_toe, *move_high) = (target_mm[0] - toe, target_mm[1] - high);
            (*scale_toe, *scale_high) = (0.0, 0.0);
        }
        if set & 2 != 0 {
            *move_speed = BEST_REPEATABLE_SD * speed_sd;
            *scale_speed = 0.0;
        }
        if set & 4 != 0 {
            *move_face = -face;
            *scale_face = 0.0;
        }
        moved
    })
}

/// The parts of what is gained from set 0 (nothing right) to set 7 (all right).
pub(super) fn split(value: &[f64; 8]) -> Parts<f64> {
    let [none, c, s, cs, f, cf, sf, all] = *value;
    let shapley = |alone: f64, with_one: f64, with_other: f64, last: f64| {
        alone / 3.0 + (with_one + with_other) / 6.0 + last / 3.0
    };
    Parts {
        contact: shapley(c - none, cs - s, cf - f, all - sf),
        speed: shapley(s - none, cs - c, sf - f, all - cf),
        face: shapley(f - none, cf - c, sf - s, all - cs),
        whole: all - none,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_add_up_and_equal_causes_get_equal_parts() {
        let value = [200.0, 208.0, 203.0, 213.0, 206.0, 211.0, 208.5, 219.0];
        let parts = split(&value);
        assert!((parts.contact + parts.speed + parts.face - parts.whole).abs() < 1e-12);
        assert!((parts.whole - 19.0).abs() < 1e-12);
        // Worked by hand over the six orders: 8/3 + (10+5)/6 + 10.5/3.
        assert!((parts.contact - (8.0 / 3.0 + 15.0 / 6.0 + 10.5 / 3.0)).abs() < 1e-12);
        let alike = split(&[0.0, 4.0, 4.0, 7.0, 4.0, 7.0, 7.0, 9.0]);
        assert!([alike.contact, alike.speed, alike.face].iter().all(|part| (part - 3.0).abs() < 1e-12));
    }
}
