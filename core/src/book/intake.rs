//! Taking in another device's file.
//!
//! It is one transaction: damage anywhere in the file leaves the book as it
//! was. A run of changes is checked against its author's keys before any of it
//! is written. Changes that may not be here are kept out and told, the rest
//! goes in. Start at [`Book::receive`]; who may be in a file is in `strand`, how
//! changes are written in `changes`.

mod changes;
mod importing;
mod strand;
mod waiting;

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};

use rusqlite::{Connection, TransactionBehavior};

pub(super) use importing::Importing;
pub(super) use waiting::Waiting;

use waiting::{damaged, receipt_of};

use super::Book;
use super::comeback::renumber;
use super::erased::{Erased, Gone, blanks, leave_blank};
use super::error::BookError;
use super::fold::{No, author_no};
use super::known::Known;
use super::members::Members;
use super::read::StudentEntry;
use super::receipt::{Receipt, RefusedChange};
use super::runs;
use crate::model::{AuthorId, Kind, Name, Now, PersonId, RecordId, Role};
use crate::sync::file::{FileReader, OPEN_VERSION, Part};
use crate::sync::run::Remnant;
use crate::sync::seal::{self, open};
use crate::sync::{Change, DeviceKeys, FileError, Header, Hlc, Identity, Run, StrandHeader};

impl Book {
    /// Takes in an exchange file that was sealed to this device, or one of
    /// version 1 from somebody of whom no keys are known.
    ///
    /// # Errors
    /// [`BookError::File`] for a file that isn't whole, [`BookError::Stranger`],
    /// [`BookError::GivenUp`], [`BookError::Unsigned`], [`BookError::NotForUs`],
    /// [`BookError::OurOwn`], or what keys and storage report. The book is then
    /// as it was.
    pub fn receive(
        &mut self,
        keys: Option<&DeviceKeys>,
        now: Now,
        from: impl Read,
    ) -> Result<Receipt, BookError> {
        self.open_up(keys, now, from, true)
    }

    /// What taking in an exchange file would bring; the book stays as it is.
    ///
    /// # Errors
    /// As [`Book::receive`].
    pub fn look_into(
        &mut self,
        keys: Option<&DeviceKeys>,
        now: Now,
        from: impl Read,
    ) -> Result<Receipt, BookError> {
        self.open_up(keys, now, from, false)
    }

    fn open_up(
        &mut self,
        keys: Option<&DeviceKeys>,
        now: Now,
        mut from: impl Read,
        keep: bool,
    ) -> Result<Receipt, BookError> {
        let mut start = Vec::new();
        let most = seal::START.len() as u64;
        (&mut from).take(most).read_to_end(&mut start).map_err(FileError::Io)?;
        let sealed = start == seal::START;
        let whole = Cursor::new(start).chain(from);
        if !sealed {
            return self.take_in(FileReader::new(whole)?, None, now, keep);
        }
        let keys = &self.numbered(keys.ok_or(BookError::NoKeys)?);
        let own = self.standing_identity(keys)?;
        let opened = open(keys, whole).map_err(FileError::from)?;
        self.take_in(FileReader::new(opened)?, Some((own, keys)), now, keep)
    }

    /// Takes in a file that was opened. `own` is who we are, if it was sealed.
    fn take_in(
        &mut self,
        mut reader: FileReader<impl Read>,
        own: Option<(Identity, &DeviceKeys)>,
        now: Now,
        keep: bool,
    ) -> Result<Receipt, BookError> {
        let header = reader.header().clone();
        if (reader.version() == OPEN_VERSION) != own.is_none() {
            let what = "it is signed and not sealed, or sealed and not signed".into();
            return Err(FileError::Damaged { what, at: 0 }.into());
        }
        if header.device == self.device {
            return Err(BookError::OurOwn { to: header.to_name });
        }
        let ours = match &own {
            Some((own, _)) => header.to_root == Some(own.root()),
            None => header.to_person.is_none_or(|to| to == self.owner.person),
        };
        if !ours {
            return Err(BookError::NotForUs { to: header.to_name, owner: self.owner.name.to_string() });
        }
        Name::new(&header.name)?;
        let students = self.students()?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut intake = Intake {
            db: &tx,
            own: self.device,
            person: self.owner.person,
            role: self.owner.role,
            now,
            header: &header,
            students: &students,
            known: Known::new(&tx, own.as_ref().map(|(own, _)| own.clone())),
            keys: own.as_ref().map(|(_, keys)| *keys),
            authors: BTreeMap::new(),
            refused: BTreeMap::new(),
            receipt: receipt_of(header.name.clone()),
        };
        intake.know_sender()?;
        let mut open: Option<OpenStrand> = None;
        let mut waiting = Waiting::default();
        while let Some(part) = reader.next_part()? {
            match part {
                Part::Person(person) => intake.known.hear(person)?,
                Part::Strand(strand) => {
                    waiting.must_be_empty()?;
                    if let Some(done) = open.take() {
                        intake.close(done)?;
                    }
                    open = Some(intake.open(strand)?);
                }
                Part::Changes(changes) if intake.known.signed() => waiting.add(changes)?,
                Part::Changes(changes) => match &mut open {
                    Some(strand) => intake.take(strand, None, u64::MAX, &changes).map(|_| ())?,
                    None => intake.refuse(changes.len() as u64, "they belong to no student"),
                },
                Part::Runs(author, runs) => {
                    for run in runs {
                        let changes = waiting.of(&run)?;
                        match &mut open {
                            Some(strand) => intake.take_run(strand, author, &run, changes)?,
                            None => intake.refuse(changes.len() as u64, "they belong to no student"),
                        }
                    }
                    waiting.must_be_empty()?;
                }
            }
        }
        waiting.must_be_empty()?;
        intake.must_be_signed(&reader)?;
        if let Some(done) = open.take() {
            intake.close(done)?;
        }
        let (mut receipt, own_now) = (intake.receipt, intake.known.own().cloned());
        receipt.refused =
            intake.refused.into_iter().map(|(reason, changes)| RefusedChange { changes, reason }).collect();
        if !keep {
            return Ok(receipt);
        }
        let number = match (own, own_now) {
            // Others hold more of what this device wrote than it does itself.
            (Some((_, keys)), Some(own)) if receipt.came_back => Some(renumber(&tx, keys, own, now)?),
            _ => None,
        };
        tx.commit()?;
        self.device = number.unwrap_or(self.device);
        // If it can't be done now, the book remembers that it is due.
        let _ = self.scrub();
        Ok(receipt)
    }
}

/// A strand that is being taken in.
struct OpenStrand {
    header: StrandHeader,
    no: No,
    /// `None`: welcome. Otherwise the reason why its changes are kept out.
    barred: Option<String>,
    members: Members,
    /// All of it was erased: before, or by this file.
    gone: Option<Gone>,
    erased: Erased,
    /// This file says that something was erased.
    erases: bool,
    taken: u64,
    heard: BTreeMap<AuthorId, Hlc>,
    in_conflict: BTreeSet<(Kind, RecordId)>,
}

impl OpenStrand {
    fn heard(&mut self, change: &Change) {
        let latest = self.heard.entry(change.author).or_insert(change.hlc);
        *latest = (*latest).max(change.hlc);
    }
}

const TWICE: &str = "their device used a number twice, as after an old backup was put back";

/// One file being taken in, inside one transaction.
struct Intake<'a> {
    db: &'a Connection,
    own: AuthorId,
    person: PersonId,
    role: Role,
    now: Now,
    header: &'a Header,
    students: &'a [StudentEntry],
    known: Known<'a>,
    /// This device's, to sign what is about to be erased; not for version 1.
    keys: Option<&'a DeviceKeys>,
    authors: BTreeMap<AuthorId, No>,
    refused: BTreeMap<String, u64>,
    receipt: Receipt,
}

impl Intake<'_> {
    /// Who sent it has to be known, and by keys if anything is.
    fn know_sender(&mut self) -> Result<(), BookError> {
        let from = || self.header.name.clone();
        if self.known.signed() {
            let met = self.header.root.is_some_and(|root| self.known.has_met(&root));
            return if met { Ok(()) } else { Err(BookError::Stranger { from: from() }) };
        }
        let has_keys = self
            .db
            .prepare_cached(
                "SELECT 1 FROM identity JOIN person ON person.no = identity.person WHERE person.id = ?1",
            )?
            .exists([self.header.person.bytes()])?;
        if has_keys { Err(BookError::Unsigned { from: from() }) } else { Ok(()) }
    }

    /// At the end: the device that sent the file stands, and signed all of it.
    fn must_be_signed(&self, reader: &FileReader<impl Read>) -> Result<(), BookError> {
        if !self.known.signed() {
            return Ok(());
        }
        let root = self.header.root.unwrap_or_default();
        let person = self.known.person(&root)?.unwrap_or(Identity::unknown(root));
        let Some(device) = person.device(self.header.device) else {
            return Err(BookError::Stranger { from: self.header.name.clone() });
        };
        if !reader.is_signed_by(&device.signing) {
            return Err(damaged("its signature"));
        }
        if !person.stands(device.author) {
            return Err(BookError::GivenUp { from: self.header.name.clone() });
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

    /// Takes in a run: all of it is checked before any of it is written.
    fn take_run(
        &mut self,
        strand: &mut OpenStrand,
        author: AuthorId,
        run: &Run,
        changes: Vec<Change>,
    ) -> Result<(), BookError> {
        let count = changes.len() as u64;
        if let Some(reason) = strand.barred.clone() {
            self.refuse(count, &reason);
            return Ok(());
        }
        if strand.gone.is_some() {
            self.after_all(strand, &changes);
            return Ok(());
        }
        let no = self.author(author)?;
        if runs::is_here(self.db, strand.no, no, run)? {
            self.receipt.already_had += count;
            return Ok(());
        }
        let Some((person, device)) = self.known.who(author)? else {
            self.refuse(count, "nobody here knows whose device wrote them");
            return Ok(());
        };
        let Some(after) = run.check(&device.signing, strand.header.strand, author, &changes) else {
            self.refuse(count, "their signature is not their writer's");
            return Ok(());
        };
        let before = runs::chain_before(self.db, strand.no, no, run.first)?;
        if before.is_some_and(|before| before != run.before) {
            self.refuse(count, TWICE);
            return Ok(());
        }
        // A hole has to be about something that was erased; holes of old runs don't tell.
        let lawful = |(_, remnant): (u64, Remnant)| match remnant.tag {
            Some(tag) => strand.erased.covers(&tag, Some(&person.root())),
            None => !run.tagged,
        };
        if !run.remnants().all(lawful) {
            self.refuse(count.max(1), "something was left out of them that nobody erased who may");
            return Ok(());
        }
        let newest = runs::newest(self.db, strand.no, no)?;
        if !self.take(strand, Some(&person), newest, &changes)? {
            return Ok(());
        }
        for (seq, _) in run.remnants() {
            if leave_blank(self.db, strand.no, no, seq)? {
                strand.heard.entry(author).or_insert(Hlc::after(None, 0));
            }
        }
        let blank = blanks(self.db, strand.no, no, (run.first, run.last()))?;
        let kept: Vec<(Change, bool)> = changes
            .into_iter()
            .map(|change| {
                let gone = blank.contains(&change.seq);
                (change, gone)
            })
            .collect();
        runs::keep(self.db, strand.no, no, &run.without(strand.header.strand, &kept), &after)
    }
}
