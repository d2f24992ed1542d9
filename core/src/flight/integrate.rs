//! The ball's equations of motion and their solution, over [`Real`].
//!
//! The invariant: each lane chooses its own steps from its own error, so that
//! a flight does not depend on the flights beside it. Velocity and spin are
//! solved in the moving air with the embedded pair of order 5(4) by Dormand &
//! Prince (J. Comput. Appl. Math. 6, 19, 1980); the position is their integral,
//! summed with the same weights. Start at [`fly`]; where it ends is found in
//! [`super::landing`].

use super::law::AirLaw;
use super::real::Real;
use super::vec3::V3;

/// Standard gravity, m/s^2 (ISO 80000-3; sources.md 7.2).
pub const GRAVITY_MPS2: f64 = 9.806_65;

/// What does not change during a flight.
#[derive(Debug, Clone, Copy)]
pub struct Field<'a, L> {
    /// The law of drag and lift.
    pub law: &'a L,
    /// rho A / 2m, 1/m.
    pub push_per_m: f64,
    /// 2 R rho / mu, s/m.
    pub reynolds_per_mps: f64,
    /// Ball radius, m.
    pub radius_m: f64,
    /// k / R, 1/m.
    pub decay_per_m: f64,
    /// Speed at the law's corner, m/s; infinite without one.
    pub corner_mps: f64,
}

/// Where a ball starts in the air's frame.
#[derive(Debug, Clone, Copy)]
pub struct Start<R> {
    /// Velocity relative to the air, m/s.
    pub velocity: V3<R>,
    /// Unit vector of the spin, right-handed; zero without spin.
    pub axis: V3<R>,
    /// Spin, rad/s.
    pub spin: R,
    /// Height, m.
    pub height: R,
}

/// One accepted step: position (air's frame), velocity, acceleration at both ends.
#[derive(Debug, Clone, Copy)]
pub struct Step<R> {
    /// Time at the beginning, s.
    pub time: R,
    /// Length, s.
    pub h: R,
    /// Position at the beginning and the end, m.
    pub p: [V3<R>; 2],
    /// Velocity relative to the air, m/s.
    pub v: [V3<R>; 2],
    /// Acceleration, m/s^2.
    pub a: [V3<R>; 2],
    /// Spin, rad/s.
    pub w: [R; 2],
}

impl<R: Real> Step<R> {
    #[inline(always)]
    fn select(mask: R::Mask, yes: &Self, no: &Self) -> Self {
        let pick = |a: &[V3<R>; 2], b: &[V3<R>; 2]| {
            let ([a0, a1], [b0, b1]) = (*a, *b);
            [V3::select(mask, a0, b0), V3::select(mask, a1, b1)]
        };
        let ([w0, w1], [u0, u1]) = (yes.w, no.w);
        Self {
            time: R::select(mask, yes.time, no.time),
            h: R::select(mask, yes.h, no.h),
            p: pick(&yes.p, &no.p),
            v: pick(&yes.v, &no.v),
            a: pick(&yes.a, &no.a),
            w: [R::select(mask, w0, u0), R::select(mask, w1, u1)],
        }
    }
}

/// How a flight went, before the landing is located within its last step.
#[derive(Debug, Clone, Copy)]
pub struct Flown<R: Real> {
    /// The step in which the ball came down.
    pub last: Step<R>,
    /// The step of the highest point, where the ball rose at all.
    pub top: Step<R>,
    /// Whether it rose.
    pub rose: R::Mask,
    /// Whether it came down within the allowed number of steps.
    pub down: R::Mask,
    /// Lowest and highest Reynolds number at the steps' ends.
    pub reynolds: [R; 2],
    /// Lowest and highest spin ratio at the steps' ends.
    pub spin_ratio: [R; 2],
}

/// The error that one step may add to the velocity, m/s.
pub const STEP_TOLERANCE_MPS: f64 = 2.0e-4;
/// Steps before a flight is given up; a drive takes about ten.
const MOST_STEPS: usize = 2_000;
/// Longest step, s.
const LONGEST_STEP_S: f64 = 1.5;

/// Acceleration, change of spin, Reynolds number and spin ratio.
#[inline(always)]
fn rates<R: Real, L: AirLaw>(field: &Field<L>, axis: V3<R>, v: V3<R>, w: R) -> (V3<R>, R, R, R) {
    let v2 = v.dot(v);
    let speed = v2.sqrt();
    let across = axis.cross(v);
    let q = across.length();
    // One division serves both 1/q and 1/v^2; without spin or speed both are
    // multiplied by zero, so the floor only keeps them finite.
    let inverse = R::splat(1.0) / (q * v2).at_least(R::splat(1e-12));
    let spin_ratio = (w * q).times(field.radius_m) * (inverse * q);
    let reynolds = speed.times(field.reynolds_per_mps);
    let (cd, cl) = field.law.coefficients(spin_ratio, reynolds);
    let drag = (speed * cd).times(field.push_per_m);
    let lift = (v2 * cl * (inverse * v2)).times(field.push_per_m);
    let mut a = across.scale(lift) - v.scale(drag);
    a.y = a.y.plus(-GRAVITY_MPS2);
    (a, -(speed * w).times(field.decay_per_m), reynolds, spin_ratio)
}

const A2: [f64; 1] = [0.2];
const A3: [f64; 2] = [3.0 / 40.0, 9.0 / 40.0];
const A4: [f64; 3] = [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0];
const A5: [f64; 4] = [19_372.0 / 6_561.0, -25_360.0 / 2_187.0, 64_448.0 / 6_561.0, -212.0 / 729.0];
const A6: [f64; 5] =
    [9_017.0 / 3_168.0, -355.0 / 33.0, 46_732.0 / 5_247.0, 49.0 / 176.0, -5_103.0 / 18_656.0];
/// Weights of stages 1, 3, 4, 5, 6 in the step; stage 2 has none.
const B: [f64; 5] = [35.0 / 384.0, 500.0 / 1_113.0, 125.0 / 192.0, -2_187.0 / 6_784.0, 11.0 / 84.0];
/// Weights of stages 1, 3, 4, 5, 6, 7 in the error.
const E: [f64; 6] =
    [71.0 / 57_600.0, -71.0 / 16_695.0, 71.0 / 1_920.0, -17_253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];
/// Weights of stages 1 to 5 in the position: the B weights of the stages'
/// velocities, written out in their accelerations.
const C: [f64; 5] = [
    B[1] * A3[0] + B[2] * A4[0] + B[3] * A5[0] + B[4] * A6[0],
    B[1] * A3[1] + B[2] * A4[1] + B[3] * A5[1] + B[4] * A6[1],
    B[2] * A4[2] + B[3] * A5[2] + B[4] * A6[2],
    B[3] * A5[3] + B[4] * A6[3],
    B[4] * A6[4],
];

/// k-weighted sum, from the left.
macro_rules! weighted {
    ($($k:ident * $c:expr),+ ; $part:ident) => {
        weighted!(@ $($k.$part.times($c)),+)
    };
    (@ $first:expr $(, $rest:expr)*) => { $first $(+ $rest)* };
}

/// The weighted sum of stage rates: three of velocity, one of spin.
macro_rules! blend {
    ($($k:ident * $c:expr),+) => {
        Rate {
            x: weighted!($($k * $c),+; x),
            y: weighted!($($k * $c),+; y),
            z: weighted!($($k * $c),+; z),
            w: weighted!($($k * $c),+; w),
        }
    };
}

#[derive(Clone, Copy)]
struct Rate<R> {
    x: R,
    y: R,
    z: R,
    w: R,
}

impl<R: Real> Rate<R> {
    #[inline(always)]
    fn of<L: AirLaw>(field: &Field<L>, axis: V3<R>, v: V3<R>, w: R) -> Self {
        let (a, dw, _, _) = rates(field, axis, v, w);
        Self { x: a.x, y: a.y, z: a.z, w: dw }
    }

    #[inline(always)]
    fn after<L: AirLaw>(field: &Field<L>, axis: V3<R>, at: (V3<R>, R), sum: Self, h: R) -> Self {
        Self::of(field, axis, at.0 + sum.vector().scale(h), at.1 + sum.w * h)
    }

    #[inline(always)]
    fn vector(self) -> V3<R> {
        V3::new(self.x, self.y, self.z)
    }
}

/// Flies until the ball is below `ground` and falling.
///
/// `watch` sees every step, and in which lanes it was accepted.
#[inline(always)]
pub fn fly<R: Real, L: AirLaw>(
    field: &Field<L>,
    start: Start<R>,
    ground: R,
    tolerance_mps: f64,
    mut watch: impl FnMut(&Step<R>, R::Mask),
) -> Flown<R> {
    let zero = R::splat(0.0);
    let axis = start.axis;
    let (mut p, mut v, mut w) = (V3::new(zero, start.height, zero), start.velocity, start.spin);
    let (a, dw, reynolds, spin_ratio) = rates(field, axis, v, w);
    let mut k1 = Rate { x: a.x, y: a.y, z: a.z, w: dw };
    let mut time = zero;
    // About a seventh of the time in which the ball would lose its speed.
    let mut h = (v.length() / a.length().at_least(R::splat(1e-9)))
        .times(0.15)
        .at_most(R::splat(0.6))
        .at_least(R::splat(1e-4));
    let still = Step { time, h: zero, p: [p; 2], v: [v; 2], a: [a; 2], w: [w; 2] };
    let mut flown = Flown {
        last: still,
        top: still,
        rose: R::mask(false),
        down: R::mask(false),
        reynolds: [reynolds; 2],
        spin_ratio: [spin_ratio; 2],
    };
    let allowed2 = R::splat(tolerance_mps * tolerance_mps);
    let mut flying = R::mask(true);
    for _ in 0..MOST_STEPS {
        h = to_corner(field, v, V3::new(k1.x, k1.y, k1.z), h);
        let at = (v, w);
        let k2 = Rate::after(field, axis, at, blend!(k1 * A2[0]), h);
        let k3 = Rate::after(field, axis, at, blend!(k1 * A3[0], k2 * A3[1]), h);
        let k4 = Rate::after(field, axis, at, blend!(k1 * A4[0], k2 * A4[1], k3 * A4[2]), h);
        let k5 = Rate::after(field, axis, at, blend!(k1 * A5[0], k2 * A5[1], k3 * A5[2], k4 * A5[3]), h);
        let k6 = Rate::after(
            field,
            axis,
            at,
            blend!(k1 * A6[0], k2 * A6[1], k3 * A6[2], k4 * A6[3], k5 * A6[4]),
            h,
        );
        let sum = blend!(k1 * B[0], k3 * B[1], k4 * B[2], k5 * B[3], k6 * B[4]);
        let v1 = v + sum.vector().scale(h);
        let w1 = w + sum.w * h;
        let (a1, dw1, re1, s1) = rates(field, axis, v1, w1);
        let k7 = Rate { x: a1.x, y: a1.y, z: a1.z, w: dw1 };
        let drift = blend!(k1 * C[0], k2 * C[1], k3 * C[2], k4 * C[3], k5 * C[4]);
        let p1 = p + (v + drift.vector().scale(h)).scale(h);
        let error =
            blend!(k1 * E[0], k3 * E[1], k4 * E[2], k5 * E[3], k6 * E[4], k7 * E[5]).vector().scale(h);
        let error2 = error.dot(error);

        let good = !allowed2.lt(error2) & flying;
        let step = Step { time, h, p: [p, p1], v: [v, v1], a: [V3::new(k1.x, k1.y, k1.z), a1], w: [w, w1] };
        watch(&step, good);
        let top = good & zero.lt(v.y) & !zero.lt(v1.y);
        if R::any(top) {
            flown.top = Step::select(top, &step, &flown.top);
            flown.rose = flown.rose | top;
        }
        let down = good & v1.y.lt(zero) & p1.y.lt(ground);
        if R::any(down) {
            flown.last = Step::select(down, &step, &flown.last);
            flown.down = flown.down | down;
            flying = flying & !down;
        }
        if !R::any(flying) {
            break;
        }
        // The last step's end lies below ground; it does not count here.
        let good = good & flying;
        let all = !R::any(!good);
        let keep = |new: R, old: R| if all { new } else { R::select(good, new, old) };
        let keep3 =
            |new: V3<R>, old: V3<R>| V3::new(keep(new.x, old.x), keep(new.y, old.y), keep(new.z, old.z));
        let ([re_low, re_high], [s_low, s_high]) = (flown.reynolds, flown.spin_ratio);
        flown.reynolds = [keep(re_low.at_most(re1), re_low), keep(re_high.at_least(re1), re_high)];
        flown.spin_ratio = [keep(s_low.at_most(s1), s_low), keep(s_high.at_least(s1), s_high)];
        p = keep3(p1, p);
        v = keep3(v1, v);
        w = keep(w1, w);
        time = keep(time + h, time);
        k1 = Rate { x: keep(k7.x, k1.x), y: keep(k7.y, k1.y), z: keep(k7.z, k1.z), w: keep(k7.w, k1.w) };
        h = next_step(h, error2, tolerance_mps);
    }
    flown
}

/// The step that should make an error of half the tolerance: by the fifth root
/// of the ratio, here of squares.
#[inline(always)]
fn next_step<R: Real>(h: R, error2: R, tolerance_mps: f64) -> R {
    let room = R::splat(0.25 * tolerance_mps * tolerance_mps) / error2.at_least(R::splat(1e-280));
    // (room^(2/5))^(1/4) = room^(1/10).
    let factor = super::math::pow_two_fifths(room).sqrt().sqrt();
    (h * factor.at_most(R::splat(4.0)).at_least(R::splat(0.2))).at_most(R::splat(LONGEST_STEP_S))
}

/// The step, shortened to end where the speed falls to the law's corner.
///
/// Drag grows with the square of the speed, which makes the time to fall from
/// v to c equal (v - c) / deceleration * v / c.
#[inline(always)]
fn to_corner<R: Real, L: AirLaw>(field: &Field<L>, v: V3<R>, a: V3<R>, h: R) -> R {
    /// Closer than this to the corner, a step may cross it, m/s.
    const NEAR_MPS: f64 = 0.5;
    let speed = v.length();
    let excess = speed.plus(-field.corner_mps);
    let above = R::splat(NEAR_MPS).lt(excess);
    if !R::any(above) {
        return h;
    }
    // deceleration = slowing / speed
    let slowing = -(v.dot(a));
    let until = excess * speed * speed / slowing.times(field.corner_mps).at_least(R::splat(1e-9));
    R::select(above, h.at_most(until), h)
}
