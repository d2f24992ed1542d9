//! Does a season of looks call what isn't there, and what is? Seeded simulation.
//!
//! The short form runs with the tests: a few hundred seasons a world, limits four
//! standard errors wide. The long form gives the table in
//! `core/decisions/003-comparison.md`:
//!
//! ```text
//! cargo test --release -p chalkface-core seasons -- --ignored --nocapture
//! ```
//!
//! Where to start: [`World`], [`tally`].

use super::{Aim, Comparison, compare};
use crate::face::{Settings, Strike};

/// `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014) and Box-Muller.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(2.0 * core::f64::consts::PI * self.uniform())
    }

    /// Student t with 4 degrees of freedom, scaled to variance 1. Its chi-square
    /// with 4 is -2 ln of a product of two uniforms.
    fn heavy(&mut self) -> f64 {
        let chi = -2.0 * libm::log(self.uniform() * self.uniform());
        self.normal() / (chi / 4.0).sqrt() / 2.0_f64.sqrt()
    }
}

#[derive(Clone, Copy)]
enum Balls {
    Same(usize),
    /// 4 to 25, drawn anew for every session.
    Mixed,
    /// One count for the baseline, another for later: no luck evens this out.
    Split(usize, usize),
}

#[derive(Clone, Copy)]
struct World {
    name: &'static str,
    baseline: usize,
    looks: usize,
    balls: Balls,
    /// SD of the session shift along each axis, mm.
    days_mm: f64,
    /// Correlation of a ball with the one before it, of the same session.
    follow: f64,
    heavy: bool,
    /// Marks are rounded to a grid of this width, mm.
    grid_mm: f64,
    /// Correlation of the axes.
    tilt: f64,
    /// SD of the logarithm of the session's scatter.
    breath: f64,
    shift: (f64, f64),
    /// Scatter of later balls as a multiple.
    spread: f64,
}

const PLAIN: World = World {
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
        let draw = |dice: &mut Dice| if self.heavy { dice.heavy() } else { dice.normal() };
        let day = (self.days_mm * draw(dice), self.days_mm * draw(dice));
        let (shift, spread) = if later { (self.shift, self.spread) } else { ((0.0, 0.0), 1.0) };
        let spread = spread * libm::exp(self.breath * dice.normal());
        let (keep, fresh) = (self.follow, (1.0 - self.follow * self.follow).sqrt());
        let mut last = (draw(dice), draw(dice));
        let grid = |v: f64| if self.grid_mm > 0.0 { libm::round(v / self.grid_mm) * self.grid_mm } else { v };
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
        compare(&baseline, &later, &settings, &Aim::of(&settings)).unwrap()
    }
}

/// Shares of seasons.
struct Tally {
    any: f64,
    bias: f64,
    scatter: f64,
    centre: f64,
    /// Median look of the first call of the bias, and of the scatter.
    looks: (u32, u32),
    /// The true shift toward the toe lies in its interval.
    covered: f64,
}

fn tally(world: &World, seasons: u32, seed: u64) -> Tally {
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
const NULL: [World; 21] = [
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
];

/// Worlds in which something changes.
const CHANGED: [World; 10] = [
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
];

fn show(world: &World, t: &Tally) {
    println!(
        "{:22} any {:.4} bias {:.4} @{:2} scatter {:.4} @{:2} centre {:.4} toe covered {:.4}",
        world.name, t.any, t.bias, t.looks.0, t.scatter, t.looks.1, t.centre, t.covered
    );
}

/// The long form: `cargo test --release -p chalkface-core seasons -- --ignored
/// --nocapture`, about a minute.
#[test]
#[ignore = "takes about a minute in release; the command is in its docs"]
fn seasons_in_full_call_at_most_five_percent_where_nothing_changed() {
    let seasons = 10_000;
    let mut worst: f64 = 0.0;
    for (seed, world) in (1..).zip(&NULL) {
        let t = tally(world, seasons, seed);
        show(world, &t);
        worst = worst.max(t.any);
    }
    for (seed, world) in (100..).zip(&CHANGED) {
        show(world, &tally(world, 4_000, seed));
    }
    // Two standard errors of 10,000 seasons: the limit itself stays 5 %.
    assert!(worst <= 0.05 + 2.0 * 0.0022, "{worst}");
}

/// Four standard errors of a share above 5 %.
fn limit(seasons: u32) -> f64 {
    0.05 + 4.0 * (0.05 * 0.95 / f64::from(seasons)).sqrt()
}

#[test]
fn few_seasons_call_a_change_in_worlds_without_one() {
    let seasons = 100;
    let worlds = NULL.iter().filter(|w| w.looks == 20);
    let (mut sum, mut count) = (0.0, 0);
    for (seed, world) in (1000..).zip(worlds) {
        let t = tally(world, seasons, seed);
        assert!(t.any <= limit(seasons), "{}: {}", world.name, t.any);
        sum += t.any * f64::from(seasons);
        count += seasons;
    }
    // All worlds together, for which the limit is far narrower.
    assert!(sum / f64::from(count) <= limit(count), "{sum} of {count}");
}

#[test]
fn most_seasons_call_a_change_that_is_there_and_soon() {
    let seasons = 150;
    let found = |name: &str| {
        let world = CHANGED.iter().find(|w| w.name == name).unwrap();
        tally(world, seasons, 2000)
    };
    let below = |share: f64| share - 4.0 * (share * (1.0 - share) / f64::from(seasons)).sqrt();
    let far = found("10 mm toe, 4");
    assert!(far.bias >= below(0.90) && far.looks.0 <= 9, "{} @{}", far.bias, far.looks.0);
    let long = found("6 mm toe, 10");
    assert!(long.bias >= below(0.80) && long.looks.0 <= 12, "{} @{}", long.bias, long.looks.0);
    let tight = found("30 % tighter, 4");
    assert!(tight.scatter >= below(0.85) && tight.looks.1 <= 12, "{} @{}", tight.scatter, tight.looks.1);
}
