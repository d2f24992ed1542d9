//! Do the intervals of feel hold what they say, and does a season of looks call
//! a change that isn't there? Seeded simulation.
//!
//! The long form prints the figures that `core/decisions` quotes:
//!
//! ```text
//! cargo test --release -p chalkface-core feel_in_full -- --ignored --nocapture
//! ```
//!
//! Start at [`Student`].

use super::*;
use crate::dice::Dice;

/// A student whose feel is known: guess = lean + slope * strike + noise.
#[derive(Clone, Copy)]
pub(super) struct Student {
    pub slope: f64,
    pub noise_mm: f64,
    pub lean_mm: f64,
    pub sigma_mm: f64,
    /// SD of a day's shift of strikes along each axis, mm.
    pub days_mm: f64,
    /// SD of a day's shift of the guesses, mm.
    pub guess_days_mm: f64,
    pub heavy: bool,
    /// The strikes' scatter, as a multiple of 10 x 8 mm.
    pub scatter: f64,
}

impl Default for Student {
    fn default() -> Self {
        Self {
            slope: 0.7,
            noise_mm: 5.0,
            lean_mm: 0.0,
            sigma_mm: 2.0,
            days_mm: 0.0,
            guess_days_mm: 0.0,
            heavy: false,
            scatter: 1.0,
        }
    }
}

impl Student {
    pub fn session_with_truth(&self, dice: &mut Dice, balls: usize) -> Vec<(Pair, [f64; 2])> {
        let shift = [self.days_mm * dice.normal(), self.days_mm * dice.normal()];
        let guessed = [self.guess_days_mm * dice.normal(), self.guess_days_mm * dice.normal()];
        (0..balls)
            .map(|_| {
                let mut draw = || if self.heavy { dice.heavy() } else { dice.normal() };
                let truth: [f64; 2] =
                    core::array::from_fn(|a| shift[a] + self.scatter * [10.0, 8.0][a] * draw());
                let guess_mm = core::array::from_fn(|a| {
                    self.lean_mm + guessed[a] + self.slope * truth[a] + self.noise_mm * draw()
                });
                let mark_mm = core::array::from_fn(|a| truth[a] + self.sigma_mm * dice.normal());
                (Pair { guess_mm, mark_mm, sigma_mm: self.sigma_mm }, truth)
            })
            .collect()
    }

    pub fn season(&self, dice: &mut Dice, sessions: usize, balls: usize) -> Vec<Vec<Pair>> {
        (0..sessions)
            .map(|_| self.session_with_truth(dice, balls).into_iter().map(|(pair, _)| pair).collect())
            .collect()
    }

    /// Offset, slope, correlation toward the toe; rms error, relative error.
    fn truth(&self) -> [f64; 5] {
        let strike = |sd: f64| (self.scatter * sd).powi(2) + self.days_mm.powi(2);
        let noise = self.noise_mm.powi(2) + self.guess_days_mm.powi(2);
        let (toe, high) = (strike(10.0), strike(8.0));
        let guess = self.slope.powi(2) * toe + noise;
        let gap = (1.0 - self.slope).powi(2);
        let square = gap * (toe + high) + 2.0 * noise + 2.0 * self.lean_mm.powi(2);
        [
            self.lean_mm,
            self.slope,
            self.slope * (toe / guess).sqrt(),
            square.sqrt(),
            (square / (toe + high)).sqrt(),
        ]
    }
}

const NAMES: [&str; 5] = ["offset", "slope", "correlation", "rms error", "relative error"];

/// The share of seasons in which each interval holds the truth.
fn coverage(student: &Student, sessions: usize, balls: usize, seasons: u32, seed: u64) -> [f64; 5] {
    let mut dice = Dice::new(seed);
    let mut hits = [0_u32; 5];
    let truth = student.truth();
    for _ in 0..seasons {
        let feel = Feel::from_sessions(&student.season(&mut dice, sessions, balls));
        let found = [
            feel.toe.offset_mm,
            feel.toe.slope,
            feel.toe.correlation,
            feel.rms_error_mm,
            feel.relative_error,
        ];
        for ((hit, found), truth) in hits.iter_mut().zip(found).zip(truth) {
            // Without one ball in a thousandfold the readings' error may explain it
            // all: then there is no interval, and nothing that could be wrong.
            let held = |found: Interval| Some(found.low? <= truth && truth <= found.high?);
            *hit += u32::from(found.and_then(held).unwrap_or(true));
        }
    }
    hits.map(|hits| f64::from(hits) / f64::from(seasons))
}

/// A student, sessions, balls a session.
fn covered() -> [(Student, usize, usize); 8] {
    let plain = Student::default();
    let days = Student { days_mm: 3.0, guess_days_mm: 3.0, lean_mm: 4.0, ..plain };
    [
        (plain, 1, 12),
        (plain, 4, 10),
        (days, 5, 8),
        (days, 8, 8),
        (days, 20, 10),
        (Student { slope: 0.0, noise_mm: 3.0, ..days }, 10, 8),
        (Student { heavy: true, ..days }, 12, 10),
        (Student { slope: 1.0, noise_mm: 8.0, sigma_mm: 1.0, ..days }, 12, 6),
    ]
}

#[test]
fn ninety_per_cent_intervals_hold_the_truth_about_nine_times_in_ten() {
    // 500 seasons: four standard errors of 0.9 are 0.054.
    for (n, (student, sessions, balls)) in covered().into_iter().enumerate() {
        let shares = coverage(&student, sessions, balls, 500, 10 + n as u64);
        for (share, name) in shares.into_iter().zip(NAMES) {
            assert!((0.83..=0.96).contains(&share), "{n}: {name} {share} of {sessions} sessions");
        }
    }
}

/// Shares of 20-look seasons (after 4 first sessions) that call better, worse.
fn called(world: &dyn Fn(usize, &mut Dice) -> Vec<Pair>, seasons: u32, seed: u64) -> [f64; 2] {
    let mut dice = Dice::new(seed);
    let mut calls = [0_u32; 2];
    for _ in 0..seasons {
        let season: Vec<Vec<Pair>> = (0..24).map(|n| world(n, &mut dice)).collect();
        // A call, once made, stays: the last look holds those of all before it.
        match FeelTrend::of(&season).called {
            Some(FeelTurn::Better) => calls[0] += 1,
            Some(FeelTurn::Worse) => calls[1] += 1,
            None => {}
        }
    }
    calls.map(|n| f64::from(n) / f64::from(seasons))
}

type World = (&'static str, Box<dyn Fn(usize, &mut Dice) -> Vec<Pair>>);

fn pairs(student: &Student, dice: &mut Dice, balls: usize) -> Vec<Pair> {
    student.session_with_truth(dice, balls).into_iter().map(|(pair, _)| pair).collect()
}

fn null_worlds() -> Vec<World> {
    let plain = Student { days_mm: 3.0, guess_days_mm: 3.0, ..Student::default() };
    let tighter = |n: usize| 1.0 - 0.5 * n as f64 / 23.0;
    vec![
        ("normal", Box::new(move |_, dice| pairs(&plain, dice, 10))),
        ("heavy tails", Box::new(move |_, dice| pairs(&Student { heavy: true, ..plain }, dice, 10))),
        ("few balls", Box::new(move |_, dice| pairs(&plain, dice, 4))),
        (
            "unequal counts",
            Box::new(move |_, dice| {
                let balls = 4 + (dice.uniform() * 20.0) as usize;
                pairs(&plain, dice, balls)
            }),
        ),
        ("few balls at first", Box::new(move |n, dice| pairs(&plain, dice, if n < 8 { 4 } else { 20 }))),
        (
            "noise that differs from day to day",
            Box::new(move |_, dice| {
                let noise_mm = 5.0 * libm::exp(0.4 * dice.normal());
                pairs(&Student { noise_mm, ..plain }, dice, 10)
            }),
        ),
        (
            "noise that differs from day to day, many balls",
            Box::new(move |_, dice| {
                let noise_mm = 5.0 * libm::exp(0.4 * dice.normal());
                pairs(&Student { noise_mm, ..plain }, dice, 40)
            }),
        ),
        (
            "strikes and errors tighter alike",
            Box::new(move |n, dice| {
                let (scatter, noise_mm) = (tighter(n), 6.0 * tighter(n));
                pairs(&Student { slope: 0.7, noise_mm, sigma_mm: 0.5, scatter, ..plain }, dice, 10)
            }),
        ),
        (
            "tighter strikes, always the middle",
            Box::new(move |n, dice| {
                let student = Student { slope: 0.0, noise_mm: 0.0, scatter: tighter(n), ..plain };
                pairs(&student, dice, 10)
            }),
        ),
        (
            "tighter strikes, feel as ever",
            Box::new(move |n, dice| pairs(&Student { slope: 1.0, scatter: tighter(n), ..plain }, dice, 10)),
        ),
    ]
}

/// One whose noise shrinks from 8 to 8 * `to` mm over the season.
fn learner(to: f64) -> impl Fn(usize, &mut Dice) -> Vec<Pair> {
    move |n, dice| {
        let noise_mm = 8.0 * (1.0 + (to - 1.0) * n as f64 / 23.0);
        pairs(
            &Student { slope: 1.0, noise_mm, days_mm: 3.0, guess_days_mm: 3.0, ..Student::default() },
            dice,
            10,
        )
    }
}

#[test]
fn a_season_of_looks_calls_a_turn_of_feel_that_is_not_there_in_under_five_per_cent() {
    // 600 seasons: four standard errors of 5 % are 3.6 %.
    for (n, (name, world)) in null_worlds().into_iter().enumerate() {
        let [better, worse] = called(&world, 600, 40 + n as u64);
        assert!(better + worse <= 0.086, "{name}: {better} better, {worse} worse");
    }
}

#[test]
fn a_student_who_learns_to_feel_it_is_told_so_and_never_that_it_got_worse() {
    let [better, worse] = called(&learner(0.4), 200, 60);
    assert!(better > 0.6 && worse == 0.0, "{better} {worse}");
}

#[test]
fn nothing_is_called_before_nine_sessions_however_plain_it_looks() {
    let mut dice = Dice::new(9);
    let bad = Student { slope: 0.0, noise_mm: 15.0, ..Student::default() };
    let good = Student { slope: 1.0, noise_mm: 0.5, sigma_mm: 0.5, ..Student::default() };
    let mut season = bad.season(&mut dice, 4, 10);
    season.extend(good.season(&mut dice, 4, 10));
    let trend = FeelTrend::of(&season);
    assert_eq!((trend.called, trend.more_sessions), (None, 1));
    season.extend(good.season(&mut dice, 1, 3));
    assert_eq!(FeelTrend::of(&season).more_sessions, 1, "three balls are no session");
    season.extend(good.season(&mut dice, 4, 10));
    assert_eq!(FeelTrend::of(&season).called, Some(FeelTurn::Better));
}

#[test]
#[ignore = "the long form: minutes"]
fn feel_in_full() {
    for (n, (student, sessions, balls)) in covered().into_iter().enumerate() {
        let shares = coverage(&student, sessions, balls, 20_000, 100 + n as u64);
        println!("coverage, {sessions} sessions of {balls}: {NAMES:?} {shares:.3?}");
    }
    for (n, (name, world)) in null_worlds().into_iter().enumerate() {
        println!("no turn, {name}: {:.4?}", called(&world, 20_000, 200 + n as u64));
    }
    for to in [0.8, 0.6, 0.5, 0.4] {
        println!("noise to {to} of 8 mm: {:.3?}", called(&learner(to), 4_000, 300));
    }
}
