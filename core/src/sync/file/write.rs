//! Writing an exchange file: blocks of changes with the runs that cover them.
//! Start at [`FileWriter`].

use std::io::Write;

use minicbor::Encoder;
use miniz_oxide::deflate::compress_to_vec;
use sha2::{Digest, Sha256};

use super::head::{Header, StrandHeader, encode_header, encode_strand};
use super::{FileError, MAGIC, VERSION, check_of, end_message};
use crate::model::AuthorId;
use crate::sync::block::BlockWriter;
use crate::sync::change::Change;
use crate::sync::identity::Identity;
use crate::sync::keys::DeviceKeys;
use crate::sync::run::Run;

/// DEFLATE's usual middle between time and size.
const LEVEL: u8 = 6;
/// No file is smaller: what a few balls weigh and what a week weighs look alike.
const LEAST_BYTES: u64 = 4096;
/// A chunk without its payload: letters, length, check.
const FRAME_BYTES: u64 = 16;
/// The last chunk: hash and signature.
const END_BYTES: u64 = FRAME_BYTES + 96;
const MOST_PADDING_BYTES: u64 = 64 * 1024;

/// Writes an exchange file.
pub struct FileWriter<W: Write> {
    to: W,
    hash: Sha256,
    at: u64,
    block: Option<(AuthorId, BlockWriter)>,
    /// Who signed the runs that wait.
    author: AuthorId,
    runs: Vec<u8>,
    count: u64,
}

impl<W: Write> FileWriter<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn new(to: W, header: &Header) -> Result<Self, FileError> {
        let (hash, author) = (Sha256::new(), header.device);
        let mut writer = Self { to, hash, at: 0, block: None, author, runs: Vec::new(), count: 0 };
        writer.bytes(&MAGIC)?;
        writer.bytes(&VERSION.to_le_bytes())?;
        writer.bytes(&VERSION.to_le_bytes())?;
        writer.chunk(*b"HEAD", &encode_header(header))?;
        Ok(writer)
    }

    /// Tells who somebody is.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn person(&mut self, person: &Identity) -> Result<(), FileError> {
        self.flush()?;
        self.chunk(*b"WHOS", &person.encode())
    }

    /// Begins a strand.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn strand(&mut self, strand: &StrandHeader) -> Result<(), FileError> {
        self.flush()?;
        self.chunk(*b"STRD", &encode_strand(strand))
    }

    /// Adds a run of the strand that began last, with its changes.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn run(&mut self, author: AuthorId, run: &Run, changes: &[Change]) -> Result<(), FileError> {
        let goes_on = self
            .block
            .as_ref()
            .is_some_and(|(of, block)| *of == author && changes.first().is_some_and(|c| block.takes(c)));
        if !goes_on {
            self.flush()?;
        }
        self.author = author;
        let mut last = None;
        for change in changes {
            // A block counts without a gap; where something was erased, the next begins.
            if last.is_some_and(|last| change.seq != last + 1) {
                self.flush_block()?;
            }
            last = Some(change.seq);
            let (_, block) = self.block.get_or_insert_with(|| (author, BlockWriter::new(author, change.seq)));
            block.push(change);
        }
        run.encode(&mut self.runs);
        self.count += 1;
        Ok(())
    }

    /// Pads and signs the file, ends it, and gives back where it was written.
    ///
    /// # Errors
    /// [`FileError::Io`] if it can't be written.
    pub fn finish(mut self, keys: &DeviceKeys) -> Result<W, FileError> {
        self.flush()?;
        let mut left = padding(self.at + END_BYTES);
        while left > 0 {
            let mut payload = (left - FRAME_BYTES).min(MOST_PADDING_BYTES);
            let rest = left - FRAME_BYTES - payload;
            if rest > 0 && rest < FRAME_BYTES {
                payload -= FRAME_BYTES;
            }
            self.chunk(*b"padd", &vec![0; payload as usize])?;
            left -= FRAME_BYTES + payload;
        }
        let hash: [u8; 32] = self.hash.clone().finalize().into();
        let signature = keys.sign(&end_message(&hash));
        self.chunk(*b"DONE", &[hash.as_slice(), &signature].concat())?;
        Ok(self.to)
    }

    fn flush_block(&mut self) -> Result<(), FileError> {
        let Some((_, block)) = self.block.take() else { return Ok(()) };
        let opened = block.finish();
        let mut payload = (opened.len() as u32).to_le_bytes().to_vec();
        payload.extend(compress_to_vec(&opened, LEVEL));
        self.chunk(*b"BLCK", &payload)
    }

    fn flush(&mut self) -> Result<(), FileError> {
        self.flush_block()?;
        if self.count == 0 {
            return Ok(());
        }
        let author = self.author;
        let mut runs = Vec::with_capacity(self.runs.len() + 32);
        let _ = Encoder::new(&mut runs)
            .array(2)
            .and_then(|e| e.bytes(author.bytes()))
            .and_then(|e| e.array(self.count));
        runs.append(&mut self.runs);
        self.count = 0;
        self.chunk(*b"SIGN", &runs)
    }

    pub(super) fn chunk(&mut self, letters: [u8; 4], payload: &[u8]) -> Result<(), FileError> {
        self.bytes(&letters)?;
        self.bytes(&(payload.len() as u32).to_le_bytes())?;
        self.bytes(payload)?;
        let check = check_of(&self.hash);
        self.bytes(&check)
    }

    fn bytes(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.hash.update(bytes);
        self.at += bytes.len() as u64;
        Ok(self.to.write_all(bytes)?)
    }
}

/// How many bytes of padding, frames and all, make a file of `bytes` one of a
/// padded size: none, or enough for a chunk.
fn padding(bytes: u64) -> u64 {
    let mut whole = padded(bytes.max(LEAST_BYTES));
    while whole != bytes && whole - bytes < FRAME_BYTES {
        whole = padded(whole + 1);
    }
    whole - bytes
}

/// The next size that is padded to: Nikitin, Barman, Lueks, Underwood, Hubaux
/// and Ford, *Reducing Metadata Leakage from Encrypted Files and Communication
/// with PURBs* (PoPETs 2019), algorithm 1: the mantissa of a size has no more
/// bits than its exponent, so at most 12 % is added.
pub fn padded(bytes: u64) -> u64 {
    if bytes < 2 {
        return bytes;
    }
    let exponent = bytes.ilog2();
    let zeros = exponent - (exponent.ilog2() + 1).min(exponent);
    let mask = (1_u64 << zeros) - 1;
    (bytes + mask) & !mask
}
