//! What screens cost on books as large as they get: a student's of 50,000 shots, and a
//! coach's of 300 students and 50,000 shots.
//!
//! Of each screen: the time until what was done is in the book (`act`), until the screen is
//! there (`screen`), and until what it had to work out is there, where it had to. The least
//! of three walks. Memory is that of the walk alone: the books are made by another process.
//!
//! `cargo run --release -p chalkface-tests --example screen_costs`
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::disallowed_methods,
    reason = "a study of time has a clock, and may stop at what it did not expect"
)]

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::model::Role;
use chalkface_core::screen::Loop;

use large_book::now;
use large_walk::{COACH, STUDENT, Stop, event, make};

#[path = "../fixtures/large_book.rs"]
mod large_book;
#[path = "../fixtures/large_walk.rs"]
mod large_walk;

/// Milliseconds of act, screen and work of each stop on the way.
fn walk(path: &Path, way: &[Stop]) -> Vec<[f64; 3]> {
    let ms = |since: Instant| since.elapsed().as_secs_f64() * 1e3;
    let since = Instant::now();
    let mut of = Loop::open(path, None, now(2).at);
    let book = Book::open(path).unwrap();
    of.give_keys(DeviceKeys::from_entropy(book.device(), &[7; 32]).unwrap());
    of.screen();
    let mut costs = vec![[ms(since), 0.0, 0.0]];
    let mut tick = 2;
    for (_, events) in way {
        let mut cost = [0.0_f64; 3];
        for written in *events {
            let event = event(&of, written);
            tick += 1;
            let since = Instant::now();
            of.act(&event.into(), now(tick));
            cost[0] = cost[0].max(ms(since));
            let since = Instant::now();
            of.screen();
            cost[1] = cost[1].max(ms(since));
            let since = Instant::now();
            while let Some(work) = of.work() {
                let done = work.run();
                of.finish(done);
            }
            cost[2] += ms(since);
            let since = Instant::now();
            of.screen();
            cost[1] = cost[1].max(ms(since));
        }
        costs.push(cost);
    }
    costs
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [what, path] = words.as_slice() {
        let path = Path::new(path);
        let way = if what == "coach" { COACH } else { STUDENT };
        if path.exists() {
            let walks: Vec<_> = (0..3).map(|_| walk(path, way)).collect();
            println!("{:<30} {:>8} {:>8} {:>8}", format!("a {what}'s book, ms"), "act", "screen", "work");
            let names = std::iter::once("opened, first screen").chain(way.iter().map(|(name, _)| *name));
            for (n, name) in names.enumerate() {
                let least =
                    |which: usize| walks.iter().map(|walk| walk[n][which]).fold(f64::INFINITY, f64::min);
                println!("{name:<30} {:>8.1} {:>8.1} {:>8.1}", least(0), least(1), least(2));
            }
            let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
            let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or(" unknown");
            println!("peak memory of the walks: {}", peak.trim());
        } else {
            make(path, if what == "coach" { Role::Coach } else { Role::Student });
        }
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for what in ["student", "coach"] {
        let path = folder.path().join(format!("{what}.book"));
        for _ in 0..2 {
            let run = Command::new(std::env::current_exe().unwrap()).arg(what).arg(&path).status().unwrap();
            assert!(run.success());
        }
    }
}
