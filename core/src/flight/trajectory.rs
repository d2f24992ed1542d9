//! From a launch to the landing: one flight at a time, with its path on request.
//!
//! The invariant: [`Flier::fly`] and [`super::batch`] run the same code over
//! [`Real`], so a flight has the same bits alone and among many. Start at [`Flier`].

use serde::{Deserialize, Serialize};

use super::air::Conditions;
use super::ball::{BALL_MASS_KG, BALL_RADIUS_M, Launch, Motion};
use super::error::FlightError;
use super::integrate::{Field, STEP_TOLERANCE_MPS, Start, fly};
use super::landing::{Arc, Landed};
use super::law::{AirLaw, FittedRange};
use super::real::Real;
use super::vec3::V3;

/// Half of the spread of carry between 13 ball models in still air, m
/// (sources.md F3, status L): no carry computed here means more than this.
pub const CARRY_MODEL_SPREAD_M: f64 = 9.0;

/// How a flight ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// It came down.
    Landed,
    /// It never rose: topped, or launched downward from its ground.
    Grounded,
    /// It never rose to the height of the ground where it should land.
    Short,
    /// It was given up after too many steps; no number of it should be used.
    Unfinished,
}

/// Where a flight left the range that its law of drag and lift was fitted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[allow(clippy::struct_excessive_bools, reason = "four independent flags")]
pub struct OutOfFit {
    /// Slower than measured.
    pub reynolds_low: bool,
    /// Faster than measured.
    pub reynolds_high: bool,
    /// Less spin than measured.
    pub spin_ratio_low: bool,
    /// More spin than measured.
    pub spin_ratio_high: bool,
}

impl OutOfFit {
    /// Whether it left the range at all.
    pub fn any(self) -> bool {
        self.reynolds_low || self.reynolds_high || self.spin_ratio_low || self.spin_ratio_high
    }
}

/// One flight's outcome.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Flight {
    /// Distance down the target line where the ball comes down, m.
    pub carry_m: f64,
    /// Distance right of the target line there, m.
    pub lateral_m: f64,
    /// Highest point, m, in the frame of the start height.
    pub apex_m: f64,
    /// Time in the air, s.
    pub time_s: f64,
    /// Angle of the path below the horizon at the landing, deg.
    pub landing_deg: f64,
    /// Speed over ground at the landing, m/s.
    pub landing_speed_mps: f64,
    /// Spin at the landing, rpm.
    pub landing_spin_rpm: f64,
    /// How it ended.
    pub ending: Ending,
    /// Where the law was used outside of what it rests on.
    pub out_of_fit: OutOfFit,
}

impl Flight {
    /// Distance by which the ball came down right of where it started to, m.
    pub fn curve_m(&self, start_deg: f64) -> f64 {
        self.lateral_m - self.carry_m * libm::tan(start_deg.to_radians())
    }
}

/// One point of a path, world frame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PathPoint {
    /// Time since impact, s.
    pub time_s: f64,
    /// Down the target line, m.
    pub x_m: f64,
    /// Height, m.
    pub y_m: f64,
    /// Right of the target line, m.
    pub z_m: f64,
}

/// A law and the conditions, ready to fly balls.
#[derive(Debug, Clone, Copy)]
pub struct Flier<'a, L> {
    field: Field<'a, L>,
    conditions: Conditions,
    fitted: FittedRange,
    tolerance_mps: f64,
}

impl<'a, L: AirLaw> Flier<'a, L> {
    /// A law of drag and lift in given conditions.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for impossible conditions.
    pub fn new(law: &'a L, conditions: &Conditions) -> Result<Self, FlightError> {
        conditions.check()?;
        let area = core::f64::consts::PI * BALL_RADIUS_M * BALL_RADIUS_M;
        let air = conditions.air;
        let reynolds_per_mps = 2.0 * BALL_RADIUS_M * air.density_kgpm3 / air.viscosity_pas;
        Ok(Self {
            field: Field {
                law,
                push_per_m: air.density_kgpm3 * area / (2.0 * BALL_MASS_KG),
                reynolds_per_mps,
                radius_m: BALL_RADIUS_M,
                decay_per_m: law.spin_decay() / BALL_RADIUS_M,
                corner_mps: law.corner_reynolds() / reynolds_per_mps.at_least(1e-9),
            },
            conditions: *conditions,
            fitted: law.fitted(),
            tolerance_mps: STEP_TOLERANCE_MPS,
        })
    }

    /// The same with another error allowed for each step, m/s; for checks of
    /// accuracy. Kept within 1e-13..0.1.
    #[must_use]
    pub fn with_tolerance(mut self, step_mps: f64) -> Self {
        self.tolerance_mps = step_mps.at_least(1e-13).at_most(0.1);
        self
    }

    /// One flight.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for an impossible launch.
    pub fn fly(&self, launch: &Launch) -> Result<Flight, FlightError> {
        launch.check()?;
        Ok(self.fly_motion(&Motion::from(launch)))
    }

    /// One flight from velocity and spin, as an impact gives them.
    pub fn fly_motion(&self, ball: &Motion<f64>) -> Flight {
        self.land(ball, |_, _| ()).lane(0, self.fitted)
    }

    /// One flight, with its path into `path` (cleared first): the start, points
    /// every `every_s` and the landing.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for an impossible launch; `every_s` is kept
    /// within 1 ms and 10 s.
    pub fn fly_path(
        &self,
        launch: &Launch,
        every_s: f64,
        path: &mut Vec<PathPoint>,
    ) -> Result<Flight, FlightError> {
        launch.check()?;
        path.clear();
        let every = every_s.at_least(1e-3).at_most(10.0);
        let wind = self.wind::<f64>();
        let mut next = 0.0;
        let mut points = |step: &crate::flight::integrate::Step<f64>, good| {
            if !f64::any(good) {
                return;
            }
            let arc = Arc::new(step);
            while next < step.time + step.h {
                let p = arc.at((next - step.time) / step.h) + wind.scale(next);
                path.push(PathPoint { time_s: next, x_m: p.x, y_m: p.y, z_m: p.z });
                next += every;
            }
        };
        let landed = self.land(&Motion::from(launch), &mut points);
        let flight = landed.lane(0, self.fitted);
        path.retain(|point| point.time_s < flight.time_s);
        if path.is_empty() {
            let y_m = self.conditions.start_height_m;
            path.push(PathPoint { time_s: 0.0, x_m: 0.0, y_m, z_m: 0.0 });
        }
        if flight.ending == Ending::Landed {
            path.push(PathPoint {
                time_s: flight.time_s,
                x_m: flight.carry_m,
                y_m: self.conditions.landing_height_m,
                z_m: flight.lateral_m,
            });
        }
        Ok(flight)
    }

    #[inline(always)]
    fn wind<R: Real>(&self) -> V3<R> {
        V3::splat(V3::new(self.conditions.tail_wind_mps, 0.0, self.conditions.cross_wind_mps))
    }

    /// Where the law rests on measurements.
    pub(super) fn fitted(&self) -> FittedRange {
        self.fitted
    }

    /// The flights of several lanes.
    #[inline(always)]
    pub(super) fn land<R: Real>(
        &self,
        ball: &Motion<R>,
        watch: impl FnMut(&crate::flight::integrate::Step<R>, R::Mask),
    ) -> Down<R> {
        let wind = self.wind::<R>();
        let height = R::splat(self.conditions.start_height_m);
        let ground = R::splat(self.conditions.landing_height_m);
        let spin = ball.spin.length();
        let axis = ball.spin.scale(R::splat(1.0) / spin.at_least(R::splat(1e-9)));
        let start = Start { velocity: ball.velocity - wind, axis, spin, height };
        let flown = fly(&self.field, start, ground, self.tolerance_mps, watch);
        let flow = |v: V3<R>, w: R| {
            let speed = v.length();
            let across = axis.cross(v).length();
            let ratio = (w * across).times(BALL_RADIUS_M) / (speed * speed).at_least(R::splat(1e-12));
            (speed.times(self.field.reynolds_per_mps), ratio)
        };
        let landed =
            Landed::of(&flown, (height, start.velocity.y), ground, wind, self.field.decay_per_m, flow);
        Down { landed, down: flown.down }
    }
}

/// Flights of several lanes, and which came down.
pub(super) struct Down<R: Real> {
    pub landed: Landed<R>,
    down: R::Mask,
}

impl<R: Real> Down<R> {
    /// One lane's flight.
    #[inline(always)]
    pub fn lane(&self, i: usize, fitted: FittedRange) -> Flight {
        let l = &self.landed;
        let holds = |mask: R::Mask| R::select(mask, R::splat(1.0), R::splat(0.0)).lane(i) > 0.5;
        let ([re_low, re_high], [s_low, s_high]) = (l.reynolds, l.spin_ratio);
        let ending = if !holds(self.down) {
            Ending::Unfinished
        } else if holds(l.grounded) {
            Ending::Grounded
        } else if holds(l.short) {
            Ending::Short
        } else {
            Ending::Landed
        };
        Flight {
            carry_m: l.carry.lane(i),
            lateral_m: l.lateral.lane(i),
            apex_m: l.apex.lane(i),
            time_s: l.time.lane(i),
            landing_deg: l.angle_deg.lane(i),
            landing_speed_mps: l.speed.lane(i),
            landing_spin_rpm: l.spin_rpm.lane(i),
            ending,
            out_of_fit: OutOfFit {
                reynolds_low: re_low.lane(i) < fitted.reynolds_low,
                reynolds_high: re_high.lane(i) > fitted.reynolds_high,
                spin_ratio_low: s_low.lane(i) < fitted.spin_ratio_low,
                spin_ratio_high: s_high.lane(i) > fitted.spin_ratio_high,
            },
        }
    }
}
