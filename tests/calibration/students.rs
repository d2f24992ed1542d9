//! Invented students with known swings: what the what-if says of them beside what
//! is true.
//!
//! The rule: truth comes from independent normal draws and the public impact and
//! flight, by nothing of the what-if's own. All spreads are invented (published
//! ones were not found). Start at [`study`].

use super::dice::Dice;
use chalkface_core::flight::{
    Club, Conditions, Delivery, Face, FiveConstantLaw, Flier, Hand, Head, Quantity, Seen, Setting, Shot, hit,
    hit_many,
};
use chalkface_core::lesson::what_if::{Change, Ranged, What};
use chalkface_core::lesson::{Assumed, Care, Gathering, Want, what_if};

const LAW: FiveConstantLaw = FiveConstantLaw::ODS_FIT;
const N: usize = 7;

/// A student.
struct Student {
    mean: [f64; N],
    /// From ball to ball within a session.
    sd: [f64; N],
    face_path: f64,
    /// Variance of sessions as a share of that of balls.
    share: f64,
}

impl Student {
    fn invent(v: &mut Dice, share: f64) -> Self {
        let near = |v: &mut Dice, mean: f64, sd: f64| mean + sd * v.normal().clamp(-2.0, 2.0);
        Self {
            mean: [
                near(v, 42.0, 3.5),
                near(v, 13.5, 1.7),
                near(v, 0.0, 2.0),
                near(v, 0.0, 3.0),
                near(v, 0.0, 2.0),
                near(v, 0.0, 8.0),
                near(v, 2.0, 6.0),
            ],
            sd: [
                v.between(0.8, 1.8),
                v.between(0.9, 1.9),
                v.between(1.4, 3.4),
                v.between(1.2, 2.8),
                v.between(0.9, 1.9),
                v.between(6.0, 13.0),
                v.between(5.0, 9.0),
            ],
            face_path: v.between(0.0, 0.6),
            share,
        }
    }

    /// A drive less its mean, with spreads of 1.
    fn shape(&self, v: &mut Dice) -> [f64; N] {
        let mut z: [f64; N] = std::array::from_fn(|_| v.normal());
        z[3] = self.face_path * z[2] + (1.0 - self.face_path * self.face_path).sqrt() * z[3];
        z
    }

    fn total_sd(&self) -> [f64; N] {
        self.sd.map(|sd| sd * (1.0 + self.share).sqrt())
    }
}

fn delivery(
    [head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm]: [f64; N],
) -> Delivery {
    let (toe_mm, high_mm) = (toe_mm.clamp(-63.0, 63.0), high_mm.clamp(-35.0, 35.0));
    Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm }
}

/// How a student's balls are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadBy {
    /// All seven numbers, each with the error that readings of its kind are assumed to have.
    Device,
    /// Head and ball speed by a radar, the mark tapped, start and curve by eye.
    Eye,
}

/// A world of the study.
pub struct World {
    pub name: &'static str,
    pub read: ReadBy,
    pub sessions: usize,
    pub balls: usize,
    pub share: f64,
}

/// The worlds.
pub const WORLDS: &[World] = &[
    World { name: "read, 5 x 12, days alike", read: ReadBy::Device, sessions: 5, balls: 12, share: 0.0 },
    World {
        name: "read, 5 x 12, shifts of 0.3 SD",
        read: ReadBy::Device,
        sessions: 5,
        balls: 12,
        share: 0.09,
    },
    World {
        name: "read, 12 x 15, shifts of 0.3 SD",
        read: ReadBy::Device,
        sessions: 12,
        balls: 15,
        share: 0.09,
    },
    World { name: "read, 1 x 40", read: ReadBy::Device, sessions: 1, balls: 40, share: 0.0 },
    World {
        name: "by eye, 6 x 15, shifts of 0.2 SD",
        read: ReadBy::Eye,
        sessions: 6,
        balls: 15,
        share: 0.04,
    },
];

/// How often intervals held.
#[derive(Debug, Default, Clone, Copy)]
pub struct Held {
    pub inside: f64,
    pub of: f64,
    /// Sums of how far off the middle of the interval truth was, in standard errors, and of its square.
    pub off: [f64; 2],
}

impl Held {
    fn add(&mut self, holds: bool) {
        self.inside += f64::from(u8::from(holds));
        self.of += 1.0;
    }

    fn ranged(&mut self, said: Ranged, truth: f64) {
        self.add(said.low <= truth && truth <= said.high);
        let off = (said.estimate - truth) / ((said.high - said.low) / (2.0 * 1.645)).max(1e-9);
        // A rate that is next to none has next to no interval.
        let off = off.clamp(-10.0, 10.0);
        self.off[0] += off;
        self.off[1] += off * off;
    }

    /// Mean and SD of how far off, in standard errors.
    pub fn off(&self) -> (f64, f64) {
        let mean = self.off[0] / self.of.max(1.0);
        (mean, (self.off[1] / self.of.max(1.0) - mean * mean).max(0.0).sqrt())
    }

    pub fn share(&self) -> f64 {
        self.inside / self.of.max(1.0)
    }
}

/// What a world came to.
#[derive(Debug, Default)]
pub struct Tally {
    /// Means and spreads of numbers that were read, as normal 90 % intervals.
    pub means: Held,
    pub spreads: Held,
    pub carry: Held,
    pub spread: Held,
    pub fairway: Held,
    pub trouble: Held,
    pub carry_gain: Held,
    pub fairway_gain: Held,
    pub trouble_change: Held,
    pub shortfall: Held,
    /// Whether the fix ranked first is the best one, where the best is 4 ahead; for
    /// distance, fairways and both.
    pub best: [Held; 3],
}

impl Tally {
    /// With the figures of another world.
    pub fn add(&mut self, other: &Self) {
        let pairs = [
            (&mut self.means, other.means),
            (&mut self.spreads, other.spreads),
            (&mut self.carry, other.carry),
            (&mut self.spread, other.spread),
            (&mut self.fairway, other.fairway),
            (&mut self.trouble, other.trouble),
            (&mut self.carry_gain, other.carry_gain),
            (&mut self.fairway_gain, other.fairway_gain),
            (&mut self.trouble_change, other.trouble_change),
            (&mut self.shortfall, other.shortfall),
        ];
        for (sum, more) in pairs.into_iter().chain(self.best.iter_mut().zip(other.best)) {
            sum.inside += more.inside;
            sum.of += more.of;
            sum.off = [sum.off[0] + more.off[0], sum.off[1] + more.off[1]];
        }
    }
}

struct Range<'a> {
    head: Head,
    flier: Flier<'a, FiveConstantLaw>,
}

/// Carry, across, fairway, trouble of many drives.
#[derive(Clone, Copy, Default)]
struct Truth {
    carry: f64,
    spread: f64,
    fairway: f64,
    trouble: f64,
}

impl Range<'_> {
    fn drives(
        &self,
        student: &Student,
        shapes: &[[f64; N]],
        shift: &[f64; N],
        scale: &[f64; N],
        want: &Want,
    ) -> Truth {
        let sd = student.total_sd();
        let swings: Vec<Delivery> = shapes
            .iter()
            .map(|z| delivery(std::array::from_fn(|i| student.mean[i] + shift[i] + scale[i] * sd[i] * z[i])))
            .collect();
        let mut shots: Vec<Option<Shot>> = vec![None; swings.len()];
        hit_many(&self.head, Hand::Right, Face::Dry, &self.flier, &swings, &mut shots).unwrap();
        let n = swings.len() as f64;
        let (mut truth, mut middle, mut square) = (Truth::default(), 0.0, 0.0);
        for flight in shots.iter().flatten().map(|shot| shot.flight) {
            truth.carry += flight.carry_m / n;
            middle += flight.lateral_m / n;
            square += flight.lateral_m * flight.lateral_m / n;
            truth.fairway += f64::from(u8::from(flight.lateral_m.abs() <= 0.5 * want.fairway_m)) / n;
            truth.trouble += f64::from(u8::from(flight.lateral_m.abs() > want.trouble.beyond_m)) / n;
        }
        truth.spread = (square - middle * middle).sqrt();
        truth
    }

    /// What is read of one ball.
    fn read(&self, swing: &Delivery, by: ReadBy, v: &mut Dice) -> Seen {
        let mut seen = Seen::nothing();
        let mut number = |seen: Seen, quantity: Quantity, truth: f64| {
            seen.with_number(quantity, truth + quantity.assumed_sigma() * v.normal()).unwrap()
        };
        let numbers = [
            (Quantity::HeadSpeed, swing.head_speed_mps),
            (Quantity::Toe, swing.toe_mm),
            (Quantity::High, swing.high_mm),
            (Quantity::Loft, swing.loft_deg),
            (Quantity::Face, swing.face_deg),
            (Quantity::Path, swing.path_deg),
            (Quantity::Attack, swing.attack_deg),
        ];
        let shot = hit(&self.head, Hand::Right, Face::Dry, &self.flier, swing).unwrap();
        match by {
            ReadBy::Device => numbers.into_iter().fold(seen, |seen, (q, truth)| number(seen, q, truth)),
            ReadBy::Eye => {
                for (quantity, truth) in numbers.into_iter().take(3) {
                    seen = number(seen, quantity, truth);
                }
                seen = number(seen, Quantity::BallSpeed, shot.launch.ball_speed_mps);
                // The eye's steps, with the blur that is assumed of it.
                let step =
                    |value: f64, ends: [f64; 4]| ends.iter().filter(|end| value > **end).count() as i8 - 2;
                let start = shot.launch.start_deg + 1.5 * v.normal();
                let curve = shot.flight.curve_m(shot.launch.start_deg) + 4.0 * v.normal();
                seen.with_start_by_eye(step(start, [-6.0, -2.0, 2.0, 6.0]))
                    .with_curve_by_eye(step(curve, [-20.0, -6.0, 6.0, 20.0]))
            }
        }
    }
}

/// Moves of means and factors of spreads that a fix says it makes.
fn moves(change: &[Change], names: &[&str; N]) -> ([f64; N], [f64; N]) {
    let (mut shift, mut scale) = ([0.0; N], [1.0; N]);
    for change in change {
        let place = names.iter().position(|name| *name == change.quantity).unwrap();
        match change.what {
            What::Mean => shift[place] += change.to - change.from,
            What::Sd => scale[place] *= change.to / change.from,
        }
    }
    (shift, scale)
}

/// How many drives of each swing.
#[derive(Debug, Clone, Copy)]
pub struct Drives {
    /// For the answer.
    pub said: usize,
    /// For the truth.
    pub true_ones: usize,
    /// Whether what is lost is compared too.
    pub losses: bool,
}

/// Many students of one world.
pub fn study(world: &World, students: u64, drives: Drives) -> Tally {
    let range = Range {
        head: Club::default().conforming().unwrap(),
        flier: Flier::new(&LAW, &Conditions::default()).unwrap(),
    };
    let setting = Setting { head: &range.head, hand: Hand::Right, face: Face::Dry, flier: &range.flier };
    let want = Want { drives: drives.said, ..Want::default() };
    let mut tally = Tally::default();
    for seed in 0..students {
        let mut v = Dice(seed + 1);
        let student = Student::invent(&mut v, world.share);
        let mut balls = Gathering::new(&range.head, Hand::Right, &range.flier);
        for session in 0..world.sessions {
            let shift: [f64; N] = std::array::from_fn(|i| student.sd[i] * student.share.sqrt() * v.normal());
            for _ in 0..world.balls {
                let z = student.shape(&mut v);
                let swing =
                    delivery(std::array::from_fn(|i| student.mean[i] + shift[i] + student.sd[i] * z[i]));
                let seen = range.read(&swing, world.read, &mut v);
                balls.add_seen(&session.to_string(), Face::Dry, &seen);
            }
        }
        let (model, _) = balls.model(&Assumed::default()).unwrap();
        let total = student.total_sd();
        for (i, worth) in model.worth.iter().enumerate() {
            if *worth > 5.0 {
                let within = |value: f64, sigma: f64| Ranged {
                    estimate: value,
                    low: value - 1.645 * sigma,
                    high: value + 1.645 * sigma,
                };
                tally.means.ranged(within(model.mean[i], model.mean_sigma[i]), student.mean[i]);
                tally.spreads.ranged(within(model.sd[i], model.sd_sigma[i]), total[i]);
            }
        }
        let found = what_if(&model, &setting, &want).unwrap();
        let shapes: Vec<[f64; N]> = (0..drives.true_ones).map(|_| student.shape(&mut v)).collect();
        let truth = |shift: &[f64; N], scale: &[f64; N]| range.drives(&student, &shapes, shift, scale, &want);
        let now = truth(&[0.0; N], &[1.0; N]);
        tally.carry.ranged(found.today.carry_m, now.carry);
        tally.spread.ranged(found.today.spread_m, now.spread);
        tally.fairway.ranged(found.today.fairway_rate, now.fairway);
        tally.trouble.ranged(found.today.trouble_rate, now.trouble);
        let mut gains = Vec::new();
        for fix in &found.fixes {
            let (shift, scale) = moves(&fix.gain.change, &model.quantities);
            let then = truth(&shift, &scale);
            let (carry, fairway) = (then.carry - now.carry, then.fairway - now.fairway);
            tally.carry_gain.ranged(fix.gain.carry_gain_m, carry);
            tally.fairway_gain.ranged(fix.gain.fairway_gain, fairway);
            tally.trouble_change.ranged(fix.gain.trouble_change, then.trouble - now.trouble);
            gains.push((fix.gain.carry_gain_m.estimate, fix.gain.fairway_gain.estimate, carry, fairway));
        }
        for (care, best) in [Care::Distance, Care::Fairways, Care::Both].into_iter().zip(&mut tally.best) {
            let top = |score: &dyn Fn(usize) -> f64| {
                let mut order: Vec<usize> = (0..gains.len()).collect();
                order.sort_by(|a, b| score(*b).total_cmp(&score(*a)));
                (order[0], score(order[0]) - score(order[1]))
            };
            let (said, _) = top(&|i| care.score(gains[i].0, gains[i].1));
            let (right, ahead) = top(&|i| care.score(gains[i].2, gains[i].3));
            if ahead >= 4.0 {
                best.add(said == right);
            }
        }
        if !drives.losses {
            continue;
        }
        let fixed = |set: usize| {
            let (mut shift, mut scale) = ([0.0; N], [1.0; N]);
            if set & 1 != 0 {
                for (i, target) in [(5, want.target_mm[0]), (6, want.target_mm[1])] {
                    (shift[i], scale[i]) = (target - student.mean[i], 0.0);
                }
            }
            if set & 2 != 0 {
                (shift[0], scale[0]) = (1.281_551_565_544_600_4 * total[0], 0.0);
            }
            if set & 4 != 0 {
                (shift[2], scale[2]) = (-student.mean[2], 0.0);
            }
            truth(&shift, &scale).carry
        };
        let v: [f64; 8] = std::array::from_fn(fixed);
        let lost = &found.shortfall.carry_m;
        tally.shortfall.ranged(lost.whole, v[7] - v[0]);
        let contact = (v[1] - v[0]) / 3.0 + (v[3] - v[2] + v[5] - v[4]) / 6.0 + (v[7] - v[6]) / 3.0;
        let speed = (v[2] - v[0]) / 3.0 + (v[3] - v[1] + v[6] - v[4]) / 6.0 + (v[7] - v[5]) / 3.0;
        tally.shortfall.ranged(lost.contact, contact);
        tally.shortfall.ranged(lost.speed, speed);
        tally.shortfall.ranged(lost.face, v[7] - v[0] - contact - speed);
    }
    tally
}
