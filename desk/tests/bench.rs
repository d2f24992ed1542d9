//! A folder to work in, and the program run there.

use std::path::PathBuf;
use std::process::{Command, Output};

use tempfile::TempDir;

pub const PROGRAM: &str = env!("CARGO_BIN_EXE_chalkface");

pub struct Bench {
    pub dir: TempDir,
}

impl Bench {
    pub fn new() -> Self {
        Self { dir: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        std::fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    /// The program with these words, on a day of its own.
    pub fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command
            .args(words)
            .current_dir(self.dir.path())
            .env("CHALKFACE_NOW", "2026-05-04T18:00:00+02:00")
            .env_remove("CHALKFACE_BOOK");
        command
    }

    pub fn run(&self, words: &[&str]) -> Output {
        self.command(words).output().unwrap()
    }

    /// Runs what must work; what it prints.
    pub fn ok(&self, words: &[&str]) -> String {
        let out = self.run(words);
        assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    /// Runs what must work; the JSON it prints.
    pub fn json(&self, words: &[&str]) -> serde_json::Value {
        let mut words = words.to_vec();
        words.push("--json");
        serde_json::from_str(&self.ok(&words)).unwrap()
    }

    /// Runs what must be refused with exit code 1; what it complains.
    pub fn refused(&self, words: &[&str]) -> String {
        let out = self.run(words);
        let said = String::from_utf8(out.stderr).unwrap();
        assert_eq!(out.status.code(), Some(1), "{words:?}: {said}");
        assert!(!said.trim().is_empty(), "{words:?} said nothing");
        assert!(!said.contains("panicked"), "{words:?}: {said}");
        said
    }

    /// Two people take in each other's card.
    pub fn meet(&self, one: &str, other: &str) {
        for (from, to) in [(one, other), (other, one)] {
            let card = self.json(&["card", "--book", from]);
            self.ok(&["meet", card["card"].as_str().unwrap(), "--book", to]);
        }
    }

    /// A student's and a coach's book, and a first file taken in.
    pub fn pair(&self) {
        self.ok(&["book", "new", "--role", "student", "--name", "Ina Holt", "--book", "ina.book"]);
        self.ok(&["student", "add", "Ina Holt", "--hand", "left", "--book", "ina.book"]);
        self.ok(&["book", "new", "--role", "coach", "--name", "Bo Berg", "--book", "bo.book"]);
        self.meet("ina.book", "bo.book");
        self.ok(&["send", "Ina Holt", "--to", "Bo Berg", "--out", "first.chalk", "--book", "ina.book"]);
        self.ok(&["receive", "first.chalk", "--book", "bo.book"]);
    }
}

/// The lines of a file's answer, and the exit code.
pub fn lines(bench: &Bench, words: &[&str]) -> (Vec<serde_json::Value>, Option<i32>, String) {
    let out = bench.run(words);
    let text = String::from_utf8(out.stdout).unwrap();
    let said = String::from_utf8(out.stderr).unwrap();
    (text.lines().map(|line| serde_json::from_str(line).unwrap()).collect(), out.status.code(), said)
}

/// A small log: two sessions, one of them without radar.
pub const LOG: &str = "session,day,place,toe_mm,high_mm,sigma_mm,head_speed_mph,start,curve,finish_held,powder\n\
    morning,2026-04-27,range,-14,-6,2,91.2,left,left,yes,yes\n\
    morning,2026-04-27,range,-9.5,-2,2,92.0,straight,straight,no,yes\n\
    morning,2026-04-27,range,-16,-9.5,2,90.4,left,left,no,yes\n\
    lesson,2026-05-01,lesson,-6,1,2,,straight,right,yes,yes\n\
    lesson,2026-05-01,lesson,-3,4.5,2,,right,right,yes,yes\n";

/// A cheap generator for moments and places: the same every run.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(2).wrapping_add(1))
    }

    /// A number below `below`.
    pub fn roll(&mut self, below: u64) -> u64 {
        // splitmix64 (Steele, Lea and Flood 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below.max(1)
    }
}
