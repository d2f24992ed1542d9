//! The exchange file: what travels between two devices, extension `.chalk`.
//!
//! ```text
//! 89 'C' 'H' 'K' 0D 0A 1A 0A     magic: shows damage by text-mode transfers
//! u16 version, u16 lowest reader version                     little endian
//! chunks: 4 letters, u32 length, payload, 8 bytes of check   little endian
//!   HEAD   who sends, to whom, when: first, and once                  CBOR
//!   STRD   a strand: identity, digest, version vector                 CBOR
//!   BLCK   changes of the strand before it: u32 opened length (little
//!          endian), then the block as raw DEFLATE (RFC 1951)
//!   DONE   the whole SHA-256 of everything before it; nothing follows
//! ```
//! The check of a chunk is the first 8 bytes of the SHA-256 (FIPS 180-4) of
//! the file from its first byte up to the check itself: magic, versions and
//! earlier checks too. So a chunk can't be changed, lost, added or moved.
//! `DONE` hashes the file up to its own four letters.
//! It finds damage, not malice: signatures over runs of changes will be
//! chunks of their own (`SIGN`), and encryption wraps the file as a whole, so
//! neither changes what stands here. A reader refuses an unknown chunk whose
//! first letter is a capital, and skips one whose first letter is small. It
//! refuses a file whose lowest reader version is above its own; the other
//! version only tells who wrote it.
//!
//! CBOR is RFC 8949 with definite lengths. Identities are byte strings of 16.
//! `HEAD` and `STRD` are arrays; items after these are a newer version's:
//! ```text
//! HEAD [device, person, their name, their role (1 student, 2 coach),
//!       made: ms since 1970-01-01 UTC, made: minutes local time is ahead,
//!       receiver's name, receiver's person or null]
//! STRD [strand, digest: 32 bytes, [device, last sequence number, ...]]
//! ```
//! The vector is flat: a device and the last of its changes that the sender
//! holds without a gap, pair after pair. The digest is that of the sender's
//! records of the strand (see `book::check`), or zeros where the sender holds
//! changes that come after a gap. What is in a block stands in
//! [`block`](super::block), what is in a change in [`change`](super::change).

use std::io::{ErrorKind, Read, Write};

use minicbor::{Decoder, Encoder};
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::block::{BlockWriter, MOST_BLOCK_BYTES, read_block};
use super::change::{Change, decode_id};
use crate::model::fields::FieldsError;
use crate::model::{AuthorId, Moment, PersonId, Role, StrandId};

const MAGIC: [u8; 8] = [0x89, b'C', b'H', b'K', 0x0d, 0x0a, 0x1a, 0x0a];
/// The version that this code writes, and the highest it reads.
pub const VERSION: u16 = 1;
/// DEFLATE's usual middle between time and size.
const LEVEL: u8 = 6;
/// No chunk is larger: a block that doesn't compress, and its frame.
const MOST_CHUNK_BYTES: usize = MOST_BLOCK_BYTES + MOST_BLOCK_BYTES / 64 + 1024;

/// Why a file could not be read. Nothing was taken from it.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// It is something else.
    #[error("this is not an exchange file; ask for one made with `send`, its name ends in .chalk")]
    Foreign,
    /// It ends too early.
    #[error("the exchange file is cut short after {at} bytes; ask for it again")]
    CutShort {
        /// Where it ends.
        at: u64,
    },
    /// It was changed on its way.
    #[error("the exchange file is damaged ({what}, near byte {at}); ask for it again")]
    Damaged {
        /// What doesn't fit.
        what: String,
        /// Where.
        at: u64,
    },
    /// It needs a newer version of this program.
    #[error("the exchange file needs format version {needs}, this program reads up to {VERSION}; update it")]
    TooNew {
        /// The version that it needs.
        needs: u16,
    },
    /// The system could not read or write it.
    #[error("the exchange file can't be read or written: {0}")]
    Io(#[from] std::io::Error),
}

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
}

/// One part of a file, as it is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// A strand begins.
    Strand(StrandHeader),
    /// Changes of the strand that began last.
    Changes(Vec<Change>),
}

/// Writes an exchange file.
pub struct FileWriter<W: Write> {
    to: W,
    hash: Sha256,
    block: Option<BlockWriter>,
}

impl<W: Write> FileWriter<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn new(to: W, header: &Header) -> Result<Self, FileError> {
        let mut writer = Self { to, hash: Sha256::new(), block: None };
        writer.bytes(&MAGIC)?;
        writer.bytes(&VERSION.to_le_bytes())?;
        writer.bytes(&VERSION.to_le_bytes())?;
        writer.chunk(*b"HEAD", &encode_header(header))?;
        Ok(writer)
    }

    /// Begins a strand.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn strand(&mut self, strand: &StrandHeader) -> Result<(), FileError> {
        self.flush()?;
        self.chunk(*b"STRD", &encode_strand(strand))
    }

    /// Adds a change of the strand that began last, each device's in sequence.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn change(&mut self, change: &Change) -> Result<(), FileError> {
        if !self.block.as_ref().is_some_and(|block| block.takes(change)) {
            self.flush()?;
        }
        self.block.get_or_insert_with(|| BlockWriter::new(change.author, change.seq)).push(change);
        Ok(())
    }

    /// Ends the file and gives back where it was written.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn finish(mut self) -> Result<W, FileError> {
        self.flush()?;
        let whole = self.hash.clone().finalize();
        self.chunk(*b"DONE", &whole)?;
        Ok(self.to)
    }

    fn flush(&mut self) -> Result<(), FileError> {
        let Some(block) = self.block.take() else { return Ok(()) };
        let opened = block.finish();
        let mut payload = (opened.len() as u32).to_le_bytes().to_vec();
        payload.extend(compress_to_vec(&opened, LEVEL));
        self.chunk(*b"BLCK", &payload)
    }

    fn chunk(&mut self, letters: [u8; 4], payload: &[u8]) -> Result<(), FileError> {
        self.bytes(&letters)?;
        self.bytes(&(payload.len() as u32).to_le_bytes())?;
        self.bytes(payload)?;
        let check = check_of(&self.hash);
        self.bytes(&check)
    }

    fn bytes(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.hash.update(bytes);
        Ok(self.to.write_all(bytes)?)
    }
}

/// Reads an exchange file part by part, in bounded memory.
///
/// What it gave may only be kept once [`FileReader::next_part`] has answered
/// `None`: the last check covers the whole file.
pub struct FileReader<R: Read> {
    from: R,
    hash: Sha256,
    at: u64,
    header: Header,
}

impl<R: Read> FileReader<R> {
    /// Opens a file and reads who sent it.
    ///
    /// # Errors
    /// Any [`FileError`].
    pub fn new(from: R) -> Result<Self, FileError> {
        let header = Header {
            device: AuthorId(Uuid::nil()),
            person: PersonId(Uuid::nil()),
            name: String::new(),
            role: Role::Student,
            made: Moment { utc_ms: 0, offset_min: 0 },
            to_name: String::new(),
            to_person: None,
        };
        let mut reader = Self { from, hash: Sha256::new(), at: 0, header };
        let magic = reader.bytes(MAGIC.len());
        match magic {
            Ok(magic) if magic == MAGIC => {}
            Ok(_) | Err(FileError::CutShort { .. }) => return Err(FileError::Foreign),
            Err(other) => return Err(other),
        }
        let versions = reader.bytes(4)?;
        let needs = u16::from_le_bytes([
            versions.get(2).copied().unwrap_or_default(),
            versions.get(3).copied().unwrap_or_default(),
        ]);
        if needs > VERSION {
            return Err(FileError::TooNew { needs });
        }
        let (letters, payload) = reader.chunk()?;
        if &letters != b"HEAD" {
            return Err(reader.damaged("no header"));
        }
        reader.header = decode_header(&payload).map_err(|e| reader.damaged(e.0))?;
        Ok(reader)
    }

    /// Who sent it to whom.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// The next part, or `None` at the end of a file that is whole.
    ///
    /// # Errors
    /// Any [`FileError`].
    pub fn next_part(&mut self) -> Result<Option<Part>, FileError> {
        loop {
            let before = self.hash.clone();
            let (letters, payload) = self.chunk()?;
            match &letters {
                b"STRD" => {
                    let strand = decode_strand(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Strand(strand)));
                }
                b"BLCK" => {
                    let changes = open_block(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Changes(changes)));
                }
                b"DONE" => {
                    if payload != before.finalize().as_slice() {
                        return Err(self.damaged("the check over all of it"));
                    }
                    return match self.from.read(&mut [0]) {
                        Ok(0) => Ok(None),
                        Ok(_) => Err(self.damaged("something follows its end")),
                        Err(error) => Err(error.into()),
                    };
                }
                [first, ..] if first.is_ascii_lowercase() => {}
                _ => {
                    return Err(self.damaged(format!("a part called {}", String::from_utf8_lossy(&letters))));
                }
            }
        }
    }

    fn chunk(&mut self) -> Result<([u8; 4], Vec<u8>), FileError> {
        let letters: [u8; 4] = self.array()?;
        let length = u32::from_le_bytes(self.array()?) as usize;
        if !letters.iter().all(u8::is_ascii_alphabetic) || length > MOST_CHUNK_BYTES {
            return Err(self.damaged("a part's name or length"));
        }
        let payload = self.bytes(length)?;
        let expected = check_of(&self.hash);
        if self.array::<8>()? != expected {
            return Err(self.damaged("a part's check"));
        }
        Ok((letters, payload))
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], FileError> {
        let bytes = self.bytes(N)?;
        bytes.try_into().map_err(|_| FileError::CutShort { at: self.at })
    }

    fn bytes(&mut self, count: usize) -> Result<Vec<u8>, FileError> {
        let mut bytes = vec![0; count];
        self.from.read_exact(&mut bytes).map_err(|error| match error.kind() {
            ErrorKind::UnexpectedEof => FileError::CutShort { at: self.at },
            _ => FileError::Io(error),
        })?;
        self.at += count as u64;
        self.hash.update(&bytes);
        Ok(bytes)
    }

    fn damaged(&self, what: impl Into<String>) -> FileError {
        FileError::Damaged { what: what.into(), at: self.at }
    }
}

fn check_of(hash: &Sha256) -> [u8; 8] {
    let whole = hash.clone().finalize();
    let mut check = [0; 8];
    for (to, from) in check.iter_mut().zip(whole.iter()) {
        *to = *from;
    }
    check
}

fn open_block(payload: &[u8]) -> Result<Vec<Change>, FieldsError> {
    let bad = || FieldsError("a block that doesn't open".into());
    let (length, packed) = payload.split_at_checked(4).ok_or_else(bad)?;
    let length = u32::from_le_bytes(length.try_into().map_err(|_| bad())?) as usize;
    if length > MOST_BLOCK_BYTES {
        return Err(FieldsError("a block larger than any may be".into()));
    }
    let opened = decompress_to_vec_with_limit(packed, length).map_err(|_| bad())?;
    if opened.len() != length {
        return Err(bad());
    }
    read_block(&opened)
}

// HEAD and STRD are CBOR arrays; items that a newer version adds at their
// end are skipped.

fn encode_header(header: &Header) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut e = Encoder::new(&mut bytes);
    // Writing into a Vec can't fail: its error type is empty.
    let _ = e
        .array(8)
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
        });
    bytes
}

fn decode_header(payload: &[u8]) -> Result<Header, FieldsError> {
    let mut d = Decoder::new(payload);
    if d.array()?.is_none_or(|n| n < 8) {
        return Err(FieldsError("a short header".into()));
    }
    Ok(Header {
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
    })
}

fn encode_strand(strand: &StrandHeader) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut e = Encoder::new(&mut bytes);
    let _ = e
        .array(3)
        .and_then(|e| e.bytes(strand.strand.bytes()))
        .and_then(|e| e.bytes(&strand.digest))
        .and_then(|e| e.array(2 * strand.holds.len() as u64));
    for (author, upto) in &strand.holds {
        let _ = e.bytes(author.bytes()).and_then(|e| e.u64(*upto));
    }
    bytes
}

fn decode_strand(payload: &[u8]) -> Result<StrandHeader, FieldsError> {
    let mut d = Decoder::new(payload);
    if d.array()?.is_none_or(|n| n < 3) {
        return Err(FieldsError("a short strand".into()));
    }
    let strand = StrandId::from_bytes(decode_id(&mut d)?);
    let digest = d.bytes()?.try_into().map_err(|_| FieldsError("a digest that has not 32 bytes".into()))?;
    let mut holds = Vec::new();
    for _ in 0..d.array()?.unwrap_or(0) / 2 {
        holds.push((AuthorId::from_bytes(decode_id(&mut d)?), d.u64()?));
    }
    Ok(StrandHeader { strand, holds, digest })
}

#[cfg(test)]
mod tests;
