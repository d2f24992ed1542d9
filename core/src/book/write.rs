//! Writing: drafts of records become this device's next changes.

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

use super::Book;
use super::erased::{Erased, gone, whose};
use super::error::BookError;
use super::fold::{append, author_no, state_of, store_state, strand_no};
use crate::model::record::REMOVED;
use crate::model::{AuthorId, Fields, Kind, Now, Record, RecordId, StrandId, Value};
use crate::sync::erasure::{self, Scope, tag};
use crate::sync::{Body, Change, Hlc, Stamp, State};

/// What is to become of one record.
#[derive(Debug, Clone)]
pub struct Draft {
    pub(super) kind: Kind,
    pub(super) record: RecordId,
    pub(super) fields: Fields,
}

impl Draft {
    /// The record shall be like this. Only fields that differ are written, so
    /// what another device changes meanwhile in other fields holds too.
    pub fn put<R: Record>(id: RecordId, record: &R) -> Self {
        let mut fields = record.to_fields();
        fields.set(REMOVED, Value::Null);
        Self { kind: R::KIND, record: id, fields }
    }

    /// The record shall be removed. It stays in the history.
    pub fn remove(kind: Kind, id: RecordId) -> Self {
        Self { kind, record: id, fields: [(REMOVED, Value::Bool(true))].into_iter().collect() }
    }

    /// A removed record shall be there again.
    pub fn restore(kind: Kind, id: RecordId) -> Self {
        Self { kind, record: id, fields: [(REMOVED, Value::Bool(false))].into_iter().collect() }
    }
}

impl Book {
    /// Writes drafts into a strand, all or none of them, and answers how many
    /// changes that took: a draft that changes nothing takes none.
    ///
    /// # Errors
    /// What the storage reports; then nothing was written.
    pub fn write(
        &mut self,
        strand: StrandId,
        now: Now,
        drafts: impl IntoIterator<Item = Draft>,
    ) -> Result<u64, BookError> {
        let device = self.device;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let written = write_in(&tx, strand, device, now, drafts)?;
        tx.commit()?;
        Ok(written)
    }
}

/// As [`Book::write`], inside a transaction.
pub(super) fn write_in(
    db: &Connection,
    strand: StrandId,
    device: AuthorId,
    now: Now,
    drafts: impl IntoIterator<Item = Draft>,
) -> Result<u64, BookError> {
    let mut pen = Pen::new(db, strand, device, now)?;
    for draft in drafts {
        pen.write(draft)?;
    }
    Ok(pen.written)
}

/// Writes one event's changes of this device into one strand.
pub(super) struct Pen<'a> {
    db: &'a Connection,
    id: StrandId,
    strand: i64,
    author: i64,
    device: AuthorId,
    now: Now,
    seq: u64,
    last: Option<Hlc>,
    pub(super) written: u64,
}

impl<'a> Pen<'a> {
    pub(super) fn new(
        db: &'a Connection,
        strand: StrandId,
        device: AuthorId,
        now: Now,
    ) -> Result<Self, BookError> {
        let (id, strand) = (strand, strand_no(db, strand)?);
        if gone(db, strand)?.is_some() {
            return Err(BookError::Gone);
        }
        let author = author_no(db, device)?;
        let own: Option<(i64, i64)> = db
            .prepare_cached(
                "SELECT seq, hlc FROM change WHERE strand = ?1 AND author = ?2 ORDER BY seq DESC LIMIT 1",
            )?
            .query_row(params![strand, author], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let seen: Option<i64> = db
            .prepare_cached("SELECT max(hlc) FROM heard WHERE strand = ?1")?
            .query_row([strand], |row| row.get(0))?;
        let last = own.map(|(_, hlc)| hlc).max(seen).and_then(|hlc| Hlc::from_packed(hlc as u64));
        Ok(Self {
            db,
            id,
            strand,
            author,
            device,
            now,
            seq: own.map_or(0, |(seq, _)| seq as u64),
            last,
            written: 0,
        })
    }

    fn write(&mut self, draft: Draft) -> Result<(), BookError> {
        let Draft { kind, record, mut fields } = draft;
        let tag = tag(self.id, kind, record);
        let erased = Erased::of_tag(self.db, (self.strand, self.id), tag)?;
        if !erased.is_empty() && erased.covers(&tag, whose(self.db, self.device)?.as_ref()) {
            return Err(BookError::WasErased);
        }
        let before = state_of(self.db, self.strand, kind, record)?;
        let state = before.unwrap_or_default();
        if fields.raw(REMOVED) == Some(&Value::Null) {
            // A put says nothing of removal, unless the record is removed: then it restores it.
            fields.take(REMOVED);
            if state.is_removed() {
                fields.set(REMOVED, Value::Bool(false));
            }
        }
        let Some(body) = state.edit(fields) else { return Ok(()) };
        self.add(kind, record, state, body)
    }

    /// Adds the word that something was erased, which replaces nothing.
    pub(super) fn erase(&mut self, tag: RecordId, scope: Scope) -> Result<(), BookError> {
        let state = state_of(self.db, self.strand, Kind::ERASURE, tag)?.unwrap_or_default();
        self.add(Kind::ERASURE, tag, state, erasure::body(scope))
    }

    fn add(&mut self, kind: Kind, record: RecordId, mut state: State, body: Body) -> Result<(), BookError> {
        let hlc = Hlc::after(self.last, self.now.at.utc_ms);
        let change = Change {
            author: self.device,
            seq: self.seq + 1,
            hlc,
            made: self.now.at,
            kind,
            record,
            body: body.encode(),
        };
        append(self.db, self.strand, self.author, &change)?;
        state.merge(Stamp { hlc, author: self.device }, body);
        store_state(self.db, self.strand, kind, record, &state)?;
        self.seq += 1;
        self.last = Some(hlc);
        self.written += 1;
        Ok(())
    }
}
