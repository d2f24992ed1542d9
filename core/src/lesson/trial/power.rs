//! What a trial could see, told before the first ball.
//!
//! The rule: where the student's own balls say too little, the assumed spread is
//! named as assumed. Start at [`Foresight::of`].

use serde::Serialize;

use super::outcome::{Source, values_of};
use crate::face::quantile::t_two_sided;
use crate::lesson::fits::FitOfShot;
use crate::lesson::log::Log;
use crate::model::{BlockOrder, Measure};

/// Chance of a call at the told difference.
pub const POWER: f64 = 0.8;
/// Degrees of freedom within sessions below which a spread is not the student's own.
const FEWEST_DOF: f64 = 10.0;

/// What a trial could see.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Foresight {
    /// The measure.
    pub measure: Measure,
    /// SD of one ball's value within a day, in the measure's unit.
    pub ball_sd: f64,
    /// Balls that it rests on; none where it is assumed.
    pub balls: u32,
    /// Whether it is assumed.
    pub assumed: bool,
    /// A true difference that would be called in four trials of five, in the
    /// measure's unit.
    pub seen_with_80_percent: f64,
}

impl Foresight {
    /// What a trial with that many blocks and balls could see of a measure.
    pub fn of(log: &Log, fits: &[FitOfShot], measure: Measure, blocks: u16, balls: u16) -> Self {
        let own = own_spread(log, fits, measure);
        let (ball_sd, count) = own.unwrap_or((assumed_sd(measure), 0));
        let seen = detectable(ball_sd, f64::from(blocks), f64::from(balls));
        Self { measure, ball_sd, balls: count, assumed: own.is_none(), seen_with_80_percent: seen }
    }

    /// As [`Self::of`], of an order that was drawn.
    pub fn of_order(log: &Log, fits: &[FitOfShot], measure: Measure, order: &BlockOrder) -> Self {
        Self::of(log, fits, measure, order.blocks(), order.balls_a_block())
    }
}

/// SD of one ball's value within a day where nothing is known of the student.
/// Assumed: no published spreads were found (common practice, no source).
fn assumed_sd(measure: Measure) -> f64 {
    match measure {
        Measure::Carry => 14.0,
        Measure::Miss => 6.5,
        Measure::HeadSpeed => 0.8,
        Measure::StartSpread => 1.8,
    }
}

/// The difference that the two-sided test at 5 % calls with [`POWER`]: the sum of
/// Student's t of 0.975 and of 0.8, times `2 sd / sqrt(balls)`, with the degrees
/// of freedom of balls about their block and arm (the usual sample-size formula,
/// G. W. Snedecor and W. G. Cochran, Statistical Methods; from memory). A
/// randomisation test has nearly the power of t where values are normal.
pub(super) fn detectable(ball_sd: f64, blocks: f64, balls: f64) -> f64 {
    let dof = blocks * balls - blocks - 1.0;
    (t_two_sided(0.95, dof) + t_two_sided(2.0 * POWER - 1.0, dof)) * 2.0 * ball_sd / (blocks * balls).sqrt()
}

/// Spread within sessions, pooled, and the balls that it rests on.
fn own_spread(log: &Log, fits: &[FitOfShot], measure: Measure) -> Option<(f64, u32)> {
    let (mut squares, mut dof, mut balls) = (0.0, 0.0, 0);
    for (v, visit) in log.visits.iter().enumerate() {
        let shots: Vec<(usize, usize)> = (0..visit.shots.len()).map(|s| (v, s)).collect();
        let (values, _): (Vec<Option<f64>>, Source) = values_of(log, fits, measure, &shots, &|_| 0);
        let values: Vec<f64> = values.into_iter().flatten().collect();
        if values.len() < 2 {
            continue;
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        squares += values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
        dof += n - 1.0;
        balls += values.len() as u32;
    }
    (dof >= FEWEST_DOF && squares > 0.0).then(|| ((squares / dof).sqrt(), balls))
}
