//! Flight against closed forms, scaling and the decay law (sources.md F2, F10, status D and L2).

use super::super::integrate::GRAVITY_MPS2 as G;
use super::super::vec3::V3;
use super::*;

fn at(speed: f64, launch_deg: f64) -> Launch {
    Launch {
        ball_speed_mps: speed,
        launch_deg,
        start_deg: 0.0,
        backspin_rpm: 2500.0,
        sidespin_rpm: 0.0,
        rifle_rpm: 0.0,
    }
}

#[test]
fn without_air_a_ball_flies_the_parabola() {
    // F10 (D), 1e-6 m.
    let flier = still_air(&ConstantLaw::VACUUM);
    for angle in [5.0, 12.0, 45.0, 70.0] {
        let f = flier.fly(&at(60.0, angle)).unwrap();
        let (sin, cos) = libm::sincos(f64::to_radians(angle));
        assert!((f.carry_m - 2.0 * 3600.0 * sin * cos / G).abs() < 1e-6, "{angle}: {f:?}");
        assert!((f.apex_m - 3600.0 * sin * sin / (2.0 * G)).abs() < 1e-6);
        assert!((f.time_s - 120.0 * sin / G).abs() < 1e-8);
        assert!((f.landing_deg - angle).abs() < 1e-7 && (f.landing_speed_mps - 60.0).abs() < 1e-7);
    }
}

#[test]
fn a_dropped_ball_follows_the_tanh_law_to_its_terminal_speed() {
    // F10 (D), 1e-9 m/s.
    let law = ConstantLaw { drag: 0.5, lift: 0.0, decay: 0.0 };
    let conditions = Conditions { start_height_m: 200.0, landing_height_m: -200.0, ..Conditions::default() };
    let flier = Flier::new(&law, &conditions).unwrap().with_tolerance(1e-13);
    let still = V3::new(0.0, 0.0, 0.0);
    let f = flier.fly_motion(&Motion { velocity: still, spin: still });
    let area = core::f64::consts::PI * ball::BALL_RADIUS_M * ball::BALL_RADIUS_M;
    let terminal = (2.0 * ball::BALL_MASS_KG * G / (1.225 * area * 0.5)).sqrt();
    let speed = terminal * libm::tanh(G * f.time_s / terminal);
    assert!((f.landing_speed_mps - speed).abs() < 1e-9, "{} {speed}", f.landing_speed_mps);
    let fallen = terminal * terminal / G * libm::log(libm::cosh(G * f.time_s / terminal));
    assert!((fallen - 400.0).abs() < 1e-8, "{fallen}");
    assert!(f.landing_speed_mps > 0.99 * terminal);
}

#[test]
fn spin_decays_by_the_quoted_rate_and_exponentially_along_the_path() {
    // F2 (L2): 7097 rpm at 120 mph loses 340 rpm/s, 1 %, with the quoted k of 1.91e-5.
    let rate = 1.91e-5 * (120.0 * 0.447_04) * 7097.0 / ball::BALL_RADIUS_M;
    assert!((rate / 340.0 - 1.0).abs() < 0.01 && (rate - 340.8).abs() < 0.1, "{rate}");
    // w = w0 exp(-k s / R), s the path in the air; here along a parabola without drag (1e-6).
    let law = ConstantLaw { drag: 0.0, lift: 0.0, decay: 2.0e-5 };
    let flier = still_air(&law).with_tolerance(1e-10);
    let f = flier.fly(&at(70.0, 10.0)).unwrap();
    let (sin, cos) = libm::sincos(f64::to_radians(10.0));
    let tan = sin / cos;
    let half = (70.0 * cos) * (70.0 * cos) / (2.0 * G) * (tan * (1.0 + tan * tan).sqrt() + libm::asinh(tan));
    let want = 2500.0 * libm::exp(-2.0e-5 * 2.0 * half / ball::BALL_RADIUS_M);
    assert!((f.landing_spin_rpm / want - 1.0).abs() < 1e-6, "{} {want}", f.landing_spin_rpm);
    // 250 m leaves 79 % (F2).
    assert!((libm::exp(-2.0e-5 * 250.0 / ball::BALL_RADIUS_M) - 0.79).abs() < 0.005);
    for law in [FiveConstantLaw::ODS_FIT, FiveConstantLaw::SMITS_SMITH_1994] {
        assert_eq!(law.decay, 2.0e-5, "both laws keep the notes' k");
    }
}

#[test]
fn speeds_and_thinner_air_scale_flights_as_dimensions_demand() {
    // With constant coefficients: speed x s and density / s^2 make every length s^2 times as long.
    let law = ConstantLaw { drag: 0.25, lift: 0.2, decay: 0.0 };
    let s = 1.3;
    let thin =
        Conditions { air: Air { density_kgpm3: 1.225 / (s * s), ..Air::STANDARD }, ..Conditions::default() };
    let a = still_air(&law).with_tolerance(1e-10).fly(&at(50.0, 14.0)).unwrap();
    let b = Flier::new(&law, &thin).unwrap().with_tolerance(1e-10).fly(&at(50.0 * s, 14.0)).unwrap();
    assert!((b.carry_m / a.carry_m / (s * s) - 1.0).abs() < 1e-9);
    assert!((b.time_s / a.time_s / s - 1.0).abs() < 1e-9);
    assert!((b.landing_deg - a.landing_deg).abs() < 1e-7);
}

#[test]
fn long_steps_keep_the_carry_within_a_centimetre_of_a_tight_solution() {
    let mut variety = Variety::new(11);
    for law in [FiveConstantLaw::ODS_FIT, FiveConstantLaw::SMITS_SMITH_1994] {
        let flier = still_air(&law);
        let tight = flier.with_tolerance(1e-10);
        let mut worst = 0.0_f64;
        for _ in 0..150 {
            let launch = variety.launch();
            let (a, b) = (flier.fly(&launch).unwrap(), tight.fly(&launch).unwrap());
            worst = worst.max((a.carry_m - b.carry_m).abs()).max((a.lateral_m - b.lateral_m).abs());
            worst = worst.max((a.apex_m - b.apex_m).abs());
        }
        assert!(worst < 0.01, "{worst} m");
    }
}

#[test]
fn wind_acts_through_the_air_alone() {
    let windy = Conditions { tail_wind_mps: 5.0, cross_wind_mps: -3.0, ..Conditions::default() };
    // Without air there is nothing to push.
    let f = Flier::new(&ConstantLaw::VACUUM, &windy).unwrap().fly(&at(60.0, 12.0)).unwrap();
    let still = still_air(&ConstantLaw::VACUUM).fly(&at(60.0, 12.0)).unwrap();
    assert!((f.carry_m - still.carry_m).abs() < 1e-6 && f.lateral_m.abs() < 1e-6);
    let law = FiveConstantLaw::ODS_FIT;
    let carry = |tail_wind_mps, cross_wind_mps| {
        let c = Conditions { tail_wind_mps, cross_wind_mps, ..Conditions::default() };
        Flier::new(&law, &c).unwrap().fly(&at(66.0, 11.0)).unwrap()
    };
    assert!(carry(5.0, 0.0).carry_m > carry(0.0, 0.0).carry_m);
    assert!(
        carry(0.0, 0.0).carry_m - carry(-5.0, 0.0).carry_m
            > carry(5.0, 0.0).carry_m - carry(0.0, 0.0).carry_m
    );
    assert!(carry(0.0, 4.0).lateral_m > 5.0);
    assert!((carry(0.0, 4.0).lateral_m + carry(0.0, -4.0).lateral_m).abs() < 1e-9);
}

#[test]
fn thin_air_carries_a_low_drive_a_little_farther() {
    // sources.md 9: about 3 % at 1500 m (D).
    let law = FiveConstantLaw::ODS_FIT;
    let high = Conditions { air: Air::standard_at(1500.0).unwrap(), ..Conditions::default() };
    let gain = Flier::new(&law, &high).unwrap().fly(&at(66.14, 10.3)).unwrap().carry_m
        / still_air(&law).fly(&at(66.14, 10.3)).unwrap().carry_m;
    assert!((1.02..1.04).contains(&gain), "{gain}");
}

#[test]
fn a_flight_outside_of_what_the_law_rests_on_says_so() {
    let law = FiveConstantLaw::SMITS_SMITH_1994;
    let flier = still_air(&law);
    let fast = flier.fly(&at(80.0, 11.0)).unwrap().out_of_fit;
    assert!(fast.reynolds_high && !fast.reynolds_low);
    let slow = flier.fly(&at(30.0, 15.0)).unwrap().out_of_fit;
    assert!(slow.reynolds_low, "F4 (L): below 27 m/s the law isn't to be trusted");
    let bare = flier.fly(&Launch { backspin_rpm: 500.0, ..at(60.0, 15.0) }).unwrap().out_of_fit;
    assert!(bare.spin_ratio_low && bare.any());
    assert!(!still_air(&ConstantLaw::VACUUM).fly(&at(90.0, 11.0)).unwrap().out_of_fit.any());
}

#[test]
fn a_topped_ball_is_grounded_and_a_hill_too_high_is_never_reached() {
    let law = FiveConstantLaw::ODS_FIT;
    let f = still_air(&law).fly(&at(40.0, -3.0)).unwrap();
    assert_eq!((f.ending, f.carry_m, f.time_s), (Ending::Grounded, 0.0, 0.0));
    let hill = Conditions { landing_height_m: 60.0, ..Conditions::default() };
    let f = Flier::new(&law, &hill).unwrap().fly(&at(60.0, 10.0)).unwrap();
    assert_eq!((f.ending, f.carry_m), (Ending::Short, 0.0));
    let up = Conditions { landing_height_m: 8.0, ..Conditions::default() };
    let f8 = Flier::new(&law, &up).unwrap().fly(&at(66.0, 11.0)).unwrap();
    let f0 = still_air(&law).fly(&at(66.0, 11.0)).unwrap();
    assert!(f8.ending == Ending::Landed && f8.carry_m < f0.carry_m && (f8.apex_m - f0.apex_m).abs() < 1e-9);
    let tee = Conditions { start_height_m: 10.0, ..Conditions::default() };
    let down = Flier::new(&law, &tee).unwrap().fly(&at(66.0, -2.0)).unwrap();
    assert!(down.ending == Ending::Landed && down.carry_m > 30.0, "{down:?}");
}

#[test]
fn a_path_runs_from_the_start_to_the_landing_through_the_apex() {
    let law = FiveConstantLaw::ODS_FIT;
    let c = Conditions { cross_wind_mps: 3.0, ..Conditions::default() };
    let flier = Flier::new(&law, &c).unwrap();
    let mut path = Vec::new();
    let f = flier.fly_path(&at(66.0, 11.0), 0.02, &mut path).unwrap();
    assert_eq!((path[0].x_m, path[0].y_m, path[0].time_s), (0.0, 0.0, 0.0));
    let last = path.last().unwrap();
    assert_eq!((last.x_m, last.z_m, last.time_s), (f.carry_m, f.lateral_m, f.time_s));
    let top = path.iter().map(|p| p.y_m).fold(f64::MIN, f64::max);
    assert!((top - f.apex_m).abs() < 5e-3);
    assert!(path.windows(2).all(|w| w[1].time_s > w[0].time_s && w[1].x_m > w[0].x_m));
    // The points lie on the true path.
    let mut fine = Vec::new();
    flier.with_tolerance(1e-10).fly_path(&at(66.0, 11.0), 0.02, &mut fine).unwrap();
    for (a, b) in path.iter().zip(&fine) {
        assert!((a.x_m - b.x_m).abs() < 5e-3 && (a.y_m - b.y_m).abs() < 5e-3, "{a:?} {b:?}");
    }
}

#[test]
fn impossible_launches_and_conditions_are_refused_with_the_range() {
    let law = FiveConstantLaw::ODS_FIT;
    let flier = still_air(&law);
    let said = flier.fly(&at(160.0, 11.0)).unwrap_err().to_string();
    assert!(said.contains("ball speed") && said.contains("0.5 to 115 m/s"), "{said}");
    assert!(flier.fly(&at(f64::NAN, 11.0)).is_err());
    assert!(flier.fly(&Launch { sidespin_rpm: f64::INFINITY, ..at(60.0, 11.0) }).is_err());
}
