//! The delivery: what the club did at impact, and where it met the ball.
//!
//! Angles are positive to the right of the target and upward, for both hands;
//! the strike is positive toward toe and crown, for both hands. Start at
//! [`Delivery`].

use serde::{Deserialize, Serialize};

use super::error::{FlightError, Limits};

/// Which side the player plays from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    /// Plays right-handed.
    #[default]
    Right,
    /// Plays left-handed.
    Left,
}

impl Hand {
    /// 1 for right-handers, -1 for left-handers: the toe points right times this.
    pub const fn sign(self) -> f64 {
        match self {
            Self::Right => 1.0,
            Self::Left => -1.0,
        }
    }
}

/// What the club did at impact.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Delivery {
    /// Speed of the head's balance point just before impact, m/s.
    pub head_speed_mps: f64,
    /// Loft of the face at impact at its centre, deg.
    pub loft_deg: f64,
    /// Where the face points at its centre, deg, right of the target positive.
    pub face_deg: f64,
    /// Direction of the head's path, deg, right of the target positive.
    pub path_deg: f64,
    /// Rise of the head's path, deg, upward positive.
    pub attack_deg: f64,
    /// Strike toward the toe from the face centre, mm.
    pub toe_mm: f64,
    /// Strike toward the crown from the face centre, mm.
    pub high_mm: f64,
}

impl Default for Delivery {
    /// The centre of sources.md's assumed prior (section 4), struck in the face centre.
    fn default() -> Self {
        Self {
            head_speed_mps: 42.0,
            loft_deg: 13.5,
            face_deg: 0.0,
            path_deg: 0.0,
            attack_deg: 0.0,
            toe_mm: 0.0,
            high_mm: 0.0,
        }
    }
}

pub(super) const HEAD_SPEED: Limits = Limits {
    what: "head speed",
    unit: "m/s",
    low: 1.0,
    high: 75.0,
    reason: "the fastest swings of long-drive contests stay under 70 m/s, 157 mph (common practice, no source)",
    remedy: "give it in metres a second, or say mph",
};
pub(super) const LOFT: Limits = Limits {
    what: "dynamic loft",
    unit: "deg",
    low: -10.0,
    high: 75.0,
    reason: "from a hooded driver to an opened wedge",
    remedy: "give the loft of the face at impact, in degrees",
};
pub(super) const FACE: Limits = Limits {
    what: "face angle",
    unit: "deg",
    low: -45.0,
    high: 45.0,
    reason: "beyond any swing that meets the ball",
    remedy: "give it in degrees from the target line, right positive",
};
pub(super) const PATH: Limits = Limits {
    what: "path",
    unit: "deg",
    low: -45.0,
    high: 45.0,
    reason: "beyond any swing that meets the ball",
    remedy: "give it in degrees from the target line, right positive",
};
pub(super) const ATTACK: Limits = Limits {
    what: "attack angle",
    unit: "deg",
    low: -30.0,
    high: 30.0,
    reason: "beyond any swing that meets a teed ball",
    remedy: "give it in degrees, upward positive",
};
pub(super) const TOE: Limits = Limits {
    what: "strike toward the toe",
    unit: "mm",
    low: -63.5,
    high: 63.5,
    reason: "half of 127 mm, the longest head that the Equipment Rules allow",
    remedy: "measure from the face centre, toward the toe positive",
};
pub(super) const HIGH: Limits = Limits {
    what: "strike toward the crown",
    unit: "mm",
    low: -36.0,
    high: 36.0,
    reason: "half of 71.12 mm, the tallest head that the Equipment Rules allow, rounded up",
    remedy: "measure from the face centre, toward the crown positive",
};

impl Delivery {
    /// Whether every number is possible.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] with the limit and its reason.
    pub fn check(&self) -> Result<(), FlightError> {
        HEAD_SPEED.check(self.head_speed_mps)?;
        LOFT.check(self.loft_deg)?;
        FACE.check(self.face_deg)?;
        PATH.check(self.path_deg)?;
        ATTACK.check(self.attack_deg)?;
        TOE.check(self.toe_mm)?;
        HIGH.check(self.high_mm)
    }

    /// The same swing struck elsewhere on the face.
    #[must_use]
    pub fn struck_at(&self, toe_mm: f64, high_mm: f64) -> Self {
        Self { toe_mm, high_mm, ..*self }
    }
}

/// The delivery of seven numbers in order, each kept within its limits; of a swing
/// that was learned from balls, one in many thousands is moved.
pub(crate) fn possible(numbers: [f64; 7]) -> Delivery {
    let limits = [HEAD_SPEED, LOFT, FACE, PATH, ATTACK, TOE, HIGH];
    let mut kept = numbers;
    for (number, limit) in kept.iter_mut().zip(limits) {
        *number = number.max(limit.low).min(limit.high);
    }
    let [head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm] = kept;
    Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strike_off_the_largest_allowed_head_is_refused_with_the_rule() {
        let said = Delivery::default().struck_at(70.0, 0.0).check().unwrap_err().to_string();
        assert!(said.contains("-63.5 to 63.5 mm") && said.contains("Equipment Rules"), "{said}");
    }

    #[test]
    fn a_number_that_is_none_is_refused_in_every_place() {
        let good = Delivery::default();
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            for wrong in [
                Delivery { head_speed_mps: bad, ..good },
                Delivery { loft_deg: bad, ..good },
                Delivery { face_deg: bad, ..good },
                Delivery { path_deg: bad, ..good },
                Delivery { attack_deg: bad, ..good },
                Delivery { toe_mm: bad, ..good },
                Delivery { high_mm: bad, ..good },
            ] {
                assert!(wrong.check().is_err(), "{wrong:?}");
            }
        }
        assert!(Delivery { head_speed_mps: -45.0, ..good }.check().is_err());
    }
}
