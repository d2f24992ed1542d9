//! Files that wait for a person's decision, such as one that is looked at before it is
//! taken in: the device may be killed meanwhile.
//!
//! The rule: they belong to this device alone, are outside digest and exchange, and at
//! most [`MOST`] wait at a time. Start at [`Book::hold`].

use rusqlite::{OptionalExtension, TransactionBehavior, params};

use super::Book;
use super::error::BookError;
use crate::model::{Minter, Now};

/// What a held file is called by: the bytes of a fresh identity.
pub type Handle = [u8; 16];

/// Files that wait at most: the oldest goes first.
const MOST: i64 = 4;
const TABLE: &str =
    "CREATE TABLE IF NOT EXISTS held (id BLOB PRIMARY KEY, bytes BLOB NOT NULL) WITHOUT ROWID";

impl Book {
    /// Keeps a file until it is let go.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn hold(&mut self, now: Now, bytes: &[u8]) -> Result<Handle, BookError> {
        let id = Minter::new(now).record();
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.execute_batch(TABLE)?;
        tx.execute("INSERT OR REPLACE INTO held (id, bytes) VALUES (?1, ?2)", params![id.bytes(), bytes])?;
        tx.execute(
            "DELETE FROM held WHERE id NOT IN (SELECT id FROM held ORDER BY id DESC LIMIT ?1)",
            [MOST],
        )?;
        tx.commit()?;
        Ok(*id.bytes())
    }

    /// A held file, if it still waits.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn held(&self, handle: &Handle) -> Result<Option<Vec<u8>>, BookError> {
        let there = self.db.table_exists(None, "held")?;
        if !there {
            return Ok(None);
        }
        Ok(self
            .db
            .query_row("SELECT bytes FROM held WHERE id = ?1", [handle], |row| row.get(0))
            .optional()?)
    }

    /// Lets a held file go.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn let_go(&mut self, handle: &Handle) -> Result<(), BookError> {
        if self.db.table_exists(None, "held")? {
            self.db.execute("DELETE FROM held WHERE id = ?1", [handle])?;
        }
        Ok(())
    }
}
