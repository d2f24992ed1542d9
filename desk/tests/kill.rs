//! Killed at random moments, a book loses nothing that was acknowledged.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use chalkface_core::act::{begin_drill, do_drill};
use chalkface_core::book::{Book, Draft};
use chalkface_core::dose::Tap;
use chalkface_core::model::{
    MarkRead, Minter, Moment, Now, PlannedDrill, Practice, RecordId, Shot, StrikeMark,
};

use crate::bench::{Bench, Dice};

const TIMES: u64 = 110;
const CHILD: &str = "CHALKFACE_TEST_RECORDS_INTO";
const TIMES_COUNTED: u64 = 40;
const CHILD_COUNTS: &str = "CHALKFACE_TEST_COUNTS_INTO";

fn now(tick: u64) -> Now {
    let mut entropy = [3; 16];
    entropy[..8].copy_from_slice(&tick.to_le_bytes());
    Now { at: Moment { utc_ms: 1_777_000_000_000 + tick as i64, offset_min: 120 }, entropy }
}

fn shot(tick: u64) -> Draft {
    let mut shot = Shot::of(RecordId(Minter::new(now(0)).mint()));
    shot.mark = Some(StrikeMark::new((tick % 40) as f64 - 20.0, 3.5, None, MarkRead::Tap).unwrap());
    Draft::put(Minter::new(now(tick)).record(), &shot)
}

/// Not a test of its own: the process that records until it is killed, and
/// says so after every shot that is on the disk.
#[test]
fn child_that_records_until_it_is_killed() {
    let Some(path) = std::env::var_os(CHILD) else { return };
    let mut book = Book::open(&PathBuf::from(path)).unwrap();
    let strand = book.students().unwrap()[0].strand;
    let mut out = std::io::stdout();
    for tick in 1.. {
        let tick = tick + 1_000_000 * u64::from(std::process::id());
        book.write(strand, now(tick), [shot(tick)]).unwrap();
        writeln!(out, "on disk").unwrap();
        out.flush().unwrap();
    }
}

fn shots(path: &Path) -> u64 {
    let book = Book::open(path).unwrap();
    let check = book.check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    book.summary(book.students().unwrap()[0].strand).unwrap().shots
}

/// Runs a child that says so after everything that is on the disk, kills it at a random
/// moment, and answers how often it said so.
fn acknowledged_until_killed(child: &str, env: &str, path: &Path, dice: &mut Dice) -> u64 {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", child, "--nocapture", "--test-threads=1"])
        .env(env, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let wanted = 1 + dice.roll(12);
    let mut acknowledged = 0;
    while acknowledged < wanted {
        let line = lines.next().expect("the child stopped by itself").unwrap();
        // The test runner's own words may stand before the first one.
        acknowledged += u64::from(line.ends_with("on disk"));
    }
    std::thread::sleep(Duration::from_micros(dice.roll(1500)));
    child.kill().unwrap();
    acknowledged += lines.map_while(Result::ok).filter(|line| line.ends_with("on disk")).count() as u64;
    child.wait().unwrap();
    acknowledged
}

#[test]
fn killed_while_it_records_a_book_has_every_shot_that_was_acknowledged() {
    let bench = Bench::new();
    bench.pair();
    let path = bench.path("ina.book");
    let mut dice = Dice::new(1);
    let mut before = 0;
    let mut acknowledged_in_all = 0;
    for time in 0..TIMES {
        let acknowledged =
            acknowledged_until_killed("kill::child_that_records_until_it_is_killed", CHILD, &path, &mut dice);
        let after = shots(&path);
        assert!(after >= before + acknowledged, "time {time}: {after} after {before} and {acknowledged}");
        // At most one more: the shot that was on the disk but not yet said.
        assert!(after <= before + acknowledged + 1, "time {time}: {after} after {before} and {acknowledged}");
        before = after;
        acknowledged_in_all += acknowledged;
    }
    assert!(acknowledged_in_all > TIMES);
}

/// Not a test of its own: the process that counts repetitions of a drill until it is killed.
#[test]
fn child_that_counts_until_it_is_killed() {
    let Some(path) = std::env::var_os(CHILD_COUNTS) else { return };
    let mut book = Book::open(&PathBuf::from(path)).unwrap();
    let student = book.students().unwrap().remove(0);
    let planned = book.records::<PlannedDrill>(student.strand).unwrap()[0].id;
    let mut out = std::io::stdout();
    // Later than all that was counted before, on the day of the plan.
    let done: i64 = practices(&book).iter().map(|practice| practice.repetitions.get()).sum();
    let mut ms = 1_777_910_400_000 + 100 * done;
    let mut now = || {
        ms += 1;
        let mut entropy = [4; 16];
        entropy[..8].copy_from_slice(&(ms as u64).to_le_bytes());
        Now { at: Moment { utc_ms: ms, offset_min: 120 }, entropy }
    };
    let practice = begin_drill(&mut book, &student, now(), planned).unwrap();
    loop {
        do_drill(&mut book, &student, now(), practice, Tap::Count { good: Some(true) }).unwrap();
        writeln!(out, "on disk").unwrap();
        out.flush().unwrap();
    }
}

fn practices(book: &Book) -> Vec<Practice> {
    let strand = book.students().unwrap()[0].strand;
    book.records::<Practice>(strand).unwrap().into_iter().map(|entry| entry.value).collect()
}

#[test]
fn killed_while_a_drill_is_counted_it_goes_on_with_every_count() {
    let bench = Bench::new();
    bench.pair();
    let path = bench.path("ina.book");
    bench.ok(&["plan", "Ina", "propose", "--for", "face", "--accept", "--book", "ina.book"]);
    let mut dice = Dice::new(3);
    let mut before = 0;
    for time in 0..TIMES_COUNTED {
        let child = "kill::child_that_counts_until_it_is_killed";
        let acknowledged = acknowledged_until_killed(child, CHILD_COUNTS, &path, &mut dice) as i64;
        let book = Book::open(&path).unwrap();
        assert!(book.check().unwrap().ok);
        let all = practices(&book);
        assert_eq!(all.len(), 1, "it goes on with the same one");
        let after = all[0].repetitions.get();
        // At most one more: the one that was on the disk but not yet said.
        let allowed = [before + acknowledged, before + acknowledged + 1];
        assert!(allowed.contains(&after), "time {time}: {after} after {before} and {acknowledged}");
        // Counts of one tap are never torn apart.
        let at = all[0].going().unwrap();
        assert_eq!(at.at_step.values().map(|count| count.get()).sum::<i64>(), after);
        assert_eq!((all[0].good, all[0].tries), (Some(all[0].repetitions), Some(all[0].repetitions)));
        before = after;
    }
}

#[test]
fn killed_while_it_takes_in_a_file_a_book_has_all_of_it_or_nothing() {
    let bench = Bench::new();
    bench.pair();
    let path = bench.path("ina.book");
    let mut ina = Book::open(&path).unwrap();
    let strand = ina.students().unwrap()[0].strand;
    ina.write(strand, now(5), (10..1510).map(shot)).unwrap();
    drop(ina);
    bench.ok(&["send", "Ina Holt", "--to", "Bo Berg", "--out", "week.chalk", "--book", "ina.book"]);
    // How long it takes undisturbed, to aim within.
    std::fs::copy(bench.path("bo.book"), bench.path("timed.book")).unwrap();
    std::fs::copy(bench.path("bo.book.key"), bench.path("timed.book.key")).unwrap();
    let started = Instant::now();
    bench.ok(&["receive", "week.chalk", "--book", "timed.book"]);
    let whole = started.elapsed().as_micros() as u64;
    let mut dice = Dice::new(2);
    let (mut none, mut all) = (0, 0);
    for time in 0..TIMES {
        let name = format!("bo{time}.book");
        std::fs::copy(bench.path("bo.book"), bench.path(&name)).unwrap();
        std::fs::copy(bench.path("bo.book.key"), bench.path(&(name.clone() + ".key"))).unwrap();
        let mut child = bench
            .command(&["receive", "week.chalk", "--book", &name])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_micros(dice.roll(whole * 11 / 10)));
        child.kill().unwrap();
        child.wait().unwrap();
        match shots(&bench.path(&name)) {
            0 => none += 1,
            1500 => all += 1,
            other => panic!("time {time}: {other} shots of 1500"),
        }
        let again = bench.json(&["receive", "week.chalk", "--book", &name]);
        assert_eq!(again["taken"].as_u64().unwrap() + again["already_had"].as_u64().unwrap(), 1502);
        assert_eq!(shots(&bench.path(&name)), 1500);
    }
    println!("killed while taking in: {none} times before, {all} times after the commit");
    assert!(none > 0, "no kill came early enough to mean anything");
}
