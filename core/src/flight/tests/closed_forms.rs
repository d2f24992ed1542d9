//! Impact against closed forms and conservation laws (sources.md I1 to I4, status D).

use super::super::ball::{BALL_INERTIA_KGM2, BALL_MASS_KG, BALL_RADIUS_M};
use super::super::vec3::V3;
use super::*;

/// A flat head of one mass whose balance point lies behind the face centre.
fn plain() -> Club {
    Club {
        shaft_share_kg: 0.0,
        bulge_mm: f64::INFINITY,
        roll_mm: f64::INFINITY,
        balance_up_mm: 0.0,
        restitution: 0.83,
        restitution_fall_spm: 0.0,
        tangential_restitution: 0.0,
        ball_lag: 0.0,
        ..Club::default()
    }
}

fn flat_on(head_speed_mps: f64) -> Delivery {
    Delivery { head_speed_mps, loft_deg: 0.0, ..Delivery::default() }
}

#[test]
fn a_head_on_impact_gives_the_textbook_ball_speed() {
    // I1, 1e-9; 67.22 m/s in the notes.
    let head = plain().conforming().unwrap();
    let got = struck(&head, Hand::Right, &flat_on(45.0)).ball_speed_mps;
    let want = 45.0 * 1.83 / (1.0 + BALL_MASS_KG / 0.204);
    assert!((got - want).abs() < 1e-9 && (want - 67.22).abs() < 5e-3, "{got} {want}");
}

#[test]
fn an_oblique_impact_through_the_balance_point_gives_the_closed_form() {
    // I2, 1e-9.
    for (loft, e_t) in [(8.0, 0.0), (13.0, -0.2), (20.0, 0.3)] {
        let club = Club { tangential_restitution: e_t, ..plain() };
        let delivery = Delivery { loft_deg: loft, ..flat_on(45.0) };
        let got = struck(&club.conforming().unwrap(), Hand::Right, &delivery);
        let (m, mass) = (BALL_MASS_KG, 0.204);
        let (sin, cos) = libm::sincos(loft.to_radians());
        let v_n = 45.0 * cos * 1.83 / (1.0 + m / mass);
        let depth = club.balance_depth_mm * 1e-3;
        let j_t = (1.0 + e_t) * 45.0 * sin
            / (3.5 / m + 1.0 / mass + depth * depth / (club.inertia_toe_gcm2 * 1e-7));
        let v_t = j_t / m;
        let spin = 2.5 * j_t / (m * BALL_RADIUS_M) * 30.0 / core::f64::consts::PI;
        assert!((got.ball_speed_mps - v_n.hypot(v_t)).abs() < 1e-9);
        assert!((got.backspin_rpm - spin).abs() < 1e-6, "{} {spin}", got.backspin_rpm);
        assert!((got.launch_deg - (loft - libm::atan(v_t / v_n).to_degrees())).abs() < 1e-9);
    }
}

#[test]
fn a_frictionless_miss_loses_speed_by_the_effective_mass() {
    // I3, 1e-9: flat, frictionless, 1/M_eff = 1/M + d^2/I.
    let club = Club { friction: 0.0, ..plain() };
    let head = club.conforming().unwrap();
    for (toe, high) in [(20.0, 0.0), (-35.0, 0.0), (0.0, 15.0), (0.0, -12.0)] {
        let got = struck(&head, Hand::Right, &flat_on(45.0).struck_at(toe, high)).ball_speed_mps;
        let per_mass = 1.0 / 0.204
            + (toe * 1e-3) * (toe * 1e-3) / (club.inertia_up_gcm2 * 1e-7)
            + (high * 1e-3) * (high * 1e-3) / (club.inertia_toe_gcm2 * 1e-7);
        let want = 45.0 * 1.83 / (1.0 + BALL_MASS_KG * per_mass);
        assert!((got - want).abs() < 1e-9, "toe {toe} high {high}: {got} {want}");
    }
}

/// Motion of a delivery's head before impact.
fn before(d: &Delivery) -> V3<f64> {
    let (sin_a, cos_a) = libm::sincos(d.attack_deg.to_radians());
    let (sin_p, cos_p) = libm::sincos(d.path_deg.to_radians());
    V3::new(cos_a * cos_p, sin_a, cos_a * sin_p).scale(d.head_speed_mps)
}

#[test]
fn momentum_is_kept_and_energy_never_grows_over_many_swings() {
    // I4: momentum 1e-12 of its size.
    let head = driver();
    let mut variety = Variety::new(4);
    for _ in 0..2000 {
        let d = variety.delivery();
        for face in [Face::Dry, Face::Powdered] {
            let hand = if variety.next(0.0, 1.0) < 0.5 { Hand::Left } else { Hand::Right };
            let got = impact(&head, hand, face, &d).unwrap();
            let at_first = before(&d).scale(head.mass_kg);
            let after = got.head.velocity.scale(head.mass_kg) + got.ball.velocity.scale(BALL_MASS_KG);
            assert!((after - at_first).length() < 1e-12 * at_first.length(), "{d:?}");

            let axes = axes(&d, hand);
            let turning: f64 = axes
                .iter()
                .zip(head.inverse_inertia)
                .map(|(axis, inverse)| got.head.spin.dot(*axis) * got.head.spin.dot(*axis) / inverse)
                .sum();
            let energy = 0.5
                * (BALL_MASS_KG * got.ball.velocity.dot(got.ball.velocity)
                    + BALL_INERTIA_KGM2 * got.ball.spin.dot(got.ball.spin)
                    + head.mass_kg * got.head.velocity.dot(got.head.velocity)
                    + turning);
            let supply = 0.5 * head.mass_kg * d.head_speed_mps * d.head_speed_mps;
            assert!(energy <= supply * (1.0 + 1e-12), "{d:?}: {energy} of {supply}");
        }
    }
}

/// n, u, t of a delivery's face in the world (sources.md 7.1).
fn axes(d: &Delivery, hand: Hand) -> [V3<f64>; 3] {
    let (sin_l, cos_l) = libm::sincos(d.loft_deg.to_radians());
    let (sin_f, cos_f) = libm::sincos(d.face_deg.to_radians());
    let n = V3::new(cos_l * cos_f, sin_l, cos_l * sin_f);
    let right = V3::new(-sin_f, 0.0, cos_f);
    [n, right.cross(n), right.scale(hand.sign())]
}

#[test]
fn angular_momentum_is_kept_over_many_swings() {
    // I4, 1e-12 of its size: about the face centre, with the ball's squashed
    // centre where the model puts it.
    let head = driver();
    let club = *head.club();
    let mut variety = Variety::new(5);
    for _ in 0..2000 {
        let d = variety.delivery();
        for hand in [Hand::Right, Hand::Left] {
            let got = impact(&head, hand, Face::Dry, &d).unwrap();
            let [n, u, t] = axes(&d, hand);
            let (x, y) = (d.toe_mm * 1e-3, d.high_mm * 1e-3);
            let (bulge, roll) = (club.bulge_mm * 1e-3, club.roll_mm * 1e-3);
            let point = t.scale(x) + u.scale(y) - n.scale(x * x / (2.0 * bulge) + y * y / (2.0 * roll));
            let lean = n + t.scale(x / bulge) + u.scale(y / roll);
            let normal = lean.scale(1.0 / lean.length());
            let [cn, cu, ct] = head.balance_m;
            let balance = n.scale(cn) + u.scale(cu) + t.scale(ct);
            let slide = -before(&d);
            let u_n = normal.dot(slide);
            let u_t = slide - normal.scale(u_n);
            let r_b = u_t.scale(club.ball_lag * BALL_RADIUS_M / u_n.abs()) - normal.scale(BALL_RADIUS_M);
            let centre = point - r_b;
            let at_first = balance.cross(before(&d)).scale(head.mass_kg);
            let turn = |axis: V3<f64>, inverse: f64| axis.scale(got.head.spin.dot(axis) / inverse);
            let [gn, gu, gt] = head.inverse_inertia;
            let after = balance.cross(got.head.velocity).scale(head.mass_kg)
                + turn(n, gn)
                + turn(u, gu)
                + turn(t, gt)
                + centre.cross(got.ball.velocity).scale(BALL_MASS_KG)
                + got.ball.spin.scale(BALL_INERTIA_KGM2);
            let size = head.mass_kg * d.head_speed_mps * 0.05;
            assert!((after - at_first).length() < 1e-12 * size.max(1.0), "{d:?} {hand:?}");
        }
    }
}

#[test]
fn left_and_right_handers_mirror_each_other_to_the_last_bit() {
    let head = driver();
    let mut variety = Variety::new(6);
    for _ in 0..500 {
        let d = variety.delivery();
        let mirrored = Delivery { face_deg: -d.face_deg, path_deg: -d.path_deg, ..d };
        let (a, b) = (struck(&head, Hand::Right, &d), struck(&head, Hand::Left, &mirrored));
        assert_eq!(a.ball_speed_mps.to_bits(), b.ball_speed_mps.to_bits());
        assert_eq!((a.launch_deg, a.backspin_rpm), (b.launch_deg, b.backspin_rpm));
        assert_eq!((a.start_deg, a.sidespin_rpm), (-b.start_deg, -b.sidespin_rpm));
    }
}

#[test]
fn heel_and_toe_of_a_symmetric_head_mirror_each_other() {
    let head = driver();
    let toe = struck(&head, Hand::Right, &standard().struck_at(17.0, 4.0));
    let heel = struck(&head, Hand::Right, &standard().struck_at(-17.0, 4.0));
    assert!((toe.start_deg + heel.start_deg).abs() < 1e-12);
    assert!((toe.sidespin_rpm + heel.sidespin_rpm).abs() < 1e-9);
    assert!((toe.ball_speed_mps - heel.ball_speed_mps).abs() < 1e-12);
}

#[test]
fn a_face_that_turns_away_from_the_ball_is_refused() {
    let d = Delivery {
        loft_deg: 70.0,
        attack_deg: -25.0,
        face_deg: 40.0,
        path_deg: -40.0,
        ..Delivery::default()
    };
    let said = impact(&driver(), Hand::Right, Face::Dry, &d).unwrap_err();
    assert!(matches!(said, FlightError::NoContact { closing_mps } if closing_mps < 1.0), "{said}");
}
