//! Intervals for every figure of a pattern that a person acts on.
//!
//! Invariant: an interval holds its estimate, is ordered and finite, and is
//! absent where the count of marks can't carry it. All are two-sided at
//! [`LEVEL`]. Bias, its region and the scatter rest on the usual assumption that
//! marks of one set are independent and near normal; the centre rate assumes
//! only independence. Marks of one session are correlated, so these intervals
//! are the least uncertainty, not the most.
//!
//! Where to start: [`intervals`]. Coverage is shown by simulation in
//! `tests_coverage.rs`.

use serde::Serialize;

use super::ellipse::{Ellipse, Spread};
use super::quantile::{beta_quantile, chi_square_quantile, f_cdf, f_quantile, rising_root, t_two_sided};

/// Level of all intervals.
pub const LEVEL: f64 = 0.95;

/// How often an interval holds, with what follows from it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Level {
    share: f64,
    /// Probability left out on each side.
    tail: f64,
    /// Two-sided normal quantile.
    z: f64,
}

impl Level {
    /// The level of all intervals.
    pub const USUAL: Self = Self { share: LEVEL, tail: 0.5 * (1.0 - LEVEL), z: 1.959_963_984_540_054 };

    /// Nine in ten: the methods are tried at it as well.
    #[cfg(test)]
    pub const NINETY: Self = Self { share: 0.9, tail: 0.05, z: 1.644_853_626_951_473 };
}

/// A range of plausible values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Lower end, in the unit of the figure.
    pub low: f64,
    /// Upper end, in the unit of the figure.
    pub high: f64,
}

impl Range {
    /// Whether 0 lies outside.
    pub fn excludes_zero(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }
}

/// A share from 0 to 1 with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// The share seen.
    pub estimate: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Joint 95 % region of the bias, with the test it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Region {
    /// Where the middle of all such strikes may be, in the face frame, mm.
    pub ellipse: Ellipse,
    /// Chance of a bias at least this large if the true middle were the target
    /// point.
    pub p_value: f64,
}

/// The 95 % intervals of a [`Pattern`](super::Pattern). `null` where there are
/// too few marks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct Intervals {
    /// Bias toward the toe, mm: Student's t, from 2 marks.
    pub bias_toe_mm: Option<Range>,
    /// Bias toward the crown, mm: Student's t, from 2 marks.
    pub bias_high_mm: Option<Range>,
    /// Middle of the strikes as a region: Hotelling (1931), from 3 marks and only
    /// if they do not lie on one line.
    pub middle: Option<Region>,
    /// SD of the strikes along the toe axis, mm, reading error taken out:
    /// chi-square, from 2 marks.
    pub scatter_toe_mm: Option<Range>,
    /// The same along the crown axis, mm.
    pub scatter_high_mm: Option<Range>,
    /// Root mean square miss, mm, raw: Satterthwaite (1946), from 3 marks.
    pub rms_miss_mm: Option<Range>,
    /// Share of the bias in the mean square miss: Dempster (1958) with Patnaik
    /// (1949), from 3 marks.
    pub bias_share: Option<Range>,
}

/// What the intervals are made of.
pub(crate) struct Basis {
    /// Number of marks.
    pub n: f64,
    /// Mean of the marks, face frame, mm.
    pub middle: (f64, f64),
    /// Mean less target point, mm.
    pub bias: (f64, f64),
    /// Raw covariance.
    pub raw: Spread,
    /// Mean variance of the readings along one axis, mm2.
    pub error_mm2: f64,
    /// Mean square miss from the target point, mm2.
    pub mean_square_mm2: f64,
    /// Bias share seen, if it is defined.
    pub bias_share: Option<f64>,
    /// How often the intervals hold.
    pub level: Level,
}

pub(crate) fn intervals(basis: &Basis) -> Intervals {
    // The mean is not known better than the marks were read.
    let floored = basis.raw.at_least(basis.error_mm2);
    let enough = basis.n >= 3.0;
    Intervals {
        bias_toe_mm: Some(mean_range(basis, basis.bias.0, floored.toe_mm2)),
        bias_high_mm: Some(mean_range(basis, basis.bias.1, floored.high_mm2)),
        middle: region(basis, &floored),
        scatter_toe_mm: Some(sd_range(basis, basis.raw.toe_mm2)),
        scatter_high_mm: Some(sd_range(basis, basis.raw.high_mm2)),
        rms_miss_mm: enough.then(|| rms_range(basis)),
        bias_share: if enough { share_range(basis) } else { None },
    }
}

/// Clopper and Pearson (Biometrika 26, 404, 1934): never below its level, also
/// for a handful of balls.
pub fn clopper_pearson(hits: u32, count: u32) -> Option<Share> {
    exact_share(hits, count, Level::USUAL)
}

pub(crate) fn exact_share(hits: u32, count: u32, level: Level) -> Option<Share> {
    let tail = level.tail;
    if count == 0 {
        return None;
    }
    let (k, n) = (f64::from(hits), f64::from(count));
    Some(Share {
        estimate: k / n,
        low: if hits == 0 { 0.0 } else { beta_quantile(tail, k, n - k + 1.0) },
        high: if hits == count {
            1.0
        } else {
            // By symmetry, for the digits near 1.
            1.0 - beta_quantile(tail, n - k, k + 1.0)
        },
    })
}

/// Student's t interval of a mean.
fn mean_range(basis: &Basis, mean: f64, variance: f64) -> Range {
    let half = t_two_sided(basis.level.share, basis.n - 1.0) * (variance / basis.n).sqrt();
    Range { low: mean - half, high: mean + half }
}

/// Chi-square interval of the raw variance, less the reading variance.
fn sd_range(basis: &Basis, variance: f64) -> Range {
    let (dof, tail) = (basis.n - 1.0, basis.level.tail);
    let end = |p: f64| {
        let raw = dof * variance / chi_square_quantile(p, dof);
        (raw - basis.error_mm2).max(0.0).sqrt()
    };
    Range { low: end(1.0 - tail), high: end(tail) }
}

/// Hotelling (Ann. Math. Stat. 2, 360, 1931): `n (m - t)' S^-1 (m - t)` times
/// `(n - 2) / (2 (n - 1))` is F with 2 and n - 2 degrees of freedom.
fn region(basis: &Basis, spread: &Spread) -> Option<Region> {
    let n = basis.n;
    let squared = mahalanobis_squared(basis.bias, spread)?;
    if n < 3.0 {
        return None;
    }
    let f = n * squared * (n - 2.0) / (2.0 * (n - 1.0));
    let q = 2.0 * (n - 1.0) / (n * (n - 2.0)) * f_quantile(basis.level.share, 2.0, n - 2.0);
    Some(Region {
        ellipse: spread.ellipse(basis.middle, q),
        // The upper tail of F with 2 and v degrees of freedom in closed form.
        p_value: libm::exp(-0.5 * (n - 2.0) * libm::log1p(2.0 * f / (n - 2.0))),
    })
}

/// Squared Mahalanobis length of a vector; nothing if the spread is a line.
pub(crate) fn mahalanobis_squared(v: (f64, f64), spread: &Spread) -> Option<f64> {
    let axes = spread.axes();
    if axes.minor_mm2 <= 1e-12 * axes.major_mm2 || axes.minor_mm2 <= 0.0 {
        return None;
    }
    let determinant = axes.major_mm2 * axes.minor_mm2;
    let cross = v.0 * v.0 * spread.high_mm2 - 2.0 * v.0 * v.1 * spread.both_mm2 + v.1 * v.1 * spread.toe_mm2;
    Some((cross / determinant).max(0.0))
}

/// The mean square miss as a scaled chi-square with the same mean and variance
/// (Satterthwaite, Biometrics Bull. 2, 110, 1946). Its variance is estimated, so
/// the part of it that comes from the bias is widened as t is to z.
fn rms_range(basis: &Basis) -> Range {
    let (m, tail) = (basis.mean_square_mm2, basis.level.tail);
    let from_bias = 4.0 * basis.raw.along(basis.bias);
    let variance = 2.0 * basis.raw.trace_of_square() + from_bias;
    if m <= 0.0 || variance <= 0.0 {
        let rms = m.max(0.0).sqrt();
        return Range { low: rms, high: rms };
    }
    let t = t_two_sided(basis.level.share, basis.n - 1.0) / basis.level.z;
    let widening = 1.0 + from_bias / variance * (t * t - 1.0);
    let dof = 2.0 * basis.n * m * m / variance / widening;
    Range {
        low: (m * (dof / chi_square_quantile(1.0 - tail, dof))).sqrt(),
        high: finite(m * (dof / chi_square_quantile(tail, dof))).sqrt(),
    }
}

/// Interval of the bias share `|b|^2 / (|b|^2 + tr S)` of the population.
///
/// Dempster's non-exact test (Ann. Math. Stat. 29, 995, 1958) compares
/// `n |b|^2` with `tr S` as an F ratio whose degrees of freedom come from
/// `tr S^2 / (tr S)^2`, here by the unbiased estimate of Bai and Saranadasa
/// (Stat. Sinica 6, 311, 1996). With a bias, `n |b|^2` is a scaled chi-square by
/// its first two moments (Patnaik, Biometrika 36, 202, 1949). Inverting that test
/// gives the interval. Reading error: the ends are carried over with the end of
/// the raw spread that widens them.
fn share_range(basis: &Basis) -> Option<Range> {
    let estimate = basis.bias_share?;
    let (n, tail) = (basis.n, basis.level.tail);
    let trace = basis.raw.trace();
    let squared = basis.bias.0 * basis.bias.0 + basis.bias.1 * basis.bias.1;
    if trace <= 0.0 {
        return Some(Range { low: estimate, high: estimate });
    }
    let q = concentration(&basis.raw, n);
    // Share of the variance that lies in the direction of the bias.
    let along = if squared > 0.0 { basis.raw.along(basis.bias) / squared / trace } else { 0.5 };
    let ratio = n * squared / trace;
    let chance_below = |share: f64| {
        let odds = share / (1.0 - share);
        let grown = 1.0 + n * odds;
        let dof = 2.0 * grown * grown / (2.0 * q + 4.0 * n * odds * along);
        f_cdf(ratio / grown, dof, (n - 1.0) / q)
    };
    let top = 1.0 - 1e-12;
    let low = rising_root(0.0, top, |s| (1.0 - tail) - chance_below(s));
    let high = rising_root(0.0, top, |s| tail - chance_below(s));

    let dof = (n - 1.0) / q;
    let without_error = |share: f64, p: f64| {
        if basis.error_mm2 <= 0.0 || share <= 0.0 {
            return share;
        }
        let raw = trace * (dof / chi_square_quantile(p, dof));
        let kept = ((raw - 2.0 * basis.error_mm2) / raw).max(0.0);
        share / (share + (1.0 - share) * kept)
    };
    Some(Range {
        low: without_error(low, tail).min(estimate),
        high: without_error(high, 1.0 - tail).max(estimate),
    })
}

/// `tr S^2 / (tr S)^2` of the population: 1/2 for a round spread, 1 for a line.
fn concentration(raw: &Spread, n: f64) -> f64 {
    let v = n - 1.0;
    let (square, trace) = (raw.trace_of_square(), raw.trace());
    let of_square = (square - trace * trace / v) / (1.0 + 1.0 / v - 2.0 / (v * v));
    let of_trace = trace * trace - 2.0 * of_square / v;
    if of_trace <= 0.0 || !of_square.is_finite() {
        return 1.0;
    }
    (of_square / of_trace).clamp(0.5, 1.0)
}

/// The greatest finite square of a distance that still means anything here.
fn finite(mm2: f64) -> f64 {
    mm2.min(1e12)
}
