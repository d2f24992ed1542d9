//! Taking back what this device wrote: a compensating change, never a deletion.
//!
//! The rule: a field goes back to what it would be without the span that is taken back,
//! and only where the span's write still counts: what anybody wrote since stays. Start at
//! [`Book::take_back`].

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{OptionalExtension, params};

use super::Book;
use super::error::BookError;
use super::fold::{No, author_no, state_of};
use super::write::Draft;
use crate::model::fields::FieldNo;
use crate::model::record::REMOVED;
use crate::model::{Fields, Kind, Now, RecordId, StrandId, Value};
use crate::sync::{Body, Hlc, Stamp};

/// What was taken back.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TakenBack {
    /// Records that are as before, or gone again.
    pub records: u64,
    /// Fields that somebody has written since: these stay.
    pub kept: u64,
}

impl Book {
    /// This device's last sequence number in a strand; 0 before its first change.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn own_last(&self, strand: StrandId) -> Result<u64, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(0) };
        let author = author_no(&self.db, self.device)?;
        let last: i64 = self
            .db
            .prepare_cached("SELECT coalesce(max(seq), 0) FROM change WHERE strand = ?1 AND author = ?2")?
            .query_row(params![no, author], |row| row.get(0))?;
        Ok(last as u64)
    }

    /// About how many changes a strand has: those of this device, and those heard without a
    /// gap. Quick whatever the size.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn about_how_many(&self, strand: StrandId) -> Result<u64, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(0) };
        let heard: i64 = self
            .db
            .prepare_cached("SELECT coalesce(sum(upto), 0) FROM heard WHERE strand = ?1")?
            .query_row([no], |row| row.get(0))?;
        Ok(self.own_last(strand)? + heard as u64)
    }

    /// Takes back this device's changes after `after` and up to `upto`, in one transaction.
    ///
    /// # Errors
    /// What the storage reports; then nothing was taken back.
    pub fn take_back(
        &mut self,
        strand: StrandId,
        after: u64,
        upto: u64,
        now: Now,
    ) -> Result<TakenBack, BookError> {
        let mut taken = TakenBack::default();
        let mut drafts = Vec::new();
        let Some(no) = self.strand_no(strand)? else { return Ok(taken) };
        for ((kind, record), span) in self.span(no, after, upto)? {
            let Some(state) = state_of(&self.db, no, kind, record)? else { continue };
            let mut fields = Fields::new();
            if span.replaced.is_empty() && state.standing_stamps().all(|stamp| span.stamps.contains(&stamp)) {
                // Nothing of it was there before, and nobody added to it since.
                fields.set(REMOVED, Value::Bool(true));
            } else {
                for field in &span.fields {
                    match state.winner(*field) {
                        Some(stamp) if span.stamps.contains(&stamp) => {
                            fields.set(*field, self.before(no, &span, *field)?);
                        }
                        Some(_) => taken.kept += 1,
                        None => {}
                    }
                }
            }
            if !fields.is_empty() {
                taken.records += 1;
                drafts.push(Draft { kind, record, fields });
            }
        }
        self.write(strand, now, drafts)?;
        Ok(taken)
    }

    /// The records that a span of own changes wrote to, and how.
    fn span(&self, no: No, after: u64, upto: u64) -> Result<BTreeMap<(Kind, RecordId), Span>, BookError> {
        let mut spans: BTreeMap<(Kind, RecordId), Span> = BTreeMap::new();
        let author = author_no(&self.db, self.device)?;
        let mut statement = self.db.prepare_cached(
            "SELECT kind, record, hlc, body FROM change
             WHERE strand = ?1 AND author = ?2 AND seq > ?3 AND seq <= ?4 AND kind NOT IN (0, 16) ORDER BY seq",
        )?;
        let mut rows = statement.query(params![no, author, after as i64, upto as i64])?;
        while let Some(row) = rows.next()? {
            let span = spans.entry((Kind(row.get(0)?), RecordId::from_bytes(row.get(1)?))).or_default();
            let hlc = Hlc::from_packed(row.get::<_, i64>(2)? as u64)
                .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?;
            let body = Body::decode(row.get_ref(3)?.as_blob().unwrap_or_default())?;
            span.fields.extend(body.fields.iter().map(|(no, _)| no));
            for (old, fields) in body.replaces {
                if !span.stamps.contains(&old) {
                    span.replaced.extend(fields.into_iter().map(|no| (no, old)));
                }
            }
            span.stamps.insert(Stamp { hlc, author: self.device });
        }
        Ok(spans)
    }

    /// What a field was before a span replaced it: cleared, where it was not there.
    fn before(&self, no: No, span: &Span, field: FieldNo) -> Result<Value, BookError> {
        let replaced = span.replaced.iter().filter(|(of, _)| *of == field).map(|(_, stamp)| *stamp).max();
        let Some(stamp) = replaced else { return Ok(Value::Null) };
        let author = author_no(&self.db, stamp.author)?;
        // From the latest on: what is taken back is mostly young.
        let body: Option<Vec<u8>> = self
            .db
            .prepare_cached(
                "SELECT body FROM change WHERE strand = ?1 AND author = ?2 AND hlc = ?3 ORDER BY seq DESC LIMIT 1",
            )?
            .query_row(params![no, author, stamp.hlc.packed() as i64], |row| row.get(0))
            .optional()?;
        let body = body.map(|bytes| Body::decode(&bytes)).transpose()?;
        Ok(body.and_then(|body| body.fields.raw(field).cloned()).unwrap_or(Value::Null))
    }
}

/// What a span of changes did to one record.
#[derive(Default)]
struct Span {
    /// The stamps of its writes.
    stamps: BTreeSet<Stamp>,
    /// The fields that it wrote.
    fields: BTreeSet<FieldNo>,
    /// The writes before it that it replaced.
    replaced: BTreeSet<(FieldNo, Stamp)>,
}
