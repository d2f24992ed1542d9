//! One student's swing, learned from all their balls: strike, face, path,
//! attack, loft and head speed as means, spreads and correlations, and how sure.
//!
//! The rule: a figure rests on readings with their errors, or it is an assumption
//! and says so; nothing published on amateurs' spreads was found (sources.md,
//! section 4), so none is presented as published. Start at [`StudentModel::of`];
//! `evidence` for what a ball says, `learn` and `unsure` for the statistics.

mod evidence;
mod learn;
mod spread;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests;
mod unsure;

use serde::Serialize;

pub use evidence::Ball;
pub(crate) use unsure::{CHANCES, Swing};

use crate::flight::inverse::Prior;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::solve::cholesky;
use crate::flight::{Delivery, Face, FlightError, Slopes};
use learn::{Learned, learn};
use unsure::Unsure;

/// The numbers of a swing, in the order of every list here.
pub const QUANTITIES: [&str; N] =
    ["head_speed_mps", "loft_deg", "face_deg", "path_deg", "attack_deg", "strike_toe_mm", "strike_high_mm"];

/// What is believed before anything was read. All of it is assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumed {
    /// A student's means: the assumed prior of one delivery (sources.md section 4).
    pub student: Prior,
    /// Standard deviations of one student's balls.
    pub ball_sigma: Delivery,
    /// How many balls that counts for.
    pub ball_weight: f64,
    /// How many balls it counts for that no two numbers go together: with 8, their
    /// correlation is within a third in two students of three.
    pub apart_weight: f64,
    /// Share of a ball's variance by which sessions differ: it is believed as likely to be below as above this.
    pub session_share: f64,
}

impl Default for Assumed {
    fn default() -> Self {
        Self {
            student: Prior::default(),
            ball_sigma: Delivery {
                head_speed_mps: 1.2,
                loft_deg: 1.3,
                face_deg: 2.0,
                path_deg: 1.8,
                attack_deg: 1.5,
                toe_mm: 8.0,
                high_mm: 6.0,
            },
            ball_weight: 2.0,
            apart_weight: 8.0,
            session_share: 0.04,
        }
    }
}

/// One student's swing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StudentModel {
    /// What the lists below are of.
    pub quantities: [&'static str; N],
    /// Means.
    pub mean: [f64; N],
    /// Standard errors of the means.
    pub mean_sigma: [f64; N],
    /// Standard deviations from ball to ball, readings' errors taken out.
    pub sd: [f64; N],
    /// Standard errors of the standard deviations.
    pub sd_sigma: [f64; N],
    /// Correlations.
    pub correlation: [[f64; N]; N],
    /// Balls that it rests on.
    pub balls: u32,
    /// Sessions that they come from.
    pub sessions: u32,
    /// How many exactly read balls the readings of each number are worth; a
    /// number worth less than one rests on what is assumed.
    pub worth: [f64; N],
    #[serde(skip)]
    learned: Learned,
    #[serde(skip)]
    unsure: Unsure,
}

impl StudentModel {
    /// The swing behind some balls. Sessions are counted from 0 in [`Ball::session`];
    /// `straight` answers what can be read of a swing off a face in a state, with
    /// slopes: see [`slopes`](crate::flight::slopes::slopes()).
    ///
    /// # Errors
    /// [`FlightError::NothingReadOfAny`] without a ball, [`FlightError::NoFit`] where the
    /// readings contradict each other beyond all measure.
    pub fn of(
        mut balls: Vec<Ball>,
        assumed: &Assumed,
        straight: &dyn Fn(Face, &Delivery, bool) -> Result<Slopes, FlightError>,
    ) -> Result<Self, FlightError> {
        let sessions =
            balls.iter().map(|ball| ball.session + 1).max().ok_or(FlightError::NothingReadOfAny)?;
        let mut learned = learn(&mut balls, sessions, assumed, straight)?;
        let unsure = Unsure::of(&learned, assumed)?;
        // Balls lie nearer to the mean of the sessions that there were than to the
        // mean of all sessions there could be.
        for (row, more) in learned.covariance.iter_mut().zip(unsure.of_sessions()) {
            for (value, more) in row.iter_mut().zip(more) {
                *value += more;
            }
        }
        let of_means = unsure.of_means();
        let diagonal =
            |m: &[[f64; N]; N], i: usize| m.get(i).and_then(|row| row.get(i)).copied().unwrap_or(0.0);
        let sd: [f64; N] = core::array::from_fn(|i| diagonal(&learned.covariance, i).sqrt());
        let dof = unsure.dof;
        let each = |f: &dyn Fn(f64, f64, f64) -> f64| {
            let mut out = [0.0; N];
            for (i, ((out, sd), dof)) in out.iter_mut().zip(sd).zip(dof).enumerate() {
                *out = f(diagonal(&of_means, i).sqrt(), sd, dof);
            }
            out
        };
        let mut correlation = learned.covariance;
        for (row, own) in correlation.iter_mut().zip(sd) {
            for (value, other) in row.iter_mut().zip(sd) {
                *value /= own * other;
            }
        }
        Ok(Self {
            quantities: QUANTITIES,
            mean: learned.mean,
            // Student's t is wider than the normal by this, where its width is known.
            mean_sigma: each(&|error, _, dof| error * (dof / (dof - 2.0).max(2.0)).max(1.0).sqrt()),
            sd,
            sd_sigma: each(&|_, sd, dof| sd / (2.0 * dof).sqrt()),
            correlation,
            balls: u32::try_from(balls.len()).unwrap_or(u32::MAX),
            sessions: u32::try_from(sessions).unwrap_or(u32::MAX),
            worth: learned.worth,
            unsure,
            learned,
        })
    }

    /// The swing as it was learned.
    pub(crate) fn swing(&self) -> Option<Swing> {
        Some(Swing { mean: self.mean, sd: self.sd, factor: cholesky(&self.learned.covariance)? })
    }

    /// A swing that the student's may be, as likely as the balls make it, from even
    /// numbers between 0 and 1.
    pub(crate) fn draw(&self, chances: &[f64; CHANCES]) -> Option<Swing> {
        self.unsure.draw(&self.learned, chances)
    }
}

/// A delivery's numbers in the order of [`QUANTITIES`].
pub(crate) fn numbers(d: &Delivery) -> [f64; N] {
    [d.head_speed_mps, d.loft_deg, d.face_deg, d.path_deg, d.attack_deg, d.toe_mm, d.high_mm]
}
