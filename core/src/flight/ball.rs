//! The golf ball, and how it leaves the face.
//!
//! Start at [`Launch`]: the four or five numbers of a launch, which turn into
//! velocity and spin vectors for the flight and back.

use serde::{Deserialize, Serialize};

use super::error::{FlightError, Limits};
use super::math::{RAD_PER_DEG, RPM_PER_RADPS, atan2, sin_cos};
use super::real::Real;
use super::vec3::V3;

/// Largest mass of a ball, kg: 1.620 oz (Rules of Golf; sources.md R1, status L).
pub const BALL_MASS_KG: f64 = 0.045_93;
/// Radius of the smallest ball, m: half of 42.67 mm (sources.md R2, 7.1, status L).
pub const BALL_RADIUS_M: f64 = 0.021_336;
/// Moment of inertia of a uniform ball, kg m2: 2/5 m R^2 (sources.md R3, status L).
pub const BALL_INERTIA_KGM2: f64 = 0.4 * BALL_MASS_KG * BALL_RADIUS_M * BALL_RADIUS_M;

/// How a ball leaves the face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Launch {
    /// Ball speed, m/s.
    pub ball_speed_mps: f64,
    /// Angle of the first path above the ground, deg.
    pub launch_deg: f64,
    /// Direction of the first path, deg, right of the target positive.
    pub start_deg: f64,
    /// Backspin, rpm; negative is topspin.
    pub backspin_rpm: f64,
    /// Sidespin, rpm, positive curves to the right.
    pub sidespin_rpm: f64,
    /// Spin about the path, rpm; it moves no air and is 0 where unknown.
    #[serde(default)]
    pub rifle_rpm: f64,
}

impl Launch {
    /// Tilt of the spin axis, deg: the angle of sidespin against backspin.
    pub fn axis_deg(&self) -> f64 {
        atan2(self.sidespin_rpm, self.backspin_rpm) / RAD_PER_DEG
    }

    /// Whether every number is possible.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] with the limit and its reason.
    pub fn check(&self) -> Result<(), FlightError> {
        const REMEDY: &str = "check the unit and the sign";
        let spin = |what| Limits {
            what,
            unit: "rpm",
            low: -20_000.0,
            high: 20_000.0,
            reason: "twice what any club gives",
            remedy: REMEDY,
        };
        Limits {
            what: "ball speed",
            unit: "m/s",
            low: 0.5,
            high: 115.0,
            reason: "about 1.5 times the fastest head speed",
            remedy: REMEDY,
        }
        .check(self.ball_speed_mps)?;
        Limits {
            what: "launch",
            unit: "deg",
            low: -80.0,
            high: 80.0,
            reason: "steeper, a direction makes no sense",
            remedy: REMEDY,
        }
        .check(self.launch_deg)?;
        Limits {
            what: "start direction",
            unit: "deg",
            low: -85.0,
            high: 85.0,
            reason: "beyond that the ball did not go down the range",
            remedy: REMEDY,
        }
        .check(self.start_deg)?;
        spin("backspin").check(self.backspin_rpm)?;
        spin("sidespin").check(self.sidespin_rpm)?;
        spin("rifle spin").check(self.rifle_rpm)
    }
}

/// A ball in motion: velocity m/s and spin rad/s in the world frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion<R> {
    /// Velocity, m/s.
    pub velocity: V3<R>,
    /// Spin, rad/s, right-handed.
    pub spin: V3<R>,
}

/// A launch in several lanes: m/s, rad, rad/s.
#[derive(Debug, Clone, Copy)]
pub(super) struct LaunchOf<R> {
    pub speed: R,
    pub launch: R,
    pub start: R,
    pub backspin: R,
    pub sidespin: R,
    rifle: R,
}

impl<R: Real> LaunchOf<R> {
    /// From the launches' numbers, lane by lane.
    #[inline(always)]
    pub fn load(launch: impl Fn(usize) -> Launch) -> Self {
        Self {
            speed: R::from_fn(|i| launch(i).ball_speed_mps),
            launch: R::from_fn(|i| launch(i).launch_deg).times(RAD_PER_DEG),
            start: R::from_fn(|i| launch(i).start_deg).times(RAD_PER_DEG),
            backspin: R::from_fn(|i| launch(i).backspin_rpm).times(1.0 / RPM_PER_RADPS),
            sidespin: R::from_fn(|i| launch(i).sidespin_rpm).times(1.0 / RPM_PER_RADPS),
            rifle: R::from_fn(|i| launch(i).rifle_rpm).times(1.0 / RPM_PER_RADPS),
        }
    }

    /// One lane's launch in the trade's units.
    #[inline(always)]
    pub fn lane(&self, i: usize) -> Launch {
        Launch {
            ball_speed_mps: self.speed.lane(i),
            launch_deg: self.launch.lane(i) / RAD_PER_DEG,
            start_deg: self.start.lane(i) / RAD_PER_DEG,
            backspin_rpm: self.backspin.lane(i) * RPM_PER_RADPS,
            sidespin_rpm: self.sidespin.lane(i) * RPM_PER_RADPS,
            rifle_rpm: self.rifle.lane(i) * RPM_PER_RADPS,
        }
    }

    /// Velocity and spin: d along the path, s to its right, h above it.
    #[inline(always)]
    pub fn motion(&self) -> Motion<R> {
        let (sin_l, cos_l) = sin_cos(self.launch);
        let (sin_s, cos_s) = sin_cos(self.start);
        let d = V3::new(cos_l * cos_s, sin_l, cos_l * sin_s);
        let s = V3::new(-sin_s, R::splat(0.0), cos_s);
        let h = s.cross(d);
        Motion {
            velocity: d.scale(self.speed),
            spin: s.scale(self.backspin) - h.scale(self.sidespin) + d.scale(self.rifle),
        }
    }

    /// Launch numbers of a motion (sources.md 7.1, last lines).
    #[inline(always)]
    pub fn of(motion: &Motion<R>) -> Self {
        let (v, w) = (motion.velocity, motion.spin);
        let tiny = R::splat(1e-30);
        let level = (v.x * v.x + v.z * v.z).sqrt();
        let speed = v.length();
        let per_level = R::splat(1.0) / level.at_least(tiny);
        let per_speed = R::splat(1.0) / speed.at_least(tiny);
        let d = v.scale(per_speed);
        let s = V3::new(-(v.z * per_level), R::splat(0.0), v.x * per_level);
        let h = s.cross(d);
        Self {
            speed,
            launch: atan2(v.y, level),
            start: atan2(v.z, v.x),
            backspin: w.dot(s),
            sidespin: -w.dot(h),
            rifle: w.dot(d),
        }
    }
}

impl From<&Launch> for Motion<f64> {
    fn from(launch: &Launch) -> Self {
        LaunchOf::load(|_| *launch).motion()
    }
}

impl From<&Motion<f64>> for Launch {
    fn from(motion: &Motion<f64>) -> Self {
        LaunchOf::of(motion).lane(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ball_is_the_one_of_the_rules() {
        // sources.md R1 (1.620 oz), R2 (1.680 in), R3 (83.6 g cm2); status L.
        assert!((BALL_MASS_KG * 1e3 - 1.620 * 28.349_523_125).abs() < 0.01);
        assert!((2e3 * BALL_RADIUS_M - 1.680 * 25.4).abs() < 0.01);
        assert!((BALL_INERTIA_KGM2 * 1e7 / 83.63 - 1.0).abs() < 2e-3);
    }

    #[test]
    fn a_launch_survives_the_way_to_vectors_and_back() {
        let launch = Launch {
            ball_speed_mps: 66.0,
            launch_deg: 11.0,
            start_deg: -7.0,
            backspin_rpm: 2500.0,
            sidespin_rpm: -430.0,
            rifle_rpm: 50.0,
        };
        let back = Launch::from(&Motion::from(&launch));
        for (a, b) in [
            (launch.ball_speed_mps, back.ball_speed_mps),
            (launch.launch_deg, back.launch_deg),
            (launch.start_deg, back.start_deg),
            (launch.backspin_rpm, back.backspin_rpm),
            (launch.sidespin_rpm, back.sidespin_rpm),
            (launch.rifle_rpm, back.rifle_rpm),
        ] {
            assert!((a - b).abs() < 1e-10, "{a} {b}");
        }
    }

    #[test]
    fn backspin_lifts_and_positive_sidespin_pulls_right() {
        let pull = |backspin_rpm, sidespin_rpm| {
            let m = Motion::from(&Launch {
                ball_speed_mps: 60.0,
                launch_deg: 0.0,
                start_deg: 0.0,
                backspin_rpm,
                sidespin_rpm,
                rifle_rpm: 0.0,
            });
            m.spin.cross(m.velocity)
        };
        assert!(pull(2500.0, 0.0).y > 0.0);
        assert!(pull(0.0, 500.0).z > 0.0);
    }
}
