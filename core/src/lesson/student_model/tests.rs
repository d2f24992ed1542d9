//! The swing behind invented balls: recovered, honest about its errors, assumed where nothing was read.

use super::super::chance::Chance;
use super::*;
use crate::face::normal::normal_quantile;
use crate::flight::seen::{Quantity, Reading, Seen};

/// An invented student.
pub(super) struct Invented {
    pub mean: [f64; N],
    pub sd: [f64; N],
    /// Correlation of face and path.
    pub face_path: f64,
    /// Share of the variance that sessions have.
    pub share: f64,
}

impl Invented {
    pub fn balls(&self, sessions: usize, each: usize, errors: &[f64; N], chance: &mut Chance) -> Vec<Ball> {
        let mut normal = || normal_quantile(chance.uniform());
        let mut balls = Vec::new();
        for session in 0..sessions {
            let shift: [f64; N] = core::array::from_fn(|k| self.sd[k] * self.share.sqrt() * normal());
            for _ in 0..each {
                let mut z: [f64; N] = core::array::from_fn(|_| normal());
                z[3] = self.face_path * z[2] + (1.0 - self.face_path * self.face_path).sqrt() * z[3];
                let seen = Quantity::ALL.into_iter().take(N).zip(errors).enumerate().fold(
                    Seen::nothing(),
                    |seen, (k, (quantity, error))| {
                        if *error == 0.0 {
                            return seen;
                        }
                        let value = self.mean[k] + shift[k] + self.sd[k] * z[k] + error * normal();
                        seen.with(quantity, Reading::Number { value, sigma: *error }).unwrap()
                    },
                );
                balls.push(Ball::of(session, Face::Dry, &seen).unwrap());
            }
        }
        balls
    }
}

/// Nothing here has to be straightened.
fn learned(balls: Vec<Ball>) -> Result<StudentModel, FlightError> {
    StudentModel::of(balls, &Assumed::default(), &|_, _, _| Err(FlightError::NoFit))
}

fn student() -> Invented {
    Invented {
        mean: [40.0, 14.5, 1.5, -2.0, -1.0, -9.0, 5.0],
        sd: [1.5, 1.6, 2.8, 2.2, 1.2, 9.0, 7.0],
        face_path: 0.5,
        share: 0.0,
    }
}

const ERRORS: [f64; N] = [0.5, 0.8, 0.8, 0.8, 0.8, 1.5, 1.5];

#[test]
fn many_well_read_balls_give_the_students_own_numbers() {
    let student = student();
    let balls = student.balls(20, 100, &ERRORS, &mut Chance::new(1));
    let model = learned(balls).unwrap();
    for k in 0..N {
        assert!((model.mean[k] - student.mean[k]).abs() < 4.0 * model.mean_sigma[k], "{k} {model:?}");
        assert!((model.sd[k] - student.sd[k]).abs() < 4.0 * model.sd_sigma[k], "{k} {model:?}");
        assert!((model.correlation[k][k] - 1.0).abs() < 1e-12);
    }
    assert!((model.correlation[2][3] - 0.5).abs() < 0.08, "{:?}", model.correlation[2]);
    assert!(model.sd_sigma[0] < 0.06 && model.worth[5] > 1_700.0, "{model:?}");
}

#[test]
fn what_was_never_read_stays_what_was_assumed_and_says_so() {
    let student = student();
    let mut errors = [0.0; N];
    errors[5] = 1.5;
    errors[6] = 1.5;
    let balls = student.balls(4, 15, &errors, &mut Chance::new(2));
    let model = learned(balls).unwrap();
    let prior = numbers(&Prior::default().mean);
    for (k, prior) in prior.iter().enumerate().take(5) {
        assert!((model.mean[k] - prior).abs() < 1e-6 && model.worth[k] < 1e-6, "{k} {model:?}");
        assert!(model.mean_sigma[k] > 1.5, "{k} {model:?}");
        assert!((model.sd[k] - numbers(&Assumed::default().ball_sigma)[k]).abs() < 1e-3, "{k} {model:?}");
    }
    assert!(model.mean_sigma[5] < 2.5 && model.worth[5] > 50.0, "{model:?}");
}

#[test]
fn errors_of_means_and_spreads_are_honest_with_and_without_shifts_between_sessions() {
    for (share, sessions, each) in [(0.0, 5, 12), (0.1, 5, 12), (0.1, 12, 10), (0.0, 1, 30), (0.25, 8, 15)] {
        let student = Invented { share, ..student() };
        let (mut mean, mut sd, mut count) = (0.0, 0.0, 0.0);
        let mut chance = Chance::new(77);
        for _ in 0..150 {
            let balls = student.balls(sessions, each, &ERRORS, &mut chance);
            let model = learned(balls).unwrap();
            for k in 0..N {
                let total = student.sd[k] * (1.0 + share).sqrt();
                mean += f64::from(u8::from(
                    (model.mean[k] - student.mean[k]).abs() < 1.645 * model.mean_sigma[k],
                ));
                sd += f64::from(u8::from((model.sd[k] - total).abs() < 1.645 * model.sd_sigma[k]));
                count += 1.0;
            }
        }
        let (mean, sd) = (mean / count, sd / count);
        // Half of the figures of one student hang together, so the limits are wide; the
        // full study has every world's figures.
        assert!((0.82..0.98).contains(&mean), "share {share}, {sessions} x {each}: means {mean:.3}");
        assert!((0.78..0.96).contains(&sd), "share {share}, {sessions} x {each}: spreads {sd:.3}");
    }
}
