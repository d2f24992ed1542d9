//! The pattern against frozen values of numpy and scipy.
//!
//! The values and the versions that made them are in
//! `tests/python/reference_pattern.json`; the script beside it made them.

use serde_json::Value;

use super::{Settings, Strike, pattern};

const FROZEN: &str = include_str!("../../../tests/python/reference_pattern.json");

fn compare(found: &Value, expected: &Value, path: &str, seen: &mut u32) {
    match expected {
        Value::Number(number) => {
            let (a, b) = (found.as_f64().unwrap_or(f64::NAN), number.as_f64().unwrap());
            assert!((a - b).abs() <= 1e-8 * b.abs().max(1.0), "{path}: {a} here, {b} by scipy");
            *seen += 1;
        }
        Value::Array(values) => {
            for (i, value) in values.iter().enumerate() {
                compare(&found[i], value, &format!("{path}[{i}]"), seen);
            }
        }
        Value::Object(fields) => {
            for (key, value) in fields {
                compare(&found[key], value, &format!("{path}.{key}"), seen);
            }
        }
        other => assert_eq!(found, other, "{path}"),
    }
}

#[test]
fn every_figure_agrees_with_numpy_and_scipy() {
    let frozen: Value = serde_json::from_str(FROZEN).unwrap();
    let mut seen = 0;
    for case in frozen["cases"].as_array().unwrap() {
        let strikes: Vec<Strike> = case["marks"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| Strike {
                toe_mm: row[0].as_f64().unwrap(),
                high_mm: row[1].as_f64().unwrap(),
                sigma_mm: row[2].as_f64().unwrap(),
            })
            .collect();
        let found = serde_json::to_value(pattern(&strikes, &Settings::default()).unwrap()).unwrap();
        let name = case["name"].as_str().unwrap();
        compare(&found, &case["pattern"], name, &mut seen);
    }
    assert_eq!(seen, 7 * 45, "figures compared");
}
