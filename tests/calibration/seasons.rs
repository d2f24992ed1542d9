//! Seasons of looks at made-up patterns, in worlds in which nothing or something
//! changes, and an oracle beside them that knows every variance.
//!
//! Invariant: what is drawn depends on the seed only. All figures here are this
//! study's own simulation, no published ones.
//!
//! Where to start: [`World`], [`tally`]; [`oracle`] for what can be had at best.

use super::dice::Dice;
use chalkface_core::face::compare::{Aim, Comparison, KnownShifts, compare};
use chalkface_core::face::{Settings, Strike};

/// Student t with 4 degrees of freedom, scaled to variance 1. Its chi-square
/// with 4 is -2 ln of a product of two uniforms.
fn heavy(dice: &mut Dice) -> f64 {
    let chi = -2.0 * f64::ln(dice.uniform() * dice.uniform());
    dice.normal() / (chi / 4.0).sqrt() / 2.0_f64.sqrt()
}

#[derive(Clone, Copy)]
pub enum Balls {
    Same(usize),
    /// 4 to 25, drawn anew for every session.
    Mixed,
    /// One count for the baseline, another for later: no luck evens this out.
    Split(usize, usize),
}

#[derive(Clone, Copy)]
pub struct World {
    pub name: &'static str,
    pub baseline: usize,
    pub looks: usize,
    pub balls: Balls,
    /// SD of the session shift along each axis, mm.
    pub days_mm: f64,
    /// Correlation of a ball with the one before it, of the same session.
    pub follow: f64,
    pub heavy: bool,
    /// Marks are rounded to a grid of this width, mm.
    pub grid_mm: f64,
    /// Correlation of the axes.
    pub tilt: f64,
    /// SD of the logarithm of the session's scatter.
    pub breath: f64,
    pub shift: (f64, f64),
    /// Scatter of later balls as a multiple.
    pub spread: f64,
    /// SD of the days of eight other students with four sessions each, whose
    /// shifts are given as known, mm.
    pub others_mm: Option<f64>,
}

pub const PLAIN: World = World {
    name: "normal",
    baseline: 4,
    looks: 20,
    balls: Balls::Same(12),
    days_mm: 3.0,
    follow: 0.0,
    heavy: false,
    grid_mm: 0.0,
    tilt: 0.0,
    breath: 0.0,
    shift: (0.0, 0.0),
    spread: 1.0,
    others_mm: None,
};

impl World {
    fn session(&self, later: bool, dice: &mut Dice) -> Vec<Strike> {
        let n = match self.balls {
            Balls::Same(n) => n,
            Balls::Mixed => 4 + (dice.uniform() * 22.0) as usize,
            Balls::Split(baseline, now) => {
                if later {
                    now
                } else {
                    baseline
                }
            }
        };
        let draw = |dice: &mut Dice| if self.heavy { heavy(dice) } else { dice.normal() };
        let day = (self.days_mm * draw(dice), self.days_mm * draw(dice));
        let (shift, spread) = if later { (self.shift, self.spread) } else { ((0.0, 0.0), 1.0) };
        let spread = spread * f64::exp(self.breath * dice.normal());
        let (keep, fresh) = (self.follow, (1.0 - self.follow * self.follow).sqrt());
        let mut last = (draw(dice), draw(dice));
        let grid = |v: f64| if self.grid_mm > 0.0 { f64::round(v / self.grid_mm) * self.grid_mm } else { v };
        (0..n)
            .map(|_| {
                last = (keep * last.0 + fresh * draw(dice), keep * last.1 + fresh * draw(dice));
                let across = self.tilt * last.0 + (1.0 - self.tilt * self.tilt).sqrt() * last.1;
                Strike {
                    toe_mm: grid(3.0 + day.0 + shift.0 + 10.0 * spread * last.0).clamp(-200.0, 200.0),
                    high_mm: grid(4.0 + day.1 + shift.1 + 8.0 * spread * across).clamp(-200.0, 200.0),
                    sigma_mm: if self.grid_mm > 0.0 { 2.0 } else { 0.5 },
                }
            })
            .collect()
    }

    fn season(&self, dice: &mut Dice) -> Comparison {
        let baseline: Vec<_> = (0..self.baseline).map(|_| self.session(false, dice)).collect();
        let later: Vec<_> = (0..self.looks).map(|_| self.session(true, dice)).collect();
        let settings = Settings::default();
        let others = self.others_mm.and_then(|days_mm| {
            let other = World { days_mm, shift: (0.0, 0.0), spread: 1.0, ..*self };
            let students: Vec<Vec<Vec<Strike>>> =
                (0..8).map(|_| (0..4).map(|_| other.session(false, dice)).collect()).collect();
            KnownShifts::of(&students, &settings).unwrap()
        });
        compare(&baseline, &later, &settings, &Aim { others, ..Aim::of(&settings) }).unwrap()
    }
}

/// Shares of seasons.
pub struct Tally {
    pub any: f64,
    pub bias: f64,
    pub scatter: f64,
    pub centre: f64,
    /// Median look of the first call of the bias, and of the scatter.
    pub looks: (u32, u32),
    /// The true shift toward the toe lies in its interval.
    pub covered: f64,
}

pub fn tally(world: &World, seasons: u32, seed: u64) -> Tally {
    let mut dice = Dice(seed);
    let (mut any, mut bias, mut scatter, mut centre, mut covered) = (0, 0, 0, 0, 0);
    let mut looks = (Vec::new(), Vec::new());
    for _ in 0..seasons {
        let c = world.season(&mut dice);
        assert_eq!(c.any_called, c.bias.joint.called || c.scatter.called || c.centre_rate.called);
        any += u32::from(c.any_called);
        bias += u32::from(c.bias.joint.called);
        scatter += u32::from(c.scatter.called);
        centre += u32::from(c.centre_rate.called);
        looks.0.extend(c.bias.joint.first_called_at);
        looks.1.extend(c.scatter.first_called_at);
        let holds = |low: f64, high: f64| low <= world.shift.0 && world.shift.0 <= high;
        covered += u32::from(c.bias.toe.low.zip(c.bias.toe.high).is_some_and(|(l, h)| holds(l, h)));
    }
    let share = |count: u32| f64::from(count) / f64::from(seasons);
    let median = |looks: &mut Vec<u32>| {
        looks.sort_unstable();
        looks.get(looks.len() / 2).copied().unwrap_or(0)
    };
    Tally {
        any: share(any),
        bias: share(bias),
        scatter: share(scatter),
        centre: share(centre),
        looks: (median(&mut looks.0), median(&mut looks.1)),
        covered: share(covered),
    }
}

/// Worlds in which nothing changes.
pub const NULL: &[World] = &[
    PLAIN,
    World { name: "days 0 mm", days_mm: 0.0, ..PLAIN },
    World { name: "days 5 mm", days_mm: 5.0, ..PLAIN },
    World { name: "heavy tails", heavy: true, ..PLAIN },
    World { name: "follow 0.4", follow: 0.4, ..PLAIN },
    World { name: "follow 0.4, days 0", follow: 0.4, days_mm: 0.0, ..PLAIN },
    World { name: "4 balls", balls: Balls::Same(4), ..PLAIN },
    World { name: "4 to 25 balls", balls: Balls::Mixed, ..PLAIN },
    World { name: "taps of 5 mm", grid_mm: 5.0, ..PLAIN },
    World { name: "scatter varies 20 %", breath: 0.2, ..PLAIN },
    World { name: "scatter varies 40 %", breath: 0.4, ..PLAIN },
    World { name: "varies 40 %, follow", breath: 0.4, follow: 0.4, days_mm: 5.0, heavy: true, ..PLAIN },
    World { name: "3 balls", balls: Balls::Same(3), ..PLAIN },
    World { name: "25 balls, days 5 mm", balls: Balls::Same(25), days_mm: 5.0, ..PLAIN },
    World { name: "tilted 0.7", tilt: 0.7, ..PLAIN },
    World { name: "25 balls, then 4", balls: Balls::Split(25, 4), days_mm: 0.0, ..PLAIN },
    World { name: "4 balls, then 25", balls: Balls::Split(4, 25), days_mm: 0.0, ..PLAIN },
    World { name: "4 then 25, heavy", balls: Balls::Split(4, 25), heavy: true, ..PLAIN },
    World {
        name: "all at once",
        balls: Balls::Mixed,
        days_mm: 5.0,
        follow: 0.4,
        heavy: true,
        grid_mm: 5.0,
        ..PLAIN
    },
    World {
        name: "10 baseline, all",
        baseline: 10,
        balls: Balls::Mixed,
        follow: 0.4,
        heavy: true,
        grid_mm: 5.0,
        ..PLAIN
    },
    World { name: "2 baseline, 60 looks", baseline: 2, looks: 60, days_mm: 5.0, ..PLAIN },
    World { name: "others known, alike", others_mm: Some(3.0), ..PLAIN },
    World { name: "others known, 5 for 3", others_mm: Some(3.0), days_mm: 5.0, ..PLAIN },
    World { name: "others known, 5 for 1", others_mm: Some(1.0), days_mm: 5.0, ..PLAIN },
    World { name: "others known, 8 for 3", others_mm: Some(3.0), days_mm: 8.0, ..PLAIN },
    World {
        name: "others known, all",
        others_mm: Some(3.0),
        balls: Balls::Mixed,
        days_mm: 5.0,
        follow: 0.4,
        heavy: true,
        grid_mm: 5.0,
        ..PLAIN
    },
];

/// Worlds in which something changes.
pub const CHANGED: &[World] = &[
    World { name: "6 mm toe, 4", shift: (6.0, 0.0), ..PLAIN },
    World { name: "6 mm high, 4", shift: (0.0, 6.0), ..PLAIN },
    World { name: "6 mm both, 4", shift: (4.243, 4.243), ..PLAIN },
    World { name: "6 mm toe, 10", shift: (6.0, 0.0), baseline: 10, ..PLAIN },
    World { name: "10 mm toe, 4", shift: (10.0, 0.0), ..PLAIN },
    World { name: "10 mm toe, 10", shift: (10.0, 0.0), baseline: 10, ..PLAIN },
    World { name: "30 % tighter, 4", spread: 0.7, ..PLAIN },
    World { name: "30 % tighter, 10", spread: 0.7, baseline: 10, ..PLAIN },
    World { name: "tighter, heavy, 4", spread: 0.7, heavy: true, ..PLAIN },
    World { name: "10 mm, tighter, 4", shift: (10.0, 0.0), spread: 0.7, ..PLAIN },
    World { name: "6 mm toe, 4, others", shift: (6.0, 0.0), others_mm: Some(3.0), ..PLAIN },
    World { name: "10 mm toe, 4, others", shift: (10.0, 0.0), others_mm: Some(3.0), ..PLAIN },
];

/// Share of seasons in which an oracle calls, and the median look of its calls. It
/// knows every variance and has a flat boundary over the same looks, for one
/// quantity at 2.5 %; the edge comes from seasons without a change.
///
/// A look's value is a session mean with a known variance, or for `spread` the
/// logarithm of the pooled standard deviation of both axes, whose variance is a
/// quarter of the trigamma of half its degrees of freedom. `shift` is in standard
/// deviations of one session's value.
pub fn oracle(baseline: usize, looks: usize, shift: f64, seasons: u32, seed: u64) -> (f64, u32) {
    const ALPHA: f64 = 0.025;
    let m = baseline as f64;
    let mut dice = Dice(seed);
    let mut run = |shift: f64| -> Vec<f64> {
        let base = dice.normal() / m.sqrt();
        let mut sum = 0.0;
        (1..=looks)
            .map(|k| {
                sum += shift + dice.normal();
                let k = k as f64;
                (sum / k - base).abs() / (1.0 / m + 1.0 / k).sqrt()
            })
            .collect()
    };
    let mut most: Vec<f64> = (0..seasons).map(|_| run(0.0).into_iter().fold(0.0, f64::max)).collect();
    most.sort_by(f64::total_cmp);
    let edge = most[((1.0 - ALPHA) * f64::from(seasons)) as usize];
    let mut first: Vec<u32> =
        (0..seasons).filter_map(|_| Some(run(shift).iter().position(|z| *z > edge)? as u32 + 1)).collect();
    first.sort_unstable();
    let share = first.len() as f64 / f64::from(seasons);
    (share, first.get(first.len() / 2).copied().unwrap_or(0))
}
