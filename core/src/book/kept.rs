//! Results that can be computed again, kept so that they need not be.
//!
//! The rule: nothing rests on them. They are outside digest, rebuild, check of
//! the fold, and exchange; a result counts only where its print, a hash of all
//! that it was computed from, is the one asked for; whatever goes wrong here,
//! from a damaged row to a book that may only be read, is a miss and no error.
//! Start at [`Book::cached`] and [`Book::keep`].

use std::time::Duration;

use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use sha2::{Digest, Sha256};

use super::Book;
use super::error::BookError;
use super::open::PATIENCE;
use crate::model::{RecordId, StrandId};

/// Which results, and in which form: a new form takes a new number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeptKind(pub u16);

/// A hash of everything that a result was computed from.
pub type Print = [u8; 16];

/// Bytes of the check at a value's end.
const CHECK: usize = 8;

/// The results of one kind that a book keeps of a strand.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Kept(Vec<(RecordId, Print, Vec<u8>)>);

impl Kept {
    /// The result about a record, if it was computed from just that.
    pub fn get(&self, id: RecordId, print: &Print) -> Option<&[u8]> {
        let at = self.0.binary_search_by_key(&id, |(id, ..)| *id).ok()?;
        let (_, kept, bytes) = self.0.get(at)?;
        let (value, check) = bytes.split_last_chunk::<CHECK>()?;
        (kept == print && *check == check_of(id, print, value)).then_some(value)
    }

    /// What the result about a record was computed from.
    pub fn print(&self, id: RecordId) -> Option<Print> {
        let at = self.0.binary_search_by_key(&id, |(id, ..)| *id).ok()?;
        self.0.get(at).map(|(_, print, _)| *print)
    }

    /// How many there are, fitting or not.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl Book {
    /// The results of a kind that the book keeps of a strand; none where they
    /// can't be read.
    pub fn cached(&self, strand: StrandId, kind: KeptKind) -> Kept {
        self.read_kept(strand, kind).unwrap_or_default()
    }

    /// Keeps results in place of earlier ones about the same records, all or
    /// none, without waiting for another program. Whether they are kept now.
    pub fn keep<'a>(
        &self,
        strand: StrandId,
        kind: KeptKind,
        results: impl IntoIterator<Item = (RecordId, Print, &'a [u8])>,
    ) -> bool {
        let patience = |db: &Connection, time| db.busy_timeout(time).is_ok();
        patience(&self.db, Duration::ZERO) && {
            let kept = self.write_kept(strand, kind, results).is_ok();
            patience(&self.db, PATIENCE) && kept
        }
    }

    fn read_kept(&self, strand: StrandId, kind: KeptKind) -> Result<Kept, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(Kept::default()) };
        let mut statement = self.db.prepare_cached(
            "SELECT id, print, value FROM kept WHERE strand = ?1 AND kind = ?2 ORDER BY id",
        )?;
        let rows = statement.query_map(params![no, kind.0], |row| {
            Ok((RecordId::from_bytes(row.get(0)?), row.get(1)?, row.get(2)?))
        })?;
        // A row that isn't what it should be is left out by itself.
        Ok(Kept(rows.filter_map(Result::ok).collect()))
    }

    fn write_kept<'a>(
        &self,
        strand: StrandId,
        kind: KeptKind,
        results: impl IntoIterator<Item = (RecordId, Print, &'a [u8])>,
    ) -> Result<(), BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(()) };
        let tx = Transaction::new_unchecked(&self.db, TransactionBehavior::Immediate)?;
        // Made anew where somebody took the table away, or the book could not
        // be brought up to date when it was opened.
        tx.execute_batch(include_str!("migrations/002.sql"))?;
        let mut put = tx.prepare_cached(
            "INSERT OR REPLACE INTO kept (strand, kind, id, print, value) VALUES (?1, ?2, ?3, ?4, ?5)",
        )?;
        let mut bytes = Vec::new();
        for (id, print, value) in results {
            bytes.clear();
            bytes.extend_from_slice(value);
            bytes.extend_from_slice(&check_of(id, &print, value));
            put.execute(params![no, kind.0, id.bytes(), print, bytes])?;
        }
        drop(put);
        tx.commit()?;
        Ok(())
    }
}

/// The start of SHA-256 over what a row says: no storage notices every changed bit.
fn check_of(id: RecordId, print: &Print, value: &[u8]) -> [u8; CHECK] {
    let digest = Sha256::new().chain_update(id.bytes()).chain_update(print).chain_update(value).finalize();
    let mut check = [0; CHECK];
    for (to, from) in check.iter_mut().zip(digest) {
        *to = from;
    }
    check
}
