//! What can be read of a shot, and how it changes with each number of the
//! delivery: values and slopes about one swing.
//!
//! The rule: the same impact and flight as everywhere else, at the swing and on
//! both sides of it; nothing is approximated but the difference itself. Start at
//! [`slopes`].

use super::delivery::Delivery;
use super::error::FlightError;
use super::impact::{LEAST_CLOSING_MPS, Strike, Swing};
use super::inverse::{Setting, delivery, numbers};
use super::law::AirLaw;
use super::math::{RAD_PER_DEG, RPM_PER_RADPS};
use super::real::{LANES, Lanes, Real};
use super::seen::{DELIVERY_NUMBERS, QUANTITIES, Quantity};
use super::solve::Vector;
use super::trajectory::Flier;

/// How many numbers a delivery has.
const N: usize = DELIVERY_NUMBERS;

/// Blocks of four shots that hold the middle and two probes for each number.
const BLOCKS: usize = (2 * N + 1).div_ceil(LANES);

/// Half of the distance over which [`slopes`] takes differences: about 1/50 of
/// the assumed spread of each number (sources.md section 4).
const PROBE: Vector<N> = [0.07, 0.04, 0.05, 0.07, 0.05, 0.18, 0.14];

/// All quantities at one swing, with their slopes.
#[derive(Debug, Clone, PartialEq)]
pub struct Slopes {
    /// Each quantity, in the order of [`Quantity::ALL`].
    pub value: [f64; QUANTITIES],
    /// Its change for a unit of each number of the delivery.
    pub slope: [[f64; N]; QUANTITIES],
}

/// All quantities at a swing and their slopes; those of the flight are 0 where
/// `flies` says that nobody needs them.
///
/// # Errors
/// [`FlightError::OutOfRange`] for an impossible delivery, [`FlightError::NoFit`]
/// where the head doesn't meet the ball on all sides of it.
pub fn slopes<L: AirLaw>(
    setting: &Setting<L>,
    around: &Delivery,
    flies: bool,
) -> Result<Slopes, FlightError> {
    around.check()?;
    let strike = Strike::new(setting.head, setting.hand, setting.face);
    let model = Model { strike, flier: setting.flier, flies };
    let predicted = model.about(&numbers(around), &PROBE).ok_or(FlightError::NoFit)?;
    let mut found = Slopes { value: [0.0; QUANTITIES], slope: [[0.0; N]; QUANTITIES] };
    for ((quantity, value), slope) in Quantity::ALL.iter().zip(&mut found.value).zip(&mut found.slope) {
        *value = predicted.middle(*quantity);
        for (i, (slope, probe)) in slope.iter_mut().zip(PROBE).enumerate() {
            *slope = predicted.difference(*quantity, i) / (2.0 * probe);
        }
    }
    Ok(found)
}

/// From a swing to all that can be read of it.
pub(super) struct Model<'a, L> {
    pub strike: Strike<'a>,
    pub flier: &'a Flier<'a, L>,
    /// Whether a quantity of the flight is needed.
    pub flies: bool,
}

/// All quantities at a swing and beside it.
pub(super) struct Predicted([[Lanes; QUANTITIES]; BLOCKS]);

impl Predicted {
    /// A quantity at the swing.
    pub fn middle(&self, quantity: Quantity) -> f64 {
        self.shot(0, quantity)
    }

    /// A quantity above the swing in its i-th number, less below.
    pub fn difference(&self, quantity: Quantity, i: usize) -> f64 {
        self.shot(2 * i + 1, quantity) - self.shot(2 * i + 2, quantity)
    }

    fn shot(&self, shot: usize, quantity: Quantity) -> f64 {
        self.0
            .get(shot / LANES)
            .and_then(|row| row.get(quantity.place()))
            .map_or(f64::NAN, |lanes| lanes.lane(shot % LANES))
    }
}

impl<L: AirLaw> Model<'_, L> {
    /// All quantities at `middle`, and with each number moved by its probe both
    /// ways; nothing where the head doesn't meet the ball.
    pub fn about(&self, middle: &Vector<N>, probes: &Vector<N>) -> Option<Predicted> {
        let mut predicted = [[Lanes::splat(0.0); QUANTITIES]; BLOCKS];
        for (block, row) in predicted.iter_mut().enumerate() {
            // Shot 0 is the middle, 1 and 2 probe the first number, and so on.
            let swing = Swing::load(|lane| {
                let shot = block * LANES + lane;
                let mut at = *middle;
                let moved = shot.checked_sub(1).map(|s| s / 2);
                if let Some((number, probe)) = moved.and_then(|i| at.get_mut(i).zip(probes.get(i))) {
                    *number += if shot % 2 == 1 { *probe } else { -probe };
                }
                delivery(at)
            });
            *row = self.predict(&swing)?;
        }
        Some(Predicted(predicted))
    }

    /// All quantities of four shots; those of the flight only where needed.
    fn predict(&self, swing: &Swing<Lanes>) -> Option<[Lanes; QUANTITIES]> {
        let (struck, launch) = self.strike.launch(swing);
        if Lanes::any(struck.closing.lt(Lanes::splat(LEAST_CLOSING_MPS))) {
            return None;
        }
        let zero = Lanes::splat(0.0);
        let (carry, lateral, curve) = if self.flies {
            let landed = self.flier.land(&struck.ball, |_, _| ()).landed;
            let level = struck.ball.velocity;
            (landed.carry, landed.lateral, landed.lateral - landed.carry * (level.z / level.x))
        } else {
            (zero, zero, zero)
        };
        let [speed, rise, start] = [launch.speed, launch.launch, launch.start];
        Some([
            swing.speed,
            swing.loft.times(1.0 / RAD_PER_DEG),
            swing.face.times(1.0 / RAD_PER_DEG),
            swing.path.times(1.0 / RAD_PER_DEG),
            swing.attack.times(1.0 / RAD_PER_DEG),
            swing.toe.times(1e3),
            swing.high.times(1e3),
            speed,
            rise.times(1.0 / RAD_PER_DEG),
            start.times(1.0 / RAD_PER_DEG),
            launch.backspin.times(RPM_PER_RADPS),
            launch.sidespin.times(RPM_PER_RADPS),
            carry,
            lateral,
            curve,
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Club, Conditions, Face, FiveConstantLaw, Hand, hit};
    use super::*;

    #[test]
    #[allow(clippy::float_cmp, reason = "the same bits are meant")]
    fn slopes_are_the_differences_of_shots_hit_one_by_one() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let head = Club::default().conforming().unwrap();
        let setting = Setting { head: &head, hand: Hand::Left, face: Face::Dry, flier: &flier };
        let swing = Delivery { face_deg: 1.5, path_deg: -2.0, toe_mm: 9.0, ..Delivery::default() };
        let found = slopes(&setting, &swing, true).unwrap();
        let carry = |d: &Delivery| hit(&head, Hand::Left, Face::Dry, &flier, d).unwrap().flight.carry_m;
        assert!((found.value[Quantity::Carry.place()] - carry(&swing)).abs() < 1e-9);
        assert!((found.value[Quantity::Face.place()] - 1.5).abs() < 1e-12);
        for number in 0..N {
            let moved = |by: f64| {
                let mut at = numbers(&swing);
                at[number] += by;
                carry(&delivery(at))
            };
            let expected = (moved(0.1) - moved(-0.1)) / 0.2;
            let slope = found.slope[Quantity::Carry.place()][number];
            assert!((slope - expected).abs() < 0.02 * expected.abs() + 0.02, "{number}: {slope} {expected}");
            let own = found.slope[number][number];
            assert!((own - 1.0).abs() < 1e-9, "{own}");
        }
        let grounded = slopes(&setting, &swing, false).unwrap();
        assert_eq!(grounded.value[Quantity::Carry.place()], 0.0);
        assert_eq!(grounded.value[Quantity::BallSpeed.place()], found.value[Quantity::BallSpeed.place()]);
    }
}
