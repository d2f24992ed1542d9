//! A block: changes of one device in one strand, column by column, so that
//! they compress well.
//!
//! One CBOR array (RFC 8949): device (16 bytes), first sequence number, count,
//! then six columns, each a byte string that holds, change after change:
//! ```text
//! clock    ms since the clock of the change before (of 0 for the first),
//!          count within the millisecond                      CBOR integers
//! made     wall clock: ms since this change's clock, local offset: minutes
//!          since that of the change before (of 0)            CBOR integers
//! kind     of the record                                     CBOR integer
//! record   the last 10 of its identity's 16 bytes            bare bytes
//! lengths  the identity's first 48 bits, read as a number (big endian) less
//!          this change's clock in ms; the body's bytes       CBOR integers
//! bodies   the bodies themselves, see `change`               bare bytes
//! ```
//! Differences may be negative: they are small since logs are written in
//! order. Sequence numbers count up from the first without a gap. Clocks are
//! those of [`clock`](super::clock): `ms << 16 | count` in one number. Further
//! items of the array are a newer version's.

use minicbor::{Decoder, Encoder};
use uuid::Uuid;

use super::change::{Change, MOST_BODY_BYTES, decode_id};
use super::clock::Hlc;
use crate::model::fields::FieldsError;
use crate::model::{AuthorId, Kind, Moment, RecordId};

/// Runs of changes are gathered into a block until it holds about this many bytes.
pub const FULL_BLOCK_BYTES: usize = 256 * 1024;
/// The most bytes that a block may open to: a full one and one large body.
pub const MOST_BLOCK_BYTES: usize = 2 * FULL_BLOCK_BYTES + MOST_BODY_BYTES;

/// Gathers changes of one device, in sequence, into the bytes of a block.
#[derive(Debug)]
pub struct BlockWriter {
    author: AuthorId,
    first: u64,
    count: u64,
    last: Hlc,
    last_offset: i16,
    times: Vec<u8>,
    made: Vec<u8>,
    kinds: Vec<u8>,
    ids: Vec<u8>,
    lengths: Vec<u8>,
    bodies: Vec<u8>,
}

impl BlockWriter {
    /// An empty block of changes by `author` from sequence number `first`.
    pub fn new(author: AuthorId, first: u64) -> Self {
        Self {
            author,
            first,
            count: 0,
            last: Hlc::after(None, 0),
            last_offset: 0,
            times: Vec::new(),
            made: Vec::new(),
            kinds: Vec::new(),
            ids: Vec::new(),
            lengths: Vec::new(),
            bodies: Vec::new(),
        }
    }

    /// Whether `change` is the next one of this block.
    pub fn takes(&self, change: &Change) -> bool {
        change.author == self.author && change.seq == self.first + self.count && !self.is_full()
    }

    /// Whether it holds as much as a block should.
    pub fn is_full(&self) -> bool {
        let columns = [&self.times, &self.made, &self.kinds, &self.ids, &self.lengths, &self.bodies];
        columns.into_iter().map(Vec::len).sum::<usize>() >= FULL_BLOCK_BYTES
    }

    /// Adds the next change.
    pub fn push(&mut self, change: &Change) {
        // Writing into a Vec can't fail: its error type is empty.
        let mut times = Encoder::new(&mut self.times);
        let ms = change.hlc.ms() as i64;
        let _ = times.i64(ms - self.last.ms() as i64).and_then(|e| e.u16(change.hlc.count()));
        let mut made = Encoder::new(&mut self.made);
        let _ = made
            .i64(change.made.utc_ms.wrapping_sub(ms))
            .and_then(|e| e.i32(i32::from(change.made.offset_min) - i32::from(self.last_offset)));
        let _ = Encoder::new(&mut self.kinds).u16(change.kind.0);
        let (id_ms, rest) = split_id(change.record);
        let _ = Encoder::new(&mut self.lengths)
            .i64(id_ms.wrapping_sub(ms))
            .and_then(|e| e.u32(change.body.len() as u32));
        self.ids.extend_from_slice(&rest);
        self.bodies.extend_from_slice(&change.body);
        self.last = change.hlc;
        self.last_offset = change.made.offset_min;
        self.count += 1;
    }

    /// The block's bytes, before compression.
    pub fn finish(self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(self.bodies.len() + 24 * self.count as usize + 64);
        let mut e = Encoder::new(&mut bytes);
        let _ = e
            .array(9)
            .and_then(|e| e.bytes(self.author.bytes()))
            .and_then(|e| e.u64(self.first))
            .and_then(|e| e.u64(self.count));
        for column in [&self.times, &self.made, &self.kinds, &self.ids, &self.lengths, &self.bodies] {
            let _ = e.bytes(column);
        }
        bytes
    }
}

/// The changes of a block.
///
/// # Errors
/// [`FieldsError`] if the bytes are no block.
pub fn read_block(bytes: &[u8]) -> Result<Vec<Change>, FieldsError> {
    let mut d = Decoder::new(bytes);
    if d.array()?.is_none_or(|n| n < 9) {
        return Err(FieldsError("a block lacks columns".into()));
    }
    let author = AuthorId::from_bytes(decode_id(&mut d)?);
    let first = d.u64()?;
    let count = d.u64()?;
    let mut times = Decoder::new(d.bytes()?);
    let mut made = Decoder::new(d.bytes()?);
    let mut kinds = Decoder::new(d.bytes()?);
    let mut ids = d.bytes()?.chunks_exact(10);
    let mut lengths = Decoder::new(d.bytes()?);
    let mut bodies = d.bytes()?;
    if first == 0 || count != ids.len() as u64 || first.checked_add(count).is_none_or(|end| end > 1 << 53) {
        return Err(FieldsError("a block's count doesn't fit its columns".into()));
    }
    let short = || FieldsError("a block's column is too short".into());
    let mut changes = Vec::with_capacity(ids.len());
    let (mut ms, mut offset) = (0_i64, 0_i32);
    for seq in first..first + count {
        ms = ms.checked_add(times.i64()?).ok_or_else(short)?;
        let hlc = u64::try_from(ms)
            .ok()
            .and_then(|ms| times.u16().ok().and_then(|count| Hlc::from_parts(ms, count)))
            .ok_or_else(|| FieldsError("a clock beyond all time".into()))?;
        let utc_ms = made.i64()?.wrapping_add(ms);
        offset = offset.checked_add(made.i32()?).ok_or_else(short)?;
        let offset_min = i16::try_from(offset)
            .ok()
            .filter(|o| o.unsigned_abs() <= 24 * 60)
            .ok_or_else(|| FieldsError("a local offset of more than a day".into()))?;
        let kind = Kind(kinds.u16()?);
        let record = join_id(lengths.i64()?.wrapping_add(ms), ids.next().ok_or_else(short)?);
        let length = lengths.u32()? as usize;
        if length > MOST_BODY_BYTES {
            return Err(FieldsError("a change larger than any may be".into()));
        }
        let (body, rest) = bodies.split_at_checked(length).ok_or_else(short)?;
        bodies = rest;
        changes.push(Change {
            author,
            seq,
            hlc,
            made: Moment { utc_ms, offset_min },
            kind,
            record,
            body: body.to_vec(),
        });
    }
    if !bodies.is_empty() {
        return Err(FieldsError("bytes left over in a block".into()));
    }
    Ok(changes)
}

/// The time of a version 7 UUID (its first 48 bits), and the other ten bytes.
fn split_id(id: RecordId) -> (i64, [u8; 10]) {
    let whole = id.0.as_u128();
    let mut rest = [0; 10];
    rest.copy_from_slice(whole.to_be_bytes().split_at(6).1);
    ((whole >> 80) as i64, rest)
}

fn join_id(ms: i64, rest: &[u8]) -> RecordId {
    let low = rest.iter().fold(0_u128, |low, byte| low << 8 | u128::from(*byte));
    let high = (ms as u128 & 0xffff_ffff_ffff) << 80;
    RecordId(Uuid::from_u128(high | low))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Clock, wall clock, offset, kind, identity and body.
    type Parts = (u64, i64, i16, u16, [u8; 16], Vec<u8>);

    fn any_change() -> impl Strategy<Value = Parts> {
        (
            0_u64..1 << 61,
            any::<i64>(),
            -1440_i16..=1440,
            any::<u16>(),
            any::<[u8; 16]>(),
            proptest::collection::vec(any::<u8>(), 0..50),
        )
    }

    fn block(parts: Vec<Parts>, first: u64) -> (Vec<Change>, Vec<u8>) {
        let author = AuthorId::from_bytes([3; 16]);
        let mut writer = BlockWriter::new(author, first);
        let mut changes = Vec::new();
        for (seq, (hlc, utc_ms, offset_min, kind, id, body)) in (first..).zip(parts) {
            let change = Change {
                author,
                seq,
                hlc: Hlc::from_packed(hlc).unwrap(),
                made: Moment { utc_ms, offset_min },
                kind: Kind(kind),
                record: RecordId::from_bytes(id),
                body,
            };
            assert!(writer.takes(&change));
            writer.push(&change);
            changes.push(change);
        }
        (changes, writer.finish())
    }

    proptest! {
        #[test]
        fn changes_survive_their_block(parts in proptest::collection::vec(any_change(), 0..20), first in 1_u64..1000) {
            let (changes, bytes) = block(parts, first);
            prop_assert_eq!(read_block(&bytes).unwrap(), changes);
        }

        #[test]
        fn a_damaged_block_never_panics(parts in proptest::collection::vec(any_change(), 1..4), at in any::<usize>(), to in any::<u8>(), cut in any::<usize>()) {
            let (_, mut bytes) = block(parts, 1);
            let length = bytes.len();
            bytes[at % length] = to;
            bytes.truncate(cut % (length + 1));
            let _ = read_block(&bytes);
        }
    }
}
