//! All that a book holds of its students, to be taken along: as JSON or CSV, and
//! back without loss.
//!
//! What goes out is the log itself: every change with its author, clock and fields,
//! the signatures over them, and whose devices these are. So what comes back in is
//! the same records, conflicts and histories, and can be sent on as before. Names of
//! acquaintances, keys, and what can be computed again are not in it; what was
//! erased is in no export. An export is not sealed: whoever has it can read it.
//!
//! The rule that must hold: export and import give equal digests, whatever the
//! records are. Start at [`Book::export`] and [`Book::import`]; [`json`] and
//! [`sheet`] are the forms, [`tables`] what people read.

mod import;
pub mod json;
pub mod sheet;
pub mod tables;
#[cfg(test)]
mod tests;

use rusqlite::{TransactionBehavior, params};

use super::erased::{gone, whose};
use super::error::BookError;
use super::exchange::holds;
use super::fold::No;
use super::identity::load;
use super::members::{Members, Say};
use super::runs::{self, Which, each_change};
use super::{Book, DeviceKeys};
use crate::model::{AuthorId, StrandId};
use crate::sync::{Change, Identity, PublicKey, Run};

/// One thing of an export, in the order in which they stand there: people, then
/// strand by strand who has a say in it, runs with their changes before each, and
/// changes that nobody signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Item {
    /// Whose devices wrote what follows.
    Person(Identity),
    /// A strand begins.
    Strand {
        /// Which.
        strand: StrandId,
        /// The root of who says who belongs to it.
        owner: Option<PublicKey>,
        /// The root of who made it.
        founder: Option<PublicKey>,
    },
    /// A change of the strand that began last, before the run that covers it.
    Change(Change),
    /// The run that covers the changes since the last one.
    Run(AuthorId, Run),
    /// A change that nobody signed, from before there were keys.
    Unsigned(Change),
}

/// Why an export could not be read. Nothing was taken from it.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// It is something else, or was changed.
    #[error("this is no export, or it was changed ({what}); nothing was taken in")]
    Unclear {
        /// What doesn't fit, and where.
        what: String,
    },
    /// The system could not read or write it.
    #[error("the export can't be read or written: {0}")]
    Io(#[from] std::io::Error),
    /// The book.
    #[error(transparent)]
    Book(#[from] BookError),
}

/// A form that an export has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A line of JSON an item.
    Json,
    /// Rows of CSV.
    Sheet,
}

impl Form {
    /// The form of an export that begins so; nothing for other files.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        match bytes.trim_ascii_start() {
            json if json.starts_with(b"{") => Some(Self::Json),
            sheet if sheet.starts_with(sheet::START.as_bytes()) => Some(Self::Sheet),
            _ => None,
        }
    }
}

impl ExportError {
    pub(super) fn unclear(what: impl std::fmt::Display) -> Self {
        Self::Unclear { what: what.to_string() }
    }
}

impl Book {
    /// Gives all that the book holds of some students, or of all, item by item.
    /// With keys, what this device has not signed yet is signed first.
    ///
    /// # Errors
    /// What keys and storage report, and what `each` answers.
    pub fn export(
        &mut self,
        keys: Option<&DeviceKeys>,
        only: Option<&[StrandId]>,
        mut each: impl FnMut(Item) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let strands = self.to_export(only)?;
        if let Some(keys) = keys {
            self.standing_identity(keys)?;
            let keys = &self.numbered(keys);
            let tx =
                self.db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(BookError::from)?;
            for (no, strand) in &strands {
                runs::sign_own(&tx, keys, (*no, *strand))?;
            }
            tx.commit().map_err(BookError::from)?;
        }
        for person in self.people_of_strands(&strands)? {
            each(Item::Person(person))?;
        }
        for (no, strand) in strands {
            self.export_strand(no, strand, &mut each)?;
        }
        Ok(())
    }

    fn to_export(&self, only: Option<&[StrandId]>) -> Result<Vec<(No, StrandId)>, BookError> {
        let mut statement = self.db.prepare_cached("SELECT no, id FROM strand ORDER BY id")?;
        let all: Vec<(No, [u8; 16])> =
            statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        let mut strands = Vec::new();
        for (no, id) in all {
            let strand = StrandId::from_bytes(id);
            if only.is_none_or(|only| only.contains(&strand)) && gone(&self.db, no)?.is_none() {
                strands.push((no, strand));
            }
        }
        Ok(strands)
    }

    /// Everybody who wrote in these strands or belongs to them.
    fn people_of_strands(&self, strands: &[(No, StrandId)]) -> Result<Vec<Identity>, BookError> {
        let mut roots = Vec::new();
        for (no, _) in strands {
            let members = Members::of(&self.db, *no)?;
            roots.extend([members.say.owner, members.say.founder].into_iter().flatten());
            roots.extend(members.all().map(|member| member.root));
            for (_, author) in self.writers(*no)? {
                roots.extend(whose(&self.db, author)?);
            }
        }
        roots.sort_unstable();
        roots.dedup();
        roots.into_iter().filter_map(|root| load(&self.db, &root).transpose()).collect()
    }

    fn writers(&self, strand: No) -> Result<Vec<(No, AuthorId)>, BookError> {
        Ok(self
            .db
            .prepare_cached(
                "SELECT DISTINCT author.no, author.id FROM change JOIN author ON author.no = change.author
                 WHERE strand = ?1 ORDER BY author.id",
            )?
            .query_map(params![strand], |row| Ok((row.get(0)?, AuthorId::from_bytes(row.get(1)?))))?
            .collect::<Result<_, _>>()?)
    }

    fn export_strand(
        &self,
        no: No,
        strand: StrandId,
        each: &mut impl FnMut(Item) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let say = Say::of(&self.db, no)?;
        each(Item::Strand { strand, owner: say.owner, founder: say.founder })?;
        let mut failed = None;
        let writers = self.writers(no)?;
        for which in [Which::First, Which::Rest] {
            for author in &writers {
                let all = (0, i64::MAX as u64);
                runs::each_run(&self.db, no, *author, all, which, |run, changes| {
                    let mut give = || {
                        for change in changes {
                            each(Item::Change(change.clone()))?;
                        }
                        each(Item::Run(author.1, run.clone()))
                    };
                    if failed.is_none() {
                        failed = give().err();
                    }
                    Ok(())
                })?;
            }
        }
        for (writer, author) in writers {
            // Each change once: beyond the runs are those that nobody signed.
            let covered = runs::covered(&self.db, no, writer)?;
            each_change(&self.db, no, (writer, author), 1, i64::MAX as u64, |change| {
                if failed.is_none() && !covered.iter().any(|span| span.contains(&change.seq)) {
                    failed = each(Item::Unsigned(change)).err();
                }
                failed.is_none()
            })?;
        }
        match failed {
            Some(error) => Err(error),
            None => Ok(()),
        }
    }

    /// How many changes of a student this book holds, for telling how long it takes.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn held_changes(&self, strand: StrandId) -> Result<u64, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(0) };
        Ok(holds(&self.db, no, self.device)?.into_iter().map(|(.., upto)| upto).sum())
    }
}
