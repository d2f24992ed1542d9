//! Runs in the book: this device's own are signed when they are sent, all are
//! kept with what they cover, so that authors survive a relay.
//!
//! The rule that must hold: a device's runs in a strand follow one another
//! from its first change without a gap, each from the chain's end before it.
//! Start at [`sign_own`]; what comes in is kept by `intake`.

use minicbor::Decoder;
use rusqlite::{Connection, OptionalExtension, params};

use super::erased;
use super::error::BookError;
use super::fold::{No, author_no};
use crate::model::{AuthorId, Kind, Moment, RecordId, StrandId};
use crate::sync::erasure::may_go;
use crate::sync::run::{FULL_BYTES, Link, MOST_CHANGES, base};
use crate::sync::{Change, DeviceKeys, Hlc, Run};

/// Signs what this device wrote in a strand and has not signed yet. An old copy of
/// the book that is put back signs it as this one did: the same runs, or the beginning of one.
pub(super) fn sign_own(
    db: &Connection,
    keys: &DeviceKeys,
    (strand, id): (No, StrandId),
) -> Result<(), BookError> {
    if erased::gone(db, strand)?.is_some() {
        return Ok(());
    }
    let author = keys.author();
    let no = author_no(db, author)?;
    let (mut upto, mut chain) = end(db, strand, no)?.unwrap_or((0, base(id, author)));
    loop {
        let mut bytes = 0;
        let mut changes: Vec<Change> = Vec::new();
        each_change(db, strand, (no, author), upto + 1, upto + MOST_CHANGES as u64, |change| {
            // What is never erased has runs of its own: they never have holes, and
            // so can be read before all others.
            let fits = changes.first().is_none_or(|first| may_go(first.kind) == may_go(change.kind));
            let full = bytes >= FULL_BYTES || !fits;
            bytes += change.body.len();
            if !full {
                changes.push(change);
            }
            !full
        })?;
        if changes.is_empty() {
            return Ok(());
        }
        let (run, after) = Run::sign(keys, id, chain, &changes);
        keep(db, strand, no, &run, &after)?;
        upto = run.last();
        chain = after;
    }
}

/// Keeps a run that was checked, with the chain at its end.
pub(super) fn keep(
    db: &Connection,
    strand: No,
    author: No,
    run: &Run,
    after: &Link,
) -> Result<(), BookError> {
    let mut bytes = Vec::with_capacity(160);
    run.encode(&mut bytes);
    db.prepare_cached(
        "INSERT INTO run (strand, author, first, count, after, run) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
         ON CONFLICT DO UPDATE SET count = excluded.count, after = excluded.after, run = excluded.run
         WHERE excluded.count > count",
    )?
    .execute(params![strand, author, run.first as i64, run.count, after, bytes])?;
    Ok(())
}

/// Puts a run in the place of the same one with less in it.
pub(super) fn put(db: &Connection, strand: No, author: No, run: &Run, after: &Link) -> Result<(), BookError> {
    let mut bytes = Vec::with_capacity(160);
    run.encode(&mut bytes);
    db.prepare_cached(
        "UPDATE run SET run = ?5 WHERE strand = ?1 AND author = ?2 AND first = ?3 AND after = ?4",
    )?
    .execute(params![strand, author, run.first as i64, after, bytes])?;
    Ok(())
}

/// Whether this very run is here already, perhaps with less left in it: the
/// signature says what was.
pub(super) fn is_here(db: &Connection, strand: No, author: No, run: &Run) -> Result<bool, BookError> {
    let here: Option<Vec<u8>> = db
        .prepare_cached("SELECT run FROM run WHERE strand = ?1 AND author = ?2 AND first = ?3")?
        .query_row(params![strand, author, run.first as i64], |row| row.get(0))
        .optional()?;
    let Some(here) = here else { return Ok(false) };
    let here = Run::decode(&mut Decoder::new(&here))?;
    Ok((here.count, here.before, here.signature) == (run.count, run.before, run.signature))
}

/// The highest number of a device's changes that are here.
pub(super) fn newest(db: &Connection, strand: No, author: No) -> Result<u64, BookError> {
    let newest: i64 = db
        .prepare_cached("SELECT coalesce(max(seq), 0) FROM change WHERE strand = ?1 AND author = ?2")?
        .query_row(params![strand, author], |row| row.get(0))?;
    Ok(newest as u64)
}

/// How far a device's changes are signed without a gap from the first, and
/// the chain there.
pub(super) fn end(db: &Connection, strand: No, author: No) -> Result<Option<(u64, Link)>, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT first, count, after FROM run WHERE strand = ?1 AND author = ?2 ORDER BY first",
    )?;
    let mut rows = statement.query(params![strand, author])?;
    let mut end = None;
    let mut next = 1;
    while let Some(row) = rows.next()? {
        let first: i64 = row.get(0)?;
        // Two copies of one device may have signed the same changes in other runs.
        if first > next {
            break;
        }
        if first < next {
            continue;
        }
        next = first + row.get::<_, i64>(1)?;
        end = Some((next as u64 - 1, row.get(2)?));
    }
    Ok(end)
}

/// The chain's end of the run that ends just before a number, if it is here.
pub(super) fn chain_before(
    db: &Connection,
    strand: No,
    author: No,
    first: u64,
) -> Result<Option<Link>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT after FROM run WHERE strand = ?1 AND author = ?2 AND first < ?3 AND first + count = ?3
             ORDER BY first DESC LIMIT 1",
        )?
        .query_row(params![strand, author, first as i64], |row| row.get(0))
        .optional()?)
}

/// Who wrote what is left of a strand that was erased.
pub(super) fn writers(db: &Connection, strand: No) -> Result<Vec<(No, AuthorId, u64)>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT DISTINCT author.no, author.id FROM run JOIN author ON author.no = run.author
             WHERE strand = ?1 ORDER BY author.id",
        )?
        .query_map([strand], |row| Ok((row.get(0)?, AuthorId::from_bytes(row.get(1)?), i64::MAX as u64)))?
        .collect::<Result<_, _>>()?)
}

/// Which of a device's numbers are covered by runs.
pub(super) fn covered(
    db: &Connection,
    strand: No,
    author: No,
) -> Result<Vec<std::ops::Range<u64>>, BookError> {
    let mut spans: Vec<std::ops::Range<u64>> = Vec::new();
    let mut statement =
        db.prepare_cached("SELECT first, count FROM run WHERE strand = ?1 AND author = ?2 ORDER BY first")?;
    let mut rows = statement.query(params![strand, author])?;
    while let Some(row) = rows.next()? {
        let first = row.get::<_, i64>(0)? as u64;
        let end = first + row.get::<_, i64>(1)? as u64;
        match spans.last_mut() {
            Some(last) if last.end >= first => last.end = last.end.max(end),
            _ => spans.push(first..end),
        }
    }
    Ok(spans)
}

/// Which runs are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    /// Those that say who belongs to the strand, and what was erased.
    First,
    /// All others.
    Rest,
}

/// Calls `each` with the runs of a device that end after `after`, none beyond `upto`.
pub(super) fn each_run(
    db: &Connection,
    strand: No,
    (no, author): (No, AuthorId),
    (after, upto): (u64, u64),
    which: Which,
    mut each: impl FnMut(&Run, &[Change]) -> Result<(), BookError>,
) -> Result<u64, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT run FROM run WHERE strand = ?1 AND author = ?2 AND first + count - 1 > ?3
         AND first + count - 1 <= ?4 ORDER BY first",
    )?;
    let mut rows = statement.query(params![strand, no, after as i64, upto as i64])?;
    let mut count = 0;
    while let Some(row) = rows.next()? {
        let run = Run::decode(&mut Decoder::new(row.get_ref(0)?.as_blob().unwrap_or_default()))?;
        let first = kind_of(db, strand, no, run.first)?;
        let of = if run.tagged && !may_go(first) { Which::First } else { Which::Rest };
        if of != which {
            continue;
        }
        let mut changes = Vec::with_capacity(run.count as usize);
        each_change(db, strand, (no, author), run.first, run.last(), |change| {
            changes.push(change);
            true
        })?;
        count += changes.len() as u64;
        each(&run, &changes)?;
    }
    Ok(count)
}

fn kind_of(db: &Connection, strand: No, author: No, seq: u64) -> Result<Kind, BookError> {
    let kind: Option<u16> = db
        .prepare_cached("SELECT kind FROM change WHERE strand = ?1 AND author = ?2 AND seq = ?3")?
        .query_row(params![strand, author, seq as i64], |row| row.get(0))
        .optional()?;
    Ok(Kind(kind.unwrap_or_default()))
}

/// Calls `each` with a device's changes in sequence until it says no; those that
/// were erased are passed over.
pub(super) fn each_change(
    db: &Connection,
    strand: No,
    (no, author): (No, AuthorId),
    first: u64,
    last: u64,
    mut each: impl FnMut(Change) -> bool,
) -> Result<(), BookError> {
    let mut statement = db.prepare_cached(
        "SELECT seq, hlc, made_ms, offset_min, kind, record, body FROM change
         WHERE strand = ?1 AND author = ?2 AND seq >= ?3 AND seq <= ?4 AND kind <> 0 ORDER BY seq",
    )?;
    let mut rows = statement.query(params![strand, no, first as i64, last as i64])?;
    while let Some(row) = rows.next()? {
        let change = Change {
            author,
            seq: row.get::<_, i64>(0)? as u64,
            hlc: Hlc::from_packed(row.get::<_, i64>(1)? as u64)
                .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?,
            made: Moment { utc_ms: row.get(2)?, offset_min: row.get(3)? },
            kind: Kind(row.get(4)?),
            record: RecordId::from_bytes(row.get(5)?),
            body: row.get(6)?,
        };
        if !each(change) {
            break;
        }
    }
    Ok(())
}
