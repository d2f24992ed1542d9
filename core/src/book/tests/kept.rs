//! Kept results are a convenience: nothing rests on them.

use super::*;
use crate::book::kept::{Kept, KeptKind};

const KIND: KeptKind = KeptKind(900);

/// A book with one strand, where records 1 to 3 have results.
fn kept(bench: &mut Bench) -> (Book, StrandId) {
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    assert!(book.keep(
        strand,
        KIND,
        (1..4).map(|n| (id(n), [n; 16], [b"result ", &[n][..]].concat().leak() as &[u8]))
    ));
    (book, strand)
}

fn one(book: &Book, strand: StrandId, n: u8) -> Option<Vec<u8>> {
    book.cached(strand, KIND).get(id(n), &[n; 16]).map(<[u8]>::to_vec)
}

#[test]
fn a_result_is_there_for_what_it_was_computed_from_and_for_nothing_else() {
    let mut bench = Bench::new();
    let (book, strand) = kept(&mut bench);
    assert_eq!(one(&book, strand, 2).unwrap(), b"result \x02");
    let all = book.cached(strand, KIND);
    assert_eq!((all.len(), all.get(id(2), &[9; 16]), all.get(id(9), &[2; 16])), (3, None, None));
    assert!(book.cached(strand, KeptKind(901)).is_empty());
    assert!(book.keep(strand, KIND, [(id(2), [8; 16], b"newer".as_slice())]));
    let all = book.cached(strand, KIND);
    assert_eq!((all.len(), all.get(id(2), &[2; 16])), (3, None));
    assert_eq!(all.get(id(2), &[8; 16]), Some(b"newer".as_slice()));
}

#[test]
fn digest_and_check_do_not_know_them_and_a_rebuild_leaves_them() {
    let mut bench = Bench::new();
    let mut book = bench.book("Ina", Role::Student);
    let strand = bench.student(&mut book, "Ina").strand;
    let before = book.check().unwrap();
    assert!(book.keep(strand, KIND, [(id(1), [1; 16], b"x".as_slice())]));
    assert_eq!(book.check().unwrap(), before);
    book.rebuild().unwrap();
    assert_eq!(book.check().unwrap(), before);
    assert_eq!(one(&book, strand, 1).unwrap(), b"x");
}

#[test]
fn any_changed_bit_of_a_row_and_a_lost_table_are_misses_and_nothing_else() {
    let mut bench = Bench::new();
    let (book, strand) = kept(&mut bench);
    let whole: Vec<u8> =
        book.db.query_row("SELECT value FROM kept WHERE id = ?1", [id(2).bytes()], |r| r.get(0)).unwrap();
    for bit in 0..whole.len() * 8 {
        let mut spoilt = whole.clone();
        spoilt[bit / 8] ^= 1 << (bit % 8);
        book.db
            .execute("UPDATE kept SET value = ?1 WHERE id = ?2", rusqlite::params![spoilt, id(2).bytes()])
            .unwrap();
        assert_eq!(one(&book, strand, 2), None, "bit {bit}");
        assert!(one(&book, strand, 1).is_some());
    }
    book.db.execute("UPDATE kept SET value = 'text' WHERE id = ?1", [id(2).bytes()]).unwrap();
    assert_eq!((one(&book, strand, 2), one(&book, strand, 3)), (None, Some(b"result \x03".to_vec())));
    book.db.execute_batch("DROP TABLE kept").unwrap();
    assert_eq!(book.cached(strand, KIND), Kept::default());
    assert!(book.check().unwrap().ok);
    assert!(book.keep(strand, KIND, [(id(1), [1; 16], b"again".as_slice())]));
    assert_eq!(one(&book, strand, 1).unwrap(), b"again");
}

#[test]
fn a_book_in_use_or_that_may_only_be_read_goes_on_without_keeping() {
    let mut bench = Bench::new();
    let (book, strand) = kept(&mut bench);
    let other = rusqlite::Connection::open(bench.path("Ina")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let result = [(id(7), [7; 16], b"x".as_slice())];
    assert!(!book.keep(strand, KIND, result));
    assert!(one(&book, strand, 1).is_some());
    other.execute_batch("ROLLBACK").unwrap();
    book.db.pragma_update(None, "query_only", true).unwrap();
    assert!(!book.keep(strand, KIND, result));
    assert!(one(&book, strand, 1).is_some());
    book.db.pragma_update(None, "query_only", false).unwrap();
    assert!(book.keep(strand, KIND, result));
    let patience: i64 = book.db.pragma_query_value(None, "busy_timeout", |row| row.get(0)).unwrap();
    assert_eq!(patience, 2_000, "writing waits as before");
}

#[test]
fn nothing_kept_leaves_with_an_exchange_file() {
    let mut bench = Bench::new();
    let (mut book, strand) = kept(&mut bench);
    let secret = b"a result that nobody asked for";
    assert!(book.keep(strand, KIND, [(id(5), [5; 16], secret.as_slice())]));
    let student = book.student("Ina").unwrap();
    let mut coach = bench.book("Bo", Role::Coach);
    testing::meet(&mut book, &mut coach);
    let file = testing::file(&mut book, &student, "Bo", bench.now(), true);
    assert_eq!(testing::receive(&mut coach, &file, bench.now()).strands.len(), 1);
    assert!(coach.cached(strand, KIND).is_empty());
}

#[test]
fn a_book_of_version_1_that_can_not_be_brought_up_to_date_is_read_as_it_is() {
    let mut bench = Bench::new();
    let (book, strand) = kept(&mut bench);
    // What the steps after version 1 made.
    book.db
        .execute_batch(
            "DROP TABLE kept; DROP TABLE identity; DROP TABLE run; ALTER TABLE strand DROP COLUMN owner;
             ALTER TABLE strand DROP COLUMN founder; ALTER TABLE strand DROP COLUMN gone; PRAGMA user_version = 1",
        )
        .unwrap();
    drop(book);
    let busy = rusqlite::Connection::open(bench.path("Ina")).unwrap();
    busy.execute_batch("BEGIN IMMEDIATE").unwrap();
    let book = Book::open(&bench.path("Ina")).unwrap();
    assert!(book.cached(strand, KIND).is_empty());
    assert_eq!(book.student("Ina").unwrap().strand, strand);
    busy.execute_batch("ROLLBACK").unwrap();
    assert!(book.keep(strand, KIND, [(id(1), [1; 16], b"x".as_slice())]));
    drop(book);
    let book = Book::open(&bench.path("Ina")).unwrap();
    assert_eq!(one(&book, strand, 1).unwrap(), b"x", "the step leaves a table that is there");
}
