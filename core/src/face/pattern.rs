//! The pattern of a set of strike marks.
//!
//! Invariant: [`Pattern`] never holds NaN or infinity; what too few marks can't
//! give is `None` (JSON `null`). Without reading error, `bias_share` is exactly
//! `|bias|^2 / rms_miss^2`.
//!
//! | marks | what is there |
//! |---|---|
//! | 0 | count and verdict only |
//! | 1 | bias, miss, centre rate |
//! | 2 | also covariance, scatter, shares, and the intervals of bias and scatter |
//! | 3 | also the ellipses and all other intervals |
//! | 5 | also a verdict |
//!
//! Where to start: [`pattern`].

use serde::Serialize;

use super::ellipse::{Ellipse, Spread};
use super::interval::{Basis, Intervals, Level, Share, exact_share, intervals};
use super::quantile::chi_square_quantile;
use super::reading::{self, Reading};
use super::{FaceError, Settings, Strike, check};

/// Content of [`Pattern::ellipse95`].
const CONTENT: f64 = 0.95;

/// Statistics of a set of strike marks, all in the face frame (x toward the toe,
/// y toward the crown, mm, right- and left-handers alike).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pattern {
    /// Number of marks.
    pub count: u32,
    /// Mean of the marks less the target point, toward the toe, mm.
    pub bias_toe_mm: Option<f64>,
    /// Mean of the marks less the target point, toward the crown, mm.
    pub bias_high_mm: Option<f64>,
    /// Covariance of the marks as read, divisor n - 1, mm2.
    pub covariance_mm2: Option<Spread>,
    /// The same with the mean variance of the readings taken out, kept positive
    /// semidefinite, mm2.
    pub scatter_mm2: Option<Spread>,
    /// Root mean square distance of the marks, as read, from the target point,
    /// mm.
    pub rms_miss_mm: Option<f64>,
    /// Part of the mean square miss that the bias makes, 0 to 1:
    /// `|b|^2 / (|b|^2 + (n - 1)/n tr(scatter))`. Absent where both are 0.
    pub bias_share: Option<f64>,
    /// The rest: the part that the scatter makes.
    pub scatter_share: Option<f64>,
    /// Share of marks, as read, within the centre radius of the target point,
    /// with the 95 % interval of Clopper and Pearson.
    pub centre_rate: Option<Share>,
    /// 1-sigma ellipse of the scatter about the mean (39 % of strikes).
    pub ellipse_1sigma: Option<Ellipse>,
    /// Ellipse of the scatter about the mean that holds 95 % of strikes, if they
    /// are normal with this scatter.
    pub ellipse95: Option<Ellipse>,
    /// 95 % intervals.
    pub intervals: Intervals,
    /// What the pattern says, as data; sentences are in `words::pattern`.
    pub reading: Reading,
    /// What it was judged by.
    pub settings: Settings,
    /// Root mean square standard deviation of the readings along one axis, mm.
    pub reading_error_mm: Option<f64>,
}

/// Computes the pattern of a set of marks.
///
/// # Errors
/// [`FaceError`] if a mark or a setting is not a number or out of its range; no
/// number of marks is an error.
pub fn pattern(strikes: &[Strike], settings: &Settings) -> Result<Pattern, FaceError> {
    pattern_at(strikes, settings, Level::USUAL)
}

/// The same with intervals that hold another share of the time.
pub(crate) fn pattern_at(
    strikes: &[Strike],
    settings: &Settings,
    level: Level,
) -> Result<Pattern, FaceError> {
    check(strikes, settings)?;
    let n = strikes.len() as f64;
    let count = u32::try_from(strikes.len()).unwrap_or(u32::MAX);
    let target = (settings.target_toe_mm, settings.target_high_mm);
    let points: Vec<(f64, f64)> = strikes.iter().map(|s| (s.toe_mm, s.high_mm)).collect();

    if strikes.is_empty() {
        let mut empty = Pattern {
            count,
            bias_toe_mm: None,
            bias_high_mm: None,
            covariance_mm2: None,
            scatter_mm2: None,
            rms_miss_mm: None,
            bias_share: None,
            scatter_share: None,
            centre_rate: None,
            ellipse_1sigma: None,
            ellipse95: None,
            intervals: Intervals::default(),
            reading: Reading::nothing(),
            settings: *settings,
            reading_error_mm: None,
        };
        empty.reading = reading::read(&empty);
        return Ok(empty);
    }

    let middle = mean(&points);
    let bias = (middle.0 - target.0, middle.1 - target.1);
    let error_mm2 = strikes.iter().map(|s| s.sigma_mm * s.sigma_mm).sum::<f64>() / n;
    let squares: Vec<f64> = points
        .iter()
        .map(|p| (p.0 - target.0) * (p.0 - target.0) + (p.1 - target.1) * (p.1 - target.1))
        .collect();
    let mean_square_mm2 = squares.iter().sum::<f64>() / n;
    let radius_mm2 = settings.centre_radius_mm * settings.centre_radius_mm;
    let hits = squares.iter().filter(|d| **d <= radius_mm2).count();
    let hits = u32::try_from(hits).unwrap_or(u32::MAX);

    let raw = Spread::of(&points, middle);
    let scatter = raw.map(|s| s.without(error_mm2));
    let bias_share = scatter.and_then(|s| bias_share(bias, &s, n));
    let shown = scatter.filter(|_| count >= 3);
    let basis = raw.map(|raw| Basis { n, middle, bias, raw, error_mm2, mean_square_mm2, bias_share, level });

    let mut result = Pattern {
        count,
        bias_toe_mm: Some(bias.0),
        bias_high_mm: Some(bias.1),
        covariance_mm2: raw,
        scatter_mm2: scatter,
        rms_miss_mm: Some(mean_square_mm2.sqrt()),
        bias_share,
        scatter_share: bias_share.map(|share| 1.0 - share),
        centre_rate: exact_share(hits, count, level),
        ellipse_1sigma: shown.map(|s| s.ellipse(middle, 1.0)),
        ellipse95: shown.map(|s| s.ellipse(middle, chi_square_quantile(CONTENT, 2.0))),
        intervals: basis.as_ref().map(intervals).unwrap_or_default(),
        reading: Reading::nothing(),
        settings: *settings,
        reading_error_mm: Some(error_mm2.sqrt()),
    };
    result.reading = reading::read(&result);
    Ok(result)
}

/// Mean of points in their order.
fn mean(points: &[(f64, f64)]) -> (f64, f64) {
    let n = points.len() as f64;
    let (mut x, mut y) = (0.0, 0.0);
    for point in points {
        x += point.0;
        y += point.1;
    }
    (x / n, y / n)
}

/// Share of the bias in the mean square miss; nothing if there is no miss.
fn bias_share(bias: (f64, f64), scatter: &Spread, n: f64) -> Option<f64> {
    let squared = bias.0 * bias.0 + bias.1 * bias.1;
    let whole = squared + (n - 1.0) / n * scatter.trace();
    (whole > 0.0).then(|| squared / whole)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn exact(points: &[(f64, f64)]) -> Vec<Strike> {
        points.iter().map(|&(toe_mm, high_mm)| Strike { toe_mm, high_mm, sigma_mm: 0.0 }).collect()
    }

    #[test]
    fn each_count_of_marks_gives_what_it_can_and_never_a_nan() {
        let all = exact(&[(3.0, 1.0), (-4.0, 9.0), (8.0, 4.0), (1.0, 0.0)]);
        for n in 0..=4 {
            let p = pattern(&all[..n], &Settings::default()).unwrap();
            assert_eq!(p.count as usize, n);
            assert_eq!(p.rms_miss_mm.is_some(), n >= 1);
            assert_eq!(p.centre_rate.is_some(), n >= 1);
            assert_eq!(p.scatter_mm2.is_some(), n >= 2);
            assert_eq!(p.intervals.bias_toe_mm.is_some(), n >= 2);
            assert_eq!(p.ellipse95.is_some(), n >= 3);
            assert_eq!(p.intervals.bias_share.is_some(), n >= 3);
            assert_eq!(p.reading.more_balls, Some(5 - u32::try_from(n).unwrap()));
            // JSON would hide them as null.
            let text = format!("{p:?}");
            assert!(!text.contains("NaN") && !text.contains("inf,") && !text.contains("(inf"));
        }
    }

    #[test]
    fn marks_on_one_spot_on_one_line_and_on_the_target_stay_finite() {
        for points in
            [vec![(0.0, 6.0); 7], vec![(5.0, 2.0); 7], (0..7).map(|i| (f64::from(i), 6.0)).collect()]
        {
            let p = pattern(&exact(&points), &Settings::default()).unwrap();
            let ranges = [p.intervals.bias_toe_mm, p.intervals.scatter_high_mm, p.intervals.rms_miss_mm];
            for range in ranges.into_iter().flatten() {
                assert!(range.low.is_finite() && range.high.is_finite());
            }
            assert!(p.rms_miss_mm.unwrap().is_finite());
        }
        let on_target = pattern(&exact(&[(0.0, 6.0); 7]), &Settings::default()).unwrap();
        assert_eq!(on_target.bias_share, None);
    }

    #[test]
    fn without_reading_error_the_bias_share_is_bias_squared_over_miss_squared() {
        let marks = exact(&[(9.0, -3.0), (4.0, 2.0), (12.0, 1.0), (7.0, -8.0)]);
        let p = pattern(&marks, &Settings::default()).unwrap();
        let b2 = p.bias_toe_mm.unwrap().powi(2) + p.bias_high_mm.unwrap().powi(2);
        let m2 = p.rms_miss_mm.unwrap().powi(2);
        assert!((p.bias_share.unwrap() - b2 / m2).abs() < 1e-14);
        assert_eq!(p.bias_share.unwrap() + p.scatter_share.unwrap(), 1.0);
    }

    #[test]
    fn what_is_no_mark_is_refused_with_its_number_and_field() {
        let mut marks = exact(&[(0.0, 0.0), (1.0, 1.0)]);
        marks[1].high_mm = f64::NAN;
        let error = pattern(&marks, &Settings::default()).unwrap_err();
        assert!(error.to_string().starts_with("mark 2: high_mm is NaN"));
        marks[1] = Strike { toe_mm: 0.0, high_mm: 0.0, sigma_mm: -1.0 };
        assert!(pattern(&marks, &Settings::default()).is_err());
        let settings = Settings { centre_radius_mm: 0.0, ..Settings::default() };
        assert!(pattern(&[], &settings).is_err());
    }

    #[test]
    fn the_order_of_the_axes_is_toe_then_high_in_the_json() {
        let marks = exact(&[(0.0, 0.0), (10.0, 0.0), (20.0, 3.0)]);
        let value = serde_json::to_value(pattern(&marks, &Settings::default()).unwrap()).unwrap();
        assert_eq!(value["covariance_mm2"][0][0], 100.0);
        assert_eq!(value["covariance_mm2"][1][1], 3.0);
        assert_eq!(value["covariance_mm2"][0][1], 15.0);
    }
}
