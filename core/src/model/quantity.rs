//! The measured quantities: one type each, so that a launch angle can't be
//! taken for a face angle and a value out of range can't exist.
//!
//! All are SI (or degrees, rpm and mm, as the trade measures them), with the
//! unit in the accessor's name. The ranges are the widest that a real shot
//! could give, so that only slips of unit or typing are refused.

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:ident, $field:literal, $low:literal ..= $high:literal $shown:literal, $reason:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// What is allowed, and why.
            pub const RANGE: Range = Range {
                field: $field,
                low: $low,
                high: $high,
                unit: $shown,
                reason: $reason,
            };

            /// The quantity, if the value is within [`Self::RANGE`].
            ///
            /// # Errors
            /// A [`Refusal`] that names the range and its reason.
            pub fn new(value: f64) -> Result<Self, Refusal> {
                Self::RANGE.check(value).map(Self)
            }

            /// The value in the unit of its name.
            pub const fn $unit(self) -> f64 {
                self.0
            }
        }

        impl TryFrom<f64> for $name {
            type Error = Refusal;
            fn try_from(value: f64) -> Result<Self, Refusal> {
                Self::new(value)
            }
        }

        impl From<$name> for f64 {
            fn from(value: $name) -> f64 {
                value.0
            }
        }
    };
}

quantity!(
    /// Speed of the head's balance point just before impact.
    HeadSpeed, mps, "head speed", 5.0..=75.0 "m/s",
    "the fastest swings of long-drive contests stay under 70 m/s, 157 mph"
);
quantity!(
    /// Speed of the ball as it leaves the face.
    BallSpeed, mps, "ball speed", 5.0..=115.0 "m/s",
    "about 1.5 times the fastest head speed"
);
quantity!(
    /// Angle of the ball's first path above the ground.
    Launch, deg, "launch", -10.0..=60.0 "deg",
    "a driver's ball; a topped one starts a little downward"
);
quantity!(
    /// Direction in which the ball starts; right of the target is positive.
    Start, deg, "start", -60.0..=60.0 "deg",
    "beyond that the ball did not go down the range"
);
quantity!(
    /// Backspin; a topped ball has a negative one.
    Backspin, rpm, "backspin", -6000.0..=15000.0 "rpm",
    "three times what a driver gives"
);
quantity!(
    /// Sidespin; positive curves to the right.
    Sidespin, rpm, "sidespin", -8000.0..=8000.0 "rpm",
    "three times what a driver gives"
);
quantity!(
    /// Carry: down the target line, to where the ball first comes down.
    Carry, m, "carry", 0.0..=450.0 "m",
    "beyond the longest carries on record"
);
quantity!(
    /// Where the ball came down beside the target line; right is positive.
    Side, m, "side", -200.0..=200.0 "m",
    "beyond that the ball did not go down the range"
);
quantity!(
    /// Where the ball came down beside the line it started on; right is positive.
    Curve, m, "curve", -200.0..=200.0 "m",
    "beyond that the ball did not go down the range"
);
quantity!(
    /// Angle of the club's path at impact; right of the target is positive.
    Path, deg, "path", -30.0..=30.0 "deg",
    "beyond any swing that meets the ball"
);
quantity!(
    /// Where the face points at impact; right of the target is positive.
    FaceAngle, deg, "face angle", -45.0..=45.0 "deg",
    "beyond any swing that meets the ball"
);
quantity!(
    /// Angle at which the head comes into the ball; upward is positive.
    Attack, deg, "attack", -20.0..=20.0 "deg",
    "beyond any swing with a driver"
);
quantity!(
    /// Loft of the face at impact.
    DynamicLoft, deg, "dynamic loft", -5.0..=45.0 "deg",
    "a driver's loft with the shaft leant as far as a swing allows"
);
quantity!(
    /// Loft built into a club.
    Loft, deg, "loft", 4.0..=25.0 "deg",
    "drivers and strong fairway woods as they are built"
);
quantity!(
    /// Strike toward the toe from the face centre; toward the heel negative.
    Toe, mm, "strike toward toe", -63.5..=63.5 "mm",
    "half of 127 mm, the longest head that the Equipment Rules allow"
);
quantity!(
    /// Strike toward the crown from the face centre; toward the sole negative.
    High, mm, "strike toward crown", -36.0..=36.0 "mm",
    "half of 71.12 mm, the tallest head that the Equipment Rules allow, rounded up"
);
quantity!(
    /// Standard error of a strike mark's reading along each axis.
    MarkSigma, mm, "reading error", 0.0..=30.0 "mm",
    "a reading less sure than that says nothing about a face 120 mm wide"
);
quantity!(
    /// Length of a club.
    ClubLength, m, "club length", 0.9..=1.2192 "m",
    "a driver; at most 48 in, the Equipment Rules' limit"
);
quantity!(
    /// Mass of a club's head.
    HeadMass, kg, "head mass", 0.1..=0.3 "kg",
    "drivers as they are built weigh about 0.2 kg"
);
quantity!(
    /// Width of a face from heel end to toe end.
    FaceWidth, mm, "face width", 60.0..=127.0 "mm",
    "at most 127 mm heel to toe, the Equipment Rules' limit"
);
quantity!(
    /// Height of a face from sole edge to crown edge.
    FaceHeight, mm, "face height", 25.0..=71.12 "mm",
    "at most 71.12 mm sole to crown, the Equipment Rules' limit"
);
quantity!(
    /// Radius of a face's bulge (heel to toe) or roll (sole to crown).
    FaceRadius, mm, "bulge or roll radius", 100.0..=2000.0 "mm",
    "drivers are built with about 300 mm; beyond 2 m a face is flat"
);
quantity!(
    /// Moment of inertia of a head about one axis.
    Inertia, gcm2, "moment of inertia", 500.0..=6000.0 "g cm2",
    "at most 5900 g cm2 with a tolerance of 100, the Equipment Rules' limit"
);
quantity!(
    /// Depth of a head's balance point behind the face centre.
    BalanceDepth, mm, "balance point depth", 5.0..=80.0 "mm",
    "inside a head"
);
quantity!(
    /// Offset of a head's balance point from the face centre, toward crown or toe.
    BalanceOffset, mm, "balance point offset", -30.0..=30.0 "mm",
    "inside a head"
);
quantity!(
    /// Radius around the target point within which a strike counts as centred.
    CentreRadius, mm, "centre radius", 2.0..=40.0 "mm",
    "from about a dimple's half to half a face"
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strike_is_valid_within_the_largest_head_allowed_and_not_beyond() {
        assert!(Toe::new(63.0).is_ok() && High::new(-35.5).is_ok());
        assert!(Toe::new(64.0).is_err() && High::new(37.0).is_err());
    }

    #[test]
    fn miles_an_hour_given_as_metres_a_second_are_refused_with_the_reason() {
        let said = HeadSpeed::new(98.0).unwrap_err().to_string();
        assert!(said.contains("5 to 75 m/s") && said.contains("long-drive"), "{said}");
    }

    #[test]
    fn an_invalid_quantity_can_not_come_in_through_json() {
        assert!(serde_json::from_str::<Toe>("200").is_err());
        assert!(serde_json::from_str::<Toe>("12.5").is_ok());
    }
}
