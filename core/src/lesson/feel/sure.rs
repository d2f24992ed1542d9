//! How sure a figure of feel is: 90 % intervals by leaving groups out in turn.
//!
//! The jackknife with Student's t (J. W. Tukey, Ann. Math. Stat. 29, 614, 1958;
//! over groups: B. Efron, The Jackknife, the Bootstrap and Other Resampling
//! Plans, 1982; both from memory). Balls of one session are alike, so sessions
//! are the groups wherever there are enough of them. Start at [`Groups`].

use serde::Serialize;

use super::pairs::{Pair, Sums};
use crate::face::quantile::t_two_sided;

/// Level of the intervals.
pub(super) const LEVEL: f64 = 0.90;
/// Fewer sessions than this can't say how much days differ.
const FEWEST_SESSIONS: usize = 5;
/// Fewer balls than this give no interval.
const FEWEST_BALLS: usize = 8;

/// A figure with its 90 % interval; without where there is too little for one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// The figure.
    pub estimate: f64,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// What was left out in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Sessions: that days differ is in the intervals.
    Sessions,
    /// Balls: that balls of one day are alike is not in the intervals.
    Balls,
}

/// Pairs in groups that are left out in turn.
pub(super) struct Groups {
    /// Sessions with at least one pair.
    pub sessions: u32,
    pub unit: Unit,
    each: Vec<Sums>,
    all: Sums,
}

impl Groups {
    pub fn of<S: AsRef<[Pair]>>(sessions: &[S]) -> Self {
        let held: Vec<&[Pair]> = sessions.iter().map(AsRef::as_ref).filter(|s| !s.is_empty()).collect();
        let mut groups: Vec<Sums> = held.iter().map(|session| Sums::of(session)).collect();
        let all = groups.iter().fold(Sums::default(), |all, group| all.with(group, 1.0));
        let by_session = groups.len() >= FEWEST_SESSIONS;
        if !by_session {
            groups = held.iter().flat_map(|s| s.iter()).map(|p| Sums::of(core::slice::from_ref(p))).collect();
        }
        if !by_session && groups.len() < FEWEST_BALLS {
            groups.clear();
        }
        let unit = if by_session { Unit::Sessions } else { Unit::Balls };
        Self { sessions: held.len() as u32, unit, each: groups, all }
    }

    pub fn total(&self) -> Sums {
        self.all
    }

    /// A figure and its interval on its own scale.
    pub fn plain(&self, figure: impl Fn(&Sums) -> Option<f64>) -> Option<Interval> {
        self.interval(&figure, |v| v, |v| v)
    }

    /// A figure above 0, its interval made on the scale of logarithms.
    pub fn above_zero(&self, figure: impl Fn(&Sums) -> Option<f64>) -> Option<Interval> {
        self.interval(&figure, libm::log, libm::exp)
    }

    /// A correlation, its interval made on R. A. Fisher's scale, artanh (Metron 1, 3, 1921).
    pub fn correlation(&self, figure: impl Fn(&Sums) -> Option<f64>) -> Option<Interval> {
        self.interval(&figure, |r| libm::atanh(r.clamp(-0.9999, 0.9999)), libm::tanh)
    }

    fn interval(
        &self,
        figure: &dyn Fn(&Sums) -> Option<f64>,
        to: fn(f64) -> f64,
        back: fn(f64) -> f64,
    ) -> Option<Interval> {
        let estimate = figure(&self.all)?;
        let half = self.half(figure, to);
        Some(Interval {
            estimate,
            low: half.map(|half| back(to(estimate) - half)),
            high: half.map(|half| back(to(estimate) + half)),
        })
    }

    /// Half the interval; nothing where a figure can't be had without some group.
    fn half(&self, figure: &dyn Fn(&Sums) -> Option<f64>, to: fn(f64) -> f64) -> Option<f64> {
        let without: Vec<f64> = self
            .each
            .iter()
            .map(|group| figure(&self.all.with(group, -1.0)).map(to))
            .collect::<Option<_>>()?;
        if without.is_empty() {
            return None;
        }
        let n = without.len() as f64;
        let mean = without.iter().sum::<f64>() / n;
        let squares: f64 = without.iter().map(|v| (v - mean) * (v - mean)).sum();
        Some(t_two_sided(LEVEL, n - 1.0) * (squares * (n - 1.0) / n).sqrt())
    }
}
