//! How sure a learned swing is, and swings that it might be instead.
//!
//! The rule: balls of one session may be alike, so the mean's error has a part
//! that only more sessions make smaller; how alike is learned from the sessions,
//! with an assumed belief where they are few. Start at [`Unsure::of`].
#![allow(clippy::indexing_slicing, reason = "loops run to the arrays' own fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::Assumed;
use super::learn::{Learned, SessionNews, sums};
use super::spread::PAIRS;
use crate::face::normal::normal_quantile;
use crate::flight::FlightError;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::solve::{Factor, Matrix, Vector, cholesky};

/// Shares of a ball's variance that a session's shift may have, as a grid.
const SHARES: [f64; 12] = [0.0, 0.01, 0.025, 0.045, 0.07, 0.1, 0.14, 0.2, 0.28, 0.4, 0.6, 1.0];

/// How many numbers between 0 and 1 make one drawn swing: a share, a shift and a
/// spread for each number, and how each two go together.
pub(crate) const CHANCES: usize = 2 * N + PAIRS;

/// How sure a learned swing is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unsure {
    /// Covariance of the means if sessions didn't differ.
    base: Matrix<N>,
    /// What is added to it for each number at a share of 1.
    by_session: [Matrix<N>; N],
    /// Chance of each of [`SHARES`], for each number.
    shares: [[f64; SHARES.len()]; N],
    /// Degrees of freedom of each number's spread.
    pub dof: Vector<N>,
}

/// A swing that the student's may be.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swing {
    pub mean: Vector<N>,
    /// Standard deviations.
    pub sd: Vector<N>,
    /// Lower triangular factor of the covariance.
    pub factor: Factor<N>,
}

impl Unsure {
    pub fn of(learned: &Learned, assumed: &Assumed) -> Result<Self, FlightError> {
        let prior_mean = super::numbers(&assumed.student.mean);
        let prior_sigma = super::numbers(&assumed.student.sigma);
        let (total, _) = sums(&learned.sessions, &learned.mean, &prior_mean, &prior_sigma);
        let base = cholesky(&total).ok_or(FlightError::NoFit)?.inverse();
        let mut by_session = [[[0.0; N]; N]; N];
        let mut shares = [[0.0; SHARES.len()]; N];
        // One session alone says nothing of how sessions differ: the swing is then that day's.
        let several = learned.sessions.len() > 1;
        for k in 0..N {
            if !several {
                shares[k][0] = 1.0;
                continue;
            }
            let variance = learned.covariance[k][k];
            for session in &learned.sessions {
                let reach: Vector<N> =
                    core::array::from_fn(|i| (0..N).map(|l| base[i][l] * session.information[l][k]).sum());
                for i in 0..N {
                    for j in 0..N {
                        by_session[k][i][j] += reach[i] * reach[j] * variance;
                    }
                }
            }
            shares[k] = shares_of(k, learned, assumed.session_share);
        }
        let groups = learned.sessions.len() as f64 - 1.0;
        let dof = core::array::from_fn(|k| {
            let balls = learned.spreads.dof[k];
            let share = mean_of(&shares[k]);
            let part = share / (1.0 + share);
            // Of two variances' sum (Satterthwaite, Biometrics Bull. 2, 110, 1946).
            let inverse = (1.0 - part) * (1.0 - part) / balls + part * part / groups.max(1.0);
            1.0 / inverse
        });
        Ok(Self { base, by_session, shares, dof })
    }

    /// Covariance of the means.
    pub fn of_means(&self) -> Matrix<N> {
        self.at(&core::array::from_fn(|k| mean_of(&self.shares[k])))
    }

    /// The part of [`Self::of_means`] that sessions make.
    pub fn of_sessions(&self) -> Matrix<N> {
        let all = self.of_means();
        core::array::from_fn(|i| core::array::from_fn(|j| all[i][j] - self.base[i][j]))
    }

    fn at(&self, share: &Vector<N>) -> Matrix<N> {
        let mut out = self.base;
        for (k, part) in self.by_session.iter().enumerate() {
            for i in 0..N {
                for j in 0..N {
                    out[i][j] += share[k] * part[i][j];
                }
            }
        }
        out
    }

    /// A swing that the student's may be, as likely as what was seen makes it.
    pub fn draw(&self, learned: &Learned, chances: &[f64; CHANCES]) -> Option<Swing> {
        let (shares, rest) = chances.split_first_chunk::<N>()?;
        let (shifts, spreads) = rest.split_first_chunk::<N>()?;
        let share: Vector<N> = core::array::from_fn(|k| {
            let mut left = shares[k];
            let picked = self.shares[k].iter().zip(SHARES).find(|(weight, _)| {
                left -= **weight;
                left <= 0.0
            });
            picked.map_or(0.0, |(_, share)| share)
        });
        let spreads: &[f64; PAIRS] = spreads.first_chunk()?;
        let wider = core::array::from_fn(|k| (learned.spreads.dof[k] / self.dof[k]).max(1.0).sqrt());
        let factor = cholesky(&learned.covariance)?;
        let covariance = learned.spreads.draw(&factor, &spreads.map(normal_quantile), &wider);
        let sd: Vector<N> = core::array::from_fn(|k| covariance[k][k].sqrt());
        let z = shifts.map(normal_quantile);
        let go = cholesky(&self.at(&share))?.times(&z);
        // A swing with more spread leaves its mean less sure: Student's t.
        let mean =
            core::array::from_fn(|k| learned.mean[k] + go[k] * sd[k] / learned.covariance[k][k].sqrt());
        Some(Swing { mean, sd, factor: cholesky(&covariance)? })
    }
}

fn mean_of(chances: &[f64; SHARES.len()]) -> f64 {
    chances.iter().zip(SHARES).map(|(chance, share)| chance * share).sum()
}

/// How likely each share is for the k-th number: restricted likelihood of the
/// sessions' means, times a belief that falls to a quarter at the assumed share.
fn shares_of(k: usize, learned: &Learned, assumed: f64) -> [f64; SHARES.len()] {
    let variance = learned.covariance[k][k];
    let along = |m: &Matrix<N>, i: usize| (0..N).map(|l| learned.covariance[k][l] * m[l][i]).sum::<f64>();
    // Shift of each session's mean and its variance without any session effect.
    let seen: Vec<(f64, f64)> = learned
        .sessions
        .iter()
        .filter_map(|SessionNews { score, information }| {
            let sum: f64 = (0..N).map(|l| learned.covariance[k][l] * score[l]).sum();
            let worth = along(information, k);
            let spread: f64 = (0..N).map(|i| along(information, i) * learned.covariance[i][k]).sum();
            (worth > 0.5).then(|| (sum / worth, spread / (worth * worth)))
        })
        .collect();
    let mut log: [f64; SHARES.len()] = SHARES.map(|share| {
        let weights: f64 = seen.iter().map(|(_, v)| 1.0 / (v + share * variance)).sum();
        let middle = seen.iter().map(|(d, v)| d / (v + share * variance)).sum::<f64>() / weights.max(1e-300);
        let fit: f64 = seen
            .iter()
            .map(|(d, v)| {
                let v = v + share * variance;
                libm::log(v) + (d - middle) * (d - middle) / v
            })
            .sum();
        let restricted = if seen.is_empty() { 0.0 } else { libm::log(weights) };
        -0.5 * (fit + restricted) - 2.0 * libm::log1p(share / assumed)
    });
    let most = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for (i, value) in log.iter_mut().enumerate() {
        // Each point of the grid stands for the stretch between its neighbours' middles.
        let below = SHARES[i.saturating_sub(1)];
        let above = SHARES[(i + 1).min(SHARES.len() - 1)];
        *value = libm::exp(*value - most) * (above - below);
        sum += *value;
    }
    log.map(|value| value / sum)
}
