//! Where within a step the ball comes down, and where it was highest.
//!
//! A step gives position, velocity and acceleration at both ends, hence a
//! polynomial of the fifth degree for each coordinate; events are its roots, so
//! steps may be long. Start at [`Curve`] and [`Landed::of`].

use super::integrate::{Flown, Step};
use super::math::{RAD_PER_DEG, RPM_PER_RADPS, atan2};
use super::real::Real;
use super::vec3::V3;

/// A coordinate over one step, as a polynomial of time from 0 to 1.
#[derive(Debug, Clone, Copy)]
pub struct Curve<R> {
    c: [R; 6],
}

impl<R: Real> Curve<R> {
    /// From position, velocity and acceleration at both ends of a step of length `h`.
    #[inline(always)]
    pub fn new(h: R, p: [R; 2], v: [R; 2], a: [R; 2]) -> Self {
        let ([p0, p1], [v0, v1], [a0, a1]) = (p, v, a);
        let (d0, d1) = (v0 * h, v1 * h);
        let h2 = h * h;
        let (a0, a1) = (a0 * h2, a1 * h2);
        let rise = p1 - p0;
        Self {
            c: [
                p0,
                d0,
                a0.times(0.5),
                rise.times(10.0) - d0.times(6.0) - d1.times(4.0) - a0.times(1.5) + a1.times(0.5),
                rise.times(-15.0) + d0.times(8.0) + d1.times(7.0) + a0.times(1.5) - a1,
                rise.times(6.0) - d0.times(3.0) - d1.times(3.0) - a0.times(0.5) + a1.times(0.5),
            ],
        }
    }

    /// Value at `s` from 0 to 1.
    #[inline(always)]
    pub fn at(&self, s: R) -> R {
        let [c0, c1, c2, c3, c4, c5] = self.c;
        c0 + s * (c1 + s * (c2 + s * (c3 + s * (c4 + s * c5))))
    }

    /// Slope at `s`, for each unit of `s`.
    #[inline(always)]
    pub fn slope(&self, s: R) -> R {
        let [_, c1, c2, c3, c4, c5] = self.c;
        c1 + s * (c2.times(2.0) + s * (c3.times(3.0) + s * (c4.times(4.0) + s * c5.times(5.0))))
    }

    #[inline(always)]
    fn bend(&self, s: R) -> R {
        let [_, _, c2, c3, c4, c5] = self.c;
        c2.times(2.0) + s * (c3.times(6.0) + s * (c4.times(12.0) + s * c5.times(20.0)))
    }

    /// The last place where the curve falls through `level`, sought from the
    /// step's end: first along the parabola that touches there, then by Newton's method.
    #[inline(always)]
    fn falls_through(&self, level: R) -> R {
        let zero = R::splat(0.0);
        let one = R::splat(1.0);
        let (slope, bend) = (self.slope(one), self.bend(one));
        let below = self.at(one) - level;
        let inside = slope * slope - (bend * below).times(2.0);
        let rate = (slope - inside.at_least(zero).sqrt()).at_most(R::splat(-1e-12));
        let mut s = within_step(one - below.times(2.0) / rate);
        for _ in 0..3 {
            let slope = self.slope(s).at_most(R::splat(-1e-12));
            s = within_step(s - (self.at(s) - level) / slope);
        }
        s
    }

    /// Where the curve is highest.
    #[inline(always)]
    fn top(&self, first_guess: R) -> R {
        let mut s = within_step(first_guess);
        for _ in 0..3 {
            let bend = self.bend(s).at_most(R::splat(-1e-12));
            s = within_step(s - self.slope(s) / bend);
        }
        s
    }
}

/// Spin over one step, from dw/dt = -(k / R) v w and its own rate of change.
#[inline(always)]
fn spin_curve<R: Real>(step: &Step<R>, decay_per_m: f64) -> Curve<R> {
    let ends = |v: V3<R>, a: V3<R>, w: R| {
        let speed = v.length();
        let rate = (speed * w).times(-decay_per_m);
        let gain = v.dot(a) / speed.at_least(R::splat(1e-9));
        (rate, (gain * w + speed * rate).times(-decay_per_m))
    };
    let ([v0, v1], [a0, a1], [w0, w1]) = (step.v, step.a, step.w);
    let ((d0, b0), (d1, b1)) = (ends(v0, a0, w0), ends(v1, a1, w1));
    Curve::new(step.h, [w0, w1], [d0, d1], [b0, b1])
}

#[inline(always)]
fn within_step<R: Real>(s: R) -> R {
    s.at_least(R::splat(0.0)).at_most(R::splat(1.0))
}

/// Three coordinates over one step.
#[derive(Debug, Clone, Copy)]
pub struct Arc<R> {
    x: Curve<R>,
    y: Curve<R>,
    z: Curve<R>,
}

impl<R: Real> Arc<R> {
    /// The path over one step, in the air's frame.
    #[inline(always)]
    pub fn new(step: &Step<R>) -> Self {
        let ([p0, p1], [v0, v1], [a0, a1]) = (step.p, step.v, step.a);
        Self {
            x: Curve::new(step.h, [p0.x, p1.x], [v0.x, v1.x], [a0.x, a1.x]),
            y: Curve::new(step.h, [p0.y, p1.y], [v0.y, v1.y], [a0.y, a1.y]),
            z: Curve::new(step.h, [p0.z, p1.z], [v0.z, v1.z], [a0.z, a1.z]),
        }
    }

    /// Position at `s` from 0 to 1.
    #[inline(always)]
    pub fn at(&self, s: R) -> V3<R> {
        V3::new(self.x.at(s), self.y.at(s), self.z.at(s))
    }

    /// Velocity at `s` times the step's length.
    #[inline(always)]
    pub fn slope(&self, s: R) -> V3<R> {
        V3::new(self.x.slope(s), self.y.slope(s), self.z.slope(s))
    }
}

/// Landing and highest point, world frame, in several lanes.
#[derive(Debug, Clone, Copy)]
pub struct Landed<R: Real> {
    /// Down the target line, m.
    pub carry: R,
    /// Right of the target line, m.
    pub lateral: R,
    /// Highest point above the start's zero, m.
    pub apex: R,
    /// Time in the air, s.
    pub time: R,
    /// Angle of the path below the horizon, deg.
    pub angle_deg: R,
    /// Speed over ground, m/s.
    pub speed: R,
    /// Spin, rpm.
    pub spin_rpm: R,
    /// Never rose from its ground.
    pub grounded: R::Mask,
    /// Highest point below the ground where it should land.
    pub short: R::Mask,
    /// Lowest and highest Reynolds number.
    pub reynolds: [R; 2],
    /// Lowest and highest spin ratio.
    pub spin_ratio: [R; 2],
}

impl<R: Real> Landed<R> {
    /// From a flight in the air's frame; `wind` moves that frame, `decay_per_m` is k / R.
    ///
    /// `flow` gives Reynolds number and spin ratio of a velocity in the air and a spin.
    #[inline(always)]
    pub fn of(
        flown: &Flown<R>,
        start: (R, R),
        ground: R,
        wind: V3<R>,
        decay_per_m: f64,
        flow: impl Fn(V3<R>, R) -> (R, R),
    ) -> Self {
        let zero = R::splat(0.0);
        let (start_height, start_rise) = start;
        let top = Arc::new(&flown.top);
        let [before, after] = flown.top.v;
        let guess = before.y / (before.y - after.y).at_least(R::splat(1e-12));
        let peak = top.y.at(top.y.top(guess));
        let apex = R::select(flown.rose, peak, start_height);

        let last = Arc::new(&flown.last);
        let s = last.y.falls_through(ground);
        let per_h = R::splat(1.0) / flown.last.h.at_least(R::splat(1e-12));
        let air_velocity = last.slope(s).scale(per_h);
        let velocity = air_velocity + wind;
        let time = flown.last.time + flown.last.h * s;
        let place = last.at(s) + wind.scale(time);
        let spin = spin_curve(&flown.last, decay_per_m).at(s);
        let level = (velocity.x * velocity.x + velocity.z * velocity.z).sqrt();

        let sinks = !start_height.lt(ground) & !ground.lt(start_height) & start_rise.lt(zero);
        let grounded = sinks | (!flown.rose & !ground.lt(start_height));
        let short = apex.lt(ground);
        let none = grounded | short;
        let flight = |x: R| R::select(none, zero, x);
        let (re, ratio) = flow(air_velocity, spin);
        let ([re_low, re_high], [s_low, s_high]) = (flown.reynolds, flown.spin_ratio);
        Self {
            carry: flight(place.x),
            lateral: flight(place.z),
            apex: R::select(grounded, start_height, apex),
            time: flight(time),
            angle_deg: flight(atan2(-velocity.y, level).times(1.0 / RAD_PER_DEG)),
            speed: velocity.length(),
            spin_rpm: spin.times(RPM_PER_RADPS),
            grounded,
            short,
            reynolds: [
                R::select(none, re_low, re_low.at_most(re)),
                R::select(none, re_high, re_high.at_least(re)),
            ],
            spin_ratio: [
                R::select(none, s_low, s_low.at_most(ratio)),
                R::select(none, s_high, s_high.at_least(ratio)),
            ],
        }
    }
}
