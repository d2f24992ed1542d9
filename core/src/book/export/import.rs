//! Taking an export in: the same checks as for an exchange file, but that nobody has
//! signed the whole: whoever owns the book took it in with their own hands.
//!
//! Changes that nobody signed are taken in only with a student who is new here. Start
//! at [`Book::import`].

use rusqlite::TransactionBehavior;

use super::{ExportError, Item};
use crate::book::error::BookError;
use crate::book::intake::{Importing, Waiting};
use crate::book::{Book, DeviceKeys, Receipt};
use crate::model::Now;

impl Book {
    /// Takes in an export, all of it that may be here, in one transaction; what may
    /// not is told in the receipt. What is here already stays as it is.
    ///
    /// # Errors
    /// [`ExportError`] for what is none, or what keys and storage report. The book is
    /// then as it was.
    pub fn import(
        &mut self,
        keys: &DeviceKeys,
        now: Now,
        items: impl IntoIterator<Item = Result<Item, ExportError>>,
    ) -> Result<Receipt, ExportError> {
        self.take_along(keys, now, items, true)
    }

    /// What taking in an export would bring; the book stays as it is.
    ///
    /// # Errors
    /// As [`Book::import`].
    pub fn look_into_export(
        &mut self,
        keys: &DeviceKeys,
        now: Now,
        items: impl IntoIterator<Item = Result<Item, ExportError>>,
    ) -> Result<Receipt, ExportError> {
        self.take_along(keys, now, items, false)
    }

    fn take_along(
        &mut self,
        keys: &DeviceKeys,
        now: Now,
        items: impl IntoIterator<Item = Result<Item, ExportError>>,
        keep: bool,
    ) -> Result<Receipt, ExportError> {
        let own = self.standing_identity(keys)?;
        let keys = &self.numbered(keys);
        let students = self.students()?;
        let header = self.own_header(&own, now);
        let (device, owner) = (self.device, self.owner.clone());
        let tx =
            self.db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(BookError::from)?;
        let mut importing = Importing::begin(&tx, (device, &owner), (&own, keys), now, &header, &students);
        let mut waiting = Waiting::default();
        for item in items {
            match item? {
                Item::Person(person) => importing.person(person)?,
                Item::Strand { strand, owner, founder } => {
                    waiting.must_be_empty()?;
                    importing.strand(strand, owner, founder)?;
                }
                Item::Change(change) => waiting.add(vec![change])?,
                Item::Run(author, run) => {
                    let changes = waiting.of(&run)?;
                    importing.run(author, &run, changes)?;
                }
                Item::Unsigned(change) => {
                    waiting.must_be_empty()?;
                    importing.unsigned(&change)?;
                }
            }
        }
        waiting.must_be_empty()?;
        let (receipt, number) = importing.end(own, keys)?;
        if !keep {
            return Ok(receipt);
        }
        tx.commit().map_err(BookError::from)?;
        self.device = number.unwrap_or(self.device);
        // If it can't be done now, the book remembers that it is due.
        let _ = self.scrub();
        Ok(receipt)
    }
}
