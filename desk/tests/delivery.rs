//! `delivery`: from a file of what was seen to what the club did.

use insta::assert_json_snapshot;
use serde_json::Value;

use crate::bench::{Bench, lines};

/// Numbers to six figures: a snapshot that says what changed, not which bit.
fn rounded(mut value: Value) -> Value {
    match &mut value {
        Value::Object(map) => map.values_mut().for_each(|v| *v = rounded(v.take())),
        Value::Array(items) => items.iter_mut().for_each(|v| *v = rounded(v.take())),
        Value::Number(n) if n.is_f64() => {
            let text = format!("{:.5e}", n.as_f64().unwrap());
            return text.parse::<f64>().unwrap().into();
        }
        _ => {}
    }
    value
}

const SEEN: &str = "toe_mm,high_mm,sigma_mm,head_speed_mph,sigma_head_speed,ball_speed_mps,launch_deg,start,curve,carry_yd,backspin_rpm,powder\n\
    -14,-6,2,91.2,1.5,57.1,9,left,draw,190,2600,yes\n\
    20,0,1,100.7,,,,right,straight,,,\n\
    ,,,,,,,straight,fade,,,no\n\
    ,,,,,,,,,,,no\n\
    70,0,1,95,,,,,,,,\n";

#[test]
fn json_of_delivery() {
    let bench = Bench::new();
    bench.write("seen.csv", SEEN);
    let (found, code, said) = lines(&bench, &["delivery", "seen.csv", "--hand", "left"]);
    assert_eq!(code, Some(1), "two rows have no answer: {said}");
    assert!(said.contains("2 of 5 rows"), "{said}");
    assert_json_snapshot!(rounded(Value::Array(found)));
}

#[test]
fn a_shot_that_the_model_computed_is_traced_back_to_its_swing() {
    let bench = Bench::new();
    for hand in ["right", "left"] {
        let shot = bench.json(&[
            "fly",
            "--head-speed",
            "44mps",
            "--loft",
            "14",
            "--face",
            "2",
            "--path",
            "-3",
            "--attack",
            "1",
            "--strike",
            "toe12,high-4",
            "--hand",
            hand,
        ]);
        let f = |key: &str| shot[key].as_f64().unwrap();
        bench.write(
            "shot.csv",
            format!(
                "head_speed_mps,sigma_head_speed_mps,toe_mm,high_mm,sigma_mm,ball_speed_mps,sigma_ball_speed,launch_deg,sigma_launch,start_deg,sigma_start,backspin_rpm,sigma_backspin,curve_yd,sigma_curve_yd,attack_deg,sigma_attack\n\
                 44,0.1,12,-4,0.2,{},0.1,{},0.1,{},0.1,{},20,{},0.2,1,0.1\n",
                f("ball_speed_mps"), f("launch_deg"), f("start_deg"), f("backspin_rpm"), f("curve_m") / 0.9144
            ),
        );
        let (found, code, said) = lines(&bench, &["delivery", "shot.csv", "--hand", hand, "--target", "0,0"]);
        assert_eq!((found.len(), code), (1, Some(0)), "{said}");
        let found = &found[0];
        for (key, truth) in [
            ("head_speed_mps", 44.0),
            ("face_deg", 2.0),
            ("path_deg", -3.0),
            ("attack_deg", 1.0),
            ("loft_deg", 14.0),
        ] {
            let (estimate, sigma) =
                (found[key]["estimate"].as_f64().unwrap(), found[key]["sigma"].as_f64().unwrap());
            assert!((estimate - truth).abs() < 0.15 && sigma > 0.0 && sigma < 0.5, "{key}: {found}");
        }
        // The two parts add up to the shot, and the strike's is the shot as
        // struck less the same swing in the centre.
        let centred = bench.json(&[
            "fly",
            "--head-speed",
            "44mps",
            "--loft",
            "14",
            "--face",
            "2",
            "--path",
            "-3",
            "--attack",
            "1",
            "--hand",
            hand,
        ]);
        for (key, near) in [("start_deg", 0.15), ("curve_m", 0.8), ("ball_speed_mps", 0.2), ("carry_m", 0.8)]
        {
            let part = |part: &str| found["split"][key][part].as_f64().unwrap();
            let strike = f(key) - centred[key].as_f64().unwrap();
            assert!((part("from_strike") - strike).abs() < near, "{key} {strike}: {}", found["split"]);
            assert!((part("from_strike") + part("from_delivery") - f(key)).abs() < near, "{key}");
        }
        assert_eq!(found["doubts"], serde_json::json!([]));
    }
}

#[test]
fn units_of_a_reading_and_of_its_error_make_no_difference() {
    let bench = Bench::new();
    bench.write(
        "si.csv",
        "head_speed_mps,sigma_head_speed,carry_m,sigma_carry_m\n44.704,0.44704,182.88,9.144\n",
    );
    bench.write("us.csv", "head_speed_mph,sigma_head_speed,carry_yd,sigma_carry_m\n100,1,200,9.144\n");
    let answer = |file| rounded(lines(&bench, &["delivery", file]).0.remove(0));
    assert_eq!(answer("si.csv"), answer("us.csv"));
    // A surer reading gives a surer answer; without an error the stated one counts.
    bench.write("sure.csv", "head_speed_mps,sigma_head_speed\n44,0.2\n44,2.5\n44,\n44,0.9\n");
    let rows = lines(&bench, &["delivery", "sure.csv"]).0;
    let sigma = |n: usize| rows[n]["head_speed_mps"]["sigma"].as_f64().unwrap();
    assert!(sigma(0) < 0.21 && sigma(1) > 1.5);
    assert_eq!(
        (sigma(2).to_bits(), &rows[2]["assumed_error"]),
        (sigma(3).to_bits(), &serde_json::json!(["head_speed"]))
    );
}

#[test]
fn powdered_and_dry_faces_are_told_apart_and_nothing_said_is_dry() {
    let bench = Bench::new();
    bench.write("powder.csv", "head_speed_mps,powder\n44,yes\n44,no\n44,\n");
    let rows = lines(&bench, &["delivery", "powder.csv"]).0;
    let face: Vec<&str> = rows.iter().map(|row| row["face"].as_str().unwrap()).collect();
    assert_eq!(face, ["powdered", "dry", "dry"]);
    assert!(rows[0]["doubts"].to_string().contains("powdered_friction"));
    assert!(!rows[1]["doubts"].to_string().contains("powdered_friction"));
}

#[test]
fn the_law_the_club_and_the_target_make_a_difference() {
    let bench = Bench::new();
    bench.write("shot.csv", "head_speed_mps,toe_mm,high_mm,carry_m\n44,-18,2,190\n");
    bench.write("light.json", r#"{"head_mass_kg": 0.17, "inertia_up_gcm2": 3500}"#);
    let answer = |more: &[&str]| {
        let (mut rows, code, said) = lines(&bench, &[&["delivery", "shot.csv"], more].concat());
        assert_eq!(code, Some(0), "{said}");
        rows.remove(0)
    };
    let plain = answer(&[]);
    assert_eq!(plain, answer(&["--law", "ods"]));
    for more in [
        &["--law", "smits-smith"][..],
        &["--club", "light.json"],
        &["--target", "-5,3"],
        &["--tail-wind", "5mps"],
    ] {
        assert_ne!(plain["split"], answer(more)["split"], "{more:?}");
    }
    let said = bench.refused(&["delivery", "shot.csv", "--target", "90,0"]);
    assert!(said.contains("Equipment Rules"), "{said}");
}

#[test]
fn a_mark_beyond_this_clubs_face_is_left_out_and_readings_that_clash_are_told() {
    let bench = Bench::new();
    bench.write(
        "odd.csv",
        "toe_mm,high_mm,head_speed_mps,ball_speed_mps,sigma_carry_m,carry_m\n55,30,44,,,\n0,0,44,75,,\n0,0,44,,0,190\n",
    );
    let (rows, code, _) = lines(&bench, &["delivery", "odd.csv"]);
    assert_eq!(rows[0]["used"], serde_json::json!(["head_speed"]));
    assert_eq!(rows[0]["doubts"], serde_json::json!(["mark_off_face"]));
    assert!(rows[1]["doubts"].to_string().contains("contradiction"), "{}", rows[1]);
    assert!(rows[2]["error"].as_str().unwrap().contains("carry (m) is 0"), "{}", rows[2]);
    assert_eq!(code, Some(1));
}

#[test]
fn a_column_of_the_wrong_unit_is_guessed_at_and_nothing_is_printed_for_a_bad_header() {
    let bench = Bench::new();
    bench.write("mph.csv", "head_speed_mps\n98\n101\n95\n");
    let (rows, code, said) = lines(&bench, &["delivery", "mph.csv"]);
    assert_eq!((rows.len(), code), (3, Some(1)));
    assert!(said.contains("miles an hour"), "{said}");
    bench.write("bad.csv", "head_speed_mph,wind\n98,3\n");
    let out = bench.run(&["delivery", "bad.csv"]);
    assert!(out.status.code() == Some(1) && out.stdout.is_empty());
    let (rows, code, _) = lines(&bench, &["delivery", "bad.csv", "--ignore-unknown-columns"]);
    assert_eq!((rows.len(), code), (1, Some(0)));
}
