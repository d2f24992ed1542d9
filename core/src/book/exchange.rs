//! Sending a strand's news, and taking in another device's.
//!
//! What a device has is acknowledged by its own files only, never by sending
//! to it: a file that got lost is made good by the next one. Taking in is one
//! transaction; damage anywhere in the file leaves the book as it was.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{BufWriter, Read, Write};
use std::path::Path;

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use serde::Serialize;

use super::check::{digest_of_table, rebuild_strand};
use super::error::BookError;
use super::fold::{No, append, author_no, fold, state_of, strand_no};
use super::people::{self, Person};
use super::read::StudentEntry;
use super::{Book, Owner};
use crate::model::{AuthorId, Kind, Moment, Name, Now, RecordId, Role, StrandId};
use crate::sync::file::{FileReader, FileWriter, Part};
use crate::sync::{Body, Change, Conflict, FileError, Header, Hlc, StrandHeader};

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

    /// Takes in an exchange file.
    ///
    /// # Errors
    /// [`BookError::File`] for a file that isn't whole, [`BookError::NotForUs`],
    /// [`BookError::OurOwn`], or what the storage reports. The book is then as
    /// it was.
    pub fn receive(&mut self, from: impl Read) -> Result<Receipt, BookError> {
        let mut reader = FileReader::new(from)?;
        let header = reader.header().clone();
        if header.device == self.device {
            return Err(BookError::OurOwn { to: header.to_name });
        }
        if header.to_person.is_some_and(|to| to != self.owner.person) {
            return Err(BookError::NotForUs { to: header.to_name, owner: self.owner.name.to_string() });
        }
        Name::new(&header.name)?;
        let students = self.students()?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut intake = Intake {
            db: &tx,
            own: self.device,
            role: self.owner.role,
            header: &header,
            students: &students,
            authors: BTreeMap::new(),
            refused: BTreeMap::new(),
            receipt: Receipt {
                from: header.name.clone(),
                taken: 0,
                already_had: 0,
                refused: Vec::new(),
                conflicts: Vec::new(),
                strands: Vec::new(),
            },
        };
        let mut open: Option<OpenStrand> = None;
        while let Some(part) = reader.next_part()? {
            match part {
                Part::Strand(strand) => {
                    if let Some(done) = open.take() {
                        intake.close(done)?;
                    }
                    open = Some(intake.open(strand)?);
                }
                Part::Changes(changes) => match &mut open {
                    Some(strand) => intake.take(strand, changes)?,
                    None => intake.refuse(changes.len() as u64, "they belong to no student"),
                },
            }
        }
        if let Some(done) = open.take() {
            intake.close(done)?;
        }
        let mut receipt = intake.receipt;
        receipt.refused =
            intake.refused.into_iter().map(|(reason, changes)| RefusedChange { changes, reason }).collect();
        tx.commit()?;
        Ok(receipt)
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
fn holds(db: &Connection, strand: No, own: AuthorId) -> Result<Vec<(No, AuthorId, u64)>, BookError> {
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
fn has_gap(db: &Connection, strand: No) -> Result<bool, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT 1 FROM heard WHERE strand = ?1 AND EXISTS
             (SELECT 1 FROM change WHERE change.strand = heard.strand AND change.author = heard.author
              AND change.seq > heard.upto)",
        )?
        .exists([strand])?)
}

/// A strand that is being taken in.
struct OpenStrand {
    header: StrandHeader,
    no: No,
    /// `None`: welcome. Otherwise the reason why its changes are kept out.
    barred: Option<String>,
    taken: u64,
    heard: BTreeMap<AuthorId, Hlc>,
    in_conflict: BTreeSet<(Kind, RecordId)>,
}

/// One file being taken in, inside one transaction.
struct Intake<'a> {
    db: &'a Connection,
    own: AuthorId,
    role: Role,
    header: &'a Header,
    students: &'a [StudentEntry],
    authors: BTreeMap<AuthorId, No>,
    refused: BTreeMap<String, u64>,
    receipt: Receipt,
}

impl Intake<'_> {
    fn open(&mut self, header: StrandHeader) -> Result<OpenStrand, BookError> {
        let known = self
            .db
            .prepare_cached("SELECT no FROM strand WHERE id = ?1")?
            .query_row([header.strand.bytes()], |row| row.get(0))
            .optional()?;
        let barred = self.bar(known, &header)?;
        let no = if barred.is_some() {
            known.unwrap_or(0)
        } else {
            let no = strand_no(self.db, header.strand)?;
            self.welcome(no, &header)?;
            no
        };
        Ok(OpenStrand { header, no, barred, taken: 0, heard: BTreeMap::new(), in_conflict: BTreeSet::new() })
    }

    /// Why the sender may not write into a strand, if so.
    fn bar(&self, known: Option<No>, header: &StrandHeader) -> Result<Option<String>, BookError> {
        let from = &self.header.name;
        let Some(no) = known else {
            let taken = self.role == Role::Student && !self.students.is_empty();
            return Ok(taken.then(|| "they are about another student than the one this book is for".into()));
        };
        let Some(student) = self.students.iter().find(|s| s.strand == header.strand) else { return Ok(None) };
        // Who holds what stands in this strand was let in by somebody, perhaps
        // through a relay: only a stranger to the strand is kept out.
        let ours = holds(self.db, no, self.own)?;
        let holds_ours =
            header.holds.iter().any(|(theirs, _)| ours.iter().any(|(_, author, _)| author == theirs));
        let sender =
            Person { no: 0, id: Some(self.header.person), name: from.clone(), role: Some(self.header.role) };
        let reads = self
            .db
            .prepare_cached("SELECT 1 FROM reader JOIN person ON person.no = reader.person WHERE strand = ?1 AND person.id = ?2")?
            .exists(params![no, self.header.person.bytes()])?;
        if reads || holds_ours || people::is_the_student(&sender, student) {
            return Ok(None);
        }
        Ok(Some(format!("{from} was never sent what belongs to {}", student.student.value.name)))
    }

    /// Notes who sent a strand and what they hold of it.
    fn welcome(&mut self, no: No, header: &StrandHeader) -> Result<(), BookError> {
        let person = people::sender(self.db, self.header, people::only_unheard(self.db, no)?)?;
        people::let_read(self.db, no, &person)?;
        let device = self.author(self.header.device)?;
        self.db.execute(
            "INSERT OR REPLACE INTO device (author, person) VALUES (?1, ?2)",
            params![device, person.no],
        )?;
        for (author, upto) in &header.holds {
            let author = self.author(*author)?;
            people::acknowledge(self.db, device, no, author, *upto)?;
        }
        Ok(())
    }

    fn author(&mut self, author: AuthorId) -> Result<No, BookError> {
        if let Some(no) = self.authors.get(&author) {
            return Ok(*no);
        }
        let no = author_no(self.db, author)?;
        self.authors.insert(author, no);
        Ok(no)
    }

    fn refuse(&mut self, changes: u64, reason: &str) {
        *self.refused.entry(reason.to_owned()).or_default() += changes;
    }

    fn take(&mut self, strand: &mut OpenStrand, changes: Vec<Change>) -> Result<(), BookError> {
        if let Some(reason) = strand.barred.clone() {
            self.refuse(changes.len() as u64, &reason);
            return Ok(());
        }
        for change in changes {
            let author = self.author(change.author)?;
            let Ok(body) = Body::decode(&change.body) else {
                self.refuse(1, "they can't be read");
                continue;
            };
            if append(self.db, strand.no, author, &change)? {
                let state = fold(self.db, strand.no, change.kind, change.record, change.stamp(), body)?;
                if !state.conflicts().is_empty() {
                    strand.in_conflict.insert((change.kind, change.record));
                }
                let latest = strand.heard.entry(change.author).or_insert(change.hlc);
                *latest = (*latest).max(change.hlc);
                strand.taken += 1;
            } else if self.is_same(strand.no, author, &change)? {
                self.receipt.already_had += 1;
            } else {
                self.refuse(1, "their device used a number twice, as after an old backup was put back");
            }
        }
        Ok(())
    }

    /// Whether the change that stands under the same number is this one.
    fn is_same(&self, strand: No, author: No, change: &Change) -> Result<bool, BookError> {
        Ok(self
            .db
            .prepare_cached(
                "SELECT 1 FROM change WHERE strand = ?1 AND author = ?2 AND seq = ?3 AND hlc = ?4 AND kind = ?5
                 AND record = ?6 AND body = ?7",
            )?
            .exists(params![
                strand,
                author,
                change.seq as i64,
                change.hlc.packed() as i64,
                change.kind.0,
                change.record.bytes(),
                change.body
            ])?)
    }

    fn close(&mut self, strand: OpenStrand) -> Result<(), BookError> {
        let OpenStrand { header, no, barred, taken, heard, in_conflict } = strand;
        if barred.is_some() {
            return Ok(());
        }
        let mut missing = 0;
        for (author, hlc) in heard {
            if author != self.own {
                let author = self.author(author)?;
                missing += self.mark_heard(no, author, hlc)?;
            }
        }
        for (kind, record) in in_conflict {
            let state = state_of(self.db, no, kind, record)?.unwrap_or_default();
            self.receipt.conflicts.extend(state.conflicts().into_iter().map(|conflict| FieldConflict {
                strand: header.strand,
                kind,
                record,
                conflict,
            }));
        }
        let holds: Vec<(AuthorId, u64)> =
            holds(self.db, no, self.own)?.into_iter().map(|(_, author, upto)| (author, upto)).collect();
        let agrees = if holds == header.holds && header.digest != [0; 32] && !has_gap(self.db, no)? {
            // The fold can be made again at any time, so a difference is
            // mended here before it is called one.
            if digest_of_table(self.db, no)? != header.digest {
                rebuild_strand(self.db, no)?;
            }
            Some(digest_of_table(self.db, no)? == header.digest)
        } else {
            None
        };
        let name = self.student_name(no, header.strand)?;
        self.receipt.taken += taken;
        self.receipt.strands.push(StrandReceipt {
            strand: header.strand,
            student: name,
            taken,
            missing,
            agrees,
        });
        Ok(())
    }

    /// Moves the mark of how far a device was heard without a gap; answers how
    /// many changes are missing before the latest that is there.
    fn mark_heard(&self, strand: No, author: No, hlc: Hlc) -> Result<u64, BookError> {
        let before: Option<i64> = self
            .db
            .prepare_cached("SELECT upto FROM heard WHERE strand = ?1 AND author = ?2")?
            .query_row(params![strand, author], |row| row.get(0))
            .optional()?;
        let mut upto = before.unwrap_or(0);
        let (mut last, mut after_gap) = (upto, 0);
        let mut statement = self.db.prepare_cached(
            "SELECT seq FROM change WHERE strand = ?1 AND author = ?2 AND seq > ?3 ORDER BY seq",
        )?;
        let mut rows = statement.query(params![strand, author, upto])?;
        while let Some(row) = rows.next()? {
            last = row.get(0)?;
            if last == upto + 1 {
                upto = last;
            } else {
                after_gap += 1;
            }
        }
        self.db
            .prepare_cached(
                "INSERT INTO heard (strand, author, upto, hlc) VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT DO UPDATE SET upto = excluded.upto, hlc = max(hlc, excluded.hlc)",
            )?
            .execute(params![strand, author, upto, hlc.packed() as i64])?;
        Ok((last - upto - after_gap) as u64)
    }

    fn student_name(&self, no: No, strand: StrandId) -> Result<String, BookError> {
        let state = state_of(self.db, no, Kind::STUDENT, RecordId(strand.0))?.unwrap_or_default();
        Ok(state.current().text(1).map_or_else(|| strand.to_string(), str::to_owned))
    }
}
