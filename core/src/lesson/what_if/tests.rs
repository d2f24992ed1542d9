//! Fixes of an invented student: complete, ordered, with intervals about their estimates.

use super::*;
use crate::face::normal::normal_quantile;
use crate::flight::seen::{Quantity, Reading, Seen};
use crate::flight::{Club, Conditions, Face, FiveConstantLaw, Flier, Hand};
use crate::lesson::student_model::{Assumed, Ball};

const LAW: FiveConstantLaw = FiveConstantLaw::ODS_FIT;
const MEAN: [f64; 7] = [41.0, 14.0, 1.5, -1.0, 0.5, -8.0, 1.0];
const SD: [f64; 7] = [1.3, 1.4, 2.6, 2.2, 1.3, 9.0, 7.0];

fn with_setting<T>(f: impl FnOnce(&Setting<FiveConstantLaw>) -> T) -> T {
    let flier = Flier::new(&LAW, &Conditions::default()).unwrap();
    let head = Club::default().conforming().unwrap();
    f(&Setting { head: &head, hand: Hand::Right, face: Face::Dry, flier: &flier })
}

fn model(balls: usize, seed: u64) -> StudentModel {
    let mut chance = Chance::new(seed);
    let balls: Vec<Ball> = (0..balls)
        .map(|n| {
            let seen =
                Quantity::ALL.into_iter().zip(MEAN).zip(SD).fold(Seen::nothing(), |seen, ((q, mean), sd)| {
                    let value = mean + sd * normal_quantile(chance.uniform());
                    seen.with(q, Reading::Number { value, sigma: 0.1 }).unwrap()
                });
            Ball::of(n / 12, Face::Dry, &seen).unwrap()
        })
        .collect();
    StudentModel::of(balls, &Assumed::default(), &|_, _, _| Err(FlightError::NoFit)).unwrap()
}

#[test]
fn fixes_are_ranked_by_what_the_student_cares_about() {
    with_setting(|setting| {
        let model = model(120, 5);
        for care in [Care::Distance, Care::Fairways, Care::Both] {
            let found = what_if(&model, setting, &Want { care, drives: 4_000, ..Want::default() }).unwrap();
            assert_eq!(found.fixes.len(), 8);
            assert!(found.fixes.windows(2).all(|pair| pair[0].gain.score >= pair[1].gain.score));
            assert!(found.fixes.iter().zip(1..).all(|(fix, rank)| fix.rank == rank));
            let sure: f64 = found.fixes.iter().map(|fix| fix.best_chance).sum();
            assert!((sure - 1.0).abs() < 1e-9, "{sure}");
            for fix in &found.fixes {
                let gain = &fix.gain.carry_gain_m;
                assert!(gain.low <= gain.estimate && gain.estimate <= gain.high, "{fix:?}");
            }
        }
    });
}
