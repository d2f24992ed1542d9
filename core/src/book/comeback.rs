//! A book that comes back from an old copy: what its device wrote since is
//! with others, under numbers that this copy would use again. So the device
//! goes on under a new one, with the keys that it has.
//!
//! The rule that must hold: no number of a device is ever used for two
//! changes that anybody else may hold. Start at [`Book::restore`]; a copy that
//! was put back behind our back is found out by `intake`.

use std::path::Path;

use rusqlite::{Connection, TransactionBehavior, params};

use super::Book;
use super::error::BookError;
use super::fold::{No, author_no};
use super::identity::store;
use super::runs;
use crate::model::ids::Minter;
use crate::model::{AuthorId, Now, StrandId};
use crate::sync::{Device, DeviceKeys, Identity};

impl Book {
    /// Writes a whole copy of the book into a new file.
    ///
    /// # Errors
    /// [`BookError::Exists`], or what the storage reports.
    pub fn backup(&self, to: &Path) -> Result<(), BookError> {
        if to.exists() {
            return Err(BookError::Exists { path: to.display().to_string() });
        }
        self.db.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
        Ok(())
    }

    /// Makes this book, which was copied back from a backup, one that goes on:
    /// under a new number of the same device. `keys` are those it had.
    ///
    /// # Errors
    /// [`BookError::WrongKeys`], [`BookError::Revoked`], or what the storage reports.
    pub fn restore(&mut self, keys: &DeviceKeys, now: Now) -> Result<AuthorId, BookError> {
        let (own, keys) = (self.standing_identity(keys)?, &self.numbered(keys));
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let device = renumber(&tx, keys, own, now)?;
        tx.commit()?;
        self.device = device;
        Ok(device)
    }
}

/// Gives the device a new number, inside a transaction.
pub(super) fn renumber(
    db: &Connection,
    keys: &DeviceKeys,
    mut own: Identity,
    now: Now,
) -> Result<AuthorId, BookError> {
    let device = AuthorId(Minter::new(now).mint());
    let old = author_no(db, keys.author())?;
    author_no(db, device)?;
    // From now on the old number is one of others, heard as far as it goes.
    // What it wrote and never sent is signed under it: the new one can't.
    let mut statement = db.prepare_cached("SELECT no, id FROM strand ORDER BY no")?;
    let strands: Vec<(No, [u8; 16])> =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    for (strand, id) in strands {
        runs::sign_own(db, keys, (strand, StrandId::from_bytes(id)))?;
        hear_without_gap(db, strand, old)?;
    }
    let fresh = Device { author: device, ..Device::of(keys) };
    if !own.vouch(keys, fresh) {
        return Err(BookError::Revoked);
    }
    store(db, &own, None, true)?;
    db.execute("UPDATE about SET value = ?1 WHERE key = 'device'", [device.bytes()])?;
    Ok(device)
}

/// Notes how far a device's changes are here without a gap.
fn hear_without_gap(db: &Connection, strand: No, author: No) -> Result<(), BookError> {
    let (mut upto, mut latest) = (0_i64, 0_i64);
    let mut statement =
        db.prepare_cached("SELECT seq, hlc FROM change WHERE strand = ?1 AND author = ?2 ORDER BY seq")?;
    let mut rows = statement.query(params![strand, author])?;
    while let Some(row) = rows.next()? {
        let seq: i64 = row.get(0)?;
        upto += i64::from(seq == upto + 1);
        latest = latest.max(row.get(1)?);
    }
    if upto > 0 || latest > 0 {
        db.prepare_cached(
            "INSERT INTO heard (strand, author, upto, hlc) VALUES (?1, ?2, ?3, ?4)
             ON CONFLICT DO UPDATE SET upto = excluded.upto, hlc = max(hlc, excluded.hlc)",
        )?
        .execute(params![strand, author, upto, latest])?;
    }
    Ok(())
}
