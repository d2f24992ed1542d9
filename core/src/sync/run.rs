//! A run: one signature over consecutive changes of one device in one strand.
//!
//! Why it is so stands in core/decisions/007-keys-and-runs.md. Numbers are big
//! endian, `+` joins bytes, tags are their letters without an end:
//! ```text
//! salt(i)   first 16 bytes of SHA-256("chalkface salt 1" + seed + u64 i)
//! said(i)   SHA-256("chalkface leaf 1" + salt(i) + u64 i + u64 clock + i64 made
//!           + i16 offset + u16 kind + record + u32 length + body)
//! leaf(i)   SHA-256("chalkface leaf 2" + tag + said(i)), with the tag of its record
//!           (see `erasure`); said(i) itself for kinds 14 and 16
//! chain(i)  SHA-256("chalkface link 1" + chain(i - 1) + leaf(i))
//! chain(0)  SHA-256("chalkface base 1" + strand + device)
//! signed    "chalkface run 2" + strand + device + u64 first + u32 count
//!           + chain(first - 1) + chain(last)
//! ```
//! i counts the device's changes in the strand; `made` is ms since 1970 UTC.
//! In files and books a run is CBOR, and further items are a newer version's:
//! ```text
//! run   [first, count, chain before: 32 bytes, salts, signature: 64 bytes, 2]
//! salts the seed: 16 bytes; or, once something was erased, a list with, change
//!       by change, its salt: 16 bytes, or where it was erased the tag and said(i):
//!       48 bytes
//! ```
//! So who gets a run with holes can tell that each is about something that was
//! erased by somebody who may: nobody can leave out what they like.
//!
//! Files of version 2 had runs of five items: all leaves were said(i), they were
//! signed as "chalkface run 1", and 32 bytes stood where something was erased.
//! Start at [`Run::sign`] and [`Run::check`].

use minicbor::data::Type;
use minicbor::{Decoder, Encoder};
use sha2::{Digest, Sha256};

use super::change::Change;
use super::erasure::{may_go, tag};
use super::identity::decode_bytes;
use super::keys::{DeviceKeys, PublicKey, SignatureBytes, is_signed};
use crate::model::fields::FieldsError;
use crate::model::{AuthorId, RecordId, StrandId};

/// The most changes of a run.
pub const MOST_CHANGES: usize = 4_096;
/// A run ends once the bodies of its changes have this many bytes.
pub const FULL_BYTES: usize = 128 * 1024;

/// The last item of a run whose leaves have tags.
const TAGGED: u8 = 2;

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
    /// The change was erased; this is left of it.
    Erased(Remnant),
}

/// What is left of an erased change: enough to go on with the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Remnant {
    /// What it was about; `None` in a run of version 2's files.
    pub tag: Option<RecordId>,
    /// The hash of what it said, whose salt is gone.
    pub said: [u8; 32],
}

impl Remnant {
    fn leaf(&self) -> [u8; 32] {
        self.tag.map_or(self.said, |tag| tagged(tag, &self.said))
    }
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
    /// Whether its leaves have tags, as all have that are signed today.
    pub tagged: bool,
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
    /// chain; also answers the link at their end. The same changes give the same run.
    pub fn sign(keys: &DeviceKeys, strand: StrandId, before: Link, changes: &[Change]) -> (Self, Link) {
        let seed = seed(keys, strand, &before, changes);
        let first = changes.first().map_or(1, |change| change.seq);
        let mut run = Self {
            first,
            count: changes.len() as u32,
            before,
            salts: Salts::Seed(seed),
            signature: [0; 64],
            tagged: true,
        };
        let mut after = before;
        for change in changes {
            after = link(&after, &run.remnant(strand, &salt(&seed, change.seq), change).leaf());
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

    /// What is left of its erased changes, with their numbers.
    pub fn remnants(&self) -> impl Iterator<Item = (u64, Remnant)> {
        let each = match &self.salts {
            Salts::Seed(_) => [].as_slice(),
            Salts::Each(each) => each.as_slice(),
        };
        (self.first..).zip(each).filter_map(|(seq, salt)| match salt {
            Salt::Of(_) => None,
            Salt::Erased(remnant) => Some((seq, *remnant)),
        })
    }

    /// The same run without some of the changes that it has: `changes` are
    /// those, in sequence, and whether each is to go.
    #[must_use]
    pub fn without(&self, strand: StrandId, changes: &[(Change, bool)]) -> Self {
        if !changes.iter().any(|(_, gone)| *gone) {
            return self.clone();
        }
        let mut left = changes.iter();
        let each = (self.first..=self.last()).zip(0_usize..).filter_map(|(seq, at)| {
            let salt = match &self.salts {
                Salts::Seed(seed) => salt(seed, seq),
                Salts::Each(each) => match each.get(at)? {
                    Salt::Of(salt) => *salt,
                    gone @ Salt::Erased(_) => return Some(gone.clone()),
                },
            };
            let (change, gone) = left.next()?;
            Some(if *gone { Salt::Erased(self.remnant(strand, &salt, change)) } else { Salt::Of(salt) })
        });
        Self { salts: Salts::Each(each.collect()), ..self.clone() }
    }

    fn remnant(&self, strand: StrandId, salt: &[u8; 16], change: &Change) -> Remnant {
        let about = self.tagged && may_go(change.kind);
        Remnant { tag: about.then(|| tag(strand, change.kind, change.record)), said: said(salt, change) }
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
            let mut there = |salt: &[u8; 16]| {
                let change = fits(left.next()?, seq, author)?;
                Some(self.remnant(strand, salt, change))
            };
            let remnant = match &self.salts {
                Salts::Seed(seed) => there(&salt(seed, seq))?,
                Salts::Each(each) => match each.get(at)? {
                    Salt::Of(salt) => there(salt)?,
                    Salt::Erased(remnant) => *remnant,
                },
            };
            chain = link(&chain, &remnant.leaf());
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
            .array(if self.tagged { 6 } else { 5 })
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
                        Salt::Erased(Remnant { tag: None, said }) => e.bytes(said),
                        Salt::Erased(Remnant { tag: Some(tag), said }) => {
                            e.bytes(&[tag.bytes().as_slice(), said].concat())
                        }
                    };
                }
            }
        }
        let _ = e.bytes(&self.signature);
        if self.tagged {
            let _ = e.u8(TAGGED);
        }
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
        let tagged = items >= 6;
        if tagged && d.u8()? != TAGGED {
            return Err(FieldsError("a run of a newer form".into()));
        }
        for _ in 6..items {
            d.skip()?;
        }
        Ok(Self { first, count, before, salts, signature, tagged })
    }

    fn message(&self, strand: StrandId, author: AuthorId, after: &Link) -> Vec<u8> {
        let mut message = Vec::with_capacity(128);
        message.extend_from_slice(if self.tagged { b"chalkface run 2" } else { b"chalkface run 1" });
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
        each.push(match (bytes.try_into(), bytes.try_into(), bytes.split_first_chunk()) {
            (Ok(salt), ..) => Salt::Of(salt),
            (_, Ok(said), _) => Salt::Erased(Remnant { tag: None, said }),
            (_, _, Some((tag, said))) if said.len() == 32 => {
                let said = said.try_into().map_err(|_| FieldsError("a salt of another length".into()))?;
                Salt::Erased(Remnant { tag: Some(RecordId::from_bytes(*tag)), said })
            }
            _ => return Err(FieldsError("a salt of another length".into())),
        });
    }
    Ok(each)
}

fn fits(change: &Change, seq: u64, author: AuthorId) -> Option<&Change> {
    (change.seq == seq && change.author == author).then_some(change)
}

/// The seed of a run: nobody without the device's secret can tell it, and the device itself gets the same one for the same
/// changes, so that a copy of its book signs them alike. Other changes have another, even under the same numbers.
fn seed(keys: &DeviceKeys, strand: StrandId, before: &Link, changes: &[Change]) -> [u8; 16] {
    let mut what =
        Sha256::new().chain_update(strand.bytes()).chain_update(keys.author().bytes()).chain_update(before);
    for change in changes {
        what.update(change.hlc.packed().to_be_bytes());
        what.update(change.record.bytes());
        what.update(change.kind.0.to_be_bytes());
    }
    keys.seed(&what.finalize().into())
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

fn tagged(tag: RecordId, said: &[u8; 32]) -> [u8; 32] {
    Sha256::new()
        .chain_update("chalkface leaf 2")
        .chain_update(tag.bytes())
        .chain_update(said)
        .finalize()
        .into()
}

fn said(salt: &[u8; 16], change: &Change) -> [u8; 32] {
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
mod tests;
