//! The delivery that explains what was seen: the most probable one, and how sure.
//!
//! Unknown are the seven numbers of a [`Delivery`]; known are an assumed prior
//! (replaceable, and to be shown as an assumption) and any subset of readings.
//! The answer is the maximum a posteriori, found by damped Newton steps, with
//! the covariance of Laplace's approximation; the tests show by simulation that
//! it is honest. Start at [`fit`].

use serde::Serialize;

use super::club::{Face, Head};
use super::delivery::{ATTACK, Delivery, FACE, HEAD_SPEED, HIGH, Hand, LOFT, PATH, TOE};
use super::error::{FlightError, Limits};
use super::impact::Strike;
use super::law::AirLaw;
use super::seen::{DELIVERY_NUMBERS, Quantity, Reading, Seen};
use super::slopes::Model;
use super::solve::{Matrix, Vector, cholesky};
use super::trajectory::Flier;

/// How many numbers a delivery has.
const N: usize = DELIVERY_NUMBERS;

/// What is believed of a delivery before anything was seen: means and standard
/// deviations, each number by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Means.
    pub mean: Delivery,
    /// Standard deviations, in the units of the means; above 0.
    pub sigma: Delivery,
}

impl Default for Prior {
    /// The assumed prior of sources.md section 4.
    fn default() -> Self {
        Self {
            mean: Delivery {
                head_speed_mps: 42.0,
                loft_deg: 13.5,
                face_deg: 0.0,
                path_deg: 0.0,
                attack_deg: 0.0,
                toe_mm: 0.0,
                high_mm: 2.0,
            },
            sigma: Delivery {
                head_speed_mps: 3.5,
                loft_deg: 2.0,
                face_deg: 2.5,
                path_deg: 3.5,
                attack_deg: 2.5,
                toe_mm: 9.0,
                high_mm: 7.0,
            },
        }
    }
}

/// A number with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// The most probable value.
    pub estimate: f64,
    /// Its standard error.
    pub sigma: f64,
}

/// The delivery that explains what was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The most probable delivery.
    pub delivery: Delivery,
    /// Covariance of its numbers, in the order of [`Quantity::ALL`].
    pub covariance: [[f64; N]; N],
    /// The readings it rests on.
    pub used: Vec<Quantity>,
    /// What all readings and the prior have against it: half the sum of squared
    /// standard errors, where all are numbers.
    pub misfit: f64,
    /// Steps taken.
    pub steps: usize,
}

impl Fit {
    /// One number of the delivery; `None` for quantities that aren't of the delivery.
    pub fn of(&self, quantity: Quantity) -> Option<Estimate> {
        let place = quantity.place();
        let estimate = *numbers(&self.delivery).get(place)?;
        let variance = *self.covariance.get(place)?.get(place)?;
        Some(Estimate { estimate, sigma: variance.sqrt() })
    }
}

/// A delivery's numbers in the order of [`Quantity::ALL`].
pub(super) fn numbers(d: &Delivery) -> Vector<N> {
    [d.head_speed_mps, d.loft_deg, d.face_deg, d.path_deg, d.attack_deg, d.toe_mm, d.high_mm]
}

pub(super) fn delivery(
    [head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm]: Vector<N>,
) -> Delivery {
    Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm }
}

const LIMITS: [Limits; N] = [HEAD_SPEED, LOFT, FACE, PATH, ATTACK, TOE, HIGH];

/// The setting of one shot: club, hand, face, air.
#[derive(Debug, Clone, Copy)]
pub struct Setting<'a, L> {
    /// The club's head.
    pub head: &'a Head,
    /// The player's hand.
    pub hand: Hand,
    /// The face's state.
    pub face: Face,
    /// Law of the air and conditions.
    pub flier: &'a Flier<'a, L>,
}

/// The most probable delivery, given what was seen.
///
/// # Errors
/// [`FlightError::NothingRead`] without any reading, [`FlightError::OutOfRange`]
/// for an impossible prior, [`FlightError::NoFit`] where no delivery can be found.
pub fn fit<L: AirLaw>(setting: &Setting<L>, prior: &Prior, seen: &Seen) -> Result<Fit, FlightError> {
    let search = Search::new(setting, prior, seen)?;
    let mut at = search.look([0.0; N]).ok_or(FlightError::NoFit)?;
    let mut damping = 1e-3;
    for step in 1..=MOST_STEPS {
        let mut moved = None;
        for _ in 0..12 {
            let mut matrix = at.bend;
            for (i, row) in matrix.iter_mut().enumerate() {
                if let Some(d) = row.get_mut(i) {
                    *d *= 1.0 + damping;
                }
            }
            let factor = cholesky(&matrix).ok_or(FlightError::NoFit)?;
            let go = factor.solve(&at.slope);
            let next = search.bounded(core::array::from_fn(|i| value(&at.z, i) - value(&go, i)));
            if let Some(found) = search.look(next).filter(|found| found.value <= at.value + 1e-12) {
                moved = Some(found);
                damping = (damping * 0.2).max(1e-9);
                break;
            }
            damping = (damping * 6.0).max(1e-6);
        }
        let Some(found) = moved else {
            // No way down is left: this is the lowest that the numbers can tell.
            return search.answer(&at, step);
        };
        let far = found.z.iter().zip(at.z).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        let gain = at.value - found.value;
        at = found;
        if gain < NEGLIGIBLE || far < NEAR_ENOUGH {
            return search.answer(&at, step);
        }
    }
    Err(FlightError::NoFit)
}

const MOST_STEPS: usize = 150;
/// Steps shorter than this, in standard deviations of the prior, end the search.
const NEAR_ENOUGH: f64 = 1e-4;
/// So does a gain in log posterior below this: about 1/200 of a standard error.
const NEGLIGIBLE: f64 = 1e-5;
/// Half the distance over which slopes of predictions are taken, in the same.
const PROBE: f64 = 0.02;

fn value(v: &Vector<N>, i: usize) -> f64 {
    v.get(i).copied().unwrap_or(0.0)
}

/// Where the search is, in standard deviations from the prior's mean.
struct Place {
    z: Vector<N>,
    value: f64,
    slope: Vector<N>,
    bend: Matrix<N>,
}

struct Search<'a, L> {
    model: Model<'a, L>,
    mean: Vector<N>,
    sigma: Vector<N>,
    /// [`PROBE`] in the units of the numbers.
    probe: Vector<N>,
    readings: Vec<(Quantity, Reading)>,
}

impl<'a, L: AirLaw> Search<'a, L> {
    fn new(setting: &Setting<'a, L>, prior: &Prior, seen: &Seen) -> Result<Self, FlightError> {
        prior.mean.check()?;
        for (sigma, limits) in numbers(&prior.sigma).into_iter().zip(LIMITS) {
            let reason = "a prior's spread; 0 would leave nothing to find";
            let remedy = "give a standard deviation above 0";
            Limits { low: 1e-6, high: limits.high - limits.low, reason, remedy, ..limits }.check(sigma)?;
        }
        let readings: Vec<_> = seen.all().collect();
        if readings.is_empty() {
            return Err(FlightError::NothingRead);
        }
        Ok(Self {
            model: Model {
                strike: Strike::new(setting.head, setting.hand, setting.face),
                flier: setting.flier,
                flies: readings.iter().any(|(q, _)| q.needs_flight()),
            },
            mean: numbers(&prior.mean),
            sigma: numbers(&prior.sigma),
            probe: numbers(&prior.sigma).map(|sigma| PROBE * sigma),
            readings,
        })
    }

    /// The delivery at `z`.
    fn numbers_at(&self, z: &Vector<N>) -> Vector<N> {
        core::array::from_fn(|i| value(&self.mean, i) + value(&self.sigma, i) * value(z, i))
    }

    /// `z`, kept to possible deliveries.
    fn bounded(&self, z: Vector<N>) -> Vector<N> {
        let mut out = z;
        for (((z, limits), mean), sigma) in out.iter_mut().zip(LIMITS).zip(self.mean).zip(self.sigma) {
            *z = z.max((limits.low - mean) / sigma).min((limits.high - mean) / sigma);
        }
        out
    }

    /// Value, slope and bend of the posterior's negative log at `z`; nothing
    /// where the head doesn't meet the ball.
    fn look(&self, z: Vector<N>) -> Option<Place> {
        let predicted = self.model.about(&self.numbers_at(&z), &self.probe)?;
        let mut place = Place {
            z,
            value: 0.5 * z.iter().map(|z| z * z).sum::<f64>(),
            slope: z,
            bend: core::array::from_fn(|i| core::array::from_fn(|j| f64::from(u8::from(i == j)))),
        };
        for &(quantity, reading) in &self.readings {
            let penalty = reading.penalty(predicted.middle(quantity));
            let g: Vector<N> = core::array::from_fn(|i| predicted.difference(quantity, i) / (2.0 * PROBE));
            place.value += penalty.value;
            for (i, (slope, row)) in place.slope.iter_mut().zip(&mut place.bend).enumerate() {
                *slope += penalty.slope * value(&g, i);
                for (bend, gj) in row.iter_mut().zip(g) {
                    *bend += penalty.bend * value(&g, i) * gj;
                }
            }
        }
        place.value.is_finite().then_some(place)
    }

    fn answer(&self, at: &Place, steps: usize) -> Result<Fit, FlightError> {
        let inverse = cholesky(&at.bend).ok_or(FlightError::NoFit)?.inverse();
        let mut covariance = inverse;
        for (i, row) in covariance.iter_mut().enumerate() {
            for (c, sigma) in row.iter_mut().zip(self.sigma) {
                *c *= sigma * value(&self.sigma, i);
            }
        }
        Ok(Fit {
            delivery: delivery(self.numbers_at(&at.z)),
            covariance,
            used: self.readings.iter().map(|(q, _)| *q).collect(),
            misfit: at.value,
            steps,
        })
    }
}
