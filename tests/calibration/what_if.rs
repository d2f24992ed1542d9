//! The full study of the what-if, as a table; some minutes:
//!
//! ```text
//! cargo run --release -p chalkface-tests --example calibration_what_if [STUDENTS]
//! ```
//!
//! Start at [`main`].

#[allow(dead_code, clippy::unwrap_used, clippy::indexing_slicing)] // a study, stopped by what is wrong
mod students;

use students::{Held, WORLDS, study};

fn main() {
    let count = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(500_u64);
    println!("{count} students a world; per cent of 90 % intervals that hold the truth:\n");
    println!(
        "| world | means | spreads | carry | across | fairways | trouble | carry gain | fairway gain | trouble change | lost | first is best: distance | fairways | both |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|");
    for world in WORLDS {
        let t = study(world, count, 4_000, 20_000);
        let cell = |held: &Held| format!("{:.1}", 100.0 * held.share());
        let held = [
            t.means,
            t.spreads,
            t.carry,
            t.spread,
            t.fairway,
            t.trouble,
            t.carry_gain,
            t.fairway_gain,
            t.trouble_change,
            t.shortfall,
        ];
        let best = t.best.each_ref().map(|held| format!("{} of {}", cell(held), held.of));
        println!("| {} | {} | {} |", world.name, held.each_ref().map(cell).join(" | "), best.join(" | "));
    }
}
