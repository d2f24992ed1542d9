//! Sending a strand's news, and what is told of a file that was taken in.
//!
//! What a device has is acknowledged by its own files only, never by sending
//! to it: a file that got lost is made good by the next one. Start at
//! [`Book::send_file`]; taking in is in `intake`.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;

use rusqlite::{Connection, TransactionBehavior, params};
use serde::Serialize;

use super::check::digest_of_table;
use super::error::BookError;
use super::fold::{No, author_no, strand_no};
use super::people::{self, Person};
use super::read::StudentEntry;
use super::{Book, Owner};
use crate::model::{AuthorId, Kind, Moment, Name, Now, RecordId, Role, StrandId};
use crate::sync::file::FileWriter;
use crate::sync::{Change, Conflict, FileError, Header, Hlc, StrandHeader};

/// What was sent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sent {
    /// Whose strand.
    pub student: String,
    /// To whom.
    pub to: String,
    /// How many changes the file holds.
    pub changes: u64,
}

/// What was taken in.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// Who sent it.
    pub from: String,
    /// Changes that are new in this book.
    pub taken: u64,
    /// Changes that it had already.
    pub already_had: u64,
    /// Changes that were kept out, and why.
    pub refused: Vec<RefusedChange>,
    /// Fields that both sides wrote since they last met.
    pub conflicts: Vec<FieldConflict>,
    /// Strand by strand.
    pub strands: Vec<StrandReceipt>,
}

/// What was taken in of one strand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StrandReceipt {
    /// The strand.
    pub strand: StrandId,
    /// The student's name.
    pub student: String,
    /// Changes that are new in this book.
    pub taken: u64,
    /// Earlier changes that did not come yet: another file has them.
    pub missing: u64,
    /// Whether this book now holds all that the sender holds.
    pub complete: bool,
    /// Whether both books' records are the same now; `None` where one holds
    /// changes that the other lacks.
    pub agrees: Option<bool>,
}

/// Changes kept out for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RefusedChange {
    /// How many.
    pub changes: u64,
    /// Why.
    pub reason: String,
}

/// A field that both sides wrote, with every value that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldConflict {
    /// The strand.
    pub strand: StrandId,
    /// The kind of record.
    pub kind: Kind,
    /// The record.
    pub record: RecordId,
    /// The field and its values.
    pub conflict: Conflict,
}

impl Book {
    /// Writes a strand's news for `to`, or all of it, and ends the file.
    ///
    /// # Errors
    /// [`BookError::NotTheirs`] if they may not read it, or what storage and
    /// file report.
    pub fn send(
        &mut self,
        student: &StudentEntry,
        to: &Name,
        now: Now,
        all: bool,
        out: impl Write,
    ) -> Result<Sent, BookError> {
        let (device, owner) = (self.device, self.owner.clone());
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let strand = strand_no(&tx, student.strand)?;
        let receiver = people::named(&tx, to)?;
        let own = owner.role == Role::Student;
        if !people::may_read(&tx, strand, &receiver)? {
            if !own && !people::is_the_student(&receiver, student) {
                return Err(BookError::NotTheirs {
                    person: receiver.name,
                    student: student.student.value.name.to_string(),
                });
            }
            people::let_read(&tx, strand, &receiver)?;
        }
        let sent = write_file(&tx, device, &owner, student, &receiver, now.at, all, out)?;
        tx.commit()?;
        Ok(sent)
    }

    /// Writes a strand's news into the file at `path`: under a temporary name
    /// first, so that nobody takes in half a file.
    ///
    /// # Errors
    /// As [`Book::send`].
    pub fn send_file(
        &mut self,
        student: &StudentEntry,
        to: &Name,
        now: Now,
        all: bool,
        path: &Path,
    ) -> Result<Sent, BookError> {
        let partial = path.with_extension("chalk.part");
        let written = (|| {
            let mut out = BufWriter::new(File::create(&partial).map_err(FileError::Io)?);
            let sent = self.send(student, to, now, all, &mut out)?;
            let file = out.into_inner().map_err(|error| FileError::Io(error.into_error()))?;
            file.sync_all().map_err(FileError::Io)?;
            fs::rename(&partial, path).map_err(FileError::Io)?;
            Ok(sent)
        })();
        if written.is_err() {
            // Nothing of a file that could not be finished should stay behind.
            let _ = fs::remove_file(&partial);
        }
        written
    }
}

#[allow(clippy::too_many_arguments, reason = "the parts of one file, gathered by its one caller")]
fn write_file(
    db: &Connection,
    device: AuthorId,
    owner: &Owner,
    student: &StudentEntry,
    receiver: &Person,
    made: Moment,
    all: bool,
    out: impl Write,
) -> Result<Sent, BookError> {
    let strand = strand_no(db, student.strand)?;
    let header = Header {
        device,
        person: owner.person,
        name: owner.name.to_string(),
        role: owner.role,
        made,
        to_name: receiver.name.clone(),
        to_person: receiver.id,
    };
    let holds = holds(db, strand, device)?;
    let digest = if has_gap(db, strand)? { [0; 32] } else { digest_of_table(db, strand)? };
    let mut file = FileWriter::new(out, &header)?;
    file.strand(&StrandHeader {
        strand: student.strand,
        holds: holds.iter().map(|(_, author, upto)| (*author, *upto)).collect(),
        digest,
    })?;
    let devices = if all { Vec::new() } else { people::devices(db, receiver.no)? };
    let mut changes = 0;
    for (no, author, upto) in holds {
        let mut after = None;
        for device in &devices {
            let has = people::acknowledged(db, *device, strand, no)?;
            after = Some(after.map_or(has, |least: u64| least.min(has)));
        }
        changes += write_changes(db, strand, no, author, after.unwrap_or(0), upto, &mut file)?;
    }
    file.finish()?.flush().map_err(FileError::Io)?;
    Ok(Sent { student: student.student.value.name.to_string(), to: receiver.name.clone(), changes })
}

/// Writes one device's changes after `after`, up to `upto`.
fn write_changes(
    db: &Connection,
    strand: No,
    no: No,
    author: AuthorId,
    after: u64,
    upto: u64,
    file: &mut FileWriter<impl Write>,
) -> Result<u64, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT seq, hlc, made_ms, offset_min, kind, record, body FROM change
         WHERE strand = ?1 AND author = ?2 AND seq > ?3 AND seq <= ?4 ORDER BY seq",
    )?;
    let mut rows = statement.query(params![strand, no, after as i64, upto as i64])?;
    let mut count = 0;
    while let Some(row) = rows.next()? {
        file.change(&Change {
            author,
            seq: row.get::<_, i64>(0)? as u64,
            hlc: Hlc::from_packed(row.get::<_, i64>(1)? as u64)
                .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?,
            made: Moment { utc_ms: row.get(2)?, offset_min: row.get(3)? },
            kind: Kind(row.get(4)?),
            record: RecordId::from_bytes(row.get(5)?),
            body: row.get(6)?,
        })?;
        count += 1;
    }
    Ok(count)
}

/// What this book holds of a strand without a gap, device by device.
pub(super) fn holds(
    db: &Connection,
    strand: No,
    own: AuthorId,
) -> Result<Vec<(No, AuthorId, u64)>, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT author.no, author.id, heard.upto FROM heard JOIN author ON author.no = heard.author
         WHERE strand = ?1 AND upto > 0",
    )?;
    let mut holds: Vec<(No, AuthorId, u64)> = statement
        .query_map([strand], |row| {
            Ok((row.get(0)?, AuthorId::from_bytes(row.get(1)?), row.get::<_, i64>(2)? as u64))
        })?
        .collect::<Result<_, _>>()?;
    let no = author_no(db, own)?;
    let last: i64 = db
        .prepare_cached("SELECT coalesce(max(seq), 0) FROM change WHERE strand = ?1 AND author = ?2")?
        .query_row(params![strand, no], |row| row.get(0))?;
    if last > 0 {
        holds.push((no, own, last as u64));
    }
    holds.sort_by_key(|(_, author, _)| *author);
    Ok(holds)
}

/// Whether the book holds changes of a strand that come after a gap.
pub(super) fn has_gap(db: &Connection, strand: No) -> Result<bool, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT 1 FROM heard WHERE strand = ?1 AND EXISTS
             (SELECT 1 FROM change WHERE change.strand = heard.strand AND change.author = heard.author
              AND change.seq > heard.upto)",
        )?
        .exists([strand])?)
}
