//! What a pattern says, as data: off to one side, scattered, centred, or too
//! early to tell.
//!
//! Invariant: a verdict never goes beyond the intervals: `sure` is only true
//! where the 95 % interval that the verdict rests on lies wholly on its side.
//! Bias and scatter are told apart, because they ask for different fixes.
//!
//! Where to start: [`read`]. The rule, in this order:
//! 1. fewer than five marks: [`Verdict::TooFew`];
//! 2. the joint test (Hotelling) puts the middle off the target point at 5 %, by
//!    at least the tolerance: a bias. The bias share says whether bias or
//!    scatter makes more of the miss;
//! 3. a bias of that size that the test can't confirm, unless the miss is surely
//!    loose and mostly scatter: [`Verdict::Unsettled`];
//! 4. otherwise the miss decides: within the centre radius (root mean square)
//!    it is centred, beyond it scattered.

use serde::Serialize;

use super::interval::{LEVEL, Range, mahalanobis_squared};
use super::pattern::Pattern;
use super::quantile::f_quantile;
use super::{FEWEST_FOR_READING, Settings};

/// No advice to hit more balls than this in order to settle one question.
const MOST_MORE_BALLS: u32 = 200;

/// What a pattern says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Too few marks to say anything.
    TooFew,
    /// The middle may be off the target point; these marks can't tell.
    Unsettled,
    /// On the target point and within the centre radius.
    Centred,
    /// The middle is off the target point, and that makes most of the miss.
    Biased,
    /// The middle is on the target point as far as can be told; the spread makes
    /// the miss.
    Scattered,
    /// The middle is off the target point, and the spread makes as much of the
    /// miss or more.
    BiasedAndScattered,
}

/// Where the middle lies from the target point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// Toward the crown.
    High,
    /// Toward the sole.
    Low,
    /// Toward the toe.
    Toe,
    /// Toward the heel.
    Heel,
}

/// How far the middle lies off in one direction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lean {
    /// Which way.
    pub direction: Direction,
    /// How far, mm, above 0.
    pub by_mm: f64,
    /// 95 % interval of the distance that way, mm; below 0 is the other way.
    pub range: Option<Range>,
}

/// What a pattern says and what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    /// The verdict.
    pub verdict: Verdict,
    /// Whether the interval behind the verdict lies wholly on its side.
    pub sure: bool,
    /// Number of marks it rests on.
    pub count: u32,
    /// The ways in which the middle is off, the larger first; empty unless the
    /// verdict names a bias or leaves one open.
    pub leans: Vec<Lean>,
    /// About how many more balls it takes to be sure, if the pattern stays as it
    /// is; absent if it is sure, or if 200 more would not do.
    pub more_balls: Option<u32>,
}

impl Reading {
    /// The reading of no marks.
    pub(crate) fn nothing() -> Self {
        Self {
            verdict: Verdict::TooFew,
            sure: false,
            count: 0,
            leans: Vec::new(),
            more_balls: Some(FEWEST_FOR_READING),
        }
    }
}

/// Reads a pattern by the rule at the top of this module.
pub(crate) fn read(p: &Pattern) -> Reading {
    let mut reading = Reading { count: p.count, ..Reading::nothing() };
    let (Some(toe), Some(high), Some(rms), Some(rms_range)) =
        (p.bias_toe_mm, p.bias_high_mm, p.rms_miss_mm, p.intervals.rms_miss_mm)
    else {
        reading.more_balls = Some(FEWEST_FOR_READING.saturating_sub(p.count));
        return reading;
    };
    if p.count < FEWEST_FOR_READING {
        reading.more_balls = Some(FEWEST_FOR_READING - p.count);
        return reading;
    }

    let Settings { centre_radius_mm: radius, tolerance_mm, .. } = p.settings;
    let off = (toe * toe + high * high).sqrt() >= tolerance_mm;
    let confirmed = off && confirmed(p);
    let share = p.bias_share.unwrap_or(0.0);
    let share_range = p.intervals.bias_share.unwrap_or(Range { low: share, high: share });
    let mostly_scatter = share_range.high < 0.5;
    let loose = rms_range.low > radius;

    if confirmed {
        reading.leans = leans(p, true);
        if share >= 0.5 {
            reading.verdict = Verdict::Biased;
            reading.sure = share_range.low > 0.5;
        } else {
            reading.verdict = Verdict::BiasedAndScattered;
            reading.sure = mostly_scatter;
        }
        reading.more_balls = None;
    } else if off && !(loose && mostly_scatter) {
        reading.verdict = Verdict::Unsettled;
        reading.leans = leans(p, false);
        reading.more_balls = balls_to_confirm(p);
    } else {
        (reading.verdict, reading.sure) = if rms <= radius {
            (Verdict::Centred, rms_range.high <= radius)
        } else {
            (Verdict::Scattered, loose)
        };
        reading.more_balls =
            if reading.sure { None } else { balls_to_place(p.count, rms, &rms_range, radius) };
    }
    reading
}

/// Whether the middle is off the target point at the level of the intervals.
fn confirmed(p: &Pattern) -> bool {
    match p.intervals.middle {
        Some(region) => region.p_value < 1.0 - LEVEL,
        // All marks on one line or one spot, read without error: the axes decide.
        None => [p.intervals.bias_toe_mm, p.intervals.bias_high_mm]
            .into_iter()
            .flatten()
            .any(|range| range.excludes_zero()),
    }
}

/// The directions whose own interval leaves 0 out, or else the larger one.
fn leans(p: &Pattern, confirmed: bool) -> Vec<Lean> {
    let axis = |bias: Option<f64>, range: Option<Range>, plus, minus| {
        let bias = bias.unwrap_or(0.0);
        let (direction, sign) = if bias < 0.0 { (minus, -1.0) } else { (plus, 1.0) };
        Lean {
            direction,
            by_mm: bias.abs(),
            range: range.map(|r| if sign > 0.0 { r } else { Range { low: -r.high, high: -r.low } }),
        }
    };
    let mut both = vec![
        axis(p.bias_toe_mm, p.intervals.bias_toe_mm, Direction::Toe, Direction::Heel),
        axis(p.bias_high_mm, p.intervals.bias_high_mm, Direction::High, Direction::Low),
    ];
    both.sort_by(|a, b| b.by_mm.total_cmp(&a.by_mm));
    let clear = |lean: &Lean| lean.range.is_some_and(|r| r.excludes_zero());
    if confirmed && both.iter().any(clear) {
        both.retain(clear);
    } else {
        both.truncate(1);
    }
    both
}

/// Balls to add until a bias of this size would be confirmed with this spread.
fn balls_to_confirm(p: &Pattern) -> Option<u32> {
    let bias = (p.bias_toe_mm?, p.bias_high_mm?);
    let error = p.reading_error_mm.unwrap_or(0.0);
    let spread = p.covariance_mm2?.at_least(error * error);
    let squared = mahalanobis_squared(bias, &spread)?;
    (1..=MOST_MORE_BALLS).find(|more| {
        let n = f64::from(p.count) + f64::from(*more);
        let f = n * squared * (n - 2.0) / (2.0 * (n - 1.0));
        f > f_quantile(LEVEL, 2.0, n - 2.0)
    })
}

/// Balls to add until the interval of the miss would leave the radius out: its
/// half-width on the log scale shrinks with the root of the count.
fn balls_to_place(count: u32, rms: f64, range: &Range, radius: f64) -> Option<u32> {
    if rms <= 0.0 || range.high <= 0.0 || range.low <= 0.0 {
        return None;
    }
    let gap = libm::log(rms / radius).abs();
    let half = if rms <= radius { libm::log(range.high / rms) } else { libm::log(rms / range.low) };
    if gap <= 0.0 {
        return None;
    }
    let needed = f64::from(count) * (half / gap) * (half / gap);
    let more = (needed - f64::from(count)).ceil().max(1.0);
    (more <= f64::from(MOST_MORE_BALLS)).then_some(more as u32)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::face::{Strike, pattern};

    fn strikes() -> impl Strategy<Value = Vec<Strike>> {
        // A coarse grid makes equal marks and marks on a line likely.
        let mark = (-4_i32..=4, -4_i32..=4, 0_u8..3, 0.0..8.0_f64);
        proptest::collection::vec(mark, 0..40).prop_map(|marks| {
            marks
                .into_iter()
                .map(|(toe, high, sigma, step)| Strike {
                    toe_mm: f64::from(toe) * step.round(),
                    high_mm: f64::from(high) * step.round(),
                    sigma_mm: f64::from(sigma),
                })
                .collect()
        })
    }

    proptest! {
        #[test]
        fn any_marks_give_ordered_ranges_that_hold_their_estimates(marks in strikes()) {
            let p = pattern(&marks, &Settings::default()).unwrap();
            let i = &p.intervals;
            let scatter = |which: fn(&crate::face::Spread) -> f64| p.scatter_mm2.map(|s| which(&s));
            let pairs = [
                (i.bias_toe_mm, p.bias_toe_mm),
                (i.bias_high_mm, p.bias_high_mm),
                (i.rms_miss_mm, p.rms_miss_mm),
                (i.bias_share, p.bias_share),
                (i.scatter_toe_mm, scatter(|s| s.toe_mm2.max(0.0).sqrt()).filter(|_| p.reading_error_mm == Some(0.0))),
            ];
            for (range, estimate) in pairs {
                let (Some(range), Some(estimate)) = (range, estimate) else { continue };
                prop_assert!(range.low.is_finite() && range.high.is_finite());
                prop_assert!(range.low <= estimate + 1e-9 && estimate <= range.high + 1e-9,
                    "{range:?} {estimate}");
            }
            if let Some(scatter) = p.scatter_mm2 {
                let determinant = scatter.toe_mm2 * scatter.high_mm2 - scatter.both_mm2 * scatter.both_mm2;
                prop_assert!(scatter.trace() >= 0.0);
                prop_assert!(determinant >= -1e-9 * (1.0 + scatter.trace() * scatter.trace()));
            }
            // JSON would hide them as null.
            let text = format!("{p:?}");
            prop_assert!(!text.contains("NaN") && !text.contains("inf,") && !text.contains("(inf"), "{text}");
        }

        #[test]
        fn turning_toe_into_heel_turns_the_lean_and_nothing_else(marks in strikes()) {
            let mirrored: Vec<Strike> = marks
                .iter()
                .map(|m| Strike { toe_mm: -m.toe_mm, ..*m })
                .collect();
            let (a, b) = (
                pattern(&marks, &Settings::default()).unwrap(),
                pattern(&mirrored, &Settings::default()).unwrap(),
            );
            prop_assert_eq!(a.reading.verdict, b.reading.verdict);
            prop_assert_eq!(a.reading.sure, b.reading.sure);
            prop_assert_eq!(a.reading.leans.len(), b.reading.leans.len());
            for (one, other) in a.reading.leans.iter().zip(&b.reading.leans) {
                let turned = match one.direction {
                    Direction::Toe if one.by_mm > 0.0 => Direction::Heel,
                    Direction::Heel => Direction::Toe,
                    same => same,
                };
                prop_assert_eq!(turned, other.direction);
                prop_assert!((one.by_mm - other.by_mm).abs() < 1e-9);
            }
        }
    }
}
