//! One ball's readings as straight lines in the seven numbers of a delivery.
//!
//! The rule: a reading keeps its own error or its bin; only the physics between
//! delivery and reading is straightened, and that about a swing that knows nothing
//! of the readings to be straightened: about a swing that they had a say in, their
//! errors and the slopes would go together, and many balls would add that up.
//! Start at [`Ball::of`].

use crate::flight::seen::{DELIVERY_NUMBERS, Quantity, Reading, Seen};
use crate::flight::{Face, FlightError, Slopes};

/// A reading of `offset + slope . delivery`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
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
    /// The face's state.
    pub face: Face,
    /// Readings: those of the delivery's own numbers first.
    lines: Vec<Line>,
    /// How many those are.
    own: usize,
    /// What must be straightened.
    bent: Vec<(Quantity, Reading)>,
}

impl Ball {
    /// What was seen of a ball.
    ///
    /// # Errors
    /// [`FlightError::NothingRead`] where that is nothing.
    pub fn of(session: usize, face: Face, seen: &Seen) -> Result<Self, FlightError> {
        let (mut lines, mut bent) = (Vec::new(), Vec::new());
        for (quantity, reading) in seen.all() {
            let place = quantity.place();
            if place < DELIVERY_NUMBERS {
                let slope = core::array::from_fn(|i| f64::from(u8::from(i == place)));
                lines.push(Line { slope, offset: 0.0, reading });
            } else {
                bent.push((quantity, reading));
            }
        }
        if lines.is_empty() && bent.is_empty() {
            return Err(FlightError::NothingRead);
        }
        Ok(Self { session, face, own: lines.len(), lines, bent })
    }

    /// Readings of the delivery's own numbers.
    pub(super) fn own(&self) -> &[Line] {
        self.lines.get(..self.own).unwrap_or_default()
    }

    /// All readings that are straight so far.
    pub(super) fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// Whether anything must be straightened, and whether that takes a flight.
    pub(super) fn bent(&self) -> Option<bool> {
        (!self.bent.is_empty()).then(|| self.bent.iter().any(|(quantity, _)| quantity.needs_flight()))
    }

    /// Straightens what must be, about a swing; without slopes it is left out.
    pub(super) fn straighten(&mut self, about: &[f64; DELIVERY_NUMBERS], slopes: Option<&Slopes>) {
        self.lines.truncate(self.own);
        let Some(slopes) = slopes else { return };
        for (quantity, reading) in &self.bent {
            let place = quantity.place();
            if let (Some(slope), Some(value)) = (slopes.slope.get(place), slopes.value.get(place)) {
                let there: f64 = slope.iter().zip(about).map(|(s, x)| s * x).sum();
                self.lines.push(Line { slope: *slope, offset: value - there, reading: *reading });
            }
        }
    }
}
