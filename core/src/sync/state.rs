//! The merged state of one record: which writes of its fields stand.
//!
//! A write stands until a change that saw it replaces it. The value of a
//! field is its standing write with the latest stamp; where more than one
//! stands, devices wrote without knowing of each other: a [`Conflict`], and
//! both values stay.
//!
//! Why the order of arrival can't matter: the state is (writes not replaced,
//! what was replaced), and what was replaced is kept as the latest replaced
//! clock of each field and device. That is enough, because a device always
//! sees, and so replaces, its own earlier writes of a field: whatever it
//! wrote before a replaced write is replaced too.

use std::collections::BTreeMap;

use minicbor::{Decoder, Encoder};

use super::change::{Body, Stamp, decode_id, decode_stamp, encode_stamp};
use super::clock::Hlc;
use crate::model::AuthorId;
use crate::model::fields::{FieldNo, Fields, FieldsError, Value};
use crate::model::record::REMOVED;

/// The merged state of one record.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct State {
    /// Standing writes, by stamp; none is empty.
    writes: Vec<(Stamp, Fields)>,
    /// The latest replaced clock of each field and device.
    replaced: BTreeMap<(FieldNo, AuthorId), Hlc>,
}

/// A field that devices wrote without knowing of each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// The field.
    pub field: FieldNo,
    /// The values that stand, earliest first; the last one counts.
    pub values: Vec<(Stamp, Value)>,
}

impl State {
    /// Takes in one change that was not taken in before.
    pub fn merge(&mut self, stamp: Stamp, body: Body) {
        for (old, fields) in &body.replaces {
            for no in fields {
                let latest = self.replaced.entry((*no, old.author)).or_insert(old.hlc);
                *latest = (*latest).max(old.hlc);
            }
        }
        if !body.replaces.is_empty() {
            let replaced = &self.replaced;
            for (stamp, fields) in &mut self.writes {
                fields.retain(|no, _| stands(replaced, *stamp, no));
            }
            self.writes.retain(|(_, fields)| !fields.is_empty());
        }
        let mut fields = body.fields;
        fields.retain(|no, _| stands(&self.replaced, stamp, no));
        if !fields.is_empty() {
            let at = self.writes.partition_point(|(s, _)| *s < stamp);
            self.writes.insert(at, (stamp, fields));
        }
    }

    /// The change's body that writes `fields` on top of this state: only what
    /// differs, and what that replaces. `None` if nothing differs.
    pub fn edit(&self, mut fields: Fields) -> Option<Body> {
        let current = self.current();
        fields.retain(|no, new| match current.raw(no) {
            // Writing the value that counts again settles a conflict.
            Some(old) => old != new || self.standing(no) > 1,
            None => *new != Value::Null,
        });
        if fields.is_empty() {
            return None;
        }
        let replaces = self
            .writes
            .iter()
            .map(|(stamp, written)| {
                (
                    *stamp,
                    written
                        .iter()
                        .map(|(no, _)| no)
                        .filter(|no| fields.raw(*no).is_some())
                        .collect::<Vec<_>>(),
                )
            })
            .filter(|(_, nos)| !nos.is_empty())
            .collect();
        Some(Body { fields, replaces })
    }

    /// The value that counts of every field; cleared ones are there as such.
    pub fn current(&self) -> Fields {
        match self.writes.as_slice() {
            [(_, only)] => only.clone(),
            writes => writes
                .iter()
                .flat_map(|(_, fields)| fields.iter().map(|(no, value)| (no, value.clone())))
                .collect(),
        }
    }

    /// The values that count if only writes of some devices did.
    pub fn current_by(&self, counts: impl Fn(AuthorId) -> bool) -> Fields {
        self.writes
            .iter()
            .filter(|(stamp, _)| counts(stamp.author))
            .flat_map(|(_, fields)| fields.iter().map(|(no, value)| (no, value.clone())))
            .collect()
    }

    /// Fields with more than one standing value, where these differ.
    pub fn conflicts(&self) -> Vec<Conflict> {
        if self.writes.len() < 2 {
            return Vec::new();
        }
        let mut by_field: BTreeMap<FieldNo, Vec<(Stamp, Value)>> = BTreeMap::new();
        for (stamp, fields) in &self.writes {
            for (no, value) in fields.iter() {
                by_field.entry(no).or_default().push((*stamp, value.clone()));
            }
        }
        by_field
            .into_iter()
            .filter(|(_, values)| values.windows(2).any(|pair| matches!(pair, [a, b] if a.1 != b.1)))
            .map(|(field, values)| Conflict { field, values })
            .collect()
    }

    /// Whether the record is removed: somebody removed it and nobody wrote to
    /// it later.
    pub fn is_removed(&self) -> bool {
        self.removal().is_some_and(|removal| self.last_write().is_none_or(|last| last < removal))
    }

    /// Whether somebody removed it, and somebody else wrote to it later: it
    /// stays, and both should see why.
    pub fn was_revived(&self) -> bool {
        self.removal().is_some() && !self.is_removed()
    }

    /// When the record was first and last written, as far as writes stand.
    pub fn stamps(&self) -> Option<(Stamp, Stamp)> {
        Some((self.writes.first()?.0, self.writes.last()?.0))
    }

    /// The stamp of the write that counts of a field.
    pub fn winner(&self, no: FieldNo) -> Option<Stamp> {
        self.writes.iter().rev().find(|(_, fields)| fields.raw(no).is_some()).map(|(stamp, _)| *stamp)
    }

    /// All standing writes, earliest first.
    pub fn standing_writes(&self) -> impl Iterator<Item = (Stamp, &Fields)> {
        self.writes.iter().map(|(stamp, fields)| (*stamp, fields))
    }

    /// The stamps of all standing writes.
    pub fn standing_stamps(&self) -> impl Iterator<Item = Stamp> {
        self.writes.iter().map(|(stamp, _)| *stamp)
    }

    /// The stamp of the removal that counts.
    fn removal(&self) -> Option<Stamp> {
        let (stamp, fields) = self.writes.iter().rev().find(|(_, f)| f.raw(REMOVED).is_some())?;
        (fields.bool(REMOVED) == Some(true)).then_some(*stamp)
    }

    /// The stamp of the latest write that is no removal.
    fn last_write(&self) -> Option<Stamp> {
        let other = |fields: &Fields| fields.iter().any(|(no, _)| no != REMOVED);
        self.writes.iter().rev().find(|(_, fields)| other(fields)).map(|(stamp, _)| *stamp)
    }

    fn standing(&self, no: FieldNo) -> usize {
        self.writes.iter().filter(|(_, fields)| fields.raw(no).is_some()).count()
    }

    /// Its bytes: CBOR `[[clock, device, fields…], [field, device, clock…]]`,
    /// both lists flat: the standing writes by clock, then device, each with
    /// those of its fields that stand (as in a change's body); then the latest
    /// replaced clock of each field and device, by field, then device.
    /// Equal states have equal bytes: digests are made of them.
    pub fn encode(&self, to: &mut Vec<u8>) {
        let mut e = Encoder::new(&mut *to);
        // Writing into a Vec can't fail: its error type is empty.
        let _ = e.array(2).and_then(|e| e.array(3 * self.writes.len() as u64));
        for (stamp, fields) in &self.writes {
            encode_stamp(&mut Encoder::new(&mut *to), *stamp);
            fields.encode(to);
        }
        let mut e = Encoder::new(&mut *to);
        let _ = e.array(3 * self.replaced.len() as u64);
        for ((no, author), hlc) in &self.replaced {
            let _ = e.u16(*no).and_then(|e| e.bytes(author.bytes())).and_then(|e| e.u64(hlc.packed()));
        }
    }

    /// The state from its bytes.
    ///
    /// # Errors
    /// [`FieldsError`] for bytes that are no state.
    pub fn decode(bytes: &[u8]) -> Result<Self, FieldsError> {
        let mut d = Decoder::new(bytes);
        let mut state = Self::default();
        d.array()?;
        for _ in 0..d.array()?.unwrap_or(0) / 3 {
            let stamp = decode_stamp(&mut d)?;
            state.writes.push((stamp, Fields::decode(&mut d)?));
        }
        for _ in 0..d.array()?.unwrap_or(0) / 3 {
            let no = d.u16()?;
            let author = AuthorId::from_bytes(decode_id(&mut d)?);
            let hlc =
                Hlc::from_packed(d.u64()?).ok_or_else(|| FieldsError("a clock beyond all time".into()))?;
            state.replaced.insert((no, author), hlc);
        }
        Ok(state)
    }
}

fn stands(replaced: &BTreeMap<(FieldNo, AuthorId), Hlc>, stamp: Stamp, no: FieldNo) -> bool {
    replaced.get(&(no, stamp.author)).is_none_or(|latest| stamp.hlc > *latest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stamp(ms: i64, author: u8) -> Stamp {
        Stamp { hlc: Hlc::after(None, ms), author: AuthorId::from_bytes([author; 16]) }
    }

    fn set(no: FieldNo, n: f64) -> Fields {
        [(no, Value::Number(n))].into_iter().collect()
    }

    fn created() -> State {
        let mut state = State::default();
        state.merge(stamp(1, 1), Body { fields: set(1, 10.0), replaces: vec![] });
        state
    }

    #[test]
    fn edits_that_know_each_other_leave_one_value() {
        let mut state = created();
        let edit = state.edit(set(1, 11.0)).unwrap();
        state.merge(stamp(2, 2), edit);
        assert_eq!(state.current().number(1), Some(11.0));
        assert!(state.conflicts().is_empty());
        assert_eq!(state.edit(set(1, 11.0)), None);
    }

    #[test]
    fn edits_that_do_not_know_each_other_leave_both_and_the_later_counts() {
        let before = created();
        let (ours, theirs) = (before.edit(set(1, 11.0)).unwrap(), before.edit(set(1, 12.0)).unwrap());
        let mut one = before.clone();
        one.merge(stamp(2, 1), ours.clone());
        one.merge(stamp(3, 2), theirs.clone());
        let mut other = before;
        other.merge(stamp(3, 2), theirs);
        other.merge(stamp(2, 1), ours);
        assert_eq!(one, other);
        assert_eq!(one.current().number(1), Some(12.0));
        let values: Vec<_> = one.conflicts()[0].values.iter().map(|(_, v)| v.clone()).collect();
        assert_eq!(values, [Value::Number(11.0), Value::Number(12.0)]);
        // Writing the value that counts once more settles it.
        let settle = one.edit(set(1, 12.0)).unwrap();
        one.merge(stamp(4, 1), settle);
        assert!(one.conflicts().is_empty());
    }

    #[test]
    fn a_replaced_write_that_comes_late_stays_replaced() {
        let first = created();
        let edit = first.edit(set(1, 11.0)).unwrap();
        let mut late = State::default();
        late.merge(stamp(2, 2), edit.clone());
        late.merge(stamp(1, 1), Body { fields: set(1, 10.0), replaces: vec![] });
        let mut early = first;
        early.merge(stamp(2, 2), edit);
        assert_eq!(late, early);
    }

    #[test]
    fn a_later_edit_by_the_other_side_wins_over_a_removal_and_is_seen_to() {
        let before = created();
        let removal = before.edit([(REMOVED, Value::Bool(true))].into_iter().collect()).unwrap();
        let edit = before.edit(set(1, 12.0)).unwrap();
        for (removal_at, edit_at, gone) in [(2, 3, false), (3, 2, true)] {
            let mut state = before.clone();
            state.merge(stamp(removal_at, 1), removal.clone());
            state.merge(stamp(edit_at, 2), edit.clone());
            assert_eq!(state.is_removed(), gone);
            assert_eq!(state.was_revived(), !gone);
        }
    }

    #[test]
    fn a_state_survives_its_bytes() {
        let mut state = created();
        let edit = state.edit(set(1, 11.0)).unwrap();
        state.merge(stamp(2, 2), edit);
        state.merge(stamp(2, 3), Body { fields: set(1, 4.5), replaces: vec![] });
        let mut bytes = Vec::new();
        state.encode(&mut bytes);
        assert_eq!(State::decode(&bytes), Ok(state));
    }
}
