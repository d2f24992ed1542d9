//! Many drives of one swing, and of the same swing changed.
//!
//! The rule: common random numbers. The n-th drive of a changed swing is the n-th
//! drive of today's, moved; so the difference between two swings is theirs and not
//! chance's. Start at [`fly`].

use super::super::chance::even;
use super::super::student_model::Swing;
use super::{Edge, Want};
use crate::face::normal::normal_quantile;
use crate::flight::delivery::possible;
use crate::flight::inverse::Setting;
use crate::flight::law::AirLaw;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::trajectory::Ending;
use crate::flight::{Delivery, Shot, hit_many};

/// How a swing is changed: its means moved, its spreads multiplied.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Moved {
    pub shift: [f64; N],
    pub scale: [f64; N],
}

impl Moved {
    /// No change.
    pub const NOT: Self = Self { shift: [0.0; N], scale: [1.0; N] };

    /// One change after another.
    pub fn then(&self, other: &Self) -> Self {
        Self {
            shift: core::array::from_fn(|i| at(&self.shift, i) + at(&other.shift, i)),
            scale: core::array::from_fn(|i| at(&self.scale, i) * at(&other.scale, i)),
        }
    }

    /// A drive of the changed swing, from how far a drive of today's is from its mean.
    pub fn drive(&self, mean: &[f64; N], off: &[f64; N]) -> [f64; N] {
        core::array::from_fn(|i| at(mean, i) + at(&self.shift, i) + at(&self.scale, i) * at(off, i))
    }
}

fn at(v: &[f64; N], i: usize) -> f64 {
    v.get(i).copied().unwrap_or(0.0)
}

/// Points of a standard normal distribution in seven dimensions, evenly spread.
pub(crate) fn points(count: usize) -> Vec<[f64; N]> {
    (0..count as u64).map(|n| even(n).map(normal_quantile)).collect()
}

/// What many drives come to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Outcome {
    /// Mean carry, m.
    pub carry_m: f64,
    /// Standard deviation across the target line, m.
    pub spread_m: f64,
    /// Share that comes down on the fairway.
    pub fairway: f64,
    /// Share beyond the trouble line.
    pub trouble: f64,
    /// Variance of [`Self::fairway`] and [`Self::trouble`] less today's, by chance
    /// alone: the share of drives that changed sides, over their number.
    pub chance: [f64; 2],
}

/// Half the width of a soft edge, m: narrow beside any player's spread.
const SOFT_M: f64 = 2.0;

/// Sums of drives as they come down.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Sums {
    count: f64,
    carry: f64,
    lateral: f64,
    square: f64,
    fairway: f64,
    trouble: f64,
    changed: [f64; 2],
}

/// Whether a drive came down on the fairway, and whether beyond the trouble line.
pub(crate) type Sides = [bool; 2];

impl Sums {
    /// One more drive, and where today's came down; answers where it did. A ball
    /// that never flew is on no fairway.
    pub fn add(&mut self, landing: Option<[f64; 2]>, today: Option<Sides>, want: &Want) -> Sides {
        let before = [self.fairway, self.trouble];
        self.count += 1.0;
        if let Some(landing) = landing {
            self.sum(landing, want, |inside_m| f64::from(u8::from(inside_m >= 0.0)));
        }
        let sides = [self.fairway > before[0], self.trouble > before[1]];
        for ((changed, side), was) in self.changed.iter_mut().zip(sides).zip(today.unwrap_or(sides)) {
            *changed += f64::from(u8::from(side != was));
        }
        sides
    }

    /// One more drive, with edges that are [`SOFT_M`] wide on both sides: a few
    /// hundred drives then give a rate without steps.
    pub fn add_soft(&mut self, landing: [f64; 2], want: &Want) {
        self.count += 1.0;
        self.sum(landing, want, |inside_m| {
            let x = (inside_m / (2.0 * SOFT_M) + 0.5).clamp(0.0, 1.0);
            x * x * (3.0 - 2.0 * x)
        });
    }

    #[inline]
    fn sum(&mut self, [carry, lateral]: [f64; 2], want: &Want, inside: impl Fn(f64) -> f64) {
        self.carry += carry;
        self.lateral += lateral;
        self.square += lateral * lateral;
        self.fairway += inside(0.5 * want.fairway_m - lateral.abs());
        let beyond = match want.trouble.edge {
            Edge::Left => -lateral,
            Edge::Right => lateral,
            Edge::Both => lateral.abs(),
        };
        self.trouble += inside(beyond - want.trouble.beyond_m);
    }

    pub fn outcome(&self) -> Outcome {
        let n = self.count.max(1.0);
        let middle = self.lateral / n;
        Outcome {
            carry_m: self.carry / n,
            spread_m: (self.square / n - middle * middle).max(0.0).sqrt(),
            fairway: self.fairway / n,
            trouble: self.trouble / n,
            chance: self.changed.map(|changed| changed / (n * n)),
        }
    }
}

/// Drives of a swing, changed, by the full impact and flight. `each` is told every
/// drive and where it came down, carry and right of the target line in m.
pub(crate) fn fly<L: AirLaw>(
    setting: &Setting<L>,
    swing: &Swing,
    moved: &Moved,
    points: &[[f64; N]],
    mut each: impl FnMut(&[f64; N], Option<[f64; 2]>),
) {
    const BLOCK: usize = 128;
    let mut drives = [Delivery::default(); BLOCK];
    let mut shots: [Option<Shot>; BLOCK] = [None; BLOCK];
    for block in points.chunks(BLOCK) {
        for (drive, z) in drives.iter_mut().zip(block) {
            *drive = possible(moved.drive(&swing.mean, &swing.factor.times(z)));
        }
        let drives = drives.get(..block.len()).unwrap_or_default();
        let shots = shots.get_mut(..block.len()).unwrap_or_default();
        shots.fill(None);
        let (head, hand, face, flier) = (setting.head, setting.hand, setting.face, setting.flier);
        if hit_many(head, hand, face, flier, drives, shots).is_err() {
            // A swing that misses the ball hides the rest of its block: one by one.
            for (drive, shot) in drives.iter().zip(shots.iter_mut()) {
                *shot = crate::flight::hit(head, hand, face, flier, drive).ok();
            }
        }
        for (drive, shot) in drives.iter().zip(shots.iter()) {
            let landed = shot.filter(|shot| shot.flight.ending == Ending::Landed);
            each(
                &super::super::student_model::numbers(drive),
                landed.map(|shot| [shot.flight.carry_m, shot.flight.lateral_m]),
            );
        }
    }
}
