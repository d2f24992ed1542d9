//! What can't be computed, and what to do about it.
//!
//! Every error names the quantity, the value, the allowed range with its
//! reason, and what to do. Start at [`FlightError`].

/// An input that the physics refuses, or a question without an answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlightError {
    /// A number outside its allowed range, or not a number.
    #[error(
        "{what} is {value}{0}; allowed is {low} to {high}{0} ({reason}); {remedy}",
        if unit.is_empty() { String::new() } else { format!(" {unit}") }
    )]
    OutOfRange {
        /// The quantity, in the words of the trade.
        what: &'static str,
        /// The value as given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Lowest allowed value.
        low: f64,
        /// Highest allowed value.
        high: f64,
        /// Why the limits are where they are.
        reason: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// A club that the Equipment Rules don't allow.
    #[error(
        "the club breaks the Equipment Rules: {0}; use a club within them, or ask for the result with a warning"
    )]
    NonConforming(Breach),
    /// The face turns away from the ball as the head moves.
    #[error(
        "the head does not move into its own face: it would meet the ball at {closing_mps} m/s along the face normal, and at least 1 m/s is needed; check the signs of loft, face, path and attack"
    )]
    NoContact {
        /// Speed along the face normal at the strike, m/s.
        closing_mps: f64,
    },
    /// One of many shots is at fault.
    #[error("shot {row} (counted from 0): {source}")]
    Row {
        /// Which, counted from 0.
        row: usize,
        /// What is wrong with it.
        source: Box<FlightError>,
    },
    /// The list for the results is not as long as the list of shots.
    #[error("{shots} shots but room for {room} results; make both lists equally long")]
    Room {
        /// Number of shots.
        shots: usize,
        /// Number of results.
        room: usize,
    },
    /// Nothing was read that says anything about the delivery.
    #[error("nothing was read of this shot; give at least one reading of the delivery or the flight")]
    NothingRead,
    /// Nothing was read of any of several shots that says anything about the swing.
    #[error(
        "no ball has a reading that says anything about the swing; log marks, speeds, starts or curves, whatever can be read"
    )]
    NothingReadOfAny,
    /// A reading that is not a number.
    #[error("{what} is {value}; a reading is a finite number: leave it out where nothing was read")]
    NotANumber {
        /// The quantity.
        what: &'static str,
        /// The value as given.
        value: f64,
    },
    /// A reading whose error is 0, negative or not a number.
    #[error(
        "the error of {what} is {sigma}; it has to be above 0, because a reading without any error can't be weighed against others: give its standard error, or leave it out for the assumed one"
    )]
    WithoutError {
        /// The quantity.
        what: &'static str,
        /// The error as given.
        sigma: f64,
    },
    /// A bin whose ends are the wrong way round.
    #[error("{what}: the bin runs from {low} to {high}; give the lower end first")]
    Bin {
        /// The quantity.
        what: &'static str,
        /// Lower end as given.
        low: f64,
        /// Upper end as given.
        high: f64,
    },
    /// The readings contradict each other beyond the physics.
    #[error("no delivery was found that fits the readings; look for a slip of unit or sign in them")]
    NoFit,
}

/// A way in which a club is outside the Equipment Rules or an option of them.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Breach {
    /// Longer than 48 in.
    #[error(
        "length {length_m} m is above 1.2192 m (48 in), the limit for all clubs but putters (Equipment Rules Part 2; R&A club length protocol)"
    )]
    TooLong {
        /// Length, m.
        length_m: f64,
    },
    /// Shorter than 18 in.
    #[error("length {length_m} m is below 0.4572 m (18 in), the least length (Equipment Rules Part 2)")]
    TooShort {
        /// Length, m.
        length_m: f64,
    },
    /// Longer than the optional 46 in.
    #[error(
        "length {length_m} m is above 1.1684 m (46 in): allowed, except where a committee has chosen Model Local Rule G-10"
    )]
    LocalRuleLength {
        /// Length, m.
        length_m: f64,
    },
    /// Moment of inertia above the limit.
    #[error(
        "moment of inertia about the vertical axis {inertia_gcm2} g cm2 is above 5900 with its tolerance of 100 (rule makers' clubhead moment of inertia limit)"
    )]
    Inertia {
        /// Moment of inertia about the axis up the face, g cm2.
        inertia_gcm2: f64,
    },
    /// Face wider than any allowed head.
    #[error("face width {width_mm} mm is above 127 mm heel to toe (Equipment Rules Part 2, 4b)")]
    FaceWidth {
        /// Width, mm.
        width_mm: f64,
    },
    /// Face taller than any allowed head.
    #[error("face height {height_mm} mm is above 71.12 mm sole to crown (Equipment Rules Part 2, 4b)")]
    FaceHeight {
        /// Height, mm.
        height_mm: f64,
    },
}

impl Breach {
    /// Whether play under the Rules is excluded always, not only under an
    /// option that a committee may choose.
    pub fn always(self) -> bool {
        !matches!(self, Self::LocalRuleLength { .. })
    }
}

/// The allowed range of one quantity, ends included, with its reason.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    pub what: &'static str,
    pub unit: &'static str,
    pub low: f64,
    pub high: f64,
    pub reason: &'static str,
    pub remedy: &'static str,
}

/// The allowed range of something that is asked, not read.
pub(crate) fn asked(
    what: &'static str,
    unit: &'static str,
    low: f64,
    high: f64,
    reason: &'static str,
) -> Limits {
    Limits { what, unit, low, high, reason, remedy: "ask for one within them" }
}

impl Limits {
    /// Nothing, or the error that says what is wrong.
    pub fn check(&self, value: f64) -> Result<(), FlightError> {
        if value >= self.low && value <= self.high {
            return Ok(());
        }
        Err(FlightError::OutOfRange {
            what: self.what,
            value,
            unit: self.unit,
            low: self.low,
            high: self.high,
            reason: self.reason,
            remedy: self.remedy,
        })
    }
}
