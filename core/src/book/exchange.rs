//! Sending a strand's news, and what is told of a file that was taken in.
//! Files are signed by this device and sealed to the receiver's.
//!
//! What a device has is acknowledged by its own files only, never by sending
//! to it: a file that got lost is made good by the next one. Start at
//! [`Book::send_file`]; taking in is in `intake`.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use serde::Serialize;

use super::check::digest_of_table;
use super::erased::{Gone, gone, whose};
use super::error::BookError;
use super::fold::{self, No, author_no, state_of, strand_no};
use super::guardian::waits;
use super::identity::load;
use super::members::{Members, Say, member_id};
use super::people::{self, Person};
use super::read::StudentEntry;
use super::runs::Which;
use super::write::write_in;
use super::{Book, Draft, Owner, runs};
use crate::model::{AuthorId, Kind, Member, Name, Now, PersonId, RecordId, Role, StrandId};
use crate::sync::file::FileWriter;
use crate::sync::seal::seal;
use crate::sync::{Device, DeviceKeys, FileError, Header, Identity, PublicKey, StrandHeader};

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

impl Book {
    /// Writes a strand's news for `to`, or all of it, signed by this device
    /// and sealed to theirs, and ends the file. Who owns the strand lets them
    /// read by this, as what their card says they are.
    ///
    /// # Errors
    /// [`BookError::NotMet`] for somebody whose card was not taken in,
    /// [`BookError::NotTheirs`] if they may not read it, or what keys, storage
    /// and file report.
    pub fn send(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        to: &Name,
        now: Now,
        all: bool,
        out: impl Write,
    ) -> Result<Sent, BookError> {
        let own = self.standing_identity(keys)?;
        let keys = &self.numbered(keys);
        let (owner, device) = (self.owner.clone(), self.device);
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let strand = (strand_no(&tx, student.strand)?, student.strand);
        let receiver = receiver(&tx, &owner, &own, to)?;
        let side = Side { db: &tx, device, person: owner.person, role: owner.role, own: &own, now };
        side.claim(strand, student)?;
        if waits(&tx, strand, now)? {
            return Err(BookError::NeedsGuardian);
        }
        side.let_in(strand, student, &receiver)?;
        runs::sign_own(&tx, keys, strand)?;
        let sent = side.write_file(keys, &owner, strand, student, &receiver, all, out)?;
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
        keys: &DeviceKeys,
        student: &StudentEntry,
        to: &Name,
        now: Now,
        all: bool,
        path: &Path,
    ) -> Result<Sent, BookError> {
        let partial = path.with_extension("chalk.part");
        let written = (|| {
            let mut out = BufWriter::new(File::create(&partial).map_err(FileError::Io)?);
            let sent = self.send(keys, student, to, now, all, &mut out)?;
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

/// What is held of a strand: a device's small number, its identity, and its last change.
type Holds = Vec<(No, AuthorId, u64)>;

/// Somebody to send to, with their devices.
struct Receiver {
    person: Person,
    identity: Identity,
    /// The owner's other devices.
    ourselves: bool,
}

/// The person called `to` whose card was taken in; the owner for their own
/// other devices.
fn receiver(db: &Connection, owner: &Owner, own: &Identity, to: &Name) -> Result<Receiver, BookError> {
    if people::same_name(owner.name.as_str(), to.as_str()) && own.standing().len() > 1 {
        let person =
            Person { no: 0, id: Some(owner.person), name: owner.name.to_string(), role: Some(owner.role) };
        return Ok(Receiver { person, identity: own.clone(), ourselves: true });
    }
    let not_met = || BookError::NotMet { person: to.to_string() };
    for person in people::called(db, to)? {
        let root: Option<PublicKey> = db
            .prepare_cached("SELECT root FROM identity WHERE person = ?1 AND met = 1")?
            .query_row([person.no], |row| row.get(0))
            .optional()?;
        if let Some(root) = root {
            let identity = load(db, &root)?.ok_or_else(not_met)?;
            return Ok(Receiver { person, identity, ourselves: false });
        }
    }
    Err(not_met())
}

/// This side of an exchange, inside one transaction.
pub(super) struct Side<'a> {
    pub db: &'a Connection,
    pub device: AuthorId,
    pub person: PersonId,
    pub role: Role,
    pub own: &'a Identity,
    pub now: Now,
}

impl Side<'_> {
    /// A student's strand, once it is sure that its owner is this book's.
    ///
    /// # Errors
    /// [`BookError::NotOurWord`] where somebody else says who belongs to it.
    pub(super) fn own_strand(&self, student: &StudentEntry) -> Result<No, BookError> {
        let no = strand_no(self.db, student.strand)?;
        self.claim((no, student.strand), student)?;
        if Say::of(self.db, no)?.owner == Some(self.own.root()) {
            return Ok(no);
        }
        Err(BookError::NotOurWord { student: student.student.value.name.to_string() })
    }

    /// The owner's root says who belongs to a strand that was begun here and
    /// has nobody who does. Who was sent it before there were keys stays.
    pub(super) fn claim(&self, (no, id): (No, StrandId), student: &StudentEntry) -> Result<(), BookError> {
        let root = self.own.root();
        let say = Say::of(self.db, no)?;
        let ours = first_author(self.db, no, id)?.is_some_and(|author| self.own.device(author).is_some());
        let about_us = self.is_about_us(student);
        if say.owner.is_some() || !(ours || about_us) {
            return Ok(());
        }
        Say { owner: Some(root), founder: Some(root) }.store(self.db, no)?;
        for (other, name, role) in readers_met(self.db, no)? {
            if let Some(role) = Role::from_code(role).filter(|role| *role != Role::Student) {
                self.grant(id, &Member::new(Name::new(&name)?, role, other))?;
            }
        }
        Ok(())
    }

    /// Lets the receiver read, or says why not.
    fn let_in(
        &self,
        (no, id): (No, StrandId),
        student: &StudentEntry,
        to: &Receiver,
    ) -> Result<(), BookError> {
        if to.ourselves {
            return Ok(());
        }
        if gone(self.db, no)? == Some(Gone::GivenUp) {
            return Err(BookError::Gone);
        }
        let not_theirs = || BookError::NotTheirs {
            person: to.person.name.clone(),
            student: student.student.value.name.to_string(),
        };
        let root = to.identity.root();
        let members = Members::of(self.db, no)?;
        let is_student = people::is_the_student(&to.person, student);
        if gone(self.db, no)?.is_some() {
            // That something was erased is told to whoever had it from here.
            let say = [members.say.owner, members.say.founder];
            let told = say.contains(&Some(root)) || people::may_read(self.db, no, &to.person)?;
            return if told { Ok(()) } else { Err(not_theirs()) };
        }
        if members.all().any(|member| member.root == root && member.left) {
            return Err(BookError::Parted { person: to.person.name.clone() });
        }
        if members.role(&root).is_none() {
            let owns = members.say.owner == Some(self.own.root());
            let about_us = self.is_about_us(student);
            let role = match to.person.role {
                _ if is_student => Role::Student,
                // One strand has one student; a fellow student reads.
                Some(Role::Student) if about_us => Role::Reader,
                Some(role) if about_us => role,
                // A strand that has no owner yet goes to its student only.
                _ => return Err(not_theirs()),
            };
            if owns {
                self.grant(id, &Member::new(Name::new(&to.person.name)?, role, root))?;
                // Where that was the student, they own it from now on.
                Members::of(self.db, no)?;
            } else if members.say.owner.is_some() {
                return Err(not_theirs());
            }
        }
        people::let_read(self.db, no, &to.person)
    }

    /// Whether the student is the owner of this book; a student's book has no other.
    fn is_about_us(&self, student: &StudentEntry) -> bool {
        self.role == Role::Student || student.student.value.person == Some(self.person)
    }

    fn grant(&self, strand: StrandId, member: &Member) -> Result<(), BookError> {
        let draft = Draft::put(member_id(&member.root), member);
        write_in(self.db, strand, self.device, self.now, [draft]).map(|_| ())
    }

    #[allow(clippy::too_many_arguments, reason = "the parts of one file, gathered by its one caller")]
    fn write_file(
        &self,
        keys: &DeviceKeys,
        owner: &Owner,
        (no, id): (No, StrandId),
        student: &StudentEntry,
        to: &Receiver,
        all: bool,
        out: impl Write,
    ) -> Result<Sent, BookError> {
        // Of the numbers of one device the latest is in use.
        let receivers: BTreeMap<PublicKey, Device> = to
            .identity
            .standing()
            .into_iter()
            .filter(|device| self.own.device(self.device).is_none_or(|this| this.signing != device.signing))
            .map(|device| (device.signing, device))
            .collect();
        let sealing: Vec<PublicKey> = receivers.values().map(|device| device.sealing).collect();
        let header = Header {
            device: self.device,
            person: owner.person,
            name: owner.name.to_string(),
            role: owner.role,
            made: self.now.at,
            to_name: to.person.name.clone(),
            to_person: to.person.id,
            root: Some(self.own.root()),
            to_root: Some(to.identity.root()),
        };
        let members = Members::of(self.db, no)?;
        let is_gone = gone(self.db, no)?.is_some();
        let (holds, all_signed) = if is_gone {
            (runs::writers(self.db, no)?, false)
        } else {
            signed_holds(self.db, no, self.device)?
        };
        let digest =
            if !all_signed || has_gap(self.db, no)? { [0; 32] } else { digest_of_table(self.db, no)? };
        let mut file = FileWriter::new(seal(&sealing, out).map_err(FileError::from)?, &header)?;
        for person in self.people_of(&members, &holds)? {
            file.person(&person)?;
        }
        file.strand(&StrandHeader {
            strand: id,
            holds: holds.iter().filter(|_| !is_gone).map(|(_, author, upto)| (*author, *upto)).collect(),
            digest,
            owner: members.say.owner,
            founder: members.say.founder,
        })?;
        let mut news = Vec::new();
        for (author_no, author, upto) in self.in_order(&members, holds)? {
            let mut after = if all { Some(0) } else { None };
            for device in receivers.values() {
                let has =
                    people::acknowledged(self.db, fold::author_no(self.db, device.author)?, no, author_no)?;
                after = Some(after.map_or(has, |least: u64| least.min(has)));
            }
            news.push(((author_no, author), (after.unwrap_or(0), upto)));
        }
        let mut changes = 0;
        for which in [Which::First, Which::Rest] {
            for (author, span) in &news {
                changes += runs::each_run(self.db, no, *author, *span, which, |run, changes| {
                    Ok(file.run(author.1, run, changes)?)
                })?;
            }
        }
        file.finish(keys)?.finish().map_err(FileError::from)?.flush().map_err(FileError::Io)?;
        Ok(Sent { student: student.student.value.name.to_string(), to: to.person.name.clone(), changes })
    }

    /// Everybody whom the receiver has to know to check the file: the sender
    /// first, then who has a say, who belongs to the strand and who wrote in it.
    fn people_of(&self, members: &Members, holds: &Holds) -> Result<Vec<Identity>, BookError> {
        let mut roots: Vec<PublicKey> =
            [members.say.owner, members.say.founder].into_iter().flatten().collect();
        roots.extend(members.all().map(|member| member.root));
        for (_, author, _) in holds {
            roots.extend(whose(self.db, *author)?);
        }
        roots.retain(|root| *root != self.own.root());
        roots.sort_unstable();
        roots.dedup();
        let mut people = vec![self.own.clone()];
        for root in roots {
            people.extend(load(self.db, &root)?);
        }
        Ok(people)
    }

    /// Who has a say first, so that a reader knows who belongs to the strand
    /// before it judges what others wrote.
    fn in_order(&self, members: &Members, mut holds: Holds) -> Result<Holds, BookError> {
        let mut rank = BTreeMap::new();
        for (no, author, _) in &holds {
            let root = if self.own.device(*author).is_some() {
                Some(self.own.root())
            } else {
                root_of_device(self.db, *no)?
            };
            let place = match root {
                Some(root) if members.say.founder == Some(root) => 0,
                Some(root) if members.say.owner == Some(root) => 1,
                _ => 2,
            };
            rank.insert(*author, place);
        }
        holds.sort_by_key(|(_, author, _)| (rank.get(author).copied(), *author));
        Ok(holds)
    }
}

/// The root of the person whose device it is.
pub(super) fn root_of_device(db: &Connection, author: No) -> Result<Option<PublicKey>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT identity.root FROM device JOIN identity ON identity.person = device.person WHERE device.author = ?1",
        )?
        .query_row([author], |row| row.get(0))
        .optional()?)
}

/// Who made a strand: the device that first wrote its student.
fn first_author(db: &Connection, strand: No, id: StrandId) -> Result<Option<AuthorId>, BookError> {
    let state = state_of(db, strand, Kind::STUDENT, RecordId(id.0))?;
    let author: Option<[u8; 16]> = db
        .prepare_cached(
            "SELECT author.id FROM change JOIN author ON author.no = change.author
             WHERE strand = ?1 AND kind = ?2 AND record = ?3 ORDER BY hlc LIMIT 1",
        )?
        .query_row(params![strand, Kind::STUDENT.0, id.bytes()], |row| row.get(0))
        .optional()?;
    Ok(state.and(author.map(AuthorId::from_bytes)))
}

/// Those who may be sent a strand and whose cards were taken in.
fn readers_met(db: &Connection, strand: No) -> Result<Vec<(PublicKey, String, i64)>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT identity.root, person.name, coalesce(person.role, 0) FROM reader
             JOIN person ON person.no = reader.person JOIN identity ON identity.person = person.no
             WHERE reader.strand = ?1 AND identity.met = 1 ORDER BY person.no",
        )?
        .query_map([strand], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?)
}

/// What this book holds of a strand without a gap and signed, device by
/// device, and whether that is all that it holds without a gap.
fn signed_holds(db: &Connection, strand: No, own: AuthorId) -> Result<(Holds, bool), BookError> {
    let mut all_signed = true;
    let mut signed = Vec::new();
    for (no, author, upto) in holds(db, strand, own)? {
        let end = runs::end(db, strand, no)?.map_or(0, |(end, _)| end);
        all_signed &= end >= upto;
        if end.min(upto) > 0 {
            signed.push((no, author, end.min(upto)));
        }
    }
    Ok((signed, all_signed))
}

/// What this book holds of a strand without a gap, device by device.
pub(super) fn holds(db: &Connection, strand: No, own: AuthorId) -> Result<Holds, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT author.no, author.id, heard.upto FROM heard JOIN author ON author.no = heard.author
         WHERE strand = ?1 AND upto > 0",
    )?;
    let mut holds: Holds = statement
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
