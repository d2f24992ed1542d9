//! A change: one immutable fact, the only thing that a book is made of.
//!
//! Its body says which fields of one record were written, and which earlier
//! writes of those fields its author saw and replaced. Two writes of a field
//! that don't know of each other are a conflict, and both stay visible.
//!
//! # Bytes of a body
//! CBOR (RFC 8949), definite lengths, shortest forms:
//! ```text
//! body     [fields] or [fields, [replaced, ...]]
//! fields   {number: value, ...}                 numbers ascending, each once
//! replaced [clock, device: 16 bytes, [number, ...]]      one earlier change
//! clock    ms << 16 | count, as one integer             (see `clock`)
//! value    null       the field was cleared
//!          true false
//!          integer    a whole number up to 2^53 either way
//!          4([e, m])  a decimal fraction, -9 <= e <= -1: the number is
//!                     m / 10^(-e), divided in doubles
//!          double     any other number
//!          text       UTF-8
//!          bytes      16 of them: an identity; otherwise bytes
//!          other      of a newer version: kept, passed on, unread
//! ```
//! Field numbers belong to a kind of record: `to_fields` of each record in
//! `model` is the list, kinds are in `model::record`. Field 60000 of every
//! kind says that the record was removed. Quantities are in the unit of their
//! type: mm, m, m/s, degrees, revolutions per minute; days count from
//! 1970-01-01. A new record writes only fields that have a value.

use minicbor::{Decoder, Encoder};

use super::clock::Hlc;
use crate::model::fields::{FieldNo, Fields, FieldsError};
use crate::model::{AuthorId, Kind, Moment, RecordId};

/// When and by which device something was written: the order of all writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stamp {
    /// The hybrid clock.
    pub hlc: Hlc,
    /// The device; it decides between equal clocks.
    pub author: AuthorId,
}

/// One change of one record, as a device wrote it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The device that wrote it.
    pub author: AuthorId,
    /// Its number among that device's changes in the strand, from 1 without gaps.
    pub seq: u64,
    /// The hybrid clock.
    pub hlc: Hlc,
    /// The wall clock and local offset of the device, for people to read.
    pub made: Moment,
    /// The kind of record.
    pub kind: Kind,
    /// The record.
    pub record: RecordId,
    /// The bytes of its [`Body`], kept exactly as they were written.
    pub body: Vec<u8>,
}

impl Change {
    /// When and by whom it was written.
    pub fn stamp(&self) -> Stamp {
        Stamp { hlc: self.hlc, author: self.author }
    }
}

/// The most bytes that one change's body may have: a picture's thumbnail fits.
pub const MOST_BODY_BYTES: usize = 256 * 1024;

/// What a change writes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Body {
    /// The fields written.
    pub fields: Fields,
    /// The writes that these replace: fields of one earlier change each.
    pub replaces: Vec<(Stamp, Vec<FieldNo>)>,
}

impl Body {
    /// Its bytes: CBOR `[fields]` or `[fields, [[clock, device, [fields…]]…]]`.
    pub fn encode(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(96);
        let items = if self.replaces.is_empty() { 1 } else { 2 };
        // Writing into a Vec can't fail: its error type is empty.
        let _ = Encoder::new(&mut bytes).array(items);
        self.fields.encode(&mut bytes);
        if items == 2 {
            let mut e = Encoder::new(&mut bytes);
            let _ = e.array(self.replaces.len() as u64);
            for (stamp, fields) in &self.replaces {
                let _ = e.array(3);
                encode_stamp(&mut e, *stamp);
                let _ = e.array(fields.len() as u64);
                for no in fields {
                    let _ = e.u16(*no);
                }
            }
        }
        bytes
    }

    /// The body from its bytes. Further items of a newer version are skipped.
    ///
    /// # Errors
    /// [`FieldsError`] for bytes that are no body.
    pub fn decode(bytes: &[u8]) -> Result<Self, FieldsError> {
        let mut d = Decoder::new(bytes);
        let items = d.array()?.filter(|n| *n >= 1).ok_or_else(|| FieldsError("an empty change".into()))?;
        let fields = Fields::decode(&mut d)?;
        let mut replaces = Vec::new();
        if items >= 2 {
            let count = d.array()?.ok_or_else(|| FieldsError("a list without a length".into()))?;
            for _ in 0..count {
                d.array()?;
                let stamp = decode_stamp(&mut d)?;
                let mut nos = Vec::new();
                for no in d.array_iter::<FieldNo>()? {
                    let no = no?;
                    if fields.raw(no).is_none() {
                        return Err(FieldsError(format!("replaces field {no} without writing it")));
                    }
                    nos.push(no);
                }
                replaces.push((stamp, nos));
            }
        }
        for _ in 2..items {
            d.skip()?;
        }
        if d.position() != bytes.len() {
            return Err(FieldsError("bytes left over".into()));
        }
        Ok(Self { fields, replaces })
    }
}

/// Writes a stamp as two CBOR items.
pub(super) fn encode_stamp(e: &mut Encoder<&mut Vec<u8>>, stamp: Stamp) {
    let _ = e.u64(stamp.hlc.packed());
    let _ = e.bytes(stamp.author.bytes());
}

/// Reads a stamp's two CBOR items.
pub(super) fn decode_stamp(d: &mut Decoder<'_>) -> Result<Stamp, FieldsError> {
    let hlc = Hlc::from_packed(d.u64()?).ok_or_else(|| FieldsError("a clock beyond all time".into()))?;
    Ok(Stamp { hlc, author: AuthorId::from_bytes(decode_id(d)?) })
}

/// Reads sixteen bytes.
pub(super) fn decode_id(d: &mut Decoder<'_>) -> Result<[u8; 16], FieldsError> {
    d.bytes()?.try_into().map_err(|_| FieldsError("an identity that has not 16 bytes".into()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Value;
    use proptest::prelude::*;

    fn body() -> Body {
        let stamp = Stamp { hlc: Hlc::after(None, 1_000), author: AuthorId::from_bytes([7; 16]) };
        Body {
            fields: [(1, Value::Number(12.5)), (3, Value::Null)].into_iter().collect(),
            replaces: vec![(stamp, vec![1, 3])],
        }
    }

    #[test]
    fn a_body_survives_its_bytes() {
        assert_eq!(Body::decode(&body().encode()), Ok(body()));
        let fresh = Body { replaces: Vec::new(), ..body() };
        assert_eq!(Body::decode(&fresh.encode()), Ok(fresh));
    }

    #[test]
    fn items_of_a_newer_version_are_skipped() {
        let mut newer = body().encode();
        newer[0] = 0x83;
        newer.extend([0x61, b'x']);
        assert_eq!(Body::decode(&newer), Ok(body()));
    }

    #[test]
    fn a_write_can_not_replace_a_field_it_does_not_write() {
        let mut odd = body();
        odd.replaces[0].1 = vec![2];
        assert!(Body::decode(&odd.encode()).is_err());
    }

    proptest! {
        #[test]
        fn any_bytes_are_a_body_or_an_error(bytes in proptest::collection::vec(any::<u8>(), 0..60)) {
            let _ = Body::decode(&bytes);
        }

        #[test]
        fn a_damaged_body_never_panics(at in 0_usize..40, to in any::<u8>(), cut in 0_usize..60) {
            let mut bytes = body().encode();
            let length = bytes.len();
            bytes[at % length] = to;
            bytes.truncate(cut);
            let _ = Body::decode(&bytes);
        }
    }
}
