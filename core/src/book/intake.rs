//! Taking in another device's file.
//!
//! It is one transaction: damage anywhere in the file leaves the book as it
//! was. Changes that may not be here are kept out and told, the rest goes in.
//! Start at [`Book::receive`].

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::Book;
use super::check::{digest_of_table, rebuild_strand};
use super::error::BookError;
use super::exchange::{FieldConflict, Receipt, RefusedChange, StrandReceipt, has_gap, holds};
use super::fold::{No, append, author_no, fold, state_of, strand_no};
use super::people::{self, Person};
use super::read::StudentEntry;
use crate::model::{AuthorId, Kind, Name, RecordId, Role, StrandId};
use crate::sync::file::{FileReader, Part};
use crate::sync::{Body, Change, Header, Hlc, StrandHeader};

impl Book {
    /// Takes in an exchange file.
    ///
    /// # Errors
    /// [`BookError::File`] for a file that isn't whole, [`BookError::NotForUs`],
    /// [`BookError::OurOwn`], or what the storage reports. The book is then as
    /// it was.
    pub fn receive(&mut self, from: impl Read) -> Result<Receipt, BookError> {
        self.take_in(from, true)
    }

    /// What taking in an exchange file would bring; the book stays as it is.
    ///
    /// # Errors
    /// As [`Book::receive`].
    pub fn look_into(&self, from: impl Read) -> Result<Receipt, BookError> {
        self.take_in(from, false)
    }

    fn take_in(&self, from: impl Read, keep: bool) -> Result<Receipt, BookError> {
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
        let tx = Transaction::new_unchecked(&self.db, TransactionBehavior::Immediate)?;
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
        if keep {
            tx.commit()?;
        }
        Ok(receipt)
    }
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
        let ours: BTreeMap<AuthorId, u64> = holds.iter().copied().collect();
        let complete =
            header.holds.iter().all(|(author, upto)| ours.get(author).is_some_and(|have| have >= upto));
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
            complete,
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
