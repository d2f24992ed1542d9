//! Impact of club and ball: two rigid bodies, one impulse, in three dimensions.
//!
//! The head is free (the shaft only adds a little mass), the face is curved by
//! bulge and roll, the ball sticks or slips, and its squashed centre lags
//! (sources.md 7.1, status D for the equations, the parameters as noted at
//! [`Club`](super::club::Club)). Before impact the head moves without turning:
//! the rate at which a face closes is left out (7.1, W = 0). The invariant: momentum and angular momentum
//! are kept to rounding. A left-hander's impact is solved as the mirror image of
//! a right-hander's, so the two mirror each other to the last bit. Start at
//! [`impact`].

use super::ball::{BALL_INERTIA_KGM2, BALL_MASS_KG, BALL_RADIUS_M, Launch, LaunchOf, Motion};
use super::club::{Face, Head};
use super::delivery::{Delivery, Hand};
use super::error::FlightError;
use super::math::{RAD_PER_DEG, sin_cos};
use super::real::Real;
use super::vec3::V3;

/// The least speed along the face normal that counts as a strike, m/s.
pub const LEAST_CLOSING_MPS: f64 = 1.0;

/// What an impact gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Impact {
    /// How the ball leaves.
    pub launch: Launch,
    /// The same as vectors, world frame.
    pub ball: Motion<f64>,
    /// The head's balance point and turn just after, world frame: m/s, rad/s.
    pub head: Motion<f64>,
    /// Whether the ball slipped along the face.
    pub slipped: bool,
}

/// Ball after one club's impact.
///
/// # Errors
/// [`FlightError::OutOfRange`] for an impossible delivery, and
/// [`FlightError::NoContact`] where the face turns away from the ball.
pub fn impact(head: &Head, hand: Hand, face: Face, delivery: &Delivery) -> Result<Impact, FlightError> {
    delivery.check()?;
    let strike = Strike::new(head, hand, face);
    let struck = strike.solve(&Swing::<f64>::load(|_| *delivery));
    if struck.closing >= LEAST_CLOSING_MPS {
        Ok(Impact {
            launch: Launch::from(&struck.ball),
            ball: struck.ball,
            head: struck.head,
            slipped: f64::any(struck.slipped),
        })
    } else {
        Err(FlightError::NoContact { closing_mps: struck.closing })
    }
}

/// A delivery in several lanes: m/s, rad, m.
#[derive(Debug, Clone, Copy)]
pub(super) struct Swing<R> {
    pub speed: R,
    pub loft: R,
    pub face: R,
    pub path: R,
    pub attack: R,
    pub toe: R,
    pub high: R,
}

impl<R: Real> Swing<R> {
    #[inline(always)]
    pub fn load(delivery: impl Fn(usize) -> Delivery) -> Self {
        Self {
            speed: R::from_fn(|i| delivery(i).head_speed_mps),
            loft: R::from_fn(|i| delivery(i).loft_deg).times(RAD_PER_DEG),
            face: R::from_fn(|i| delivery(i).face_deg).times(RAD_PER_DEG),
            path: R::from_fn(|i| delivery(i).path_deg).times(RAD_PER_DEG),
            attack: R::from_fn(|i| delivery(i).attack_deg).times(RAD_PER_DEG),
            toe: R::from_fn(|i| delivery(i).toe_mm).times(1e-3),
            high: R::from_fn(|i| delivery(i).high_mm).times(1e-3),
        }
    }
}

/// One club, hand and face, for many swings.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strike<'a> {
    head: &'a Head,
    mirror: f64,
    friction: f64,
}

/// What one impulse gives, world frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Struck<R: Real> {
    pub ball: Motion<R>,
    pub head: Motion<R>,
    pub slipped: R::Mask,
    /// Speed along the local face normal before impact, m/s.
    pub closing: R,
}

impl<'a> Strike<'a> {
    pub fn new(head: &'a Head, hand: Hand, face: Face) -> Self {
        Self { head, mirror: hand.sign(), friction: head.club.friction_of(face) }
    }

    /// The impulse, in the head's axes n (x), u (y), t (z), which are
    /// right-handed for a right-hander.
    #[inline(always)]
    #[allow(clippy::too_many_lines, reason = "one formula, in the order of its source")]
    pub fn solve<R: Real>(&self, swing: &Swing<R>) -> Struck<R> {
        let club = &self.head.club;
        let (per_ball, per_head) = (1.0 / BALL_MASS_KG, 1.0 / self.head.mass_kg);
        let zero = R::splat(0.0);
        let (sin_l, cos_l) = sin_cos(swing.loft);
        let (sin_f, cos_f) = sin_cos(swing.face.times(self.mirror));
        let (sin_p, cos_p) = sin_cos(swing.path.times(self.mirror));
        let (sin_a, cos_a) = sin_cos(swing.attack);

        // Face axes in the world: u = right x n, t = right (hand mirrored away).
        let n = V3::new(cos_l * cos_f, sin_l, cos_l * sin_f);
        let t = V3::new(-sin_f, zero, cos_f);
        let u = t.cross(n);

        // Contact point, local normal and balance point in face axes.
        let [bulge, roll] = self.head.curvature;
        let (x, y) = (swing.toe, swing.high);
        let (lean_t, lean_u) = (x.times(bulge), y.times(roll));
        let sag = (x * lean_t + y * lean_u).times(0.5);
        let point = V3::new(-sag, y, x);
        let lean = V3::new(R::splat(1.0), lean_u, lean_t);
        let normal = lean.scale(R::splat(1.0) / lean.length());
        let [cn, cu, ct] = self.head.balance_m;
        let r_c = point - V3::new(R::splat(cn), R::splat(cu), R::splat(ct));

        // Ball against head before impact.
        let path = V3::new(cos_a * cos_p, sin_a, cos_a * sin_p).scale(swing.speed);
        let velocity = V3::new(path.dot(n), path.dot(u), path.dot(t));
        let before = -velocity;
        let u_n = normal.dot(before);
        let u_t = before - normal.scale(u_n);
        let closing = -u_n;
        let floor = closing.at_least(R::splat(1e-9));
        let lag = u_t.scale(R::splat(club.ball_lag * BALL_RADIUS_M) / floor);
        let r_b = lag - normal.times(BALL_RADIUS_M);

        // Compliance: how much relative velocity an impulse makes at the contact.
        let g = self.head.inverse_inertia;
        let k = Compliance::new(per_ball + per_head, r_b, r_c, g);

        let off2 = x * x + y * y;
        let e = (R::splat(club.restitution)
            - (closing.plus(-club.restitution_speed_mps)).times(club.restitution_fall_spm)
            - off2.times(club.restitution_fall_pm2))
        .at_least(R::splat(0.5))
        .at_most(R::splat(0.9));
        let stick = k.solve(-(normal.scale(e * u_n)) - u_t.times(club.tangential_restitution) - before);
        let stick_n = stick.dot(normal);
        let stick_t = (stick - normal.scale(stick_n)).length();
        let slipped = stick_n.times(self.friction).lt(stick_t);
        let sliding = u_t.length().at_least(R::splat(1e-12));
        let q = normal - u_t.scale(R::splat(self.friction) / sliding);
        let slip = q.scale((closing + e * closing) / normal.dot(k.times(q)));
        let j = V3::select(slipped, slip, stick);

        let spin = r_b.cross(j).times(1.0 / BALL_INERTIA_KGM2);
        let kick = r_c.cross(j);
        let [gn, gu, gt] = g;
        let turn = -V3::new(kick.x.times(gn), kick.y.times(gu), kick.z.times(gt));
        let ball = (j.times(per_ball), spin);
        let head = (velocity - j.times(per_head), turn);
        let world = |(v, w): (V3<R>, V3<R>)| {
            let out = |a: V3<R>| n.scale(a.x) + u.scale(a.y) + t.scale(a.z);
            let (v, w) = (out(v), out(w));
            let m = self.mirror;
            Motion {
                velocity: V3::new(v.x, v.y, v.z.times(m)),
                // A turn is mirrored the other way round.
                spin: V3::new(w.x.times(m), w.y.times(m), w.z),
            }
        };
        Struck { ball: world(ball), head: world(head), slipped, closing }
    }

    /// Ball and launch of several swings.
    #[inline(always)]
    pub fn launch<R: Real>(&self, swing: &Swing<R>) -> (Struck<R>, LaunchOf<R>) {
        let struck = self.solve(swing);
        let launch = LaunchOf::of(&struck.ball);
        (struck, launch)
    }
}

/// The symmetric matrix K of sources.md 7.1.
#[derive(Clone, Copy)]
struct Compliance<R> {
    xx: R,
    yy: R,
    zz: R,
    xy: R,
    xz: R,
    yz: R,
}

impl<R: Real> Compliance<R> {
    #[inline(always)]
    fn new(per_mass: f64, b: V3<R>, c: V3<R>, [gx, gy, gz]: [f64; 3]) -> Self {
        let i = 1.0 / BALL_INERTIA_KGM2;
        let (bx2, by2, bz2) = (b.x * b.x, b.y * b.y, b.z * b.z);
        let (cx2, cy2, cz2) = (c.x * c.x, c.y * c.y, c.z * c.z);
        Self {
            xx: (by2 + bz2).times(i) + (cz2.times(gy) + cy2.times(gz)).plus(per_mass),
            yy: (bx2 + bz2).times(i) + (cz2.times(gx) + cx2.times(gz)).plus(per_mass),
            zz: (bx2 + by2).times(i) + (cy2.times(gx) + cx2.times(gy)).plus(per_mass),
            xy: -((b.x * b.y).times(i) + (c.x * c.y).times(gz)),
            xz: -((b.x * b.z).times(i) + (c.x * c.z).times(gy)),
            yz: -((b.y * b.z).times(i) + (c.y * c.z).times(gx)),
        }
    }

    #[inline(always)]
    fn times(&self, v: V3<R>) -> V3<R> {
        V3::new(
            self.xx * v.x + self.xy * v.y + self.xz * v.z,
            self.xy * v.x + self.yy * v.y + self.yz * v.z,
            self.xz * v.x + self.yz * v.y + self.zz * v.z,
        )
    }

    /// The vector that this matrix turns into `b`, by cofactors.
    #[inline(always)]
    fn solve(&self, b: V3<R>) -> V3<R> {
        let a = V3::new(
            self.yy * self.zz - self.yz * self.yz,
            self.xz * self.yz - self.xy * self.zz,
            self.xy * self.yz - self.xz * self.yy,
        );
        let m_yy = self.xx * self.zz - self.xz * self.xz;
        let m_yz = self.xy * self.xz - self.xx * self.yz;
        let m_zz = self.xx * self.yy - self.xy * self.xy;
        let per_det = R::splat(1.0) / (self.xx * a.x + self.xy * a.y + self.xz * a.z);
        V3::new(a.dot(b), a.y * b.x + m_yy * b.y + m_yz * b.z, a.z * b.x + m_yz * b.y + m_zz * b.z)
            .scale(per_det)
    }
}
