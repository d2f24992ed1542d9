//! Flies as many balls as its one argument says through the batch interface,
//! for counting instructions: `cargo run --release -p chalkface-core --example
//! many_flights 4000`.
#![allow(clippy::disallowed_methods, reason = "an example reads its own arguments")]

use chalkface_core::flight::{Conditions, FiveConstantLaw, Flier, FlightError, Launch, fly_many};

fn main() -> Result<(), FlightError> {
    let count: usize = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(4_000);
    let law = FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(&law, &Conditions::default())?;
    let launches: Vec<Launch> = (0..count)
        .map(|n| {
            // Spread evenly over what drives are like, each in its own rhythm.
            let part = |rhythm: usize| (n * rhythm % 997) as f64 / 997.0;
            Launch {
                ball_speed_mps: 52.0 + 22.0 * part(13),
                launch_deg: 7.0 + 10.0 * part(29),
                start_deg: -5.0 + 10.0 * part(31),
                backspin_rpm: 1500.0 + 2300.0 * part(37),
                sidespin_rpm: -900.0 + 1800.0 * part(41),
                rifle_rpm: 0.0,
            }
        })
        .collect();
    let mut flights = vec![None; count];
    fly_many(&flier, &launches, &mut flights)?;
    let carry: f64 = flights.iter().flatten().map(|flight| flight.carry_m).sum();
    println!("{count} flights, mean carry {:.1} m", carry / count as f64);
    Ok(())
}
