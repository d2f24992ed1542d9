//! A first estimate of how far a ball runs after it comes down.
//!
//! Assumed throughout: no measured run of drives was found that could test it.
//! It keeps the signs right (steep landings and backspin shorten the run) and
//! shows a wide band; nothing else may be built on it. Start at [`roll_out`].

use serde::{Deserialize, Serialize};

use super::ball::BALL_RADIUS_M;
use super::math::{RAD_PER_DEG, RPM_PER_RADPS, sin_cos};
use super::trajectory::{Ending, Flight};

/// How a ball loses its speed over bounces and roll together, m/s2 (assumed).
const SLOWING_MPS2: f64 = 6.5;
/// The same on firm and on soft turf (assumed): the ends of the band.
const SLOWING_BAND_MPS2: [f64; 2] = [4.0, 11.0];

/// An assumed run on level turf.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RollOut {
    /// First estimate of the run, m.
    pub estimate_m: f64,
    /// On soft turf, m.
    pub low_m: f64,
    /// On firm turf, m.
    pub high_m: f64,
}

/// The run after a flight; none where the ball didn't land from a flight.
///
/// The first touch is taken to leave the ball rolling: of its level speed v and
/// backspin w, (5 v - 2 R w) / 7 remain (a uniform ball; mechanics, status D).
/// What is left is lost at an even, assumed rate. A ball that would spin back stays.
pub fn roll_out(flight: &Flight) -> Option<RollOut> {
    if flight.ending != Ending::Landed {
        return None;
    }
    let (_, level) = sin_cos(flight.landing_deg * RAD_PER_DEG);
    let spin = flight.landing_spin_rpm / RPM_PER_RADPS;
    let rolling = (5.0 * flight.landing_speed_mps * level - 2.0 * BALL_RADIUS_M * spin) / 7.0;
    let run = |slowing: f64| if rolling > 0.0 { rolling * rolling / (2.0 * slowing) } else { 0.0 };
    let [firm, soft] = SLOWING_BAND_MPS2;
    Some(RollOut { estimate_m: run(SLOWING_MPS2), low_m: run(soft), high_m: run(firm) })
}

#[cfg(test)]
mod tests {
    use super::super::{Conditions, FiveConstantLaw, Flier, Launch};
    use super::*;

    fn run(launch_deg: f64, backspin_rpm: f64) -> RollOut {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let launch = Launch {
            ball_speed_mps: 66.0,
            launch_deg,
            start_deg: 0.0,
            backspin_rpm,
            sidespin_rpm: 0.0,
            rifle_rpm: 0.0,
        };
        roll_out(&flier.fly(&launch).unwrap()).unwrap()
    }

    #[test]
    fn steep_landings_and_more_backspin_shorten_the_run_and_the_band_holds_it() {
        // Common practice, no source: signs only.
        let flat = run(8.0, 2500.0);
        assert!(run(20.0, 2500.0).estimate_m < flat.estimate_m);
        assert!(run(8.0, 4000.0).estimate_m < flat.estimate_m);
        assert!(flat.low_m < flat.estimate_m && flat.estimate_m < flat.high_m);
    }

    #[test]
    fn a_ball_that_never_flew_has_no_run() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let launch = Launch {
            ball_speed_mps: 40.0,
            launch_deg: -4.0,
            start_deg: 0.0,
            backspin_rpm: 0.0,
            sidespin_rpm: 0.0,
            rifle_rpm: 0.0,
        };
        assert!(roll_out(&flier.fly(&launch).unwrap()).is_none());
    }
}
