//! The numbers that the physics is written in: one shot at a time (`f64`) or
//! four shots side by side ([`Lanes`]).
//!
//! The invariant: every operation here is one that IEEE 754 defines to the last
//! bit (add, subtract, multiply, divide, square root, compare, select) or a move
//! of bits. Each lane does exactly what `f64` does, so four shots at once give
//! the same bits as one after the other, on every device. Nothing fuses a
//! multiply with an add. Start at [`Real`]; functions built from it are in
//! [`super::math`].

use core::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// How many shots [`Lanes`] holds side by side.
pub const LANES: usize = 4;

/// 2^52: adding it moves a small whole number into the low bits of a double.
const TWO_52: f64 = 4_503_599_627_370_496.0;
const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;
const ONE_BITS: u64 = 0x3ff0_0000_0000_0000;

/// A number of the physics: one double, or several that go through the same steps.
pub trait Real:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self> + Neg<Output = Self>
{
    /// The answer of a comparison, lane by lane.
    type Mask: Copy + BitAnd<Output = Self::Mask> + BitOr<Output = Self::Mask> + Not<Output = Self::Mask>;

    /// The same value in every lane.
    fn splat(value: f64) -> Self;
    /// The value of each lane, in order.
    fn from_fn(f: impl FnMut(usize) -> f64) -> Self;
    /// The value in one lane; `NaN` for a lane that does not exist.
    fn lane(self, lane: usize) -> f64;
    /// Correctly rounded square root.
    #[must_use]
    fn sqrt(self) -> Self;
    /// Magnitude.
    #[must_use]
    fn abs(self) -> Self;
    /// Whether `self < other`; false where either is not a number.
    fn lt(self, other: Self) -> Self::Mask;
    /// `yes` where the mask holds, else `no`.
    #[must_use]
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Whether the mask holds in any lane.
    fn any(mask: Self::Mask) -> bool;
    /// A mask that holds in every lane, or in none.
    fn mask(holds: bool) -> Self::Mask;
    /// A positive normal number as mantissa in 1..2 and whole exponent of two.
    fn split(self) -> (Self, Self);
    /// Two to a whole power between -1000 and 1000.
    fn two_to_whole(power: Self) -> Self;
    /// Nearest whole number, ties to even, for magnitudes below 2^51.
    #[must_use]
    fn nearest(self) -> Self;

    /// The smaller; `other` where either is not a number.
    #[must_use]
    #[inline(always)]
    fn at_most(self, other: Self) -> Self {
        Self::select(self.lt(other), self, other)
    }

    /// The larger; `other` where either is not a number.
    #[must_use]
    #[inline(always)]
    fn at_least(self, other: Self) -> Self {
        Self::select(other.lt(self), self, other)
    }

    /// Times a plain number.
    #[must_use]
    #[inline(always)]
    fn times(self, factor: f64) -> Self {
        self * Self::splat(factor)
    }

    /// Plus a plain number.
    #[must_use]
    #[inline(always)]
    fn plus(self, term: f64) -> Self {
        self + Self::splat(term)
    }
}

#[inline(always)]
fn split_one(x: f64) -> (f64, f64) {
    let bits = x.to_bits();
    let mantissa = f64::from_bits((bits & MANTISSA) | ONE_BITS);
    // The exponent field, moved into the low bits of 2^52, read off by subtraction.
    let exponent = f64::from_bits((bits >> 52) | TWO_52.to_bits()) - (TWO_52 + 1023.0);
    (mantissa, exponent)
}

#[inline(always)]
fn two_to_whole_one(power: f64) -> f64 {
    f64::from_bits((power + (TWO_52 + 1023.0)).to_bits() << 52)
}

#[inline(always)]
fn nearest_one(x: f64) -> f64 {
    const MAGIC: f64 = 1.5 * TWO_52;
    (x + MAGIC) - MAGIC
}

/// One answer of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct One(bool);

impl BitAnd for One {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl BitOr for One {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl Not for One {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        Self(!self.0)
    }
}

impl Real for f64 {
    type Mask = One;

    #[inline(always)]
    fn splat(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn from_fn(mut f: impl FnMut(usize) -> f64) -> Self {
        f(0)
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        if lane == 0 { self } else { f64::NAN }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        f64::abs(self)
    }
    #[inline(always)]
    fn lt(self, other: Self) -> One {
        One(self < other)
    }
    #[inline(always)]
    fn select(mask: One, yes: Self, no: Self) -> Self {
        if mask.0 { yes } else { no }
    }
    #[inline(always)]
    fn any(mask: One) -> bool {
        mask.0
    }
    #[inline(always)]
    fn mask(holds: bool) -> One {
        One(holds)
    }
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        split_one(self)
    }
    #[inline(always)]
    fn two_to_whole(power: Self) -> Self {
        two_to_whole_one(power)
    }
    #[inline(always)]
    fn nearest(self) -> Self {
        nearest_one(self)
    }
}

/// Four shots side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(32))]
pub struct Lanes(pub [f64; LANES]);

/// Four answers of a comparison: all bits set where it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(align(32))]
pub struct Many([u64; LANES]);

macro_rules! lane_by_lane {
    ($trait:ident, $method:ident, $kind:ident, $op:tt) => {
        impl $trait for $kind {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (self.0, other.0);
                Self([a0 $op b0, a1 $op b1, a2 $op b2, a3 $op b3])
            }
        }
    };
}

lane_by_lane!(Add, add, Lanes, +);
lane_by_lane!(Sub, sub, Lanes, -);
lane_by_lane!(Mul, mul, Lanes, *);
lane_by_lane!(Div, div, Lanes, /);
lane_by_lane!(BitAnd, bitand, Many, &);
lane_by_lane!(BitOr, bitor, Many, |);

impl Neg for Lanes {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self(self.0.map(|x| -x))
    }
}

impl Not for Many {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        Self(self.0.map(|x| !x))
    }
}

#[inline(always)]
fn all_bits(holds: bool) -> u64 {
    if holds { u64::MAX } else { 0 }
}

#[inline(always)]
fn blend(mask: u64, yes: f64, no: f64) -> f64 {
    f64::from_bits((yes.to_bits() & mask) | (no.to_bits() & !mask))
}

/// One instruction on most machines, with `other` where either is not a number.
#[inline(always)]
fn less(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[inline(always)]
fn more(a: f64, b: f64) -> f64 {
    if b < a { a } else { b }
}

impl Real for Lanes {
    type Mask = Many;

    #[inline(always)]
    fn splat(value: f64) -> Self {
        Self([value; LANES])
    }
    #[inline(always)]
    fn from_fn(f: impl FnMut(usize) -> f64) -> Self {
        Self(core::array::from_fn(f))
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0.get(lane).copied().unwrap_or(f64::NAN)
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self(self.0.map(f64::sqrt))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        Self(self.0.map(f64::abs))
    }
    #[inline(always)]
    fn lt(self, other: Self) -> Many {
        let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (self.0, other.0);
        Many([all_bits(a0 < b0), all_bits(a1 < b1), all_bits(a2 < b2), all_bits(a3 < b3)])
    }
    #[inline(always)]
    fn select(mask: Many, yes: Self, no: Self) -> Self {
        let [m0, m1, m2, m3] = mask.0;
        let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (yes.0, no.0);
        Self([blend(m0, a0, b0), blend(m1, a1, b1), blend(m2, a2, b2), blend(m3, a3, b3)])
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> Self {
        let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (self.0, other.0);
        Self([less(a0, b0), less(a1, b1), less(a2, b2), less(a3, b3)])
    }
    #[inline(always)]
    fn at_least(self, other: Self) -> Self {
        let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (self.0, other.0);
        Self([more(a0, b0), more(a1, b1), more(a2, b2), more(a3, b3)])
    }
    #[inline(always)]
    fn any(mask: Many) -> bool {
        let [m0, m1, m2, m3] = mask.0;
        m0 | m1 | m2 | m3 != 0
    }
    #[inline(always)]
    fn mask(holds: bool) -> Many {
        Many([all_bits(holds); LANES])
    }
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        let [a, b, c, d] = self.0.map(split_one);
        (Self([a.0, b.0, c.0, d.0]), Self([a.1, b.1, c.1, d.1]))
    }
    #[inline(always)]
    fn two_to_whole(power: Self) -> Self {
        Self(power.0.map(two_to_whole_one))
    }
    #[inline(always)]
    fn nearest(self) -> Self {
        Self(self.0.map(nearest_one))
    }
}
