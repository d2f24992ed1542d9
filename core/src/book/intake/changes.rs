//! The changes of a run into the book: many new ones at once, or one by one.
//! Start at [`Intake::take`].

use rusqlite::params;

use super::{Intake, OpenStrand, TWICE};
use crate::book::erased::{Erased, Gone, is_blank, leave_blank};
use crate::book::error::BookError;
use crate::book::fold::{AT_ONCE, No, any_between, append, append_many, state_of, store_many, store_state};
use crate::model::Kind;
use crate::sync::erasure::{may_go, tag};
use crate::sync::{Body, Change, Identity, State};

impl Intake<'_> {
    /// Takes in changes; `by` is who wrote them, if they are signed; those
    /// numbered above `newest` can't be here yet. Whether all are here now.
    pub(super) fn take(
        &mut self,
        strand: &mut OpenStrand,
        by: Option<&Identity>,
        newest: u64,
        changes: &[Change],
    ) -> Result<bool, BookError> {
        if let Some(reason) = strand.barred.clone() {
            self.refuse(changes.len() as u64, &reason);
            return Ok(false);
        }
        let mut all = true;
        for some in changes.chunks(AT_ONCE) {
            let new = some.first().is_some_and(|first| first.seq > newest);
            if let Some(by) = by.filter(|_| new)
                && self.take_new(strand, by, some)?
            {
                continue;
            }
            for change in some {
                all &= self.take_one(strand, by, newest, change)?;
            }
        }
        Ok(all)
    }

    /// Takes in changes of a checked run that each begin a record, as most do: nothing is looked up for
    /// each by itself. False, and nothing done, if any of them could need that.
    fn take_new(
        &mut self,
        strand: &mut OpenStrand,
        by: &Identity,
        changes: &[Change],
    ) -> Result<bool, BookError> {
        let (Some(first), Some(last)) = (changes.first(), changes.last()) else { return Ok(false) };
        let in_order = changes.is_sorted_by(|a, b| a.seq < b.seq && a.kind == b.kind && a.record < b.record);
        let counts_at_once = [Kind::ERASURE, Kind::MEMBER].contains(&first.kind);
        let plain = changes.len() == AT_ONCE && in_order && !counts_at_once;
        if !plain || changes.iter().any(|change| is_covered(strand, Some(by), change)) {
            return Ok(false);
        }
        let mut states = Vec::with_capacity(AT_ONCE);
        for change in changes {
            let Ok(body) = Body::decode(&change.body) else { return Ok(false) };
            if strand.members.may_write(by, change, &body, None).is_some() {
                return Ok(false);
            }
            let mut state = State::default();
            state.merge(change.stamp(), body);
            states.push(state);
        }
        if any_between(self.db, strand.no, first.kind, first.record, last.record)? {
            return Ok(false);
        }
        let author = self.author(first.author)?;
        append_many(self.db, strand.no, author, changes)?;
        store_many(self.db, strand.no, first.kind, changes.iter().map(|change| change.record).zip(&states))?;
        for change in changes {
            strand.heard(change);
        }
        strand.taken += AT_ONCE as u64;
        Ok(true)
    }

    fn take_one(
        &mut self,
        strand: &mut OpenStrand,
        by: Option<&Identity>,
        newest: u64,
        change: &Change,
    ) -> Result<bool, BookError> {
        let author = self.author(change.author)?;
        if change.seq <= newest
            && (is_blank(self.db, strand.no, author, change.seq)?
                || self.is_same(strand.no, author, change)?)
        {
            self.receipt.already_had += 1;
            return Ok(true);
        }
        if is_covered(strand, by, change) {
            leave_blank(self.db, strand.no, author, change.seq)?;
            strand.heard(change);
            return Ok(true);
        }
        let Ok(body) = Body::decode(&change.body) else {
            self.refuse(1, "they can't be read");
            return Ok(false);
        };
        let before = state_of(self.db, strand.no, change.kind, change.record)?;
        let why = match by {
            Some(by) => strand.members.may_write(by, change, &body, before.as_ref()),
            None => (change.kind == Kind::ERASURE).then_some("nobody signed that something was erased"),
        };
        if let Some(why) = why {
            self.refuse(1, why);
            return Ok(false);
        }
        if !append(self.db, strand.no, author, change)? {
            self.refuse(1, TWICE);
            return Ok(false);
        }
        let mut state = before.unwrap_or_default();
        state.merge(change.stamp(), body);
        store_state(self.db, strand.no, change.kind, change.record, &state)?;
        if !state.conflicts().is_empty() {
            strand.in_conflict.insert((change.kind, change.record));
        }
        strand.heard(change);
        strand.taken += 1;
        if change.kind == Kind::ERASURE {
            strand.erases = true;
            strand.erased = Erased::of(self.db, strand.no, strand.header.strand)?;
            strand.gone = strand.erased.everything().then_some(Gone::Erased);
        }
        if change.kind == Kind::MEMBER {
            strand.members = self.members(strand.no, true)?;
        }
        Ok(true)
    }

    /// Whether the change that stands under the same number is this one.
    fn is_same(&self, strand: No, author: No, change: &Change) -> Result<bool, BookError> {
        Ok(self
            .db
            .prepare_cached(
                "SELECT 1 FROM change WHERE strand = ?1 AND author = ?2 AND seq = ?3 AND hlc = ?4 AND kind = ?5
                 AND record = ?6 AND body = ?7",
            )?
            .exists(params![
                strand,
                author,
                change.seq as i64,
                change.hlc.packed() as i64,
                change.kind.0,
                change.record.bytes(),
                change.body
            ])?)
    }
}

/// Whether a change is about something that was erased.
fn is_covered(strand: &OpenStrand, by: Option<&Identity>, change: &Change) -> bool {
    if strand.erased.is_empty() || !may_go(change.kind) {
        return false;
    }
    let tag = tag(strand.header.strand, change.kind, change.record);
    strand.erased.covers(&tag, by.map(Identity::root).as_ref())
}
