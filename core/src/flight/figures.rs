//! The figures of one shot under their names and units, for programs and pages.
//!
//! The rule: what was not computed is absent, never 0. Start at [`Figures::of`]
//! for a shot from a delivery, [`Figures::of_flight`] for one from a launch.

use serde::Serialize;

use super::ball::Launch;
use super::batch::Shot;
use super::rollout::{RollOut, roll_out};
use super::split::Band;
use super::trajectory::{Ending, Flight, OutOfFit};

/// One shot's figures, in the order in which they are read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figures {
    /// Ball speed, m/s.
    pub ball_speed_mps: f64,
    /// Angle of the first path above the ground, deg.
    pub launch_deg: f64,
    /// Direction of the first path, deg, right positive.
    pub start_deg: f64,
    /// Backspin, rpm.
    pub backspin_rpm: f64,
    /// Sidespin, rpm, positive curves to the right.
    pub sidespin_rpm: f64,
    /// Tilt of the spin axis, deg.
    pub axis_deg: f64,
    /// Carry down the target line, m; like the four below, absent where the
    /// flight could not be followed to its end.
    pub carry_m: Option<f64>,
    /// Right of the target line there, m.
    pub lateral_m: Option<f64>,
    /// Highest point, m.
    pub apex_m: Option<f64>,
    /// Time in the air, s.
    pub time_s: Option<f64>,
    /// Angle of the path below the horizon at the landing, deg.
    pub landing_deg: Option<f64>,
    /// Whether the ball slipped along the face; absent where no impact was computed.
    pub slipped: Option<bool>,
    /// Whether the flight left the range that its law was fitted in.
    pub out_of_range: bool,
    /// In which way it did.
    pub out_of_fit: OutOfFit,
    /// How the flight ended.
    pub ending: Ending,
    /// Landing right of the start line, m.
    pub curve_m: Option<f64>,
    /// An assumed run after the landing; absent where there is none.
    pub assumed_run: Option<RollOut>,
    /// How far sidespin and curve can be trusted off the face's centre; absent
    /// where no impact was computed.
    pub band: Option<Band>,
}

impl Figures {
    /// Of a shot from a delivery, with its band.
    pub fn of(shot: &Shot, band: Band) -> Self {
        let Shot { launch, slipped, flight } = shot;
        Self { slipped: Some(*slipped), band: Some(band), ..Self::of_flight(launch, flight) }
    }

    /// Of a flight from a launch.
    pub fn of_flight(launch: &Launch, flight: &Flight) -> Self {
        let ended = |value: f64| (flight.ending != Ending::Unfinished).then_some(value);
        Self {
            ball_speed_mps: launch.ball_speed_mps,
            launch_deg: launch.launch_deg,
            start_deg: launch.start_deg,
            backspin_rpm: launch.backspin_rpm,
            sidespin_rpm: launch.sidespin_rpm,
            axis_deg: launch.axis_deg(),
            carry_m: ended(flight.carry_m),
            lateral_m: ended(flight.lateral_m),
            apex_m: ended(flight.apex_m),
            time_s: ended(flight.time_s),
            landing_deg: ended(flight.landing_deg),
            slipped: None,
            out_of_range: flight.out_of_fit.any(),
            out_of_fit: flight.out_of_fit,
            ending: flight.ending,
            curve_m: ended(flight.curve_m(launch.start_deg)),
            assumed_run: roll_out(flight),
            band: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Conditions, FiveConstantLaw, Flier};
    use super::*;

    #[test]
    fn an_unfinished_flight_has_no_landing_and_a_launch_no_impact() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let launch = Launch {
            ball_speed_mps: 66.0,
            launch_deg: 10.0,
            start_deg: 2.0,
            backspin_rpm: 2500.0,
            sidespin_rpm: -300.0,
            rifle_rpm: 0.0,
        };
        let flight = flier.fly(&launch).unwrap();
        let figures = Figures::of_flight(&launch, &flight);
        assert_eq!(figures.carry_m, Some(flight.carry_m));
        assert!(figures.slipped.is_none() && figures.band.is_none() && figures.assumed_run.is_some());
        let lost = Figures::of_flight(&launch, &Flight { ending: Ending::Unfinished, ..flight });
        assert!(lost.carry_m.is_none() && lost.time_s.is_none() && lost.assumed_run.is_none());
    }
}
