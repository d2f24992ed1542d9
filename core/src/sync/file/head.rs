//! Who sends a file to whom, and which strand is in it: `HEAD` and `STRD`.
//!
//! CBOR is RFC 8949 with definite lengths. Identities are byte strings of 16,
//! roots (see [`keys`](crate::sync::keys)) of 32. Items after these are a newer
//! version's:
//! ```text
//! HEAD [device, person, their name, their role (1 student, 2 coach, 3
//!       reader), made: ms since 1970-01-01 UTC, made: minutes local time is
//!       ahead, receiver's name, receiver's person or null, the sender's
//!       root, the receiver's root]
//! STRD [strand, digest: 32 bytes, [device, last sequence number, ...], the
//!       root of its owner or null, the root of who made it or null]
//! ```
//! Version 1 had the first eight items of `HEAD` and the first three of
//! `STRD`. The vector is flat: a device and the last of its changes that the
//! sender holds without a gap, pair after pair; since version 2 only as far as
//! they are signed. The digest is that of the sender's records of the strand
//! (see `book::check`), or zeros where the sender holds other changes than
//! those that the vector counts.

use minicbor::{Decoder, Encoder};
use uuid::Uuid;

use crate::model::fields::FieldsError;
use crate::model::{AuthorId, Moment, PersonId, Role, StrandId};
use crate::sync::change::decode_id;
use crate::sync::identity::decode_bytes;
use crate::sync::keys::PublicKey;

/// Who sends a file to whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Header {
    /// The device that wrote it.
    pub device: AuthorId,
    /// The person whose device it is.
    pub person: PersonId,
    /// Their name.
    pub name: String,
    /// What they are.
    pub role: Role,
    /// When, by their clock.
    pub made: Moment,
    /// For whom it is, by name.
    pub to_name: String,
    /// For whom it is, where the sender has heard from them before.
    pub to_person: Option<PersonId>,
    /// The root of the person who sends it; since version 2.
    pub root: Option<PublicKey>,
    /// The root of the person for whom it is; since version 2.
    pub to_root: Option<PublicKey>,
}

impl Header {
    /// What stands where nothing was read yet.
    pub(super) fn nobody() -> Self {
        Self {
            device: AuthorId(Uuid::nil()),
            person: PersonId(Uuid::nil()),
            name: String::new(),
            role: Role::Student,
            made: Moment { utc_ms: 0, offset_min: 0 },
            to_name: String::new(),
            to_person: None,
            root: None,
            to_root: None,
        }
    }
}

/// A strand in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StrandHeader {
    /// Which.
    pub strand: StrandId,
    /// What the sender holds of it: every device's changes up to and including these.
    pub holds: Vec<(AuthorId, u64)>,
    /// The digest of the sender's records, for comparing where both hold the same.
    pub digest: [u8; 32],
    /// The root of who says who belongs to it, as far as the sender knows.
    pub owner: Option<PublicKey>,
    /// The root of who made it, as far as the sender knows.
    pub founder: Option<PublicKey>,
}

pub(super) fn encode_header(header: &Header) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut e = Encoder::new(&mut bytes);
    // Writing into a Vec can't fail: its error type is empty.
    let _ = e
        .array(10)
        .and_then(|e| e.bytes(header.device.bytes()))
        .and_then(|e| e.bytes(header.person.bytes()))
        .and_then(|e| e.str(&header.name))
        .and_then(|e| e.i64(header.role.code()))
        .and_then(|e| e.i64(header.made.utc_ms))
        .and_then(|e| e.i16(header.made.offset_min))
        .and_then(|e| e.str(&header.to_name))
        .and_then(|e| match header.to_person {
            Some(person) => e.bytes(person.bytes()),
            None => e.null(),
        })
        .and_then(|e| optional(e, header.root.as_ref()))
        .and_then(|e| optional(e, header.to_root.as_ref()));
    bytes
}

pub(super) fn decode_header(payload: &[u8]) -> Result<Header, FieldsError> {
    let mut d = Decoder::new(payload);
    let items = d.array()?.unwrap_or(0);
    if items < 8 {
        return Err(FieldsError("a short header".into()));
    }
    let mut header = Header {
        device: AuthorId::from_bytes(decode_id(&mut d)?),
        person: PersonId::from_bytes(decode_id(&mut d)?),
        name: d.str()?.to_owned(),
        role: Role::from_code(d.i64()?).ok_or_else(|| FieldsError("an unknown role".into()))?,
        made: Moment { utc_ms: d.i64()?, offset_min: d.i16()? },
        to_name: d.str()?.to_owned(),
        to_person: match d.datatype()? {
            minicbor::data::Type::Null => None,
            _ => Some(PersonId::from_bytes(decode_id(&mut d)?)),
        },
        root: None,
        to_root: None,
    };
    if items >= 10 {
        header.root = decode_optional(&mut d)?;
        header.to_root = decode_optional(&mut d)?;
    }
    Ok(header)
}

pub(super) fn encode_strand(strand: &StrandHeader) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut e = Encoder::new(&mut bytes);
    let _ = e
        .array(5)
        .and_then(|e| e.bytes(strand.strand.bytes()))
        .and_then(|e| e.bytes(&strand.digest))
        .and_then(|e| e.array(2 * strand.holds.len() as u64));
    for (author, upto) in &strand.holds {
        let _ = e.bytes(author.bytes()).and_then(|e| e.u64(*upto));
    }
    let _ = optional(&mut e, strand.owner.as_ref()).and_then(|e| optional(e, strand.founder.as_ref()));
    bytes
}

pub(super) fn decode_strand(payload: &[u8]) -> Result<StrandHeader, FieldsError> {
    let mut d = Decoder::new(payload);
    let items = d.array()?.unwrap_or(0);
    if items < 3 {
        return Err(FieldsError("a short strand".into()));
    }
    let strand = StrandId::from_bytes(decode_id(&mut d)?);
    let digest = d.bytes()?.try_into().map_err(|_| FieldsError("a digest that has not 32 bytes".into()))?;
    let mut holds = Vec::new();
    for _ in 0..d.array()?.unwrap_or(0) / 2 {
        holds.push((AuthorId::from_bytes(decode_id(&mut d)?), d.u64()?));
    }
    let mut header = StrandHeader { strand, holds, digest, owner: None, founder: None };
    if items >= 5 {
        header.owner = decode_optional(&mut d)?;
        header.founder = decode_optional(&mut d)?;
    }
    Ok(header)
}

/// A key, or null where there is none.
fn optional<'a, 'b>(
    e: &'a mut Encoder<&'b mut Vec<u8>>,
    key: Option<&PublicKey>,
) -> Result<&'a mut Encoder<&'b mut Vec<u8>>, minicbor::encode::Error<std::convert::Infallible>> {
    match key {
        Some(key) => e.bytes(key),
        None => e.null(),
    }
}

fn decode_optional(d: &mut Decoder<'_>) -> Result<Option<PublicKey>, FieldsError> {
    if d.datatype()? == minicbor::data::Type::Null {
        d.null()?;
        return Ok(None);
    }
    decode_bytes(d).map(Some)
}
