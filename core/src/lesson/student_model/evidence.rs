//! One ball's readings as straight lines in the seven numbers of a delivery.
//!
//! The rule: a reading keeps its own error or its bin; only the physics between
//! delivery and reading is straightened, about the delivery that explains this
//! ball best under the assumed prior. Start at [`Ball::of`].

use crate::flight::inverse::{Prior, Setting, fit};
use crate::flight::law::AirLaw;
use crate::flight::seen::{DELIVERY_NUMBERS, Reading, Seen};
use crate::flight::{Delivery, FlightError, slopes};

/// A reading of `offset + slope . delivery`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Change of what is read for a unit of each number of the delivery.
    pub slope: [f64; DELIVERY_NUMBERS],
    /// What would be read of a delivery of zeros.
    pub offset: f64,
    /// What was read.
    pub reading: Reading,
}

/// What was seen of one ball.
#[derive(Debug, Clone, PartialEq)]
pub struct Ball {
    /// Which session it belongs to, counted from 0.
    pub session: usize,
    /// Its readings.
    pub lines: Vec<Line>,
}

impl Ball {
    /// What was seen of a ball. `explained` is the delivery that explains it, where
    /// that is known from before.
    ///
    /// # Errors
    /// As [`fit`]: nothing read, or no delivery that explains it.
    pub fn of<L: AirLaw>(
        setting: &Setting<L>,
        session: usize,
        seen: &Seen,
        explained: Option<&Delivery>,
    ) -> Result<Self, FlightError> {
        let of_delivery = |place: usize| place < DELIVERY_NUMBERS;
        if seen.all().next().is_none() {
            return Err(FlightError::NothingRead);
        }
        let about = if seen.all().all(|(quantity, _)| of_delivery(quantity.place())) {
            None
        } else {
            let at = match explained {
                Some(delivery) => *delivery,
                None => fit(setting, &Prior::default(), seen)?.delivery,
            };
            let flies = seen.all().any(|(quantity, _)| quantity.needs_flight());
            Some((super::numbers(&at), slopes(setting, &at, flies)?))
        };
        let lines = seen
            .all()
            .map(|(quantity, reading)| {
                let place = quantity.place();
                let straight = about.as_ref().filter(|_| !of_delivery(place)).and_then(|(at, slopes)| {
                    Some((at, *slopes.slope.get(place)?, *slopes.value.get(place)?))
                });
                match straight {
                    Some((at, slope, value)) => {
                        let there: f64 = slope.iter().zip(at).map(|(s, x)| s * x).sum();
                        Line { slope, offset: value - there, reading }
                    }
                    None => {
                        let slope = core::array::from_fn(|i| f64::from(u8::from(i == place)));
                        Line { slope, offset: 0.0, reading }
                    }
                }
            })
            .collect();
        Ok(Self { session, lines })
    }
}
