//! A run: one signature over consecutive changes of one device in one strand.
//!
//! Why it is so stands in core/decisions/007-keys-and-runs.md. Numbers are big
//! endian, `+` joins bytes, tags are their letters without an end:
//! ```text
//! salt(i)   first 16 bytes of SHA-256("chalkface salt 1" + seed + u64 i)
//! leaf(i)   SHA-256("chalkface leaf 1" + salt(i) + u64 i + u64 clock + i64 made
//!           + i16 offset + u16 kind + record + u32 length + body)
//! chain(i)  SHA-256("chalkface link 1" + chain(i - 1) + leaf(i))
//! chain(0)  SHA-256("chalkface base 1" + strand + device)
//! signed    "chalkface run 1" + strand + device + u64 first + u32 count
//!           + chain(first - 1) + chain(last)
//! ```
//! i counts the device's changes in the strand; `made` is ms since 1970 UTC.
//! In files and books a run is CBOR, and further items are a newer version's:
//! ```text
//! run   [first, count, chain before: 32 bytes, salts, signature: 64 bytes]
//! salts the seed: 16 bytes; or, once something was erased, a list with, change
//!       by change, its salt: 16 bytes, or where it was erased its leaf: 32 bytes
//! ```
//! Start at [`Run::sign`] and [`Run::check`].

use minicbor::data::Type;
use minicbor::{Decoder, Encoder};
use sha2::{Digest, Sha256};

use super::change::Change;
use super::identity::decode_bytes;
use super::keys::{DeviceKeys, PublicKey, SignatureBytes, is_signed};
use crate::model::fields::FieldsError;
use crate::model::{AuthorId, StrandId};

/// The most changes of a run.
pub const MOST_CHANGES: usize = 4_096;
/// A run ends once the bodies of its changes have this many bytes.
pub const FULL_BYTES: usize = 128 * 1024;

/// A link of a device's chain.
pub type Link = [u8; 32];

/// What hides what an erased change said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Salts {
    /// All salts come from this.
    Seed([u8; 16]),
    /// Each by itself: something of the run was erased.
    Each(Vec<Salt>),
}

/// What a run keeps of one change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Salt {
    /// The change is there; this is its salt.
    Of([u8; 16]),
    /// The change was erased; this was its leaf.
    Erased([u8; 32]),
}

/// One signature over consecutive changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The number of its first change.
    pub first: u64,
    /// How many changes it covers.
    pub count: u32,
    /// The chain before its first change.
    pub before: Link,
    /// What its leaves are salted with.
    pub salts: Salts,
    /// By the device that wrote the changes.
    pub signature: SignatureBytes,
}

/// Where a device's chain in a strand begins.
pub fn base(strand: StrandId, author: AuthorId) -> Link {
    Sha256::new()
        .chain_update("chalkface base 1")
        .chain_update(strand.bytes())
        .chain_update(author.bytes())
        .finalize()
        .into()
}

impl Run {
    /// Signs changes of the keys' device, in sequence, after a link of its
    /// chain; also answers the link at their end.
    pub fn sign(
        keys: &DeviceKeys,
        strand: StrandId,
        before: Link,
        seed: [u8; 16],
        changes: &[Change],
    ) -> (Self, Link) {
        let first = changes.first().map_or(1, |change| change.seq);
        let mut run =
            Self { first, count: changes.len() as u32, before, salts: Salts::Seed(seed), signature: [0; 64] };
        let mut after = before;
        for change in changes {
            after = link(&after, &leaf(&salt(&seed, change.seq), change));
        }
        run.signature = keys.sign(&run.message(strand, keys.author(), &after));
        (run, after)
    }

    /// The last number that it covers.
    pub fn last(&self) -> u64 {
        self.first + u64::from(self.count) - 1
    }

    /// How many of its changes were not erased.
    pub fn present(&self) -> usize {
        match &self.salts {
            Salts::Seed(_) => self.count as usize,
            Salts::Each(each) => each.iter().filter(|salt| matches!(salt, Salt::Of(_))).count(),
        }
    }

    /// Whether `changes` are what `signer` signed, by the device `author`:
    /// the link at their end if so. Erased ones are passed over.
    pub fn check(
        &self,
        signer: &PublicKey,
        strand: StrandId,
        author: AuthorId,
        changes: &[Change],
    ) -> Option<Link> {
        let mut chain = self.before;
        let mut left = changes.iter();
        for (seq, at) in (self.first..=self.last()).zip(0_usize..) {
            let leaf = match &self.salts {
                Salts::Seed(seed) => leaf(&salt(seed, seq), fits(left.next()?, seq, author)?),
                Salts::Each(each) => match each.get(at)? {
                    Salt::Of(salt) => leaf(salt, fits(left.next()?, seq, author)?),
                    Salt::Erased(leaf) => *leaf,
                },
            };
            chain = link(&chain, &leaf);
        }
        let begins_right = self.first > 1 || self.before == base(strand, author);
        let whole = begins_right && left.next().is_none();
        (whole && is_signed(signer, &self.message(strand, author, &chain), &self.signature)).then_some(chain)
    }

    /// Writes it as CBOR.
    pub fn encode(&self, to: &mut Vec<u8>) {
        // Writing into a Vec can't fail: its error type is empty.
        let mut e = Encoder::new(to);
        let _ = e
            .array(5)
            .and_then(|e| e.u64(self.first))
            .and_then(|e| e.u32(self.count))
            .and_then(|e| e.bytes(&self.before));
        match &self.salts {
            Salts::Seed(seed) => {
                let _ = e.bytes(seed);
            }
            Salts::Each(each) => {
                let _ = e.array(each.len() as u64);
                for salt in each {
                    let _ = match salt {
                        Salt::Of(salt) => e.bytes(salt),
                        Salt::Erased(leaf) => e.bytes(leaf),
                    };
                }
            }
        }
        let _ = e.bytes(&self.signature);
    }

    /// Reads it from CBOR.
    ///
    /// # Errors
    /// [`FieldsError`] for bytes that are no run, or one larger than any may be.
    pub fn decode(d: &mut Decoder<'_>) -> Result<Self, FieldsError> {
        let items = d.array()?.filter(|n| *n >= 5).ok_or_else(|| FieldsError("no run".into()))?;
        let (first, count, before) = (d.u64()?, d.u32()?, decode_bytes(d)?);
        if count == 0 || count as usize > MOST_CHANGES || first == 0 || first > 1 << 53 {
            return Err(FieldsError("a run of a length that none has".into()));
        }
        let salts = if d.datatype()? == Type::Bytes {
            Salts::Seed(decode_bytes(d)?)
        } else {
            Salts::Each(decode_salts(d, count)?)
        };
        let signature = decode_bytes(d)?;
        for _ in 5..items {
            d.skip()?;
        }
        Ok(Self { first, count, before, salts, signature })
    }

    fn message(&self, strand: StrandId, author: AuthorId, after: &Link) -> Vec<u8> {
        let mut message = Vec::with_capacity(128);
        message.extend_from_slice(b"chalkface run 1");
        message.extend_from_slice(strand.bytes());
        message.extend_from_slice(author.bytes());
        message.extend_from_slice(&self.first.to_be_bytes());
        message.extend_from_slice(&self.count.to_be_bytes());
        message.extend_from_slice(&self.before);
        message.extend_from_slice(after);
        message
    }
}

fn decode_salts(d: &mut Decoder<'_>, count: u32) -> Result<Vec<Salt>, FieldsError> {
    if d.array()? != Some(u64::from(count)) {
        return Err(FieldsError("a run with too many or few salts".into()));
    }
    let mut each = Vec::with_capacity(count as usize);
    for _ in 0..count {
        let bytes = d.bytes()?;
        each.push(match (bytes.try_into(), bytes.try_into()) {
            (Ok(salt), _) => Salt::Of(salt),
            (_, Ok(leaf)) => Salt::Erased(leaf),
            _ => return Err(FieldsError("a salt of another length".into())),
        });
    }
    Ok(each)
}

fn fits(change: &Change, seq: u64, author: AuthorId) -> Option<&Change> {
    (change.seq == seq && change.author == author).then_some(change)
}

fn salt(seed: &[u8; 16], seq: u64) -> [u8; 16] {
    let whole = Sha256::new()
        .chain_update("chalkface salt 1")
        .chain_update(seed)
        .chain_update(seq.to_be_bytes())
        .finalize();
    let mut salt = [0; 16];
    for (to, from) in salt.iter_mut().zip(whole) {
        *to = from;
    }
    salt
}

fn leaf(salt: &[u8; 16], change: &Change) -> [u8; 32] {
    Sha256::new()
        .chain_update("chalkface leaf 1")
        .chain_update(salt)
        .chain_update(change.seq.to_be_bytes())
        .chain_update(change.hlc.packed().to_be_bytes())
        .chain_update(change.made.utc_ms.to_be_bytes())
        .chain_update(change.made.offset_min.to_be_bytes())
        .chain_update(change.kind.0.to_be_bytes())
        .chain_update(change.record.bytes())
        .chain_update((change.body.len() as u32).to_be_bytes())
        .chain_update(&change.body)
        .finalize()
        .into()
}

fn link(before: &Link, leaf: &[u8; 32]) -> Link {
    Sha256::new().chain_update("chalkface link 1").chain_update(before).chain_update(leaf).finalize().into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Kind, Moment, RecordId};
    use crate::sync::Hlc;

    fn keys(n: u8) -> DeviceKeys {
        DeviceKeys::from_entropy(AuthorId::from_bytes([n; 16]), &[n; 32]).unwrap()
    }

    fn strand(n: u8) -> StrandId {
        StrandId::from_bytes([n; 16])
    }

    fn changes(from: u64, count: u64) -> Vec<Change> {
        (from..from + count)
            .map(|seq| Change {
                author: keys(1).author(),
                seq,
                hlc: Hlc::after(None, seq as i64),
                made: Moment { utc_ms: seq as i64, offset_min: 60 },
                kind: Kind::NOTE,
                record: RecordId::from_bytes([seq as u8; 16]),
                body: vec![0x81, 0xa1, 0x01, seq as u8],
            })
            .collect()
    }

    fn signed(changes: &[Change], before: Link) -> (Run, Link) {
        Run::sign(&keys(1), strand(9), before, [4; 16], changes)
    }

    fn check(run: &Run, changes: &[Change]) -> Option<Link> {
        run.check(&keys(1).signing_public(), strand(9), keys(1).author(), changes)
    }

    #[test]
    fn a_run_holds_for_its_changes_and_the_next_goes_on_from_its_end() {
        let (all, start) = (changes(1, 9), base(strand(9), keys(1).author()));
        let (first, end) = signed(&all[..5], start);
        assert_eq!(check(&first, &all[..5]), Some(end));
        let (second, _) = signed(&all[5..], end);
        assert!(check(&second, &all[5..]).is_some());
        assert_eq!((second.first, second.last()), (6, 9));
        let mut bytes = Vec::new();
        second.encode(&mut bytes);
        assert_eq!(Run::decode(&mut Decoder::new(&bytes)).unwrap(), second);
        // A first run begins where this device's chain in this strand begins.
        let (moved, _) = signed(&all[..5], [1; 32]);
        assert_eq!(check(&moved, &all[..5]), None);
    }

    #[test]
    fn nothing_of_a_signed_change_can_be_changed_left_out_added_or_moved() {
        let all = changes(1, 4);
        let (run, _) = signed(&all, base(strand(9), keys(1).author()));
        let edits: [fn(&mut Vec<Change>); 11] = [
            |c| c[1].body[3] ^= 1,
            |c| c[1].hlc = Hlc::after(None, 77),
            |c| c[1].made.utc_ms += 1,
            |c| c[1].made.offset_min += 1,
            |c| c[1].kind = Kind::SHOT,
            |c| c[1].record = RecordId::from_bytes([0; 16]),
            |c| c[1].seq = 7,
            |c| c[1].author = keys(2).author(),
            |c| c.swap(1, 2),
            |c| c.truncate(3),
            |c| c.push(changes(5, 1).remove(0)),
        ];
        for (n, edit) in edits.into_iter().enumerate() {
            let mut other = all.clone();
            edit(&mut other);
            assert_eq!(check(&run, &other), None, "edit {n}");
        }
        assert!(check(&run, &all).is_some());
    }

    #[test]
    fn a_run_holds_for_its_signer_device_and_strand_only() {
        let all = changes(1, 2);
        let (run, _) = signed(&all, base(strand(9), keys(1).author()));
        let device = keys(1).author();
        assert!(run.check(&keys(2).signing_public(), strand(9), device, &all).is_none());
        assert!(run.check(&keys(1).signing_public(), strand(8), device, &all).is_none());
        let mut bytes = Vec::new();
        run.encode(&mut bytes);
        for at in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[at] ^= 1;
            if let Ok(other) = Run::decode(&mut Decoder::new(&changed)) {
                assert_eq!(check(&other, &all), None, "byte {at}");
            }
        }
    }

    #[test]
    fn after_an_erasure_the_rest_still_verifies_and_nothing_else_passes_for_what_went() {
        let all = changes(1, 4);
        let (mut run, end) = signed(&all, base(strand(9), keys(1).author()));
        let kept: Vec<Change> = all.iter().filter(|change| change.seq != 2).cloned().collect();
        let each = all.iter().map(|change| match change.seq {
            2 => Salt::Erased(leaf(&salt(&[4; 16], 2), change)),
            seq => Salt::Of(salt(&[4; 16], seq)),
        });
        run.salts = Salts::Each(each.collect());
        assert_eq!(check(&run, &kept), Some(end));
        assert_eq!(check(&run, &all), None);
        let mut other = kept.clone();
        other[1].body = vec![0];
        assert_eq!(check(&run, &other), None);
        let mut bytes = Vec::new();
        run.encode(&mut bytes);
        assert_eq!(Run::decode(&mut Decoder::new(&bytes)).unwrap(), run);
    }
}
