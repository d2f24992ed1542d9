//! Books as a whole: what is written is there, merges, guards.

mod comeback;
mod erase;
mod exchange;
mod identity;
mod kept;
mod merge;
mod model;
mod roles;

use tempfile::TempDir;
use uuid::Uuid;

use super::*;
use crate::model::fields::Fields;
use crate::model::*;

/// A folder with books, and a clock that moves by itself.
pub(super) struct Bench {
    pub dir: TempDir,
    pub ms: i64,
}

impl Bench {
    pub fn new() -> Self {
        Self { dir: tempfile::tempdir().unwrap(), ms: 1_772_000_000_000 }
    }

    pub fn now(&mut self) -> Now {
        self.ms += 1_000;
        let mut entropy = [0; 16];
        entropy[..8].copy_from_slice(&self.ms.to_le_bytes());
        Now { at: Moment { utc_ms: self.ms, offset_min: 60 }, entropy }
    }

    pub fn path(&self, name: &str) -> std::path::PathBuf {
        self.dir.path().join(name)
    }

    pub fn book(&mut self, name: &str, role: Role) -> Book {
        let now = self.now();
        let path = self.path(name);
        let book = Book::create(&path, Name::new(name).unwrap(), role, now).unwrap();
        // Tests check what is written, not whether the disk keeps it.
        book.db.pragma_update(None, "synchronous", "OFF").unwrap();
        book
    }

    /// A book whose owner has keys.
    pub fn keyed(&mut self, name: &str, role: Role) -> Book {
        let mut book = self.book(name, role);
        let (keys, root) = (testing::keys(&book), testing::root(&book));
        let now = self.now();
        book.begin_identity(&keys, &root, now).unwrap();
        book
    }

    pub fn student(&mut self, book: &mut Book, name: &str) -> StudentEntry {
        let now = self.now();
        let strand = StrandId(Minter::new(now).mint());
        let student = Student::new(Name::new(name).unwrap(), Hand::Right);
        book.write(strand, now, [Draft::put(RecordId(strand.0), &student)]).unwrap();
        book.student(name).unwrap()
    }
}

impl Bench {
    /// The student of a book that belongs to them.
    pub fn own_student(&mut self, book: &mut Book, name: &str) -> StudentEntry {
        let now = self.now();
        let strand = StrandId(Minter::new(now).mint());
        let mut student = Student::new(Name::new(name).unwrap(), Hand::Right);
        student.person = Some(book.owner().person);
        book.write(strand, now, [Draft::put(RecordId(strand.0), &student)]).unwrap();
        book.student(name).unwrap()
    }
}

pub(super) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

pub(super) fn note(text: &str) -> Note {
    Note { day: Day::parse("2026-04-30").unwrap(), text: Remark::new(text).unwrap(), about: None }
}

pub(super) fn id(n: u8) -> RecordId {
    RecordId(Uuid::from_bytes([n; 16]))
}

#[test]
fn what_is_written_is_there_after_opening_the_book_again() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let student = bench.student(&mut book, "Ina");
    let mut shot = Shot::of(id(4));
    shot.mark = Some(StrikeMark::new(-12.5, 3.0, None, MarkRead::Tap).unwrap());
    let now = bench.now();
    assert_eq!(book.write(student.strand, now, [Draft::put(id(5), &shot)]).unwrap(), 1);
    drop(book);
    let book = Book::open(&bench.path("Ina")).unwrap();
    let shots = book.records::<Shot>(student.strand).unwrap();
    assert_eq!(shots.len(), 1);
    assert_eq!(shots[0].value, shot);
    assert!(book.check().unwrap().ok);
}

#[test]
fn an_edit_writes_only_what_differs_and_the_history_keeps_what_was() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let student = bench.student(&mut book, "Ina");
    for text in ["first", "second", "second"] {
        let now = bench.now();
        book.write(student.strand, now, [Draft::put(id(1), &note(text))]).unwrap();
    }
    let history = book.history(student.strand, Kind::NOTE, id(1)).unwrap();
    assert_eq!(history.len(), 2);
    assert_eq!(history[1].writes, [(2, Value::from("second"))]);
}

#[test]
fn a_removed_record_is_gone_and_comes_back_as_it_was() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    let now = bench.now();
    book.write(strand, now, [Draft::put(id(1), &note("keep"))]).unwrap();
    let now = bench.now();
    book.write(strand, now, [Draft::remove(Kind::NOTE, id(1))]).unwrap();
    assert!(book.records::<Note>(strand).unwrap().is_empty());
    let now = bench.now();
    book.write(strand, now, [Draft::restore(Kind::NOTE, id(1))]).unwrap();
    assert_eq!(book.records::<Note>(strand).unwrap()[0].value, note("keep"));
}

#[test]
fn a_rebuild_gives_equal_digests_and_mends_a_spoilt_fold() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    for n in 1..20 {
        let now = bench.now();
        book.write(strand, now, [Draft::put(id(n % 7 + 1), &note(&format!("note {n}")))]).unwrap();
    }
    let digest = book.digest(strand).unwrap();
    book.rebuild().unwrap();
    assert_eq!(book.digest(strand).unwrap(), digest);
    book.db.execute("UPDATE record SET state = x'828080' WHERE kind = 11", []).unwrap();
    assert!(!book.check().unwrap().ok);
    book.rebuild().unwrap();
    assert_eq!(book.digest(strand).unwrap(), digest);
    assert!(book.check().unwrap().ok);
}

#[test]
fn a_lost_change_of_this_device_is_found_by_the_check() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    for n in 1..4 {
        let now = bench.now();
        book.write(strand, now, [Draft::put(id(n), &note("x"))]).unwrap();
    }
    book.db.execute("DELETE FROM change WHERE seq = 2", []).unwrap();
    let check = book.check().unwrap();
    assert!(!check.ok && check.problems.iter().any(|p| p.contains("missing")), "{check:?}");
}

#[test]
fn files_that_are_no_book_are_told_apart() {
    let mut bench = Bench::new();
    assert!(matches!(Book::open(&bench.path("none")), Err(BookError::Missing { .. })));
    std::fs::write(bench.path("text"), "something else entirely, and long enough to be looked at").unwrap();
    assert!(matches!(Book::open(&bench.path("text")), Err(BookError::NotABook { .. })));
    std::fs::write(bench.path("empty"), "").unwrap();
    assert!(matches!(Book::open(&bench.path("empty")), Err(BookError::NotABook { .. })));
    let book = bench.book("Ina", Role::Student);
    let now = bench.now();
    assert!(matches!(
        Book::create(&bench.path("Ina"), name("Ina"), Role::Student, now),
        Err(BookError::Exists { .. })
    ));
    book.db.pragma_update(None, "user_version", 99).unwrap();
    drop(book);
    assert!(matches!(Book::open(&bench.path("Ina")), Err(BookError::TooNew { found: 99, .. })));
}

#[test]
fn a_book_in_use_by_another_process_says_so_and_is_as_before() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    book.db.busy_timeout(std::time::Duration::ZERO).unwrap();
    let other = rusqlite::Connection::open(bench.path("Ina")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let now = bench.now();
    let refused = book.write(strand, now, [Draft::put(id(1), &note("x"))]);
    assert!(matches!(refused, Err(BookError::InUse)));
    other.execute_batch("ROLLBACK").unwrap();
    assert!(book.records::<Note>(strand).unwrap().is_empty());
}

#[test]
fn students_are_found_by_name_or_its_start_or_identity() {
    let mut bench = Bench::new();
    let mut book = bench.book("Bo", Role::Coach);
    bench.student(&mut book, "Ann");
    bench.student(&mut book, "Anna");
    let eve = bench.student(&mut book, "Eve");
    assert_eq!(book.student("ann").unwrap().student.value.name.as_str(), "Ann");
    assert_eq!(book.student("ev").unwrap(), eve);
    assert_eq!(book.student(&eve.strand.to_string()).unwrap(), eve);
    assert!(matches!(book.student("an"), Err(BookError::SeveralStudents { count: 2, .. })));
    let said = book.student("Zoe").unwrap_err().to_string();
    assert!(said.contains("Ann, Anna, Eve"), "{said}");
}

#[test]
fn an_edit_keeps_the_fields_of_a_newer_version() {
    struct Newer(Note);
    impl Record for Newer {
        const KIND: Kind = Kind::NOTE;
        fn to_fields(&self) -> Fields {
            let mut fields = self.0.to_fields();
            fields.set(500, Value::from("of a newer version"));
            fields
        }
        fn from_fields(fields: &Fields) -> Result<Self, Refusal> {
            Note::from_fields(fields).map(Self)
        }
    }
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    let now = bench.now();
    book.write(strand, now, [Draft::put(id(1), &Newer(note("first")))]).unwrap();
    let now = bench.now();
    book.write(strand, now, [Draft::put(id(1), &note("second"))]).unwrap();
    let state = fold::state_of(&book.db, 1, Kind::NOTE, id(1)).unwrap().unwrap();
    assert_eq!(state.current().text(2), Some("second"));
    assert_eq!(state.current().text(500), Some("of a newer version"));
}

#[test]
fn no_query_of_one_strand_goes_through_a_whole_table() {
    // Every SELECT in the sources that read, write and exchange.
    let sources = [
        include_str!("../read.rs"),
        include_str!("../write.rs"),
        include_str!("../fold.rs"),
        include_str!("../exchange.rs"),
        include_str!("../people.rs"),
        include_str!("../kept.rs"),
        include_str!("../some.rs"),
        include_str!("../take_back.rs"),
    ];
    let mut bench = Bench::new();
    let book = bench.book("Ina", Role::Student);
    let mut looked_at = 0;
    for text in sources.iter().flat_map(|source| source.split('"').filter(|part| part.starts_with("SELECT")))
    {
        let plan: Vec<String> =
            book.db.prepare(&format!("EXPLAIN QUERY PLAN {text}")).unwrap().raw_query_plan();
        // Strands, people and their devices are few, and are listed whole.
        let whole = plan.iter().filter(|step| step.starts_with("SCAN"));
        for step in whole {
            let small = ["strand", "person", "device"].iter().any(|table| step.contains(table));
            assert!(small, "{text}: {step}");
        }
        looked_at += 1;
    }
    assert!(looked_at > 20, "{looked_at}");
}

trait Plan {
    fn raw_query_plan(self) -> Vec<String>;
}

impl Plan for rusqlite::Statement<'_> {
    fn raw_query_plan(mut self) -> Vec<String> {
        // Values don't matter for a plan; those not bound count as NULL.
        let mut rows = self.raw_query();
        let mut steps = Vec::new();
        while let Some(row) = rows.next().unwrap() {
            steps.push(row.get(3).unwrap());
        }
        steps
    }
}

#[test]
fn a_full_or_read_only_storage_is_named_and_the_book_is_as_before() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    let before = book.check().unwrap();
    let pages: i64 = book.db.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    book.db.pragma_update(None, "max_page_count", pages).unwrap();
    let now = bench.now();
    let many = (0..200_u8).map(|n| Draft::put(id(n), &note(&"long ".repeat(100))));
    assert!(matches!(book.write(strand, now, many), Err(BookError::DiskFull)));
    book.db.pragma_update(None, "max_page_count", 1 << 30).unwrap();
    book.db.pragma_update(None, "query_only", true).unwrap();
    let now = bench.now();
    assert!(matches!(book.write(strand, now, [Draft::put(id(1), &note("x"))]), Err(BookError::ReadOnly)));
    book.db.pragma_update(None, "query_only", false).unwrap();
    assert_eq!(book.check().unwrap(), before);
}

/// A record of a kind that no version of today knows.
pub(super) fn newer_draft() -> Draft {
    struct Newer;
    impl Record for Newer {
        const KIND: Kind = Kind(900);
        fn to_fields(&self) -> Fields {
            [(1, Value::from("of a newer version")), (9, Value::Opaque(vec![0x82, 1, 2]))]
                .into_iter()
                .collect()
        }
        fn from_fields(_: &Fields) -> Result<Self, Refusal> {
            Ok(Self)
        }
    }
    Draft::put(id(77), &Newer)
}
