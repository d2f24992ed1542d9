//! Bad input: each gives a clear error, and the book is as before.

use std::io::Write;
use std::process::Command;

use crate::bench::{Bench, Dice, LOG};

fn digest(bench: &Bench, book: &str) -> String {
    let check = bench.json(&["book", "check", "--book", book]);
    assert_eq!(check["ok"], true);
    check["digest"].as_str().unwrap().to_owned()
}

#[test]
fn damaged_foreign_and_newer_files_are_refused_and_the_book_is_as_before() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "week.chalk", "--book", "ina.book"]);
    let whole = std::fs::read(bench.path("week.chalk")).unwrap();
    let before = digest(&bench, "bo.book");
    let refused = |bytes: &[u8], word: &str| {
        bench.write("bad.chalk", bytes);
        let said = bench.refused(&["receive", "bad.chalk", "--book", "bo.book"]);
        assert!(said.contains(word), "{word}: {said}");
    };
    refused(b"", "not an exchange file");
    refused(b"PK\x03\x04 a spreadsheet", "not an exchange file");
    refused(LOG.as_bytes(), "not an exchange file");
    refused(&whole[..whole.len() / 2], "damaged");
    // Before there were seals, a file said its version at its start.
    let mut newer =
        std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/golden/v1/from-coach.chalk")).unwrap();
    newer[10] = 9;
    refused(&newer, "version 9");
    let mut dice = Dice::new(3);
    for _ in 0..25 {
        let mut flipped = whole.clone();
        let at = dice.roll(whole.len() as u64) as usize;
        flipped[at] ^= 1 << dice.roll(8);
        bench.write("bad.chalk", flipped);
        bench.refused(&["receive", "bad.chalk", "--book", "bo.book"]);
    }
    assert_eq!(digest(&bench, "bo.book"), before);
    assert_eq!(bench.json(&["receive", "week.chalk", "--book", "bo.book"])["taken"], 7);
}

#[test]
fn a_log_with_one_bad_row_is_not_logged_at_all_unless_told_to_skip() {
    let bench = Bench::new();
    bench.pair();
    let before = digest(&bench, "ina.book");
    let bad = |name: &str, text: &str, words: &[&str]| {
        bench.write(name, text);
        let said = bench.refused(&["record", "shots", name, "--book", "ina.book"]);
        for word in words {
            assert!(said.contains(word), "{name}: {word}: {said}");
        }
    };
    bad("nan.csv", "toe_mm,high_mm\n1,2\nNaN,3\n", &["line 3", "toe_mm"]);
    bad("inf.csv", "toe_mm,high_mm\ninf,3\n", &["line 2"]);
    bad("huge.csv", "toe_mm,high_mm\n1e400,3\n", &["line 2"]);
    bad("far.csv", "toe_mm,high_mm\n80,3\n", &["Equipment Rules"]);
    bad("unit.csv", "toe_in_miles,high_mm\n1,3\n", &["toe"]);
    bad("bare.csv", "toe,high_mm\n1,3\n", &["toe_mm"]);
    bad("mph.csv", "toe_mm,high_mm,head_speed_mps\n1,2,98\n1,2,101\n2,2,99\n", &["head speed", "mph"]);
    bad("empty.csv", "", &["empty"]);
    bad("wide.csv", &format!("{}\n1\n", "a,".repeat(1_000_000)), &["columns"]);
    assert_eq!(digest(&bench, "ina.book"), before);
    bench.write("mixed.csv", format!("{LOG}late,2026-05-02,range,900,0,2,,,,,\n"));
    let skipped = bench.json(&["record", "shots", "mixed.csv", "--skip-bad-rows", "--book", "ina.book"]);
    assert_eq!(skipped["shots"], 5);
    assert!(skipped["skipped"][0]["problems"].as_str().unwrap().contains("line 7"), "{skipped}");
}

#[test]
fn one_bad_file_of_several_stops_them_all() {
    let bench = Bench::new();
    bench.pair();
    let before = digest(&bench, "ina.book");
    bench.write("good.csv", LOG);
    bench.write("bad.csv", "toe_mm\n1\n");
    bench.refused(&["record", "shots", "good.csv", "bad.csv", "--book", "ina.book"]);
    assert_eq!(digest(&bench, "ina.book"), before);
}

#[test]
fn a_book_held_by_another_process_is_said_to_be_in_use() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    let before = digest(&bench, "ina.book");
    let holder = rusqlite::Connection::open(bench.path("ina.book")).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let said = bench.refused(&["record", "shots", "log.csv", "--book", "ina.book"]);
    assert!(said.contains("another program"), "{said}");
    holder.execute_batch("ROLLBACK").unwrap();
    assert_eq!(digest(&bench, "ina.book"), before);
}

/// A small disk of its own, where the system lets tests have one.
struct Disk<'a>(&'a std::path::Path);

impl<'a> Disk<'a> {
    fn new(at: &'a std::path::Path, size: &str) -> Option<Self> {
        std::fs::create_dir(at).unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"])
            .arg(at)
            .status();
        if mounted.is_ok_and(|status| status.success()) {
            return Some(Self(at));
        }
        // Past the test runner's capture: what is skipped has to be seen.
        let why = "skipped: a full and a read-only disk; tests may mount none here (needs root on Linux)";
        let _ = std::io::stderr().write_all(format!("{why}\n").as_bytes());
        None
    }

    fn read_only(&self) {
        assert!(Command::new("mount").args(["-o", "remount,ro"]).arg(self.0).status().unwrap().success());
    }
}

impl Drop for Disk<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0).status();
    }
}

#[test]
fn a_full_disk_is_said_to_be_full_and_the_book_is_as_before() {
    let bench = Bench::new();
    let at = bench.path("small");
    let Some(_disk) = Disk::new(&at, "600k") else { return };
    let book = "small/ina.book";
    bench.ok(&["book", "new", "--role", "student", "--name", "Ina", "--book", book]);
    bench.ok(&["student", "add", "Ina", "--hand", "left", "--book", book]);
    let before = digest(&bench, book);
    let mut log = String::from("session,day,toe_mm,high_mm\n");
    for n in 0..20_000 {
        log += &format!("s,2026-05-01,{},{}\n", n % 50, n % 30);
    }
    bench.write("big.csv", log);
    let said = bench.refused(&["record", "shots", "big.csv", "--book", book]);
    assert!(said.contains("disk is full"), "{said}");
    assert_eq!(digest(&bench, book), before);
    // A picture that doesn't fit is refused and leaves nothing half written.
    std::fs::write(at.join("filler"), vec![7; 600_000]).unwrap_err();
    bench.refused(&["brief", "Ina", "--out", "small/brief.png", "--book", book]);
    let half = std::fs::read_dir(&at).unwrap().filter(|f| {
        f.as_ref().unwrap().path().extension().is_some_and(|ending| ending == "part" || ending == "png")
    });
    assert_eq!(half.count(), 0);
}

#[test]
fn a_read_only_disk_is_said_to_be_so() {
    let bench = Bench::new();
    let at = bench.path("fixed");
    let Some(disk) = Disk::new(&at, "4m") else { return };
    let book = "fixed/ina.book";
    bench.ok(&["book", "new", "--role", "student", "--name", "Ina", "--book", book]);
    bench.ok(&["student", "add", "Ina", "--hand", "left", "--book", book]);
    let golden = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/golden/v1/student.book");
    std::fs::copy(golden, at.join("old.book")).unwrap();
    disk.read_only();
    bench.write("log.csv", LOG);
    let said = bench.refused(&["record", "shots", "log.csv", "--book", book]);
    assert!(said.contains("may only be read"), "{said}");
    // Reading goes on: a brief needs no right to write.
    assert!(bench.ok(&["brief", "Ina", "--book", book]).contains("Ina"));
    // So does that of an older book, which can't be brought up to date here.
    assert!(bench.ok(&["brief", "Nils", "--book", "fixed/old.book"]).contains("Nils Aro"));
    assert!(bench.ok(&["feel", "Nils", "--book", "fixed/old.book"]).contains("Nils Aro"));
    bench.refused(&["book", "new", "--role", "coach", "--name", "Bo", "--book", "fixed/other.book"]);
}

#[test]
fn a_folder_a_directory_and_a_missing_file_are_told() {
    let bench = Bench::new();
    bench.pair();
    std::fs::create_dir(bench.path("folder")).unwrap();
    bench.refused(&["receive", "folder", "--book", "bo.book"]);
    bench.refused(&["receive", "nowhere.chalk", "--book", "bo.book"]);
    bench.refused(&["record", "shots", "folder", "--book", "ina.book"]);
    bench.refused(&["list", "--book", "folder"]);
    bench.refused(&["send", "Ina", "--to", "Bo Berg", "--out", "no/such/x.chalk", "--book", "ina.book"]);
    bench.refused(&["brief", "Ina", "--out", "no/such/x.html", "--book", "ina.book"]);
}
