//! The short form of the calibration studies: the same worlds with few seasons,
//! limits four standard errors wide.
//!
//! The rule: a check that fails here means that a figure which coaches act on is
//! less sure than it says. The full form is `calibration_compare` beside this.

#![allow(clippy::unwrap_used)]

#[allow(dead_code)] // each study takes what it needs
mod dice;
#[allow(dead_code, clippy::unwrap_used, clippy::indexing_slicing)] // a study, stopped by what is wrong
mod seasons;

use seasons::{CHANGED, NULL, oracle, tally};

/// Four standard errors of a share above 5 %.
fn limit(seasons: u32) -> f64 {
    0.05 + 4.0 * (0.05 * 0.95 / f64::from(seasons)).sqrt()
}

#[test]
fn few_seasons_call_a_change_in_worlds_without_one() {
    let seasons = 400;
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
    assert!(tight.scatter >= below(0.80) && tight.looks.1 <= 12, "{} @{}", tight.scatter, tight.looks.1);
}

#[test]
fn the_oracle_calls_what_theory_lets_it() {
    // Without a change: its own 2.5 %.
    let (share, _) = oracle(4, 20, 0.0, 20_000, 1);
    assert!((share - 0.025).abs() < 4.0 * (0.025 / 20_000.0_f64).sqrt() * 1.5, "{share}");
    // One look is a plain z test: normal quantile 2.2414 at 2.5 %, power Phi(3 - 2.2414).
    let (share, look) = oracle(4, 1, 3.0 * (1.25_f64).sqrt(), 20_000, 1);
    assert!((share - 0.776).abs() < 0.02 && look == 1, "{share}");
}
