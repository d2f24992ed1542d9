//! Two-by-two covariance matrices and the ellipses they mean.
//!
//! Invariant: a [`Spread`] is symmetric and positive semidefinite up to rounding,
//! and taking reading error out of it keeps it so.
//!
//! Where to start: [`Spread::of`], [`Spread::without`], [`Spread::ellipse`].

use serde::Serialize;

/// A symmetric 2 x 2 covariance matrix in the face frame, mm2. As JSON:
/// `[[toe, toe-high], [toe-high, high]]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Variance along the toe axis, mm2.
    pub toe_mm2: f64,
    /// Covariance of toe and high, mm2.
    pub both_mm2: f64,
    /// Variance along the crown axis, mm2.
    pub high_mm2: f64,
}

impl Serialize for Spread {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.rows().serialize(serializer)
    }
}

/// An ellipse in the face frame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ellipse {
    /// Centre, toward the toe from the face centre, mm.
    pub centre_toe_mm: f64,
    /// Centre, toward the crown from the face centre, mm.
    pub centre_high_mm: f64,
    /// Longer half axis, mm.
    pub semi_major_mm: f64,
    /// Shorter half axis, mm.
    pub semi_minor_mm: f64,
    /// Direction of the longer axis, degrees from the toe axis toward the crown,
    /// above -90 and up to 90; 0 for a circle.
    pub angle_deg: f64,
}

/// Eigenvalues (greater first) and the angle of the first, degrees.
pub(crate) struct Axes {
    pub major_mm2: f64,
    pub minor_mm2: f64,
    pub angle_deg: f64,
}

impl Spread {
    /// Sample covariance of points about their mean, with divisor n - 1; nothing
    /// for fewer than two points. Two passes, in the order given.
    pub(crate) fn of(points: &[(f64, f64)], mean: (f64, f64)) -> Option<Self> {
        if points.len() < 2 {
            return None;
        }
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (x, y) in points {
            let (dx, dy) = (x - mean.0, y - mean.1);
            xx += dx * dx;
            xy += dx * dy;
            yy += dy * dy;
        }
        let dof = points.len() as f64 - 1.0;
        Some(Self { toe_mm2: xx / dof, both_mm2: xy / dof, high_mm2: yy / dof })
    }

    /// The matrix as rows.
    pub fn rows(&self) -> [[f64; 2]; 2] {
        [[self.toe_mm2, self.both_mm2], [self.both_mm2, self.high_mm2]]
    }

    /// Sum of the two variances, mm2.
    pub fn trace(&self) -> f64 {
        self.toe_mm2 + self.high_mm2
    }

    /// `u' S u` for any vector `u`.
    pub(crate) fn along(&self, u: (f64, f64)) -> f64 {
        u.0 * u.0 * self.toe_mm2 + 2.0 * u.0 * u.1 * self.both_mm2 + u.1 * u.1 * self.high_mm2
    }

    /// Trace of the square, mm4.
    pub(crate) fn trace_of_square(&self) -> f64 {
        self.toe_mm2 * self.toe_mm2 + 2.0 * self.both_mm2 * self.both_mm2 + self.high_mm2 * self.high_mm2
    }

    pub(crate) fn axes(&self) -> Axes {
        let half_difference = 0.5 * (self.toe_mm2 - self.high_mm2);
        let reach = (half_difference * half_difference + self.both_mm2 * self.both_mm2).sqrt();
        let major = 0.5 * self.trace() + reach;
        // The product of the eigenvalues is the determinant: no cancellation.
        let determinant = self.toe_mm2 * self.high_mm2 - self.both_mm2 * self.both_mm2;
        // Below this the determinant is rounding, and the marks lie on a line.
        let rounding = 1e-14 * self.toe_mm2 * self.high_mm2;
        let minor = if major > 0.0 && determinant > rounding { determinant / major } else { 0.0 };
        let angle = 0.5 * libm::atan2(2.0 * self.both_mm2, self.toe_mm2 - self.high_mm2);
        Axes {
            major_mm2: major.max(0.0),
            minor_mm2: minor,
            angle_deg: angle * (180.0 / core::f64::consts::PI) + 0.0,
        }
    }

    /// The matrix with the same axes and other eigenvalues.
    fn rebuilt(axes: &Axes, major: f64, minor: f64) -> Self {
        let angle = axes.angle_deg * (core::f64::consts::PI / 180.0);
        let (s, c) = (libm::sin(angle), libm::cos(angle));
        Self {
            toe_mm2: major * c * c + minor * s * s,
            both_mm2: (major - minor) * s * c,
            high_mm2: major * s * s + minor * c * c,
        }
    }

    /// This covariance less an equal variance along every axis (the mean square
    /// error of the readings), with eigenvalues cut at 0: the nearest matrix that
    /// is still a covariance.
    pub(crate) fn without(&self, error_mm2: f64) -> Self {
        let axes = self.axes();
        if axes.minor_mm2 >= error_mm2 {
            return Self {
                toe_mm2: self.toe_mm2 - error_mm2,
                both_mm2: self.both_mm2,
                high_mm2: self.high_mm2 - error_mm2,
            };
        }
        Self::rebuilt(&axes, (axes.major_mm2 - error_mm2).max(0.0), 0.0)
    }

    /// This covariance with no eigenvalue below `floor_mm2`: marks that fall on
    /// each other by chance are not known better than they were read.
    pub(crate) fn at_least(&self, floor_mm2: f64) -> Self {
        let axes = self.axes();
        if axes.minor_mm2 >= floor_mm2 {
            return *self;
        }
        Self::rebuilt(&axes, axes.major_mm2.max(floor_mm2), axes.minor_mm2.max(floor_mm2))
    }

    /// The ellipse of all points at squared Mahalanobis distance `q` from a
    /// centre: half axes `sqrt(q * eigenvalue)`. With `q` the chi-square quantile
    /// (2 degrees of freedom) of a content, it holds that share of a normal
    /// population; with `q` = 1 it is the 1-sigma ellipse (39.3 %).
    pub(crate) fn ellipse(&self, centre: (f64, f64), q: f64) -> Ellipse {
        let axes = self.axes();
        Ellipse {
            centre_toe_mm: centre.0,
            centre_high_mm: centre.1,
            semi_major_mm: (q * axes.major_mm2).sqrt(),
            semi_minor_mm: (q * axes.minor_mm2).sqrt(),
            angle_deg: axes.angle_deg,
        }
    }
}

impl Ellipse {
    /// Whether a point of the face frame, mm, lies inside or on the ellipse. An
    /// ellipse without width holds nothing but its own line, so it answers no.
    pub fn holds(&self, toe_mm: f64, high_mm: f64) -> bool {
        if self.semi_minor_mm <= 0.0 {
            return false;
        }
        let angle = self.angle_deg * (core::f64::consts::PI / 180.0);
        let (s, c) = (libm::sin(angle), libm::cos(angle));
        let (dx, dy) = (toe_mm - self.centre_toe_mm, high_mm - self.centre_high_mm);
        let (u, v) = ((dx * c + dy * s) / self.semi_major_mm, (dy * c - dx * s) / self.semi_minor_mm);
        u * u + v * v <= 1.0
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    const TILTED: Spread = Spread { toe_mm2: 90.0, both_mm2: -30.0, high_mm2: 40.0 };

    #[test]
    fn axes_agree_with_nalgebra() {
        let eigen = nalgebra::Matrix2::<f64>::new(90.0, -30.0, -30.0, 40.0).symmetric_eigen();
        let axes = TILTED.axes();
        assert!((axes.major_mm2 - eigen.eigenvalues.max()).abs() < 1e-10);
        assert!((axes.minor_mm2 - eigen.eigenvalues.min()).abs() < 1e-10);
        let first = eigen.eigenvectors.column(eigen.eigenvalues.imax());
        let theirs = (first[1] / first[0]).atan().to_degrees();
        assert!((axes.angle_deg - theirs).abs() < 1e-9);
    }

    #[test]
    fn taking_out_more_error_than_the_small_axis_holds_leaves_a_line_not_a_negative() {
        let left = TILTED.without(50.0);
        let axes = left.axes();
        assert!(axes.minor_mm2 < 1e-9, "{}", axes.minor_mm2);
        assert!((axes.major_mm2 - (TILTED.axes().major_mm2 - 50.0)).abs() < 1e-9);
        assert!((axes.angle_deg - TILTED.axes().angle_deg).abs() < 1e-6);
        let none = TILTED.without(1e4);
        assert_eq!(none.trace(), 0.0);
    }

    #[test]
    fn a_round_spread_has_angle_zero() {
        let round = Spread { toe_mm2: 9.0, both_mm2: 0.0, high_mm2: 9.0 };
        let ellipse = round.ellipse((1.0, 2.0), 1.0);
        assert_eq!(ellipse.angle_deg.to_bits(), 0.0_f64.to_bits());
        assert_eq!((ellipse.semi_major_mm, ellipse.semi_minor_mm), (3.0, 3.0));
        assert!(ellipse.holds(3.9, 2.0) && !ellipse.holds(4.1, 2.0));
    }
}
