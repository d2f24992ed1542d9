//! Erasing: at a student's wish everywhere, or giving a student up on one device.
//!
//! The rule that must hold: what was asked to be erased is gone from the file
//! when the call has answered, and goes from every book that hears of it. What is
//! left says that something was erased, not what. Start at [`Book::erase`],
//! [`Book::erase_student`] and [`Book::give_up`]; what is taken out is in `erased`.

use rusqlite::{Connection, TransactionBehavior, params};
use serde::Serialize;

use super::comeback::renumber;
use super::erased::{self, Erased, Gone, Swept, sweep, sweep_all, whose};
use super::error::BookError;
use super::exchange::Side;
use super::fold::{No, strand_no};
use super::members::Say;
use super::read::{Entry, StudentEntry};
use super::write::Pen;
use super::{Book, runs};
use crate::model::{AuthorId, Hand, Kind, Name, Now, RecordId, StrandId, Student};
use crate::sync::erasure::{Scope, may_go, tag, tag_of_all};
use crate::sync::{DeviceKeys, Hlc, PublicKey, Stamp};

/// What was taken out of a book.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Taken {
    /// Records of which something was erased.
    pub records: u64,
    /// Changes that these were made of.
    pub changes: u64,
    /// Whether the file is free of them already. Where another program had it
    /// open, that is made good when the book is opened next.
    pub scrubbed: bool,
}

impl Book {
    /// Erases records: all of each for the student whom they are about, for
    /// anybody else what they wrote of it. The word that something was erased goes
    /// with the next files; take a session's balls with it by naming them too.
    ///
    /// # Errors
    /// [`BookError::NotYoursToErase`], [`BookError::NotErasable`],
    /// [`BookError::Gone`], or what keys and storage report. Then nothing was erased.
    pub fn erase(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        records: &[(Kind, RecordId)],
        now: Now,
    ) -> Result<Taken, BookError> {
        let side = self.begin(keys)?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let at = side.ready(&tx, student, now)?;
        let whole = side.owns(&tx, at.0)? && side.is_about(student);
        let mut pen = Pen::new(&tx, at.1, side.device, now)?;
        for (kind, record) in records {
            if !may_go(*kind) {
                return Err(BookError::NotErasable { what: "part with the person instead" });
            }
            if *kind == Kind::STUDENT {
                return Err(BookError::NotErasable { what: "erase the student with all that is theirs" });
            }
            if !whole && !side.wrote(&tx, at.0, *kind, *record)? {
                return Err(BookError::NotYoursToErase);
            }
            let name = tag(at.1, *kind, *record);
            let already = Erased::of_tag(&tx, at, name)?;
            if !already.covers(&name, if whole { None } else { Some(&side.root) }) {
                pen.erase(name, if whole { Scope::Record } else { Scope::Own })?;
            }
        }
        let swept = sweep(&tx, at, &Erased::of(&tx, at.0, at.1)?)?;
        tx.commit()?;
        Ok(self.taken(swept))
    }

    /// Erases all of a student, on this device now and on others when they hear
    /// of it. Only the student can, or who made a student that nobody else has.
    ///
    /// # Errors
    /// As [`Book::erase`].
    pub fn erase_student(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        now: Now,
    ) -> Result<Taken, BookError> {
        let side = self.begin(keys)?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let at = side.ready(&tx, student, now)?;
        if !side.owns(&tx, at.0)? {
            return Err(BookError::NotYoursToErase);
        }
        let mut pen = Pen::new(&tx, at.1, side.device, now)?;
        pen.erase(tag_of_all(at.1), Scope::Strand)?;
        // In a run of its own: the word has to hold without anything else.
        runs::sign_own(&tx, &side.keys, at)?;
        let swept = sweep_all(&tx, at, Gone::Erased)?;
        forget_name(&tx, at.0)?;
        tx.commit()?;
        Ok(self.taken(swept))
    }

    /// Whether all of a student can be erased from here, as far as this book has heard.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn may_erase_student(&self, student: &StudentEntry) -> Result<bool, BookError> {
        let (Some(own), Some(no)) = (self.identity()?, self.strand_no(student.strand)?) else {
            return Ok(true);
        };
        let say = Say::of(&self.db, no)?;
        Ok(say.owner.or(say.founder).is_none_or(|root| root == own.root()))
    }

    /// Gives a student up on this device: all of theirs goes from it, and comes
    /// back with no file. Others keep what they hold.
    ///
    /// # Errors
    /// [`BookError::Gone`], or what the storage reports.
    pub fn give_up(&mut self, student: &StudentEntry) -> Result<Taken, BookError> {
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let at = (strand_no(&tx, student.strand)?, student.strand);
        if erased::gone(&tx, at.0)?.is_some() {
            return Err(BookError::Gone);
        }
        let swept = sweep_all(&tx, at, Gone::GivenUp)?;
        tx.commit()?;
        Ok(self.taken(swept))
    }

    /// Takes on a student again who was given up on this device: their next file
    /// is taken in. The device goes on under a new number, for it doesn't know any
    /// more which it has used.
    ///
    /// # Errors
    /// [`BookError::Gone`] for one who was erased, or what keys and storage report.
    pub fn take_on_again(&mut self, keys: &DeviceKeys, strand: StrandId, now: Now) -> Result<(), BookError> {
        let (own, keys) = (self.standing_identity(keys)?, &self.numbered(keys));
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let no = strand_no(&tx, strand)?;
        if erased::gone(&tx, no)? != Some(Gone::GivenUp) {
            return Err(BookError::Gone);
        }
        tx.execute("UPDATE strand SET gone = 0 WHERE no = ?1", [no])?;
        let device = renumber(&tx, keys, own, now)?;
        tx.commit()?;
        self.device = device;
        Ok(())
    }

    /// The students of whom only the word is left that they were erased, to be told
    /// to others with [`Book::send`]. They have no name any more.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn erased_students(&self) -> Result<Vec<StudentEntry>, BookError> {
        self.all_gone(Gone::Erased)?.into_iter().map(nameless).collect()
    }

    /// The students whom this device gave up, and can take on again. They have no name
    /// here any more.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn given_up_students(&self) -> Result<Vec<StrandId>, BookError> {
        self.all_gone(Gone::GivenUp)
    }

    fn all_gone(&self, how: Gone) -> Result<Vec<StrandId>, BookError> {
        if !self.db.column_exists(None, "strand", "gone")? {
            return Ok(Vec::new());
        }
        let mut statement = self.db.prepare_cached("SELECT id FROM strand WHERE gone = ?1 ORDER BY id")?;
        let strands = statement.query_map([how as i64], |row| row.get(0).map(StrandId::from_bytes))?;
        Ok(strands.collect::<Result<_, _>>()?)
    }

    /// Whether a record was erased, as far as this book has heard.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn is_erased(&self, strand: StrandId, kind: Kind, record: RecordId) -> Result<bool, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(false) };
        let all = erased::gone(&self.db, no)? == Some(Gone::Erased);
        Ok(all || !Erased::of_tag(&self.db, (no, strand), tag(strand, kind, record))?.is_empty())
    }

    /// Frees the file of what was erased, where that could not be done at once.
    ///
    /// # Errors
    /// [`BookError::InUse`] while another program has the book open, or what the
    /// storage reports.
    pub fn scrub(&self) -> Result<(), BookError> {
        erased::scrub(&self.db)
    }

    fn taken(&self, swept: Swept) -> Taken {
        Taken { records: swept.records, changes: swept.changes, scrubbed: self.scrub().is_ok() }
    }

    fn begin(&self, keys: &DeviceKeys) -> Result<Eraser, BookError> {
        let own = self.standing_identity(keys)?;
        Ok(Eraser {
            keys: self.numbered(keys),
            device: self.device,
            root: own.root(),
            own,
            person: self.owner.person,
            role: self.owner.role,
        })
    }
}

/// Who erases.
struct Eraser {
    keys: DeviceKeys,
    device: AuthorId,
    root: PublicKey,
    own: crate::sync::Identity,
    person: crate::model::PersonId,
    role: crate::model::Role,
}

impl Eraser {
    /// Makes a strand ready: it is here, somebody owns it, and all that this device
    /// wrote is signed, for what is erased can't be signed any more.
    fn ready(&self, db: &Connection, student: &StudentEntry, now: Now) -> Result<(No, StrandId), BookError> {
        let at = (strand_no(db, student.strand)?, student.strand);
        if erased::gone(db, at.0)?.is_some() {
            return Err(BookError::Gone);
        }
        let Self { device, person, role, ref own, .. } = *self;
        Side { db, device, person, role, own, now }.claim(at, student)?;
        runs::sign_own(db, &self.keys, at)?;
        Ok(at)
    }

    fn owns(&self, db: &Connection, strand: No) -> Result<bool, BookError> {
        Ok(Say::of(db, strand)?.owner == Some(self.root))
    }

    fn is_about(&self, student: &StudentEntry) -> bool {
        self.role == crate::model::Role::Student || student.student.value.person == Some(self.person)
    }

    /// Whether this person wrote anything of a record.
    fn wrote(&self, db: &Connection, strand: No, kind: Kind, record: RecordId) -> Result<bool, BookError> {
        let mut statement = db.prepare_cached(
            "SELECT DISTINCT author.id FROM change JOIN author ON author.no = change.author
             WHERE strand = ?1 AND kind = ?2 AND record = ?3",
        )?;
        let authors: Vec<[u8; 16]> = statement
            .query_map(params![strand, kind.0, record.bytes()], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for author in authors {
            if whose(db, AuthorId::from_bytes(author))? == Some(self.root) {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// The name by which the student was known here goes too, unless they have other
/// business with this book.
pub(super) fn forget_name(db: &Connection, strand: No) -> Result<(), BookError> {
    let Some(owner) = Say::of(db, strand)?.owner else { return Ok(()) };
    db.execute(
        "UPDATE person SET name = 'erased student' WHERE no = (SELECT person FROM identity WHERE root = ?2)
         AND NOT EXISTS (SELECT 1 FROM reader JOIN strand ON strand.no = reader.strand
                         WHERE reader.person = person.no AND strand.no <> ?1 AND strand.gone = 0)",
        params![strand, owner],
    )?;
    Ok(())
}

/// A student of whom no more is known than that they were erased.
pub(super) fn nameless(strand: StrandId) -> Result<StudentEntry, BookError> {
    let value = Student::new(Name::new("erased student")?, Hand::Right);
    let last = Stamp { hlc: Hlc::after(None, 0), author: AuthorId::from_bytes([0; 16]) };
    let student = Entry { id: RecordId(strand.0), value, last, conflicts: Vec::new(), revived: false };
    Ok(StudentEntry { strand, student })
}
