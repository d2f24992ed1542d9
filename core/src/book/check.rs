//! Proof that the records are the fold of the changes, and the fold made anew.
//!
//! # Digests
//! A strand's digest is the SHA-256 (FIPS 180-4) over its records in order of
//! kind, then identity: removed ones too, and those of unknown kinds.
//! ```text
//! u16 kind, 16 bytes of identity, u64 length, the state's bytes   big endian
//! ```
//! The state's bytes are those of [`State::encode`]. The digest of a whole
//! book is the SHA-256 over (16 bytes of identity, digest) of its strands in
//! order of identity. Start at [`Book::check`].

use std::collections::BTreeMap;

use rusqlite::{Connection, TransactionBehavior, params};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::Book;
use super::erased;
use super::error::BookError;
use super::fold::No;
use crate::model::{AuthorId, Kind, RecordId, StrandId, Student};
use crate::sync::{Body, Hlc, Stamp, State};

/// What a check of a book found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// Whether all is well.
    pub ok: bool,
    /// What isn't, in plain words.
    pub problems: Vec<String>,
    /// How many changes the book holds.
    pub changes: u64,
    /// Digest over all strands, in hexadecimal.
    pub digest: String,
    /// Digest of each strand.
    pub strands: Vec<StrandDigest>,
}

/// The digest of one strand: equal in every book that holds the same of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StrandDigest {
    /// The student's name.
    pub student: String,
    /// SHA-256 over the merged records, in hexadecimal.
    pub digest: String,
}

type Records = BTreeMap<(Kind, RecordId), State>;

impl Book {
    /// Checks the file's structure, every change, and that the records are
    /// their fold. Changes nothing.
    ///
    /// # Errors
    /// What the storage reports; what is found to be wrong is in the answer.
    pub fn check(&self) -> Result<Check, BookError> {
        let mut problems = Vec::new();
        let structure: Vec<String> = self
            .db
            .prepare("PRAGMA integrity_check(20)")?
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        problems.extend(structure.into_iter().filter(|line| line != "ok"));
        let mut changes = 0;
        let mut strands = Vec::new();
        let mut whole = Sha256::new();
        for (no, strand) in self.strands()? {
            let name = self
                .record::<Student>(strand, RecordId(strand.0))?
                .map_or_else(|| strand.to_string(), |s| s.value.name.to_string());
            let (records, count) = refold(&self.db, no)?;
            changes += count;
            let digest = digest_of_table(&self.db, no)?;
            if digest != digest_of(&records) {
                problems.push(format!(
                    "the records of {name} are not what their changes say; run `book rebuild`"
                ));
            }
            problems.extend(self.wrong_marks(no, &name)?);
            whole.update(strand.bytes());
            whole.update(digest);
            strands.push(StrandDigest { student: name, digest: hex(&digest) });
        }
        Ok(Check { ok: problems.is_empty(), problems, changes, digest: hex(&whole.finalize()), strands })
    }

    /// Makes the records anew from the changes.
    ///
    /// # Errors
    /// What the storage reports; then nothing was changed.
    pub fn rebuild(&mut self) -> Result<(), BookError> {
        let strands = self.strands()?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        for (no, _) in strands {
            rebuild_strand(&tx, no)?;
        }
        tx.commit()?;
        Ok(())
    }

    /// The digest of a strand's records.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn digest(&self, strand: StrandId) -> Result<[u8; 32], BookError> {
        digest_of_table(&self.db, self.strand_no(strand)?.unwrap_or(0))
    }

    /// All strands with their small numbers, in order of identity.
    fn strands(&self) -> Result<Vec<(No, StrandId)>, BookError> {
        Ok(self
            .db
            .prepare_cached("SELECT no, id FROM strand ORDER BY id")?
            .query_map([], |row| Ok((row.get(0)?, StrandId::from_bytes(row.get(1)?))))?
            .collect::<Result<_, _>>()?)
    }

    /// Whether this device's own changes have no gap, and the marks of how far
    /// others were heard point at changes that are there.
    fn wrong_marks(&self, strand: No, name: &str) -> Result<Vec<String>, BookError> {
        let mut problems = Vec::new();
        if erased::gone(&self.db, strand)?.is_some() {
            let sql = "SELECT (SELECT count(*) FROM change WHERE strand = ?1 AND kind <> 16)
                     + (SELECT count(*) FROM record WHERE strand = ?1 AND kind <> 16)";
            let left: i64 = self.db.query_row(sql, [strand], |row| row.get(0))?;
            if left > 0 {
                problems.push(format!("{left} things of {name}, who was erased, are still here"));
            }
            return Ok(problems);
        }
        let (count, last): (i64, i64) = self.db.query_row(
            "SELECT count(*), coalesce(max(seq), 0) FROM change JOIN author ON author.no = change.author
             WHERE strand = ?1 AND author.id = ?2",
            params![strand, self.device.bytes()],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        if count != last {
            problems.push(format!("{} of this device's changes for {name} are missing", last - count));
        }
        let wrong: i64 = self.db.query_row(
            "SELECT count(*) FROM heard WHERE strand = ?1 AND upto <>
             (SELECT count(*) FROM change WHERE change.strand = heard.strand AND change.author = heard.author
              AND change.seq <= heard.upto)",
            [strand],
            |row| row.get(0),
        )?;
        if wrong > 0 {
            problems.push(format!("changes of {wrong} other devices for {name} are missing"));
        }
        Ok(problems)
    }
}

/// Makes one strand's records anew.
pub(super) fn rebuild_strand(db: &Connection, strand: No) -> Result<(), BookError> {
    let (records, _) = refold(db, strand)?;
    db.execute("DELETE FROM record WHERE strand = ?1", [strand])?;
    for ((kind, id), state) in &records {
        super::fold::store_state(db, strand, *kind, *id, state)?;
    }
    Ok(())
}

/// A strand's records, folded from its changes, and how many these are.
fn refold(db: &Connection, strand: No) -> Result<(Records, u64), BookError> {
    let mut statement = db.prepare_cached(
        "SELECT author.id, hlc, kind, record, body FROM change JOIN author ON author.no = change.author
         WHERE strand = ?1 AND kind <> 0 ORDER BY change.author, seq",
    )?;
    let mut rows = statement.query([strand])?;
    let mut records = Records::new();
    let mut count = 0;
    while let Some(row) = rows.next()? {
        let hlc = Hlc::from_packed(row.get::<_, i64>(1)? as u64)
            .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?;
        let stamp = Stamp { hlc, author: AuthorId::from_bytes(row.get(0)?) };
        let body = Body::decode(row.get_ref(4)?.as_blob().unwrap_or_default())?;
        let key = (Kind(row.get(2)?), RecordId::from_bytes(row.get(3)?));
        records.entry(key).or_default().merge(stamp, body);
        count += 1;
    }
    Ok((records, count))
}

fn digest_of(records: &Records) -> [u8; 32] {
    let mut hash = Sha256::new();
    let mut bytes = Vec::new();
    for ((kind, id), state) in records {
        bytes.clear();
        state.encode(&mut bytes);
        add(&mut hash, *kind, id.bytes(), &bytes);
    }
    hash.finalize().into()
}

/// The digest of a strand's records as the table has them.
pub(super) fn digest_of_table(db: &Connection, strand: No) -> Result<[u8; 32], BookError> {
    let mut statement =
        db.prepare_cached("SELECT kind, id, state FROM record WHERE strand = ?1 ORDER BY kind, id")?;
    let mut rows = statement.query([strand])?;
    let mut hash = Sha256::new();
    while let Some(row) = rows.next()? {
        let id = row.get_ref(1)?.as_blob().unwrap_or_default();
        add(&mut hash, Kind(row.get(0)?), id, row.get_ref(2)?.as_blob().unwrap_or_default());
    }
    Ok(hash.finalize().into())
}

fn add(hash: &mut Sha256, kind: Kind, id: &[u8], state: &[u8]) {
    hash.update(kind.0.to_be_bytes());
    hash.update(id);
    hash.update((state.len() as u64).to_be_bytes());
    hash.update(state);
}

/// Bytes in hexadecimal.
pub(super) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
