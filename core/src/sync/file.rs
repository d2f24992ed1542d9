//! The exchange file: what travels between two devices, extension `.chalk`.
//!
//! Version 3, the one that is written, is a sealed file (see [`seal`](super::seal))
//! that opens to this; version 2 had other runs, version 1 lay open and had no
//! signatures:
//! ```text
//! 89 'C' 'H' 'K' 0D 0A 1A 0A     magic: shows damage by text-mode transfers
//! u16 version, u16 lowest reader version                     little endian
//! chunks: 4 letters, u32 length, payload, 8 bytes of check   little endian
//!   HEAD   who sends, to whom, when: first, and once                  CBOR
//!   WHOS   a person and their devices, see `identity`: the sender, and
//!          all who wrote what follows
//!   STRD   a strand: identity, digest, version vector                 CBOR
//!   BLCK   changes of the strand before it: u32 opened length (little
//!          endian), then the block as raw DEFLATE (RFC 1951)
//!   SIGN   the runs (see `run`) that cover the blocks since the last, in order:
//!          CBOR [device: 16 bytes, [run, ...]]; runs that say who belongs to
//!          the strand, and what was erased, come before the others
//!   padd   zeros, so that the size says little
//!   DONE   the whole SHA-256 of everything before it, then the sender's
//!          signature over "chalkface file 2" and that; nothing follows
//! ```
//! The check of a chunk is the first 8 bytes of the SHA-256 (FIPS 180-4) of
//! the file from its first byte up to the check itself: magic, versions and
//! earlier checks too. So a chunk can't be changed, lost, added or moved.
//! `DONE` hashes the file up to its own four letters. In version 1 there are
//! no `WHOS`, `SIGN` and `padd`, and `DONE` is the hash alone.
//!
//! A reader refuses an unknown chunk whose first letter is a capital, and
//! skips one whose first letter is small. It refuses a file whose lowest
//! reader version is above its own; the other version only tells who wrote it.
//! `HEAD` and `STRD` are in [`head`], what is in a block stands in
//! [`block`](super::block), what is in a change in [`change`](super::change).

pub mod head;
mod write;

use std::io::{ErrorKind, Read};

use minicbor::Decoder;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use sha2::{Digest, Sha256};

use super::block::{MOST_BLOCK_BYTES, read_block};
use super::change::{Change, decode_id};
use super::identity::Identity;
use super::keys::{PublicKey, SignatureBytes, is_signed};
use super::run::Run;
use super::seal::SealError;
use crate::model::AuthorId;
use crate::model::fields::FieldsError;

pub use head::{Header, StrandHeader};
pub use write::{FileWriter, padded};

const MAGIC: [u8; 8] = [0x89, b'C', b'H', b'K', 0x0d, 0x0a, 0x1a, 0x0a];
/// The version that this code writes, and the highest it reads.
pub const VERSION: u16 = 3;
/// The version whose files lay open and were not signed.
pub const OPEN_VERSION: u16 = 1;
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
    /// It is sealed, and not to this device.
    #[error(
        "the exchange file is sealed to other devices; if it is for you, give its sender your newest card and ask again"
    )]
    NotOurs,
    /// It could not be sealed.
    #[error("the exchange file can't be sealed: {0}")]
    Seal(SealError),
    /// The system could not read or write it.
    #[error("the exchange file can't be read or written: {0}")]
    Io(#[from] std::io::Error),
}

impl From<SealError> for FileError {
    fn from(error: SealError) -> Self {
        match error {
            SealError::NotOurs => Self::NotOurs,
            SealError::Broken => Self::Damaged { what: "its seal is broken".into(), at: 0 },
            SealError::Io(error) => Self::Io(error),
            nobody @ SealError::Nobody => Self::Seal(nobody),
        }
    }
}

/// One part of a file, as it is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// Somebody and their devices.
    Person(Identity),
    /// A strand begins.
    Strand(StrandHeader),
    /// Changes of the strand that began last.
    Changes(Vec<Change>),
    /// The runs of a device that cover all changes since the last ones.
    Runs(AuthorId, Vec<Run>),
}

/// Reads an exchange file part by part, in bounded memory.
///
/// What it gave may only be kept once [`FileReader::next_part`] has answered
/// `None`: the last check covers the whole file.
pub struct FileReader<R: Read> {
    from: R,
    hash: Sha256,
    at: u64,
    version: u16,
    header: Header,
    /// The hash at the end, and the sender's signature over it.
    end: Option<([u8; 32], SignatureBytes)>,
}

impl<R: Read> FileReader<R> {
    /// Opens a file and reads who sent it.
    ///
    /// # Errors
    /// Any [`FileError`].
    pub fn new(from: R) -> Result<Self, FileError> {
        let header = Header::nobody();
        let mut reader = Self { from, hash: Sha256::new(), at: 0, version: VERSION, header, end: None };
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
        reader.version = needs;
        let (letters, payload) = reader.chunk()?;
        if &letters != b"HEAD" {
            return Err(reader.damaged("no header"));
        }
        reader.header = head::decode_header(&payload).map_err(|e| reader.damaged(e.0))?;
        Ok(reader)
    }

    /// Who sent it to whom.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Its lowest reader version: 1 for a file without signatures.
    pub fn version(&self) -> u16 {
        self.version
    }

    /// Whether a device signed all of it; only known at its end.
    pub fn is_signed_by(&self, signer: &PublicKey) -> bool {
        self.end.is_some_and(|(hash, signature)| is_signed(signer, &end_message(&hash), &signature))
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
                    let strand = head::decode_strand(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Strand(strand)));
                }
                b"BLCK" => {
                    let changes = open_block(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Changes(changes)));
                }
                b"WHOS" if self.version > OPEN_VERSION => {
                    let person = Identity::decode(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Person(person)));
                }
                b"SIGN" if self.version > OPEN_VERSION => {
                    let (author, runs) = decode_runs(&payload).map_err(|e| self.damaged(e.0))?;
                    return Ok(Some(Part::Runs(author, runs)));
                }
                b"DONE" => {
                    let (hash, signature) = payload.split_at_checked(32).unwrap_or_default();
                    if hash != before.finalize().as_slice() {
                        return Err(self.damaged("the check over all of it"));
                    }
                    self.end = match (self.version, hash.try_into(), signature.try_into()) {
                        (OPEN_VERSION, _, _) if signature.is_empty() => None,
                        (_, Ok(hash), Ok(signature)) if self.version > OPEN_VERSION => {
                            Some((hash, signature))
                        }
                        _ => return Err(self.damaged("its signature")),
                    };
                    return match self.from.read(&mut [0]) {
                        Ok(0) => Ok(None),
                        Ok(_) => Err(self.damaged("something follows its end")),
                        Err(error) => Err(self.broken(error)),
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
        self.from.read_exact(&mut bytes).map_err(|error| self.broken(error))?;
        self.at += count as u64;
        self.hash.update(&bytes);
        Ok(bytes)
    }

    fn broken(&self, error: std::io::Error) -> FileError {
        match error.kind() {
            ErrorKind::UnexpectedEof => FileError::CutShort { at: self.at },
            // So says a seal that was broken.
            ErrorKind::InvalidData => self.damaged("its seal is broken"),
            _ => FileError::Io(error),
        }
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

fn decode_runs(payload: &[u8]) -> Result<(AuthorId, Vec<Run>), FieldsError> {
    let mut d = Decoder::new(payload);
    if d.array()? != Some(2) {
        return Err(FieldsError("no runs".into()));
    }
    let author = AuthorId::from_bytes(decode_id(&mut d)?);
    let count = d.array()?.unwrap_or(0);
    let mut runs = Vec::new();
    for _ in 0..count {
        runs.push(Run::decode(&mut d)?);
    }
    if d.position() != payload.len() {
        return Err(FieldsError("bytes left over after runs".into()));
    }
    Ok((author, runs))
}

fn end_message(hash: &[u8; 32]) -> Vec<u8> {
    [b"chalkface file 2".as_slice(), hash].concat()
}

#[cfg(test)]
mod tests;
