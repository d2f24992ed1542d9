//! Books of every earlier version come up to date, and lose nothing by it.
//!
//! A new step in `MIGRATIONS` fails here until tests/golden has a book that
//! its version wrote; see tests/golden/README.md. Start at `golden`.

use std::path::PathBuf;

use super::*;

/// The frozen book of a version.
fn golden(version: usize) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("../tests/golden/v{version}/student.book"))
}

/// Every table's columns and every index, however they came about.
fn shape(db: &Connection) -> Vec<String> {
    let text =
        "SELECT m.type || ' ' || m.name || ' ' || coalesce(x.name || ' ' || x.type || ' ' || x.[notnull]
         || ' ' || coalesce(x.dflt_value, '-') || ' ' || x.pk, '-')
         FROM sqlite_schema m LEFT JOIN pragma_table_xinfo(m.name) x ORDER BY 1";
    let mut statement = db.prepare(text).unwrap();
    statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

fn version(db: &Connection) -> usize {
    let version: i64 = db.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    usize::try_from(version).unwrap()
}

/// The whole log of changes, as text, in order.
fn changes(db: &Connection) -> Vec<String> {
    let text = "SELECT hex(strand.id) || hex(author.id) || ' ' || seq || ' ' || hlc || ' ' || made_ms || ' '
         || offset_min || ' ' || kind || ' ' || hex(record) || ' ' || hex(body) FROM change
         JOIN strand ON strand.no = change.strand JOIN author ON author.no = change.author ORDER BY 1";
    let mut statement = db.prepare(text).unwrap();
    statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

fn fresh() -> Vec<String> {
    let mut db = Connection::open_in_memory().unwrap();
    let tx = db.transaction().unwrap();
    migrate(&tx, 0).unwrap();
    tx.commit().unwrap();
    shape(&db)
}

#[test]
fn every_version_has_a_golden_book_that_comes_up_to_date_with_all_its_changes() {
    for earlier in 1..=MIGRATIONS.len() {
        let frozen = golden(earlier);
        assert!(
            frozen.is_file(),
            "no book of version {earlier} was frozen: make {} with it, see tests/golden/README.md",
            frozen.display()
        );
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("copy.book");
        std::fs::copy(&frozen, &path).unwrap();
        let db = Connection::open(&path).unwrap();
        assert_eq!(version(&db), earlier, "{} is of another version", frozen.display());
        let before = changes(&db);
        assert!(before.len() > 20, "a book with hardly a change proves little");
        drop(db);
        let book = Book::open(&path).unwrap();
        assert_eq!(version(&book.db), MIGRATIONS.len());
        assert_eq!(shape(&book.db), fresh(), "from version {earlier}");
        assert_eq!(changes(&book.db), before, "steps never rewrite changes");
        let check = book.check().unwrap();
        assert!(check.ok, "{:?}", check.problems);
    }
}

#[test]
fn steps_run_from_every_earlier_version_onward_and_come_to_the_same_tables() {
    for earlier in 0..=MIGRATIONS.len() {
        let mut db = Connection::open_in_memory().unwrap();
        for step in &MIGRATIONS[..earlier] {
            db.execute_batch(step).unwrap();
        }
        let tx = db.transaction().unwrap();
        migrate(&tx, earlier as i64).unwrap();
        tx.commit().unwrap();
        assert_eq!(version(&db), MIGRATIONS.len());
        assert_eq!(shape(&db), fresh(), "from version {earlier}");
    }
    assert!(fresh().iter().any(|line| line.starts_with("table change body")));
}

#[test]
fn steps_are_numbered_files_and_each_is_run() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src/book/migrations");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert_eq!(files.len(), MIGRATIONS.len(), "{files:?}");
    for (n, (file, step)) in files.iter().zip(MIGRATIONS).enumerate() {
        assert_eq!(file.file_name().unwrap().to_str(), Some(format!("{:03}.sql", n + 1).as_str()));
        assert_eq!(std::fs::read_to_string(file).unwrap(), step);
    }
}

/// A book from elsewhere can hold any schema: an expression of many levels must not use up the stack of whoever opens it.
#[test]
fn a_book_with_a_schema_too_deep_to_read_is_refused_without_a_crash() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("deep.book");
    std::fs::copy(golden(MIGRATIONS.len()), &path).unwrap();
    let db = Connection::open(&path).unwrap();
    db.pragma_update(None, "writable_schema", true).unwrap();
    let deep = format!("CREATE VIEW deep AS SELECT {}1", "1+".repeat(100_000));
    db.execute("INSERT INTO sqlite_schema VALUES ('view', 'deep', 'deep', 0, ?1)", [&deep]).unwrap();
    drop(db);
    let refused = Book::open(&path).unwrap_err();
    assert!(matches!(&refused, BookError::Damaged { what } if what.contains("too large")), "{refused:?}");
}
