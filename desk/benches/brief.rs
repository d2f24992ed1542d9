//! The brief of one student from a cold start of the process, out of a book of
//! 300 students and 50,000 shots, and that of one student of 2,000 shots with
//! nothing kept from before and with what the run before kept, beside the start of
//! the process alone.
//!
//! `cargo bench -p chalkface-desk --bench brief`
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a bench may stop at what it did not expect"
)]

use std::path::Path;
use std::process::{Command, Stdio};

use chalkface_core::act::{NewStudent, Unsaid, add_student, log_rows};
use chalkface_core::book::Book;
use chalkface_core::model::{Day, Hand, Moment, Name, Now, Role, UnitSystem};
use chalkface_core::table;
use criterion::{BatchSize, Criterion};

const STUDENTS: u64 = 300;
const SESSIONS: u64 = 14;
const BALLS: u64 = 12;

fn now(tick: u64) -> Now {
    let mut entropy = [0; 16];
    entropy[..8].copy_from_slice(&tick.to_le_bytes());
    Now { at: Moment { utc_ms: 1_772_000_000_000 + 1_000 * tick as i64, offset_min: 60 }, entropy }
}

/// One student's log; invented numbers, spread by a simple rule.
fn log(student: u64, sessions: u64, balls: u64) -> String {
    let mut csv = String::from(
        "day,place,toe_mm,high_mm,sigma_mm,head_speed_mph,ball_speed_mph,start,finish_held,powder\n",
    );
    for session in 0..sessions {
        for ball in 0..balls {
            let n = (student * 31 + session * 17 + ball * 7) % 41;
            csv += &format!(
                "{}-{:02}-{:02},range,{},{},2,{}.{},{}.{},{},{},yes\n",
                2026 + session / 48,
                1 + session / 4 % 12,
                1 + 7 * (session % 4),
                n as i64 - 20,
                (n * 3 % 25) as i64 - 12,
                88 + n % 9,
                n % 10,
                128 + n % 13,
                n % 10,
                ["left", "straight", "right"][(n % 3) as usize],
                ["yes", "no"][(n % 2) as usize],
            );
        }
    }
    csv
}

fn fill(path: &Path, students: u64, sessions: u64, balls: u64) {
    let mut book = Book::create(path, Name::new("Bo").unwrap(), Role::Coach, now(0)).unwrap();
    for student in 0..students {
        let new = NewStudent {
            name: Name::new(&format!("Student {student:03}")).unwrap(),
            hand: Hand::Right,
            units: UnitSystem::Imperial,
            birth_year: None,
        };
        let entry = add_student(&mut book, now(2 * student + 1), new).unwrap();
        let table =
            table::read(log(student, sessions, balls).as_bytes(), &table::Options::default()).unwrap();
        let unsaid = Unsaid { day: Day::parse("2026-01-01").unwrap(), place: None };
        log_rows(&mut book, entry.strand, now(2 * student + 2), &table.rows, unsaid).unwrap();
    }
}

fn main() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("academy.book");
    fill(&path, STUDENTS, SESSIONS, BALLS);
    let (fresh, one) = (dir.path().join("fresh.book"), dir.path().join("one.book"));
    fill(&fresh, 1, 40, 50);
    println!("book: {STUDENTS} students, {} shots", STUDENTS * SESSIONS * BALLS);
    let run_on = |path: &Path, words: &[&str]| {
        let status = Command::new(env!("CARGO_BIN_EXE_chalkface"))
            .args(words)
            .arg("--book")
            .arg(path)
            .stdout(Stdio::null())
            .status()
            .unwrap();
        assert!(status.success());
    };
    let run = |words: &[&str]| run_on(&path, words);
    let copy = || std::fs::copy(&fresh, &one).unwrap();
    let mut c = Criterion::default().configure_from_args();
    let mut group = c.benchmark_group("from a cold start");
    group.sample_size(30);
    group.bench_function("baseline: the process starts and looks a shell's completions up", |b| {
        b.iter(|| run(&["completions", "bash"]));
    });
    group.bench_function("brief as text", |b| b.iter(|| run(&["brief", "Student 150"])));
    group.bench_function("brief as HTML", |b| {
        let out = dir.path().join("brief.html");
        b.iter(|| run(&["brief", "Student 150", "--out", out.to_str().unwrap()]));
    });
    group.bench_function("brief of 2,000 shots, nothing kept", |b| {
        b.iter_batched(copy, |_| run_on(&one, &["brief", "Student 000"]), BatchSize::PerIteration);
    });
    run_on(&one, &["brief", "Student 000"]);
    group.bench_function("brief of 2,000 shots, kept from before", |b| {
        b.iter(|| run_on(&one, &["brief", "Student 000"]));
    });
    group.finish();
    c.final_summary();
}
