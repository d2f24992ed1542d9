//! Changes into records: the only place where the fold's table is written.

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
