//! Means, tallies and rates over shots, with their intervals.

use serde::Serialize;

use crate::face::quantile::t_two_sided;
use crate::face::{Share, clopper_pearson};
use crate::model::{Shot, StartByEye};

/// A mean with its 95 % interval (Student's t; the balls taken as independent).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mean {
    /// How many balls it rests on.
    pub count: u32,
    /// The mean.
    pub mean: f64,
    /// Standard deviation from ball to ball, from two balls up.
    pub sd: Option<f64>,
    /// Lower end, from two balls up.
    pub low: Option<f64>,
    /// Upper end, from two balls up.
    pub high: Option<f64>,
}

impl Mean {
    /// The mean of `values`; `None` of none.
    pub fn of(values: &[f64]) -> Option<Self> {
        if values.is_empty() {
            return None;
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let sd = (values.len() > 1)
            .then(|| (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0)).sqrt());
        let half = sd.map(|sd| t_two_sided(0.95, n - 1.0) * sd / n.sqrt());
        Some(Self {
            count: values.len() as u32,
            mean,
            sd,
            low: half.map(|half| mean - half),
            high: half.map(|half| mean + half),
        })
    }
}

/// What is averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// Head speed, m/s.
    HeadSpeedMps,
    /// Ball speed, m/s.
    BallSpeedMps,
    /// Carry, m.
    CarryM,
    /// Where the ball started, degrees, right positive.
    StartDeg,
}

/// The mean of one figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FigureMean {
    /// Which.
    pub figure: Figure,
    /// Its mean.
    #[serde(flatten)]
    pub mean: Mean,
}

impl Figure {
    /// All of them, in the order in which they are read.
    pub const ALL: [Self; 4] = [Self::HeadSpeedMps, Self::BallSpeedMps, Self::CarryM, Self::StartDeg];

    /// The figure of one shot, where it was read.
    pub fn of(self, shot: &Shot) -> Option<f64> {
        let r = &shot.readings;
        match self {
            Self::HeadSpeedMps => r.head_speed.map(|r| r.value.mps()),
            Self::BallSpeedMps => r.ball_speed.map(|r| r.value.mps()),
            Self::CarryM => r.carry.map(|r| r.value.m()),
            Self::StartDeg => r.start.map(|r| r.value.deg()),
        }
    }
}

/// Where balls started, by eye, and whether finishes were held.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tally {
    /// Balls whose start was judged.
    pub starts: u32,
    /// Of these, left of the target.
    pub left: u32,
    /// Of these, at the target.
    pub straight: u32,
    /// Of these, right of the target.
    pub right: u32,
    /// Share of finishes held, of the balls for which it was noted; 95 %
    /// interval of Clopper and Pearson.
    pub finish_held: Option<Share>,
    /// Balls for which it was noted.
    pub finishes: u32,
}

impl Tally {
    /// The tally of some shots.
    pub fn of(shots: &[&Shot]) -> Self {
        let starts = |wanted: fn(StartByEye) -> bool| {
            shots.iter().filter(|s| s.start_by_eye.is_some_and(wanted)).count() as u32
        };
        let finishes = shots.iter().filter(|s| s.finish_held.is_some()).count() as u32;
        let held = shots.iter().filter(|s| s.finish_held == Some(true)).count() as u32;
        Self {
            starts: starts(|_| true),
            left: starts(|s| s.code() < 0),
            straight: starts(|s| s.code() == 0),
            right: starts(|s| s.code() > 0),
            finish_held: clopper_pearson(held, finishes),
            finishes,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_has_the_interval_of_students_t() {
        // By hand: mean 4, SD 2, t(0.975, 2) = 4.30265 (scipy.stats.t.ppf), so
        // half the interval is 4.30265 * 2 / sqrt(3) = 4.96827.
        let mean = Mean::of(&[2.0, 4.0, 6.0]).unwrap();
        assert!((mean.mean - 4.0).abs() < 1e-12 && (mean.sd.unwrap() - 2.0).abs() < 1e-12);
        assert!((mean.high.unwrap() - 8.968_27).abs() < 1e-4, "{mean:?}");
        assert_eq!(Mean::of(&[5.0]).unwrap().low, None);
        assert_eq!(Mean::of(&[]), None);
    }
}
