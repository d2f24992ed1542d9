//! Files that an earlier version wrote are read for ever, and say the same.
//!
//! The files and how they were made: tests/golden/README.md. Start at
//! `Golden::open`, which works on a copy.

use std::fs;
use std::path::PathBuf;

use chalkface_core::book::{Book, Receipt};
use chalkface_core::lesson::trial::{Standing, latest};
use chalkface_core::lesson::{Brief, DRIVES_FOR_A_BRIEF, Feel, Log, Worth, fits};
use chalkface_core::model::{
    Club, Coach, Day, Drill, Kind, Name, Note, Plan, PlannedDrill, Practice, Record, Role, Session, Shot,
    SpeedSwing, Student,
};
use chalkface_core::model::{Moment, Now};
use chalkface_core::sync::file::{FileReader, Part};
use chalkface_core::sync::seal::open;
use chalkface_core::sync::{Body, Change, DeviceKeys, RootKey};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A copy of one version's files, to be worked on.
struct Golden {
    dir: TempDir,
    from: PathBuf,
}

impl Golden {
    fn v1() -> Self {
        Self::of("v1")
    }

    fn of(version: &str) -> Self {
        let from = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("golden").join(version);
        let dir = tempfile::tempdir().unwrap();
        fs::copy(from.join("student.book"), dir.path().join("student.book")).unwrap();
        Self { dir, from }
    }

    fn open(&self) -> Book {
        Book::open(&self.dir.path().join("student.book")).unwrap()
    }

    fn file(&self) -> Vec<u8> {
        fs::read(self.from.join("from-coach.chalk")).unwrap()
    }

    fn frozen(&self, name: &str) -> Value {
        serde_json::from_slice(&fs::read(self.from.join(name)).unwrap()).unwrap()
    }

    /// The changes that the exchange file holds.
    fn changes(&self) -> Vec<Change> {
        let bytes = self.file();
        let mut reader = FileReader::new(bytes.as_slice()).unwrap();
        let mut changes = Vec::new();
        while let Some(part) = reader.next_part().unwrap() {
            if let Part::Changes(more) = part {
                changes.extend(more);
            }
        }
        changes
    }
}

fn receive(book: &mut Book, golden: &Golden) -> Receipt {
    book.receive(None, now(1), golden.file().as_slice()).unwrap()
}

/// A value as any program that reads its text would see it: the text decides,
/// not how the last digit of a double is rounded on reading.
fn through_text(value: &impl serde::Serialize) -> Value {
    serde_json::from_str(&serde_json::to_string(value).unwrap()).unwrap()
}

/// Where two values differ first.
fn difference(at: &str, frozen: &Value, found: &Value) -> Option<String> {
    match (frozen, found) {
        (Value::Object(a), Value::Object(b)) => {
            a.keys().chain(b.keys()).find_map(|key| match (a.get(key), b.get(key)) {
                (Some(a), Some(b)) => difference(&format!("{at}.{key}"), a, b),
                (Some(_), None) => Some(format!("{at}.{key} is gone")),
                _ => Some(format!("{at}.{key} is new")),
            })
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().find_map(|(n, (a, b))| difference(&format!("{at}[{n}]"), a, b))
        }
        _ => (frozen != found).then(|| format!("{at} was {frozen} and is {found}")),
    }
}

#[test]
fn a_book_of_version_1_opens_whole_with_the_digest_that_it_was_frozen_with() {
    let golden = Golden::v1();
    let check = golden.open().check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    let frozen = golden.frozen("expected.json");
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["before"]);
}

#[test]
fn a_book_of_version_1_made_anew_from_its_changes_has_the_same_digest() {
    let golden = Golden::v1();
    let mut book = golden.open();
    book.rebuild().unwrap();
    assert_eq!(json!(book.check().unwrap().digest), golden.frozen("expected.json")["before"]["digest"]);
}

#[test]
fn an_exchange_file_of_version_1_is_taken_in_and_both_values_of_the_conflict_stand() {
    let golden = Golden::v1();
    let mut book = golden.open();
    let receipt = receive(&mut book, &golden);
    let frozen = golden.frozen("expected.json");
    let found = json!({
        "from": receipt.from, "taken": receipt.taken, "already_had": receipt.already_had,
        "conflicts": receipt.conflicts.len(), "refused": receipt.refused.len(),
    });
    assert_eq!(found, frozen["receipt"]);
    let [conflict] = receipt.conflicts.as_slice() else { panic!("{:?}", receipt.conflicts) };
    assert_eq!((conflict.kind, conflict.conflict.field), (Kind::PLANNED_DRILL, 4));
    let values: Vec<_> = conflict.conflict.values.iter().map(|(_, value)| value.clone()).collect();
    assert_eq!(values, [6_i64.into(), 12_i64.into()]);
    let check = book.check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["after"]);
    // Once more changes nothing.
    assert_eq!(receive(&mut book, &golden).taken, 0);
    assert_eq!(json!(book.check().unwrap().digest), frozen["after"]["digest"]);
}

#[test]
fn the_brief_of_a_book_of_version_1_says_what_it_said() {
    let golden = Golden::v1();
    let mut book = golden.open();
    receive(&mut book, &golden);
    let student = book.student("Nils Aro").unwrap();
    let log = Log::read(&book, &student).unwrap();
    let as_of = Day::parse("2026-04-22").unwrap();
    let brief = Brief::of(&log, &book.device_names().unwrap(), as_of).unwrap();
    let brief = brief.with_worth(Worth::of(&log, DRIVES_FOR_A_BRIEF));
    if let Some(what) = difference("brief", &golden.frozen("brief.json"), &through_text(&brief)) {
        panic!("{what}; if that is meant, see tests/golden/README.md");
    }
}

#[test]
fn every_record_of_version_1_is_read_and_what_was_newer_is_kept() {
    fn count<R: Record>(book: &Book) -> usize {
        let strand = book.student("Nils Aro").unwrap().strand;
        book.records::<R>(strand).unwrap().len()
    }
    let golden = Golden::v1();
    let mut book = golden.open();
    receive(&mut book, &golden);
    let one_each = [
        count::<Student>(&book),
        count::<Coach>(&book),
        count::<Club>(&book),
        count::<SpeedSwing>(&book),
        count::<Drill>(&book),
        count::<Plan>(&book),
        count::<PlannedDrill>(&book),
        count::<Practice>(&book),
    ];
    assert_eq!(one_each, [1; 8]);
    assert_eq!((count::<Session>(&book), count::<Shot>(&book)), (3, 11));
    // The student's own note was removed.
    assert_eq!(count::<Note>(&book), 2);
    let student = book.student("Nils Aro").unwrap();
    assert_eq!(book.unread(student.strand).unwrap(), 1);
    let notes = book.records::<Note>(student.strand).unwrap();
    assert!(notes.iter().any(|note| note.value.text.as_str() == "Ása's tee height next – 40 mm"));
}

/// Maja Lind by keys, so that something can be sent to her.
fn maja(golden: &Golden) -> (Book, DeviceKeys) {
    let path = golden.dir.path().join("maja.book");
    let mut book = Book::create(&path, Name::new("Maja Lind").unwrap(), Role::Coach, now(2)).unwrap();
    let keys = begin(&mut book, 2);
    (book, keys)
}

fn begin(book: &mut Book, n: u8) -> DeviceKeys {
    let keys = DeviceKeys::from_entropy(book.device(), &[n; 32]).unwrap();
    book.begin_identity(&keys, &RootKey::from_entropy([n; 16]), now(n)).unwrap();
    keys
}

fn now(n: u8) -> Now {
    Now { at: Moment { utc_ms: 1_777_000_000_000, offset_min: 60 }, entropy: [n; 16] }
}

/// All changes of a sealed file.
fn changes_in(keys: &DeviceKeys, file: &[u8]) -> Vec<Change> {
    let mut reader = FileReader::new(open(keys, file).unwrap()).unwrap();
    let mut changes = Vec::new();
    while let Some(part) = reader.next_part().unwrap() {
        if let Part::Changes(more) = part {
            changes.extend(more);
        }
    }
    changes
}

#[test]
fn changes_of_version_1_are_signed_and_travel_on_byte_for_byte() {
    let golden = Golden::v1();
    let mut book = golden.open();
    receive(&mut book, &golden);
    let keys = begin(&mut book, 1);
    let (mut maja, hers) = maja(&golden);
    book.meet(&maja.card(&hers, now(3)).unwrap()).unwrap();
    maja.meet(&book.card(&keys, now(3)).unwrap()).unwrap();
    let student = book.student("Nils Aro").unwrap();
    let mut out = Vec::new();
    book.send(&keys, &student, &Name::new("Maja Lind").unwrap(), now(4), true, &mut out).unwrap();
    let sent = changes_in(&hers, &out);
    let (own, others): (Vec<_>, Vec<_>) =
        golden.changes().into_iter().partition(|change| change.author == book.device());
    assert!(own.len() > 15 && others.len() > 5);
    for change in own.iter().chain(&others) {
        // A change that is read and written again is the same bytes, but for
        // items of a newer version at its end, of which there are none here.
        assert_eq!(Body::decode(&change.body).unwrap().encode(), change.body);
    }
    for change in &own {
        assert!(sent.contains(change), "{change:?}");
    }
    // What another device wrote before it had keys, only that device can sign:
    // nobody else passes it on.
    assert!(sent.iter().all(|change| change.author == book.device()));
    assert!(others.iter().any(|change| change.kind == Kind(900)));
    assert_eq!(maja.receive(Some(&hers), now(5), out.as_slice()).unwrap().refused, []);
}

#[test]
fn a_book_of_version_3_opens_whole_and_its_sealed_file_is_taken_in_and_passed_on() {
    opens_takes_in_and_passes_on("v3");
}

#[test]
fn a_book_of_version_4_does_so_too_and_what_was_erased_in_it_stays_so() {
    opens_takes_in_and_passes_on("v4");
    let from = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("golden/v4/student.book");
    let bytes = fs::read(from).unwrap();
    assert!(!bytes.windows(12).any(|window| window == b"erased since"));
}

fn opens_takes_in_and_passes_on(version: &str) {
    let golden = Golden::of(version);
    let mut book = golden.open();
    let keys = DeviceKeys::from_text(&fs::read_to_string(golden.from.join("student.key")).unwrap()).unwrap();
    let frozen = golden.frozen("expected.json");
    let check = book.check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["before"]);
    let receipt = book.receive(Some(&keys), now(1), golden.file().as_slice()).unwrap();
    let found = json!({
        "from": receipt.from, "taken": receipt.taken, "already_had": receipt.already_had,
        "conflicts": receipt.conflicts.len(), "refused": receipt.refused.len(),
    });
    assert_eq!(found, frozen["receipt"]);
    let check = book.check().unwrap();
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["after"]);
    book.rebuild().unwrap();
    assert_eq!(json!(book.check().unwrap().digest), frozen["after"]["digest"]);
    // Everything goes on to somebody new, byte for byte, its authors with it.
    let path = golden.dir.path().join("guardian.book");
    let mut guardian = Book::create(&path, Name::new("Tuva Aro").unwrap(), Role::Reader, now(7)).unwrap();
    let theirs = begin(&mut guardian, 7);
    guardian.meet(&book.card(&keys, now(7)).unwrap()).unwrap();
    book.meet(&guardian.card(&theirs, now(7)).unwrap()).unwrap();
    let student = book.student("Nils Aro").unwrap();
    let mut out = Vec::new();
    book.send(&keys, &student, &Name::new("Tuva Aro").unwrap(), now(8), true, &mut out).unwrap();
    let sent = changes_in(&theirs, &out);
    let frozen = changes_in(&keys, &golden.file());
    assert!(frozen.len() > 25 && frozen.iter().all(|change| sent.contains(change)));
    assert!(frozen.iter().any(|change| change.kind == Kind(900)));
    let receipt = guardian.receive(Some(&theirs), now(9), out.as_slice()).unwrap();
    assert_eq!((receipt.refused, receipt.strands[0].agrees), (Vec::new(), Some(true)));
}

#[test]
fn a_book_of_version_2_opens_whole_takes_in_its_file_and_keeps_its_trial_and_guesses() {
    let golden = Golden::of("v2");
    let mut book = golden.open();
    let frozen = golden.frozen("expected.json");
    let check = book.check().unwrap();
    assert!(check.ok, "{:?}", check.problems);
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["before"]);
    book.rebuild().unwrap();
    assert_eq!(json!(book.check().unwrap().digest), frozen["before"]["digest"]);
    let receipt = receive(&mut book, &golden);
    assert_eq!(json!(receipt.taken), frozen["receipt"]["taken"]);
    let check = book.check().unwrap();
    assert_eq!(json!({ "changes": check.changes, "digest": check.digest }), frozen["after"]);

    let student = book.student("Nils Aro").unwrap();
    let log = Log::read(&book, &student).unwrap();
    let standing = Standing::of(&log, latest(&log).unwrap());
    assert_eq!((standing.arms[1].as_str(), standing.hit, standing.left_out), ("gripped down ½ in", 5, 1));
    assert_eq!(standing.next.map(|next| next.ball.get()), Some(7));
    assert_eq!(Feel::of(&log).pairs, 10);
    // Whatever this version keeps of them, its fits are those that it makes anew.
    assert_eq!(fits(Some(&book), &log).unwrap(), fits(None, &log).unwrap());
}
