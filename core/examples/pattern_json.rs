//! Prints the pattern of a CSV of marks as JSON, for checking against other
//! software: `pattern_json FILE.csv` with the columns `toe_mm,high_mm,sigma_mm`.
//! It is a test's tool, not the product's command: no other columns, no help.

use std::error::Error;

use chalkface_core::face::{Settings, Strike, pattern};

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).ok_or("name a CSV file")?;
    let mut reader = csv::Reader::from_path(path)?;
    let mut strikes = Vec::new();
    for row in reader.deserialize() {
        let (toe_mm, high_mm, sigma_mm) = row?;
        strikes.push(Strike { toe_mm, high_mm, sigma_mm });
    }
    let found = pattern(&strikes, &Settings::default())?;
    println!("{}", serde_json::to_string(&found)?);
    Ok(())
}
