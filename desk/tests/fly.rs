//! `fly` for one shot, as a new user would try it.

use insta::assert_snapshot;
use serde_json::Value;

use crate::bench::Bench;

type Case = (&'static [&'static str], [&'static str; 6], [&'static str; 4], [&'static str; 2]);

/// Cases of an independent numerical reference (core/src/flight/sources.md,
/// section 8; status D): default head, 45 m/s, loft 13 deg, level attack.
/// Ball speed, launch, start, backspin, sidespin, axis; then carry, side, apex
/// and time with the fitted law; then carry and side with the one of 1994.
const CASES: [Case; 5] = [
    (&[], ["66.14", "10.3", "0.00", "2487", "0", "0.0"], ["204.4", "0.0", "19.3", "5.43"], ["197.7", "0.0"]),
    (
        &["--strike", "toe20,high0"],
        ["64.74", "10.2", "3.96", "2451", "-440", "-10.2"],
        ["196.4", "1.8", "17.7", "5.20"],
        ["191.2", "-1.8"],
    ),
    (
        &["--strike", "toe0,high15"],
        ["64.64", "13.4", "0.00", "1819", "0", "0.0"],
        ["202.1", "0.0", "22.0", "5.47"],
        ["193.5", "0.0"],
    ),
    (
        &["--face", "3"],
        ["66.06", "10.3", "2.40", "2485", "524", "11.9"],
        ["200.9", "23.0", "18.8", "5.35"],
        ["193.9", "26.6"],
    ),
    (
        &["--path", "4"],
        ["66.00", "10.3", "0.81", "2483", "-698", "-15.7"],
        ["199.9", "-16.2", "18.5", "5.29"],
        ["193.0", "-21.2"],
    ),
];
const LAUNCH_KEYS: [&str; 6] =
    ["ball_speed_mps", "launch_deg", "start_deg", "backspin_rpm", "sidespin_rpm", "axis_deg"];
const FLIGHT_KEYS: [&str; 4] = ["carry_m", "lateral_m", "apex_m", "time_s"];
/// The keys of one shot that differ in sign between the hands.
const SIDED: [&str; 5] = ["start_deg", "sidespin_rpm", "axis_deg", "lateral_m", "curve_m"];

const SWING: [&str; 5] = ["fly", "--head-speed", "45mps", "--loft", "13"];

fn fly(bench: &Bench, more: &[&str]) -> Value {
    bench.json(&[&SWING, more].concat())
}

/// A figure agrees with a printed one to half a unit of its last digit.
fn agrees(shot: &Value, key: &str, printed: &str) {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    let half = 0.5 * 10_f64.powi(-(decimals as i32)) + 1e-9;
    let (found, expected) = (shot[key].as_f64().unwrap(), printed.parse::<f64>().unwrap());
    assert!((found - expected).abs() <= half, "{key}: {found}, printed {expected}");
}

#[test]
fn the_five_printed_cases_come_out_to_half_a_unit_of_the_last_digit_with_both_laws() {
    let bench = Bench::new();
    for (swing, launch, flight, of_1994) in CASES {
        let ods = fly(&bench, swing);
        LAUNCH_KEYS.iter().zip(launch).for_each(|(key, printed)| agrees(&ods, key, printed));
        FLIGHT_KEYS.iter().zip(flight).for_each(|(key, printed)| agrees(&ods, key, printed));
        let named = fly(&bench, &[swing, &["--law", "ods"]].concat());
        assert_eq!(named, ods, "the fitted law is the default");
        let old = fly(&bench, &[swing, &["--law", "smits-smith"]].concat());
        FLIGHT_KEYS.iter().zip(of_1994).for_each(|(key, printed)| agrees(&old, key, printed));
        assert_eq!(old["ball_speed_mps"], ods["ball_speed_mps"]);
    }
}

#[test]
fn a_shots_json_begins_with_the_promised_keys_in_their_order() {
    let bench = Bench::new();
    let text = bench.ok(&[&SWING[..], &["--json"]].concat());
    let keys: Vec<&str> = text.lines().filter_map(|l| l.strip_prefix("  \"")?.split('"').next()).collect();
    let promised = [
        "ball_speed_mps",
        "launch_deg",
        "start_deg",
        "backspin_rpm",
        "sidespin_rpm",
        "axis_deg",
        "carry_m",
        "lateral_m",
        "apex_m",
        "time_s",
        "landing_deg",
        "slipped",
        "out_of_range",
    ];
    assert_eq!(keys[..promised.len()], promised);
}

#[test]
fn a_left_hander_is_the_mirror_image_to_the_last_bit() {
    let bench = Bench::new();
    let right = fly(&bench, &["--strike", "heel12,high4", "--face", "2.5", "--path", "-3", "--attack", "1"]);
    let left = fly(
        &bench,
        &["--strike", "heel12,high4", "--face", "-2.5", "--path", "3", "--attack", "1", "--hand", "left"],
    );
    for key in LAUNCH_KEYS.into_iter().chain(FLIGHT_KEYS).chain(["landing_deg", "curve_m"]) {
        let sign = if SIDED.contains(&key) { -1.0 } else { 1.0 };
        let (a, b) = (right[key].as_f64().unwrap(), sign * left[key].as_f64().unwrap());
        assert!(a.to_bits() == b.to_bits(), "{key}: {a} {b}");
        assert!(a != 0.0, "{key} would be its own mirror image");
    }
    // A toe strike starts right for a right-hander, left for a left-hander.
    let start = |hand| fly(&bench, &["--strike", "toe20", "--hand", hand])["start_deg"].as_f64().unwrap();
    assert!(start("right") > 3.0 && start("left") < -3.0);
}

#[test]
fn a_launch_flies_as_the_impact_that_gave_it() {
    let bench = Bench::new();
    let struck = fly(&bench, &["--strike", "toe20,high0"]);
    let text = |key: &str, unit: &str| format!("{}{unit}", struck[key].as_f64().unwrap());
    let words = [
        ("--ball-speed", text("ball_speed_mps", "mps")),
        ("--launch", text("launch_deg", "")),
        ("--start", text("start_deg", "deg")),
        ("--backspin", text("backspin_rpm", "rpm")),
        ("--sidespin", text("sidespin_rpm", "")),
    ];
    let words: Vec<&str> =
        ["fly"].into_iter().chain(words.iter().flat_map(|(a, b)| [*a, b.as_str()])).collect();
    let flown = bench.json(&words);
    for key in FLIGHT_KEYS {
        // The impact's ball also turns a little about its path, which moves no air.
        let (a, b) = (struck[key].as_f64().unwrap(), flown[key].as_f64().unwrap());
        assert!((a - b).abs() < 1e-3 * a.abs().max(1.0), "{key}: {a} {b}");
    }
    assert!(flown["slipped"].is_null() && flown["band"].is_null(), "no impact was computed");
}

#[test]
fn bad_input_is_refused_with_the_limit_and_its_reason() {
    let bench = Bench::new();
    let swing = |speed: &str, loft: &str, more: &[&str]| {
        let out = bench.run(&[&["fly", "--head-speed", speed, "--loft", loft], more].concat());
        assert!(out.stdout.is_empty());
        (out.status.code(), String::from_utf8(out.stderr).unwrap())
    };
    let refusals: [(&str, &str, &[&str], i32, &str); 16] = [
        ("-45mps", "13", &[], 1, "1 to 75 m/s"),
        ("0mph", "13", &[], 1, "1 to 75 m/s"),
        ("450mph", "13", &[], 1, "long-drive"),
        ("NaNmps", "13", &[], 2, "plain number"),
        ("infmps", "13", &[], 2, "plain number"),
        ("45", "13", &[], 2, "never guessed"),
        ("45mps", "89", &[], 1, "-10 to 75 deg"),
        ("45mps", "NaN", &[], 2, "deg"),
        ("45mps", "13", &["--strike", "toe70,high0"], 1, "Equipment Rules"),
        ("45mps", "13", &["--strike", "toe0,high40"], 1, "Equipment Rules"),
        ("45mps", "13", &["--strike", "20,0"], 2, "toe20,high0"),
        ("45mps", "13", &["--face", "60"], 1, "-45 to 45 deg"),
        ("45mps", "13", &["--attack", "-40"], 1, "-30 to 30 deg"),
        ("45mps", "13", &["--tail-wind", "100mps"], 1, "hurricane"),
        ("45mps", "13", &["--pressure", "29.9hPa"], 1, "450 to 1100 hPa"),
        ("1mps", "60", &[], 1, "does not move into its own face"),
    ];
    for (speed, loft, more, expected, words) in refusals {
        let (code, said) = swing(speed, loft, more);
        assert_eq!(code, Some(expected), "{speed} {loft} {more:?}: {said}");
        assert!(said.contains(words) && !said.contains("panicked"), "{speed} {loft} {more:?}: {said}");
    }
    for words in [
        &["fly"][..],
        &["fly", "--head-speed", "45mps"],
        &["fly", "--ball-speed", "66mps", "--launch", "10"],
        &["fly", "--head-speed", "45mps", "--loft", "13", "--ball-speed", "66mps"],
        &["fly", "--ball-speed", "66mps", "--launch", "10", "--backspin", "2500", "--powder"],
    ] {
        assert_eq!(bench.run(words).status.code(), Some(2), "{words:?}");
    }
    let launch = ["fly", "--launch", "10", "--backspin", "2500", "--ball-speed"];
    let said = bench.refused(&[&launch[..], &["-66mps"]].concat());
    assert!(said.contains("0.5 to 115 m/s"), "{said}");
}

#[test]
fn a_club_file_changes_the_club_and_says_what_it_does_not_know() {
    let bench = Bench::new();
    bench.write("small.json", r#"{"inertia_up_gcm2": 4000, "length_m": 1.12}"#);
    let off = |more: &[&str]| fly(&bench, &[&["--strike", "toe15"], more].concat());
    let (small, default) = (off(&["--club", "small.json"]), off(&[]));
    assert!(small["ball_speed_mps"].as_f64() < default["ball_speed_mps"].as_f64());
    bench.write("empty.json", "{}");
    assert_eq!(off(&["--club", "empty.json"])["carry_m"], default["carry_m"]);
    for (file, words) in [
        (r#"{"lenght_m": 1.1}"#, "unknown field `lenght_m`, expected one of `length_m`, `loft_deg`"),
        (r#"{"length_m": "long"}"#, "length_m"),
        ("not json", "one JSON object"),
        (r#"{"head_mass_kg": -0.2}"#, "0.05 to 0.5 kg"),
        (r#"{"length_m": 1.1, "length_m": 1.2}"#, "duplicate"),
    ] {
        bench.write("bad.json", file);
        let said = bench.refused(&[&SWING[..], &["--club", "bad.json"]].concat());
        assert!(said.contains(words), "{said}");
    }
    assert!(bench.refused(&[&SWING[..], &["--club", "none.json"]].concat()).contains("none.json"));
}

#[test]
fn a_club_outside_the_equipment_rules_is_computed_with_a_warning_that_names_the_limit() {
    let bench = Bench::new();
    for (file, words) in [
        (r#"{"length_m": 1.3}"#, "1.2192 m (48 in)"),
        (r#"{"inertia_up_gcm2": 7000}"#, "5900"),
        (r#"{"face_width_mm": 140}"#, "127 mm"),
        (r#"{"length_m": 1.19}"#, "Model Local Rule G-10"),
    ] {
        bench.write("club.json", file);
        let shot = fly(&bench, &["--club", "club.json"]);
        let warnings = shot["warnings"].to_string();
        assert!(warnings.contains(words) && shot["carry_m"].as_f64().unwrap() > 190.0, "{warnings}");
        let text = bench.ok(&[&SWING[..], &["--club", "club.json"]].concat());
        assert!(text.contains("! "), "{text}");
    }
}

#[test]
fn air_and_wind_move_the_ball_the_way_they_should() {
    let bench = Bench::new();
    let carry = |more: &[&str]| fly(&bench, more)["carry_m"].as_f64().unwrap();
    let still = carry(&[]);
    assert!(carry(&["--tail-wind", "5mps"]) > still && carry(&["--tail-wind", "-5mps"]) < still);
    assert!(carry(&["--altitude", "1500m"]) > still && carry(&["--temperature", "35C"]) > still);
    assert!(carry(&["--temperature", "0C", "--pressure", "30.5inHg"]) < still);
    let drift = fly(&bench, &["--cross-wind", "-4mps"])["lateral_m"].as_f64().unwrap();
    assert!(drift < -3.0, "{drift}");
    // Said in full, the standard atmosphere is the default within its density's rounding.
    let said = carry(&["--temperature", "15C", "--pressure", "1013.25hPa", "--humidity", "0"]);
    assert!((said - still).abs() < 0.1, "{said} {still}");
}

#[test]
fn a_flight_beyond_the_laws_range_says_so() {
    let bench = Bench::new();
    assert_eq!(fly(&bench, &[])["out_of_range"], false);
    let slow = bench.json(&["fly", "--head-speed", "15mps", "--loft", "13"]);
    assert_eq!((&slow["out_of_range"], &slow["out_of_fit"]["reynolds_low"]), (&true.into(), &true.into()));
    assert!(slow["warnings"].to_string().contains("extrapolated"), "{slow}");
}

#[test]
fn text_of_a_flight() {
    let bench = Bench::new();
    let words =
        ["fly", "--head-speed", "100mph", "--loft", "13", "--strike", "toe20,high0", "--hand", "left"];
    assert_snapshot!(bench.ok(&words));
}

#[test]
fn a_flight_and_what_strikes_off_the_centre_cost_are_drawn_in_the_players_units() {
    let bench = Bench::new();
    let swing =
        ["fly", "--head-speed", "100mph", "--loft", "13", "--strike", "toe15,high2", "--hand", "left"];
    let drawn = ["--out", "flight.svg", "--face-map", "map.svg", "--units", "imperial"];
    bench.ok(&[&swing[..], &drawn[..]].concat());
    let text = |name: &str| std::fs::read_to_string(bench.path(name)).unwrap();
    assert!(text("flight.svg").contains(" yd"));
    assert!(text("map.svg").contains("100.0 mph") && text("map.svg").contains("Left-handed"));
    bench.ok(&["fly", "--ball-speed", "66mps", "--launch", "11", "--backspin", "2500", "--out", "f.png"]);
    assert!(std::fs::read(bench.path("f.png")).unwrap().starts_with(b"\x89PNG"));
    let said = bench.refused(&[&swing[..], &["--out", "flight.docx"]].concat());
    assert!(said.contains(".svg"), "{said}");
}
