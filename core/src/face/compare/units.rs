//! One session as one unit: its middle, its spread and its centre rate.
//!
//! Invariant: balls of one session never count as separate evidence. However
//! alike they are (a day's shift, one ball pulling the next along), they enter
//! the comparison as one value a session, and the differences between sessions
//! say how sure that value is.
//!
//! Where to start: [`Session::of`], then [`Quantity::units`].

use super::contrast::Unit;
use super::known::KnownShifts;
use crate::face::{Settings, Strike};

/// A session with fewer balls than this is left out: its spread can't be judged.
pub const FEWEST_BALLS: u32 = 3;

/// Variance of the logarithm of a session's mean pair distance times the balls
/// less one, for normal marks: 0.25 for the square root of the summed variance
/// of a round pattern, a little more for a long one and for pair distances.
const LN_SPREAD: f64 = 0.27;

/// Marks are not told apart below this distance, mm: it keeps marks on one spot
/// from having an infinitely small spread.
const LEAST_SPREAD_MM: f64 = 1.0;

/// Least variance of a session's mean, mm2: a tenth of a millimetre, below which
/// no way of reading marks goes.
const LEAST_MEAN_MM2: f64 = 0.01;

/// How many degrees of freedom the variance of both sides together counts as in
/// that of one side.
const LEAN: f64 = 10.0;

/// What one session says.
#[derive(Debug, Clone, Copy)]
pub(super) struct Session {
    pub balls: u32,
    toe_mm: f64,
    high_mm: f64,
    squares_toe_mm2: f64,
    squares_high_mm2: f64,
    ln_spread: f64,
    /// Variance of `ln_spread` by leaving one ball out at a time; absent below
    /// four balls.
    ln_variance: Option<f64>,
    hits: u32,
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    Toe,
    High,
    Scatter,
    Centre,
}

impl Session {
    /// The summary of a session's marks; nothing for fewer than
    /// [`FEWEST_BALLS`].
    pub fn of(strikes: &[Strike], settings: &Settings) -> Option<Self> {
        let balls = u32::try_from(strikes.len()).unwrap_or(u32::MAX);
        if balls < FEWEST_BALLS {
            return None;
        }
        let n = f64::from(balls);
        let toe_mm = strikes.iter().map(|s| s.toe_mm).sum::<f64>() / n;
        let high_mm = strikes.iter().map(|s| s.high_mm).sum::<f64>() / n;
        let square = |v: f64| v * v;
        let (ln_spread, ln_variance) = ln_spread(strikes, n);
        let radius_mm2 = square(settings.centre_radius_mm);
        let miss_mm2 = |s: &Strike| {
            square(s.toe_mm - settings.target_toe_mm) + square(s.high_mm - settings.target_high_mm)
        };
        Some(Self {
            balls,
            toe_mm,
            high_mm,
            squares_toe_mm2: strikes.iter().map(|s| square(s.toe_mm - toe_mm)).sum(),
            squares_high_mm2: strikes.iter().map(|s| square(s.high_mm - high_mm)).sum(),
            ln_spread,
            ln_variance,
            hits: u32::try_from(strikes.iter().filter(|s| miss_mm2(s) <= radius_mm2).count())
                .unwrap_or(u32::MAX),
        })
    }
}

/// Logarithm of the mean distance between two balls of a session, mm, with the
/// readings' error taken out and its lean at few balls mended; and the jackknife
/// variance of it (Efron and Stein, Ann. Statist. 9, 586, 1981: never too small
/// on average).
///
/// The mean over all pairs is a U-statistic: its expectation is the same for any
/// number of balls, whatever their distribution, and one wild ball weighs less in
/// it than in a variance. For round normal marks its square is pi times the
/// variance along one axis, which is how the reading's variance is taken out.
fn ln_spread(strikes: &[Strike], n: f64) -> (f64, Option<f64>) {
    let error_mm2 = strikes.iter().map(|s| s.sigma_mm * s.sigma_mm).sum::<f64>() / n;
    let ln = |distance: f64| {
        let squared = distance * distance - core::f64::consts::PI * error_mm2;
        0.5 * libm::log(squared.max(LEAST_SPREAD_MM * LEAST_SPREAD_MM))
    };
    // For each ball the sum of its distances to all others.
    let sums: Vec<f64> = strikes
        .iter()
        .map(|a| {
            let to = |b: &Strike| {
                let (dx, dy) = (a.toe_mm - b.toe_mm, a.high_mm - b.high_mm);
                (dx * dx + dy * dy).sqrt()
            };
            strikes.iter().map(to).sum()
        })
        .collect();
    let total = 0.5 * sums.iter().sum::<f64>();
    let value = ln(total / (0.5 * n * (n - 1.0))) + 0.5 * LN_SPREAD / (n - 1.0);
    if strikes.len() < 4 {
        return (value, None);
    }
    let without: Vec<f64> =
        sums.iter().map(|sum| ln((total - sum) / (0.5 * (n - 1.0) * (n - 2.0)))).collect();
    let mean = without.iter().sum::<f64>() / n;
    let squares: f64 = without.iter().map(|v| (v - mean) * (v - mean)).sum();
    (value, Some(squares * (n - 1.0) / n))
}

/// Variance of one ball along an axis within sessions, mm2, pooled; 0 without
/// sessions.
pub(super) fn ball_variance(quantity: Quantity, sessions: &[&Session]) -> f64 {
    let (mut squares, mut dof) = (0.0, 0.0);
    for session in sessions {
        squares +=
            if quantity == Quantity::High { session.squares_high_mm2 } else { session.squares_toe_mm2 };
        dof += f64::from(session.balls) - 1.0;
    }
    if dof > 0.0 { squares / dof } else { 0.0 }
}

/// Variance of one ball along an axis on one side, mm2, leaning on both sides'
/// while that side has few balls. A side of its own, because a pattern that has
/// become tighter must not make the other side's middles look surer.
fn side_variance(quantity: Quantity, side: &[&Session], all: &[&Session]) -> f64 {
    let dof: f64 = side.iter().map(|s| f64::from(s.balls) - 1.0).sum();
    let (own, both) = (ball_variance(quantity, side), ball_variance(quantity, all));
    (dof * own + LEAN * both) / (dof + LEAN)
}

/// What is known of a variance before the sessions' own differences are seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Prior {
    /// How many degrees of freedom it counts as.
    pub dof: f64,
    /// The variance as a multiple of what the units' balls alone give, or
    /// [`Self::beyond`] more than that.
    pub factor: f64,
    /// What adds to what the balls alone give, in the values' unit squared.
    pub beyond: f64,
    /// How fast it loses weight where sessions differ more than it says: the power
    /// of the ratio.
    pub doubt: i32,
    /// Least variance, as a multiple of what the units' balls alone give.
    pub floor: f64,
}

impl Prior {
    /// Nothing is known.
    pub const NONE: Self = Self { dof: 0.0, factor: 1.0, beyond: 0.0, doubt: 1, floor: 1.0 };
}

impl Quantity {
    pub const ALL: [Self; 4] = [Self::Toe, Self::High, Self::Scatter, Self::Centre];

    /// Days shift the middle by no known amount, so for the bias nothing is known
    /// before, unless other students' days are; for the centre rate never. Scatter
    /// is different: its sampling variance shows within sessions (jackknife; heavy
    /// tails included), and counts as three degrees of freedom.
    pub fn prior(self, all: &[&Session], known: Option<&KnownShifts>) -> Prior {
        match self {
            Self::Toe | Self::High => known.map_or(Prior::NONE, |known| Prior {
                dof: known.counts_as(),
                beyond: known.days_mm2(self),
                doubt: 4,
                ..Prior::NONE
            }),
            Self::Centre => Prior::NONE,
            Self::Scatter => Self::scatter_prior(all),
        }
    }

    fn scatter_prior(all: &[&Session]) -> Prior {
        let (mut sum, mut count) = (0.0, 0.0);
        for session in all {
            if let Some(variance) = session.ln_variance {
                sum += variance * (f64::from(session.balls) - 1.0);
                count += 1.0;
            }
        }
        if count > 0.0 {
            Prior { dof: 3.0, factor: (sum / count / LN_SPREAD).max(1.0), floor: 0.75, ..Prior::NONE }
        } else {
            Prior::NONE
        }
    }

    /// The sessions' values with the variance that the number of balls alone
    /// gives each, if balls were independent. `all` are the sessions of both
    /// sides that are known at this look.
    pub fn units(self, sessions: &[&Session], all: &[&Session]) -> Vec<Unit> {
        let ball = match self {
            Self::Toe | Self::High => side_variance(self, sessions, all),
            Self::Scatter => LN_SPREAD,
            Self::Centre => {
                let hits: f64 = all.iter().map(|s| f64::from(s.hits)).sum();
                let balls: f64 = all.iter().map(|s| f64::from(s.balls)).sum();
                // One hit and one miss more, so that it is never 0.
                let rate = (hits + 1.0) / (balls + 2.0);
                rate * (1.0 - rate)
            }
        };
        sessions
            .iter()
            .map(|s| {
                let n = f64::from(s.balls);
                match self {
                    Self::Toe => Unit { value: s.toe_mm, within: (ball / n).max(LEAST_MEAN_MM2) },
                    Self::High => Unit { value: s.high_mm, within: (ball / n).max(LEAST_MEAN_MM2) },
                    Self::Scatter => Unit { value: s.ln_spread, within: ball / (n - 1.0) },
                    Self::Centre => Unit { value: f64::from(s.hits) / n, within: ball / n },
                }
            })
            .collect()
    }
}
