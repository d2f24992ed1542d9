//! Killed while it takes in, sends, erases or comes back from a copy: the book is
//! whole, nothing that it had is lost, and what was begun can be done again.
//!
//! The long form asks for 500 kills by `CHALKFACE_KILLS`. Start at `killed`.

use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use chalkface_core::book::Book;

use crate::bench::{Bench, Dice};

/// Balls of the visit that stays, and of the one that is erased.
const STAY: usize = 150;
const GO: usize = 40;
const REGRET: &str = "Regretted visit";

fn times() -> u64 {
    std::env::var("CHALKFACE_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(60)
}

fn rows(session: &str, day: &str, count: usize) -> String {
    (0..count).map(|n| format!("{session},{day},{},{}\n", n % 30, n % 7)).collect()
}

/// A student's book with two visits, a coach's that knows of none, and the file.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.pair();
    let log = format!(
        "session,day,toe_mm,high_mm\n{}{}",
        rows("Monday", "2026-05-01", STAY),
        rows(REGRET, "2026-05-02", GO)
    );
    bench.write("log.csv", log);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "week.chalk", "--book", "ina.book"]);
    bench
}

/// A fresh copy of a book with its keys.
fn copy(bench: &Bench, from: &str, to: &str) {
    for end in ["-wal", "-shm", ".key", ""] {
        let (from, to) = (bench.path(&format!("{from}{end}")), bench.path(&format!("{to}{end}")));
        let _ = std::fs::remove_file(&to);
        if from.exists() {
            std::fs::copy(&from, &to).unwrap();
        }
    }
}

/// Runs a command and kills it at a moment within the time that it takes. Whether it
/// was killed before it had ended.
fn killed(bench: &Bench, words: &[&str], whole_us: u64, dice: &mut Dice) -> bool {
    let mut child = bench.command(words).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    std::thread::sleep(Duration::from_micros(dice.roll(whole_us * 11 / 10)));
    let ended = child.try_wait().unwrap().is_some();
    child.kill().unwrap();
    child.wait().unwrap();
    !ended
}

fn took(bench: &Bench, words: &[&str]) -> u64 {
    let started = Instant::now();
    bench.ok(words);
    started.elapsed().as_micros() as u64
}

fn shots(path: &Path) -> usize {
    let book = Book::open(path).unwrap();
    let check = book.check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    book.students().unwrap().first().map_or(0, |student| book.summary(student.strand).unwrap().shots as usize)
}

fn holds(path: &Path, text: &str) -> bool {
    ["", "-wal"].iter().any(|end| {
        let mut beside = path.as_os_str().to_owned();
        beside.push(end);
        let bytes = std::fs::read(beside).unwrap_or_default();
        bytes.windows(text.len()).any(|window| window == text.as_bytes())
    })
}

#[test]
fn killed_while_it_takes_in_sends_erases_or_comes_back_nothing_is_lost() {
    let bench = bench();
    let commands: [&[&str]; 4] = [
        &["receive", "week.chalk", "--book", "copy.book"],
        &["send", "Ina", "--to", "Bo Berg", "--all", "--out", "again.chalk", "--book", "copy.book"],
        &["erase", "Ina", "--session", REGRET, "--book", "copy.book"],
        &["restore", "--book", "copy.book"],
    ];
    let of = |command: usize| if command == 0 { "bo.book" } else { "ina.book" };
    let mut whole = [0; 4];
    for (n, words) in commands.iter().enumerate() {
        copy(&bench, of(n), "copy.book");
        whole[n] = took(&bench, words);
    }
    let path = bench.path("copy.book");
    let mut dice = Dice::new(5);
    let mut early = [0_u64; 4];
    for time in 0..times() {
        let n = (time % 4) as usize;
        copy(&bench, of(n), "copy.book");
        let _ = std::fs::remove_file(bench.path("again.chalk"));
        early[n] += u64::from(killed(&bench, commands[n], whole[n], &mut dice));
        let there = shots(&path);
        match n {
            0 => assert!([0, STAY + GO].contains(&there), "time {time}: {there}"),
            2 => assert!([STAY, STAY + GO].contains(&there), "time {time}: {there}"),
            _ => assert_eq!(there, STAY + GO, "time {time}"),
        }
        // A file that is there is a whole one.
        if bench.path("again.chalk").exists() {
            copy(&bench, "bo.book", "to.book");
            assert_eq!(
                bench.json(&["receive", "again.chalk", "--book", "to.book"])["refused"],
                serde_json::json!([])
            );
            assert_eq!(shots(&bench.path("to.book")), STAY + GO);
        }
        // What was begun is done again, and all is as if nothing had happened.
        if n != 2 || there != STAY {
            bench.ok(commands[n]);
        }
        assert_eq!(shots(&path), if n == 2 { STAY } else { STAY + GO });
        assert!(n != 2 || !holds(&path, REGRET), "time {time}: a trace is left");
        if n == 3 {
            bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "back.chalk", "--book", "copy.book"]);
            copy(&bench, "bo.book", "to.book");
            assert_eq!(
                bench.json(&["receive", "back.chalk", "--book", "to.book"])["refused"],
                serde_json::json!([])
            );
        }
    }
    println!("killed before the end: {early:?} of {} each", times() / 4);
    assert!(early.iter().all(|early| *early > 0), "no kill came early enough to mean anything: {early:?}");
}
