//! From many balls to one student's swing: means and covariance of the seven
//! numbers of a delivery.
//!
//! The rule: every ball counts by what its readings say, no more; what was never
//! read stays what was assumed. Each round believes a swing, lets each ball's
//! readings pull it ([`Reading::news`](crate::flight::seen::Reading::news)), and
//! takes the swing that these balls make together (expectation and maximisation,
//! Dempster, Laird and Rubin, J. R. Statist. Soc. B 39, 1, 1977; means by
//! scoring). Start at [`learn`].
#![allow(clippy::indexing_slicing, reason = "loops run to the arrays' own fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::Assumed;
use super::evidence::{Ball, Line};
use super::spread::{Spreads, Told};
use crate::flight::delivery::possible;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::solve::{Matrix, Vector, cholesky};
use crate::flight::{Delivery, Face, FlightError, Slopes};

const MOST_ROUNDS: usize = 120;
/// A round that moves nothing by more than this, in standard deviations, is the last.
const STILL: f64 = 2e-4;
/// How much farther than by itself a round may go.
const MOST_STRETCH: f64 = 12.0;
/// How often readings of the flight are straightened anew about what was learned.
const PASSES: usize = 3;
/// About so many balls, picked evenly, tell where to straighten, but the last time.
const FEW: usize = 400;

/// What a session says against the believed swing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SessionNews {
    /// Slope of the log likelihood in the means.
    pub score: Vector<N>,
    /// Its bend.
    pub information: Matrix<N>,
}

/// A student's swing as it was learned.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Learned {
    pub mean: Vector<N>,
    pub covariance: Matrix<N>,
    pub sessions: Vec<SessionNews>,
    /// How many exactly read balls each number's readings are worth, for its spread.
    pub worth: Vector<N>,
    /// How sure the covariance is.
    pub spreads: Spreads,
}

/// Sums over all balls at one belief.
struct Round {
    /// Sum over balls of spread about the believed mean: what is left open plus what was found.
    spread: Matrix<N>,
    /// Mean of what is left open of the covariance.
    open: Matrix<N>,
    worth: Vector<N>,
    sessions: Vec<SessionNews>,
}

/// What can be read of a swing off a face in a state, with slopes; whether a flight is needed.
pub(super) type Straight<'a> = &'a dyn Fn(Face, &Delivery, bool) -> Result<Slopes, FlightError>;

/// A swing as it is believed.
struct Belief {
    mean: Vector<N>,
    covariance: Matrix<N>,
}

/// The swing that the balls make together with what is assumed.
pub(super) fn learn(
    balls: &mut [Ball],
    sessions: usize,
    assumed: &Assumed,
    straight: Straight<'_>,
) -> Result<Learned, FlightError> {
    let ball_sigma = super::numbers(&assumed.ball_sigma);
    let mean = super::numbers(&assumed.student.mean);
    let mut belief = Belief { mean, covariance: diagonal(&ball_sigma) };
    let bent = balls.iter().any(|ball| ball.bent().is_some());
    if bent {
        // Where to straighten is told by a part of the balls as well; before anything is
        // known, a ball's own readings have all the say.
        let mut few: Vec<Ball> = balls.iter().step_by((balls.len() / FEW).max(1)).cloned().collect();
        let mut around = diagonal(&core::array::from_fn(|i| {
            let student = super::numbers(&assumed.student.sigma)[i];
            (student * student + ball_sigma[i] * ball_sigma[i]).sqrt()
        }));
        for _ in 1..PASSES {
            straighten(&mut few, &belief.mean, &around, straight);
            settle(&few, sessions, assumed, &mut belief)?;
            around = belief.covariance;
        }
        straighten(balls, &belief.mean, &around, straight);
    }
    settle(balls, sessions, assumed, &mut belief)?;
    let Belief { mean, covariance } = belief;
    let factor = cholesky(&covariance).ok_or(FlightError::NoFit)?;
    let Round { worth, sessions, .. } = look(balls, sessions, &mean, &covariance, &factor.inverse());
    let mut told = Told::nothing(&factor);
    for ball in &*balls {
        told.add(&believe(ball.lines(), &mean, &covariance).1);
    }
    let spreads = told.spreads(balls.len() as f64, assumed).ok_or(FlightError::NoFit)?;
    Ok(Learned { mean, covariance, sessions, worth, spreads })
}

fn diagonal(sigma: &Vector<N>) -> Matrix<N> {
    core::array::from_fn(|i| core::array::from_fn(|j| if i == j { sigma[i] * sigma[i] } else { 0.0 }))
}

/// Straightens each ball's readings about the swing that its own readings of the
/// delivery make of the believed one.
fn straighten(balls: &mut [Ball], mean: &Vector<N>, covariance: &Matrix<N>, straight: Straight<'_>) {
    // Balls without own readings are all straightened about the same swing.
    let mut last: Option<(Face, Delivery, bool, Option<Slopes>)> = None;
    for ball in balls {
        let Some(flies) = ball.bent() else { continue };
        let (go, _) = believe(ball.own(), mean, covariance);
        let at = possible(core::array::from_fn(|i| mean[i] + go[i]));
        let same =
            last.take().filter(|(face, about, flew, _)| (*face, *flew) == (ball.face, flies) && *about == at);
        let (.., slopes) =
            last.insert(same.unwrap_or_else(|| (ball.face, at, flies, straight(ball.face, &at, flies).ok())));
        ball.straighten(&super::numbers(&at), slopes.as_ref());
    }
}

/// Goes on until a round moves the belief no more.
fn settle(
    balls: &[Ball],
    sessions: usize,
    assumed: &Assumed,
    belief: &mut Belief,
) -> Result<(), FlightError> {
    let ball_sigma = super::numbers(&assumed.ball_sigma);
    let prior_mean = super::numbers(&assumed.student.mean);
    let prior_sigma = super::numbers(&assumed.student.sigma);
    let weight = assumed.ball_weight;
    let n = balls.len() as f64;
    for _ in 0..MOST_ROUNDS {
        let Belief { mean, covariance } = belief;
        let inverse = cholesky(covariance).ok_or(FlightError::NoFit)?.inverse();
        let round = look(balls, sessions, mean, covariance, &inverse);
        let (total, score) = sums(&round.sessions, mean, &prior_mean, &prior_sigma);
        let unsure = cholesky(&total).ok_or(FlightError::NoFit)?;
        let step = unsure.solve(&score);
        let of_mean = of_mean(&round.open, &inverse, &unsure.inverse());
        let mut next = *covariance;
        for i in 0..N {
            for j in 0..N {
                let (prior, weight) = if i == j {
                    (weight * ball_sigma[i] * ball_sigma[i], weight)
                } else {
                    (0.0, weight.max(assumed.apart_weight))
                };
                next[i][j] = (round.spread[i][j] + n * of_mean[i][j] + prior) / (n + weight);
            }
        }
        // Where little is read, a round goes a small part of the way: go all of it.
        let stretch: Vector<N> = core::array::from_fn(|i| {
            let ratio = next[i][i] / covariance[i][i];
            let reach = ((n + weight) / (round.worth[i] + weight)).min(MOST_STRETCH);
            let far = libm::pow(ratio, reach).clamp(0.5, 2.0);
            (far / ratio).sqrt()
        });
        let mut moved: f64 = 0.0;
        for i in 0..N {
            for j in 0..N {
                next[i][j] *= stretch[i] * stretch[j];
            }
        }
        for i in 0..N {
            let sd = covariance[i][i].sqrt();
            moved = moved.max((step[i] / sd).abs()).max((next[i][i].sqrt() / sd - 1.0).abs());
            mean[i] += step[i];
        }
        belief.covariance = next;
        if moved < STILL {
            break;
        }
    }
    Ok(())
}

/// Information and score of all sessions and the prior of the means.
pub(super) fn sums(
    sessions: &[SessionNews],
    mean: &Vector<N>,
    prior_mean: &Vector<N>,
    prior_sigma: &Vector<N>,
) -> (Matrix<N>, Vector<N>) {
    let (mut total, mut score) = ([[0.0; N]; N], [0.0; N]);
    for i in 0..N {
        let tight = 1.0 / (prior_sigma[i] * prior_sigma[i]);
        total[i][i] = tight;
        score[i] = (prior_mean[i] - mean[i]) * tight;
    }
    for session in sessions {
        for i in 0..N {
            score[i] += session.score[i];
            for j in 0..N {
                total[i][j] += session.information[i][j];
            }
        }
    }
    (total, score)
}

/// What the mean's own error adds to the spread about it, a ball: 1/n of the
/// covariance where all is read, nothing where nothing is.
fn of_mean(open: &Matrix<N>, inverse: &Matrix<N>, unsure: &Matrix<N>) -> Matrix<N> {
    let found: Matrix<N> = core::array::from_fn(|i| {
        core::array::from_fn(|j| {
            let open: f64 = (0..N).map(|k| open[i][k] * inverse[k][j]).sum();
            f64::from(u8::from(i == j)) - open
        })
    });
    let half = product(&found, unsure);
    core::array::from_fn(|i| core::array::from_fn(|j| (0..N).map(|k| half[i][k] * found[j][k]).sum()))
}

pub(super) fn product(a: &Matrix<N>, b: &Matrix<N>) -> Matrix<N> {
    core::array::from_fn(|i| core::array::from_fn(|j| (0..N).map(|k| a[i][k] * b[k][j]).sum()))
}

fn look(
    balls: &[Ball],
    sessions: usize,
    mean: &Vector<N>,
    covariance: &Matrix<N>,
    inverse: &Matrix<N>,
) -> Round {
    let nothing = SessionNews { score: [0.0; N], information: [[0.0; N]; N] };
    let mut pulled = vec![[0.0; N]; sessions];
    let mut opened = vec![([[0.0; N]; N], 0.0); sessions];
    let mut round = Round {
        spread: [[0.0; N]; N],
        open: [[0.0; N]; N],
        worth: [0.0; N],
        sessions: vec![nothing; sessions],
    };
    for ball in balls {
        let (go, open) = believe(ball.lines(), mean, covariance);
        for i in 0..N {
            let known = 1.0 - open[i][i] / covariance[i][i];
            round.worth[i] += known * known;
            for j in 0..=i {
                round.spread[i][j] += open[i][j] + go[i] * go[j];
            }
        }
        if let (Some(pulled), Some((sum, count))) =
            (pulled.get_mut(ball.session), opened.get_mut(ball.session))
        {
            *count += 1.0;
            for i in 0..N {
                pulled[i] += go[i];
                for j in 0..=i {
                    sum[i][j] += open[i][j];
                }
            }
        }
    }
    mirror(&mut round.spread);
    let n = (balls.len() as f64).max(1.0);
    for ((session, pulled), (open, count)) in round.sessions.iter_mut().zip(&pulled).zip(&mut opened) {
        mirror(open);
        for i in 0..N {
            session.score[i] = (0..N).map(|k| inverse[i][k] * pulled[k]).sum();
            for j in 0..N {
                round.open[i][j] += open[i][j] / n;
            }
        }
        let kept = product(&product(inverse, open), inverse);
        for i in 0..N {
            for j in 0..N {
                session.information[i][j] = *count * inverse[i][j] - kept[i][j];
            }
        }
    }
    round
}

fn mirror(lower: &mut Matrix<N>) {
    for i in 0..N {
        for j in 0..i {
            lower[j][i] = lower[i][j];
        }
    }
}

/// How far one ball's readings pull the believed mean, and what they leave open.
fn believe(lines: &[Line], mean: &Vector<N>, covariance: &Matrix<N>) -> (Vector<N>, Matrix<N>) {
    let (mut go, mut open) = ([0.0; N], *covariance);
    for line in lines {
        let mut toward = [0.0; N];
        let (mut middle, mut variance) = (line.offset, 0.0);
        for i in 0..N {
            for j in 0..N {
                toward[i] += open[i][j] * line.slope[j];
            }
            middle += line.slope[i] * (mean[i] + go[i]);
            variance += line.slope[i] * toward[i];
        }
        let news = line.reading.news(middle, variance);
        for i in 0..N {
            go[i] += toward[i] * news.pull;
            for j in 0..N {
                open[i][j] -= toward[i] * toward[j] * news.bend;
            }
        }
    }
    (go, open)
}
