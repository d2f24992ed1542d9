//! Changes into records: the only place where the fold's table is written.

use std::sync::LazyLock;

use rusqlite::{Connection, OptionalExtension, params};

use super::error::BookError;
use crate::model::{Kind, RecordId, StrandId};
use crate::sync::{Change, State};

/// A strand's or device's small number in this book's tables.
pub(super) type No = i64;

/// The small number of a strand, made on first use.
pub(super) fn strand_no(db: &Connection, strand: StrandId) -> Result<No, BookError> {
    numbered(db, "SELECT no FROM strand WHERE id = ?1", "INSERT INTO strand (id) VALUES (?1)", strand.bytes())
}

/// The small number of a device, made on first use.
pub(super) fn author_no(db: &Connection, author: crate::model::AuthorId) -> Result<No, BookError> {
    numbered(db, "SELECT no FROM author WHERE id = ?1", "INSERT INTO author (id) VALUES (?1)", author.bytes())
}

fn numbered(db: &Connection, find: &str, make: &str, id: &[u8; 16]) -> Result<No, BookError> {
    let found = db.prepare_cached(find)?.query_row([id], |row| row.get(0)).optional()?;
    if let Some(no) = found {
        return Ok(no);
    }
    db.prepare_cached(make)?.execute([id])?;
    Ok(db.last_insert_rowid())
}

/// The merged state of a record, empty where there is none.
pub(super) fn state_of(
    db: &Connection,
    strand: No,
    kind: Kind,
    id: RecordId,
) -> Result<Option<State>, BookError> {
    let bytes: Option<Vec<u8>> = db
        .prepare_cached("SELECT state FROM record WHERE strand = ?1 AND kind = ?2 AND id = ?3")?
        .query_row(params![strand, kind.0, id.bytes()], |row| row.get(0))
        .optional()?;
    Ok(bytes.map(|bytes| State::decode(&bytes)).transpose()?)
}

/// Stores the merged state of a record.
pub(super) fn store_state(
    db: &Connection,
    strand: No,
    kind: Kind,
    id: RecordId,
    state: &State,
) -> Result<(), BookError> {
    let mut bytes = Vec::with_capacity(160);
    state.encode(&mut bytes);
    db.prepare_cached(
        "INSERT OR REPLACE INTO record (strand, kind, id, removed, state) VALUES (?1, ?2, ?3, ?4, ?5)",
    )?
    .execute(params![strand, kind.0, id.bytes(), state.is_removed(), bytes])?;
    Ok(())
}

/// Appends a change to the log. Whether it was new.
pub(super) fn append(db: &Connection, strand: No, author: No, change: &Change) -> Result<bool, BookError> {
    let added = db
        .prepare_cached(
            "INSERT OR IGNORE INTO change (strand, author, seq, hlc, made_ms, offset_min, kind, record, body)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        )?
        .execute(params![
            strand,
            author,
            change.seq as i64,
            change.hlc.packed() as i64,
            change.made.utc_ms,
            change.made.offset_min,
            change.kind.0,
            change.record.bytes(),
            change.body,
        ])?;
    Ok(added == 1)
}

/// How many rows the statements below write; others than 32 were not measured. Two in the tests beside
/// the code, whose histories are of few balls.
pub(super) const AT_ONCE: usize = if cfg!(test) { 2 } else { 32 };

/// The placeholders of so many rows of so many columns, after those that all share.
fn rows(shared: &str, from: usize, columns: usize) -> String {
    let row = |row: usize| {
        let of_row = (0..columns).map(|column| format!(", ?{}", from + row * columns + column));
        format!("({shared}{})", of_row.collect::<String>())
    };
    (0..AT_ONCE).map(row).collect::<Vec<_>>().join(", ")
}

// Who calls knows that no row is there yet. Were one, the error would end the whole transaction: SQLite need not keep
// what it takes to undo one statement's part of it.
static APPEND: LazyLock<String> = LazyLock::new(|| {
    let columns = "strand, author, seq, hlc, made_ms, offset_min, kind, record, body";
    format!("INSERT OR FAIL INTO change ({columns}) VALUES {}", rows("?1, ?2", 3, 7))
});
static STORE: LazyLock<String> = LazyLock::new(|| {
    format!("INSERT OR FAIL INTO record (strand, kind, id, removed, state) VALUES {}", rows("?1, ?2", 3, 3))
});

/// Whether there is a record of a kind between two, these among them.
pub(super) fn any_between(
    db: &Connection,
    strand: No,
    kind: Kind,
    first: RecordId,
    last: RecordId,
) -> Result<bool, BookError> {
    Ok(db
        .prepare_cached("SELECT 1 FROM record WHERE strand = ?1 AND kind = ?2 AND id BETWEEN ?3 AND ?4")?
        .exists(params![strand, kind.0, first.bytes(), last.bytes()])?)
}

/// Appends [`AT_ONCE`] changes of one device, none of which is there.
pub(super) fn append_many(
    db: &Connection,
    strand: No,
    author: No,
    changes: &[Change],
) -> Result<(), BookError> {
    let mut statement = db.prepare_cached(&APPEND)?;
    statement.raw_bind_parameter(1, strand)?;
    statement.raw_bind_parameter(2, author)?;
    for (change, at) in changes.iter().zip((3..).step_by(7)) {
        statement.raw_bind_parameter(at, change.seq as i64)?;
        statement.raw_bind_parameter(at + 1, change.hlc.packed() as i64)?;
        statement.raw_bind_parameter(at + 2, change.made.utc_ms)?;
        statement.raw_bind_parameter(at + 3, change.made.offset_min)?;
        statement.raw_bind_parameter(at + 4, change.kind.0)?;
        statement.raw_bind_parameter(at + 5, change.record.bytes().as_slice())?;
        statement.raw_bind_parameter(at + 6, change.body.as_slice())?;
    }
    statement.raw_execute()?;
    Ok(())
}

/// Stores [`AT_ONCE`] merged states of records of one kind, none of which is there.
pub(super) fn store_many<'s>(
    db: &Connection,
    strand: No,
    kind: Kind,
    states: impl Iterator<Item = (RecordId, &'s State)>,
) -> Result<(), BookError> {
    let mut statement = db.prepare_cached(&STORE)?;
    statement.raw_bind_parameter(1, strand)?;
    statement.raw_bind_parameter(2, kind.0)?;
    let mut bytes = Vec::with_capacity(160);
    for ((record, state), at) in states.zip((3..).step_by(3)) {
        bytes.clear();
        state.encode(&mut bytes);
        statement.raw_bind_parameter(at, record.bytes().as_slice())?;
        statement.raw_bind_parameter(at + 1, state.is_removed())?;
        statement.raw_bind_parameter(at + 2, bytes.as_slice())?;
    }
    statement.raw_execute()?;
    Ok(())
}
