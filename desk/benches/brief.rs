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

use chalkface_core::model::Role;
use criterion::{BatchSize, Criterion};

use large_book::fill;

#[path = "../../tests/fixtures/large_book.rs"]
mod large_book;

const STUDENTS: u64 = 300;
const SESSIONS: u64 = 14;
const BALLS: u64 = 12;

fn main() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("academy.book");
    fill(&path, Role::Coach, STUDENTS, SESSIONS, BALLS);
    let (fresh, one) = (dir.path().join("fresh.book"), dir.path().join("one.book"));
    fill(&fresh, Role::Coach, 1, 40, 50);
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
