//! Vectors in space over [`Real`], with sums in a fixed order.
//!
//! Start at [`V3`].

use core::ops::{Add, Neg, Sub};

use super::real::Real;

/// A vector: in the world frame x down the target line, y up, z to the right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct V3<R> {
    /// Down the target line.
    pub x: R,
    /// Up.
    pub y: R,
    /// To the right.
    pub z: R,
}

impl<R: Real> V3<R> {
    /// From its components.
    #[inline(always)]
    pub fn new(x: R, y: R, z: R) -> Self {
        Self { x, y, z }
    }

    /// The vector without length.
    #[inline(always)]
    pub fn zero() -> Self {
        Self::new(R::splat(0.0), R::splat(0.0), R::splat(0.0))
    }

    /// The same plain vector in every lane.
    #[inline(always)]
    pub fn splat(v: V3<f64>) -> Self {
        Self::new(R::splat(v.x), R::splat(v.y), R::splat(v.z))
    }

    /// One lane's vector.
    pub fn lane(self, lane: usize) -> V3<f64> {
        V3::new(self.x.lane(lane), self.y.lane(lane), self.z.lane(lane))
    }

    /// Scalar product.
    #[inline(always)]
    pub fn dot(self, o: Self) -> R {
        self.x * o.x + self.y * o.y + self.z * o.z
    }

    /// Vector product.
    #[must_use]
    #[inline(always)]
    pub fn cross(self, o: Self) -> Self {
        Self::new(self.y * o.z - self.z * o.y, self.z * o.x - self.x * o.z, self.x * o.y - self.y * o.x)
    }

    /// Times a number.
    #[must_use]
    #[inline(always)]
    pub fn scale(self, k: R) -> Self {
        Self::new(self.x * k, self.y * k, self.z * k)
    }

    /// Times a plain number.
    #[must_use]
    #[inline(always)]
    pub fn times(self, k: f64) -> Self {
        self.scale(R::splat(k))
    }

    /// Length.
    #[inline(always)]
    pub fn length(self) -> R {
        self.dot(self).sqrt()
    }

    /// `yes` in the lanes where the mask holds, else `no`.
    #[must_use]
    #[inline(always)]
    pub fn select(mask: R::Mask, yes: Self, no: Self) -> Self {
        Self::new(R::select(mask, yes.x, no.x), R::select(mask, yes.y, no.y), R::select(mask, yes.z, no.z))
    }
}

impl<R: Real> Add for V3<R> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}

impl<R: Real> Sub for V3<R> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl<R: Real> Neg for V3<R> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y, -self.z)
    }
}
