//! What was seen of one shot: readings with their errors, and judgements by eye.
//!
//! Each reading gives a penalty on what the model predicts: the negative log of
//! its likelihood, with two derivatives, always convex. Start at [`Seen`].

use serde::{Deserialize, Serialize};

use super::error::FlightError;

/// Something that can be read of a shot; unit and sign as in
/// [`Delivery`](super::Delivery), [`Launch`](super::Launch) and [`Flight`](super::Flight).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Head speed, m/s.
    HeadSpeed,
    /// Dynamic loft, deg.
    Loft,
    /// Face angle, deg.
    Face,
    /// Path, deg.
    Path,
    /// Attack angle, deg.
    Attack,
    /// Strike toward the toe, mm.
    Toe,
    /// Strike toward the crown, mm.
    High,
    /// Ball speed, m/s.
    BallSpeed,
    /// Launch angle, deg.
    Launch,
    /// Start direction, deg.
    Start,
    /// Backspin, rpm.
    Backspin,
    /// Sidespin, rpm.
    Sidespin,
    /// Carry, m.
    Carry,
    /// Landing right of the target line, m.
    Lateral,
    /// Landing right of the start line, m.
    Curve,
}

/// How many kinds of reading there are.
pub const QUANTITIES: usize = 15;
/// The first of them are the delivery itself.
pub const DELIVERY_NUMBERS: usize = 7;

impl Quantity {
    /// All of them, in order.
    pub const ALL: [Self; QUANTITIES] = [
        Self::HeadSpeed,
        Self::Loft,
        Self::Face,
        Self::Path,
        Self::Attack,
        Self::Toe,
        Self::High,
        Self::BallSpeed,
        Self::Launch,
        Self::Start,
        Self::Backspin,
        Self::Sidespin,
        Self::Carry,
        Self::Lateral,
        Self::Curve,
    ];

    /// Place in [`Self::ALL`].
    pub const fn place(self) -> usize {
        self as usize
    }

    /// Whether a flight must be computed to predict it.
    pub const fn needs_flight(self) -> bool {
        matches!(self, Self::Carry | Self::Lateral | Self::Curve)
    }

    /// Its name in the words of the trade, with the unit.
    pub const fn name(self) -> &'static str {
        match self {
            Self::HeadSpeed => "head speed (m/s)",
            Self::Loft => "dynamic loft (deg)",
            Self::Face => "face angle (deg)",
            Self::Path => "path (deg)",
            Self::Attack => "attack angle (deg)",
            Self::Toe => "strike toward the toe (mm)",
            Self::High => "strike toward the crown (mm)",
            Self::BallSpeed => "ball speed (m/s)",
            Self::Launch => "launch (deg)",
            Self::Start => "start direction (deg)",
            Self::Backspin => "backspin (rpm)",
            Self::Sidespin => "sidespin (rpm)",
            Self::Carry => "carry (m)",
            Self::Lateral => "side (m)",
            Self::Curve => "curve (m)",
        }
    }

    /// Standard error of a number read off a device or measured by hand, where
    /// it brought none of its own. Assumed: nothing published was found. Carry
    /// and what is seen at the landing also cover the spread between balls (F3).
    pub const fn assumed_sigma(self) -> f64 {
        match self {
            Self::HeadSpeed => 0.9,
            Self::Loft | Self::Face | Self::Path | Self::Attack => 1.0,
            Self::Toe | Self::High => 2.0,
            Self::BallSpeed | Self::Launch | Self::Start => 0.7,
            Self::Backspin => 200.0,
            Self::Sidespin => 150.0,
            Self::Carry => 8.0,
            Self::Lateral | Self::Curve => 5.0,
        }
    }
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading {
    /// A number with its standard error.
    Number {
        /// The number.
        value: f64,
        /// Its standard error, above 0.
        sigma: f64,
    },
    /// Somewhere between two ends, as judged by eye. An end may be infinite.
    Bin {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// How unsure the ends are, as a standard error above 0.
        blur: f64,
    },
}

/// Everything that was seen of one shot.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Seen {
    readings: [Option<Reading>; QUANTITIES],
}

/// Ends of the five bins of a start line by eye, deg (assumed).
const START_ENDS_DEG: [f64; 6] = [f64::NEG_INFINITY, -6.0, -2.0, 2.0, 6.0, f64::INFINITY];
/// How unsure the eye is of them, deg (assumed).
const START_BLUR_DEG: f64 = 1.5;
/// Ends of the five bins of a curve by eye, m at the landing (assumed).
const CURVE_ENDS_M: [f64; 6] = [f64::NEG_INFINITY, -20.0, -6.0, 6.0, 20.0, f64::INFINITY];
/// How unsure the eye is of them, m (assumed).
const CURVE_BLUR_M: f64 = 4.0;

impl Seen {
    /// Nothing seen yet.
    pub fn nothing() -> Self {
        Self::default()
    }

    /// With one more reading; a second reading of the same quantity replaces the first.
    ///
    /// # Errors
    /// [`FlightError::NotANumber`] or [`FlightError::WithoutError`] for a number
    /// or an error that is none, [`FlightError::Bin`] for ends in the wrong order.
    pub fn with(mut self, quantity: Quantity, reading: Reading) -> Result<Self, FlightError> {
        let what = quantity.name();
        let error = match reading {
            Reading::Number { value, sigma } => {
                if !value.is_finite() {
                    return Err(FlightError::NotANumber { what, value });
                }
                sigma
            }
            Reading::Bin { low, high, blur } => {
                // Not low < high also catches ends that are no numbers.
                if low.partial_cmp(&high) != Some(core::cmp::Ordering::Less) {
                    return Err(FlightError::Bin { what, low, high });
                }
                blur
            }
        };
        if !(error.is_finite() && error > 0.0) {
            return Err(FlightError::WithoutError { what, sigma: error });
        }
        if let Some(slot) = self.readings.get_mut(quantity.place()) {
            *slot = Some(reading);
        }
        Ok(self)
    }

    /// With a number whose error is the assumed one of its kind.
    ///
    /// # Errors
    /// As [`Self::with`].
    pub fn with_number(self, quantity: Quantity, value: f64) -> Result<Self, FlightError> {
        self.with(quantity, Reading::Number { value, sigma: quantity.assumed_sigma() })
    }

    /// With the start line as judged by eye: from -2, far left, over 0,
    /// straight, to 2, far right. Bins and their blur are assumed.
    #[must_use]
    pub fn with_start_by_eye(self, step: i8) -> Self {
        self.by_eye(Quantity::Start, step, START_ENDS_DEG, START_BLUR_DEG)
    }

    /// With the curve as judged by eye: from -2, strongly left, to 2, strongly
    /// right. Bins and their blur are assumed.
    #[must_use]
    pub fn with_curve_by_eye(self, step: i8) -> Self {
        self.by_eye(Quantity::Curve, step, CURVE_ENDS_M, CURVE_BLUR_M)
    }

    fn by_eye(mut self, quantity: Quantity, step: i8, ends: [f64; 6], blur: f64) -> Self {
        let bin = usize::try_from(step.clamp(-2, 2) + 2).unwrap_or(2);
        if let (Some(&low), Some(&high), Some(slot)) =
            (ends.get(bin), ends.get(bin + 1), self.readings.get_mut(quantity.place()))
        {
            *slot = Some(Reading::Bin { low, high, blur });
        }
        self
    }

    /// The reading of a quantity, if there is one.
    pub fn of(&self, quantity: Quantity) -> Option<Reading> {
        self.readings.get(quantity.place()).copied().flatten()
    }

    /// All readings.
    pub fn all(&self) -> impl Iterator<Item = (Quantity, Reading)> + '_ {
        Quantity::ALL.into_iter().zip(self.readings).filter_map(|(q, r)| r.map(|r| (q, r)))
    }
}

/// Negative log likelihood of a prediction, its slope and its curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Penalty {
    pub value: f64,
    pub slope: f64,
    pub bend: f64,
}

/// What a reading says of a quantity that is believed to lie somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct News {
    /// Where it pulls the mean, in units of the belief's variance.
    pub pull: f64,
    /// By how much it narrows the belief, in units of the variance squared.
    pub bend: f64,
}

impl Reading {
    /// What it says of a quantity believed to be normal with a mean and a
    /// variance: the belief's mean moves by `variance * pull`, its variance falls
    /// by `variance^2 * bend`. Exact for a number; for a bin these are the exact
    /// moments of the belief after it (assumed-density filtering, Minka, UAI 2001).
    pub fn news(&self, mean: f64, variance: f64) -> News {
        let wide = |error: f64| (error * error + variance).sqrt();
        let widened = match *self {
            Self::Number { value, sigma } => Self::Number { value, sigma: wide(sigma) },
            Self::Bin { low, high, blur } => Self::Bin { low, high, blur: wide(blur) },
        };
        let penalty = widened.penalty(mean);
        News { pull: -penalty.slope, bend: penalty.bend }
    }

    pub(super) fn penalty(&self, predicted: f64) -> Penalty {
        match *self {
            Self::Number { value, sigma } => {
                let z = (predicted - value) / sigma;
                Penalty { value: 0.5 * z * z, slope: z / sigma, bend: 1.0 / (sigma * sigma) }
            }
            Self::Bin { low, high, blur } => bin(predicted, low, high, blur),
        }
    }
}

/// -ln of the chance that a normal variable around `predicted` lies in the bin.
fn bin(predicted: f64, low: f64, high: f64, blur: f64) -> Penalty {
    /// Beyond this many standard errors the tail's expansion is exact enough.
    const FAR: f64 = 25.0;
    const ROOT_TAU: f64 = 2.506_628_274_631_000_7;
    let (a, b) = ((low - predicted) / blur, (high - predicted) / blur);
    if a > FAR || b < -FAR {
        let (z, sign) = if a > FAR { (a, -1.0) } else { (-b, 1.0) };
        let slope = sign * (z + 1.0 / z) / blur;
        let bend = (1.0 - 1.0 / (z * z)) / (blur * blur);
        return Penalty { value: 0.5 * z * z + libm::log(z * ROOT_TAU), slope, bend };
    }
    // In the tail, differences of the nearer side keep their digits.
    let share = if a > 0.0 { below(-a) - below(-b) } else { below(b) - below(a) };
    let share = share.max(f64::MIN_POSITIVE);
    let density = |z: f64| if z.is_finite() { libm::exp(-0.5 * z * z) / ROOT_TAU } else { 0.0 };
    let moment = |z: f64| if z.is_finite() { z * density(z) } else { 0.0 };
    let slope = (density(b) - density(a)) / (share * blur);
    let bend = (moment(b) - moment(a)) / (share * blur * blur) + slope * slope;
    Penalty { value: -libm::log(share), slope, bend: bend.max(0.0) }
}

/// Chance of a standard normal variable below `z`.
fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slope_and_bend_of_every_kind_of_reading_are_its_derivatives() {
        let kinds = [
            Reading::Number { value: 3.0, sigma: 0.7 },
            Reading::Bin { low: -2.0, high: 2.0, blur: 1.5 },
            Reading::Bin { low: 6.0, high: f64::INFINITY, blur: 1.5 },
            Reading::Bin { low: f64::NEG_INFINITY, high: -6.0, blur: 0.5 },
        ];
        for reading in kinds {
            for at in [-30.0, -8.0, -3.0, 0.1, 1.0, 4.0, 9.0, 40.0] {
                let (h, p) = (1e-4, reading.penalty(at));
                let (up, down) = (reading.penalty(at + h), reading.penalty(at - h));
                let slope = (up.value - down.value) / (2.0 * h);
                let bend = (up.slope - down.slope) / (2.0 * h);
                assert!(
                    (slope - p.slope).abs() < 1e-4 * (1.0 + p.slope.abs()),
                    "{reading:?} {at}: {slope} {p:?}"
                );
                assert!(
                    (bend - p.bend).abs() < 1e-2 * (1.0 + p.bend.abs()),
                    "{reading:?} {at}: {bend} {p:?}"
                );
                assert!(p.bend >= 0.0 && p.value >= 0.0);
            }
        }
    }

    #[test]
    fn a_reading_without_error_or_a_bin_turned_round_is_refused() {
        let seen = Seen::nothing();
        let said = seen.with(Quantity::Carry, Reading::Number { value: 200.0, sigma: 0.0 }).unwrap_err();
        assert!(said.to_string().contains("carry (m) is 0; it has to be above 0"), "{said}");
        assert!(seen.with(Quantity::Carry, Reading::Number { value: f64::NAN, sigma: 1.0 }).is_err());
        let turned = Reading::Bin { low: 3.0, high: 1.0, blur: 1.0 };
        assert!(matches!(seen.with(Quantity::Start, turned), Err(FlightError::Bin { .. })));
        assert_eq!(seen.all().count(), 0);
    }

    #[test]
    fn judgements_by_eye_are_bins_that_meet_each_other() {
        let bin = |step| match Seen::nothing().with_start_by_eye(step).of(Quantity::Start) {
            Some(Reading::Bin { low, high, .. }) => (low, high),
            other => panic!("{other:?}"),
        };
        for step in -2..2 {
            assert!((bin(step).1 - bin(step + 1).0).abs() < 1e-12);
        }
        assert!(bin(0).0 < 0.0 && bin(0).1 > 0.0 && bin(-2).0.is_infinite());
    }
}
