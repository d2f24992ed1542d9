//! The full study of the what-if, as tables for `core/decisions/005-what-if.md`;
//! about ten minutes on two cores:
//!
//! ```text
//! cargo run --release -p chalkface-tests --example calibration_what_if [STUDENTS | short]
//! ```
//!
//! The rule: it fails where the fix ranked first is the best one in fewer than 85 %
//! of the students who have one that is clearly best. Start at [`main`].

#[allow(dead_code)] // each study takes what it needs
mod dice;
#[allow(dead_code, clippy::unwrap_used, clippy::indexing_slicing)] // a study, stopped by what is wrong
mod students;

use students::{Drives, Held, Tally, WORLDS, World, study};

fn main() {
    if std::env::args().nth(1).is_some_and(|form| form == "short") {
        return short();
    }
    let count = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(400_u64);
    println!("Per cent of 90 % intervals that hold the truth, {count} students a world:\n");
    println!(
        "| world | means | spreads | carry | across | fairways | trouble | carry gain | fairway gain | trouble change | lost |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|");
    let mut offs = Vec::new();
    for (world, t) in all(count, Drives { said: 6_000, true_ones: 12_000, losses: true }) {
        let figures = [
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
        println!("| {} | {} |", world.name, figures.each_ref().map(cell).join(" | "));
        let off = figures.each_ref().map(|held| {
            let (mean, sd) = held.off();
            format!("{mean:+.2} {sd:.2}")
        });
        offs.push(format!("| {} | {} |", world.name, off.join(" | ")));
    }
    println!(
        "\nThe middles less the truth, in standard errors of the interval: mean and SD\n\n{}",
        offs.join("\n")
    );
    let count = count * 5 / 4;
    println!(
        "\nFix ranked first is the best one, where that is 4 m or 4 fairways in 100 ahead; of {count} students:\n"
    );
    println!("| world | for distance | for fairways | for both |\n|---|---|---|---|");
    for (world, t) in all(count, Drives { said: 4_000, true_ones: 6_000, losses: false }) {
        let best = t.best.each_ref().map(|held| format!("{} % of {}", cell(held), held.of));
        println!("| {} | {} |", world.name, best.join(" | "));
        assert!(
            t.best.iter().all(|held| held.of < 20.0 || held.share() >= 0.85),
            "{}: {:?}",
            world.name,
            t.best
        );
    }
}

/// A few students and wide limits, all worlds together; it runs with the tests.
fn short() {
    let mut sum = Tally::default();
    for (_, t) in all(16, Drives { said: 2_000, true_ones: 6_000, losses: true }) {
        sum.add(&t);
    }
    // Figures of one student hang together, so eighty students are worth few more than eighty figures.
    let least = 0.90 - 4.0 * (0.9 * 0.1 / 80.0_f64).sqrt();
    for (what, held) in [
        ("means", sum.means),
        ("spreads", sum.spreads),
        ("carry", sum.carry),
        ("fairways", sum.fairway),
        ("carry gains", sum.carry_gain),
        ("fairway gains", sum.fairway_gain),
        ("lost carry", sum.shortfall),
    ] {
        println!("{what}: {} % of {} intervals hold the truth", cell(&held), held.of);
        assert!(held.share() >= least, "{what}: {held:?}");
    }
    for (care, best) in ["distance", "fairways", "both"].iter().zip(sum.best) {
        println!("first is best, for {care}: {} % of {}", cell(&best), best.of);
        assert!(best.share() >= 0.85, "{care}: {best:?}");
    }
}

fn cell(held: &Held) -> String {
    format!("{:.1}", 100.0 * held.share())
}

/// All worlds, two at a time.
fn all(count: u64, drives: Drives) -> Vec<(&'static World, Tally)> {
    let mut done = Vec::new();
    for two in WORLDS.chunks(2) {
        let mut found: Vec<_> = std::thread::scope(|scope| {
            let started: Vec<_> =
                two.iter().map(|world| (world, scope.spawn(move || study(world, count, drives)))).collect();
            started.into_iter().filter_map(|(world, study)| Some((world, study.join().ok()?))).collect()
        });
        assert_eq!(found.len(), two.len(), "a study stopped");
        done.append(&mut found);
    }
    done
}
