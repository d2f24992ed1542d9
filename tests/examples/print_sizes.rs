//! Prints textbook sample sizes as JSON, for the outside check in
//! `tests/python/test_statsmodels.py`: `{"shift": [[d, balls]...], "ratio": [...]}`.

use chalkface_core::face::{balls_for_ratio, balls_for_shift};

fn main() {
    let list = |values: &[f64], of: fn(f64) -> Option<u32>| {
        let pairs: Vec<String> = values
            .iter()
            .map(|v| format!("[{v}, {}]", of(*v).map_or_else(|| "null".to_owned(), |n| n.to_string())))
            .collect();
        pairs.join(", ")
    };
    let shifts = [0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0];
    let ratios = [0.8, 0.75, 0.7, 0.6, 0.5, 0.4, 1.25, 1.6];
    println!(
        "{{\"shift\": [{}], \"ratio\": [{}]}}",
        list(&shifts, balls_for_shift),
        list(&ratios, balls_for_ratio)
    );
}
