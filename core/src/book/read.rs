//! Reading: records of a strand, students, histories.

use std::collections::BTreeMap;

use rusqlite::{OptionalExtension, params};

use super::Book;
use super::error::BookError;
use super::fold::No;
use crate::model::fields::FieldNo;
use crate::model::{AuthorId, Fields, Kind, Moment, Record, RecordId, StrandId, Student, Value};
use crate::sync::{Body, Conflict, Hlc, Stamp, State};

/// A record as the book has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<R> {
    /// Its identity.
    pub id: RecordId,
    /// What it says.
    pub value: R,
    /// When and by which device it was last written.
    pub last: Stamp,
    /// Fields that devices wrote without knowing of each other.
    pub conflicts: Vec<Conflict>,
    /// Somebody removed it, and somebody else wrote to it later.
    pub revived: bool,
}

/// A record that may have been removed.
#[derive(Debug, Clone, PartialEq)]
pub struct OrRemoved<R> {
    /// The record.
    pub entry: Entry<R>,
    /// Whether it was removed.
    pub removed: bool,
}

/// A student of the book, with their strand.
#[derive(Debug, Clone, PartialEq)]
pub struct StudentEntry {
    /// The strand.
    pub strand: StrandId,
    /// The student's record.
    pub student: Entry<Student>,
}

/// How much a strand holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Summary {
    /// Sessions.
    pub sessions: u64,
    /// Shots.
    pub shots: u64,
    /// Changes of all kinds.
    pub changes: u64,
}

/// One change of a record's history.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// When, by the order of all changes.
    pub stamp: Stamp,
    /// When, by the device's own clock.
    pub made: Moment,
    /// What was written; a cleared field is there as cleared.
    pub writes: Vec<FieldWrite>,
}

/// One field's write.
pub type FieldWrite = (FieldNo, Value);

impl Book {
    /// The live records of a kind in a strand, in the order they were made.
    ///
    /// Records that this version can't read are left out; see [`Book::unread`].
    ///
    /// # Errors
    /// What the storage reports.
    pub fn records<R: Record>(&self, strand: StrandId) -> Result<Vec<Entry<R>>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(Vec::new()) };
        let mut entries = Vec::new();
        self.each_state(no, R::KIND, |id, state| {
            entries.extend(entry(id, state));
            Ok(())
        })?;
        Ok(entries)
    }

    /// The records of a kind with those that were removed, in the order they were
    /// made: what somebody took away may still have been done by somebody else.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn records_and_removed<R: Record>(&self, strand: StrandId) -> Result<Vec<OrRemoved<R>>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(Vec::new()) };
        let mut statement = self
            .db
            .prepare_cached("SELECT id, state FROM record WHERE strand = ?1 AND kind = ?2 ORDER BY id")?;
        let mut rows = statement.query(params![no, R::KIND.0])?;
        let mut kept = Vec::new();
        while let Some(row) = rows.next()? {
            let state = State::decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
            let found = entry(RecordId::from_bytes(row.get(0)?), &state);
            kept.extend(found.map(|entry| OrRemoved { entry, removed: state.is_removed() }));
        }
        Ok(kept)
    }

    /// One live record.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn record<R: Record>(&self, strand: StrandId, id: RecordId) -> Result<Option<Entry<R>>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(None) };
        let state = super::fold::state_of(&self.db, no, R::KIND, id)?;
        Ok(state.filter(|state| !state.is_removed()).and_then(|state| entry(id, &state)))
    }

    /// One record, removed or not.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn record_or_removed<R: Record>(
        &self,
        strand: StrandId,
        id: RecordId,
    ) -> Result<Option<OrRemoved<R>>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(None) };
        let state = super::fold::state_of(&self.db, no, R::KIND, id)?;
        Ok(state.and_then(|state| {
            entry(id, &state).map(|entry| OrRemoved { entry, removed: state.is_removed() })
        }))
    }

    /// What kind a record of a strand is of, removed or not.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn kind_of(&self, strand: StrandId, id: RecordId) -> Result<Option<Kind>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(None) };
        Ok(self
            .db
            .prepare_cached("SELECT kind FROM record WHERE strand = ?1 AND id = ?2 LIMIT 1")?
            .query_row(params![no, id.bytes()], |row| row.get(0).map(Kind))
            .optional()?)
    }

    /// How many live records of a strand this version can't read: those of a
    /// newer version. They are kept and passed on.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn unread(&self, strand: StrandId) -> Result<u64, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(0) };
        let count: i64 = self.db.query_row(
            "SELECT count(*) FROM record WHERE strand = ?1 AND removed = 0 AND kind > ?2",
            params![no, Kind::NEWEST.0],
            |row| row.get(0),
        )?;
        Ok(count as u64)
    }

    /// All students of the book, by name.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn students(&self) -> Result<Vec<StudentEntry>, BookError> {
        let mut statement = self.db.prepare_cached("SELECT no, id FROM strand ORDER BY id")?;
        let strands: Vec<(No, [u8; 16])> =
            statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        let mut students = Vec::with_capacity(strands.len());
        for (no, id) in strands {
            let strand = StrandId::from_bytes(id);
            // A strand is about the student whose record has its identity.
            let id = RecordId(strand.0);
            let state = super::fold::state_of(&self.db, no, Kind::STUDENT, id)?;
            let student = state.and_then(|state| entry(id, &state));
            students.extend(student.map(|student| StudentEntry { strand, student }));
        }
        students.sort_by(|a, b| {
            (a.student.value.name.as_str(), a.strand).cmp(&(b.student.value.name.as_str(), b.strand))
        });
        Ok(students)
    }

    /// The student that `wanted` means: a name, the start of exactly one name,
    /// or a strand's identity. Upper and lower case count alike.
    ///
    /// # Errors
    /// [`BookError::NoSuchStudent`] or [`BookError::SeveralStudents`].
    pub fn student(&self, wanted: &str) -> Result<StudentEntry, BookError> {
        let students = self.students()?;
        let low = wanted.trim().to_lowercase();
        let whole = |s: &&StudentEntry| {
            s.student.value.name.as_str().to_lowercase() == low || s.strand.to_string() == low
        };
        let start = |s: &&StudentEntry| {
            !low.is_empty() && s.student.value.name.as_str().to_lowercase().starts_with(&low)
        };
        let mut found: Vec<&StudentEntry> = students.iter().filter(whole).collect();
        if found.is_empty() {
            found = students.iter().filter(start).collect();
        }
        match found.as_slice() {
            [one] => Ok((*one).clone()),
            [] if self.erased_students()?.iter().any(|gone| gone.strand.to_string() == low) => {
                Err(BookError::Gone)
            }
            [] => Err(BookError::NoSuchStudent {
                name: crate::model::check::quoted(wanted),
                known: known(&students),
            }),
            several => Err(BookError::SeveralStudents {
                name: crate::model::check::quoted(wanted),
                count: several.len(),
            }),
        }
    }

    /// The student whom a strand is about.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn student_of(&self, strand: StrandId) -> Result<Option<StudentEntry>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(None) };
        let id = RecordId(strand.0);
        let state = super::fold::state_of(&self.db, no, Kind::STUDENT, id)?;
        Ok(state.and_then(|state| entry(id, &state)).map(|student| StudentEntry { strand, student }))
    }

    /// How much a strand holds.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn summary(&self, strand: StrandId) -> Result<Summary, BookError> {
        let no = self.strand_no(strand)?.unwrap_or(0);
        let mut records = self
            .db
            .prepare_cached("SELECT count(*) FROM record WHERE strand = ?1 AND kind = ?2 AND removed = 0")?;
        let mut count = |kind: Kind| records.query_row(params![no, kind.0], |row| row.get::<_, i64>(0));
        let (sessions, shots) = (count(Kind::SESSION)? as u64, count(Kind::SHOT)? as u64);
        let changes: i64 = self
            .db
            .prepare_cached("SELECT count(*) FROM change WHERE strand = ?1 AND kind <> 0")?
            .query_row([no], |row| row.get(0))?;
        Ok(Summary { sessions, shots, changes: changes as u64 })
    }

    /// Every change of one record, earliest first: corrections stay visible.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn history(&self, strand: StrandId, kind: Kind, id: RecordId) -> Result<Vec<Change>, BookError> {
        let no = self.strand_no(strand)?.unwrap_or(0);
        let mut statement = self.db.prepare_cached(
            "SELECT hlc, author.id, made_ms, offset_min, body FROM change JOIN author ON author.no = change.author
             WHERE strand = ?1 AND kind = ?2 AND record = ?3",
        )?;
        let mut rows = statement.query(params![no, kind.0, id.bytes()])?;
        let mut history = Vec::new();
        while let Some(row) = rows.next()? {
            let hlc = Hlc::from_packed(row.get::<_, i64>(0)? as u64)
                .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?;
            let body = Body::decode(row.get_ref(4)?.as_blob().unwrap_or_default())?;
            history.push(Change {
                stamp: Stamp { hlc, author: AuthorId::from_bytes(row.get(1)?) },
                made: Moment { utc_ms: row.get(2)?, offset_min: row.get(3)? },
                writes: body.fields.iter().map(|(no, value)| (no, value.clone())).collect(),
            });
        }
        history.sort_by_key(|change| change.stamp);
        Ok(history)
    }

    /// Names of the devices that are known by name, for telling who wrote what.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn device_names(&self) -> Result<BTreeMap<AuthorId, String>, BookError> {
        let mut statement = self.db.prepare_cached(
            "SELECT author.id, person.name FROM device
             JOIN author ON author.no = device.author JOIN person ON person.no = device.person",
        )?;
        let mut names: BTreeMap<AuthorId, String> = statement
            .query_map([], |row| Ok((AuthorId::from_bytes(row.get(0)?), row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        if let Some(own) = self.identity()? {
            names.extend(own.devices().into_iter().map(|(d, _)| (d.author, self.owner.name.to_string())));
        }
        names.insert(self.device, self.owner.name.to_string());
        Ok(names)
    }

    /// A strand's small number, if the book has it.
    pub(super) fn strand_no(&self, strand: StrandId) -> Result<Option<No>, BookError> {
        Ok(self
            .db
            .prepare_cached("SELECT no FROM strand WHERE id = ?1")?
            .query_row([strand.bytes()], |row| row.get(0))
            .optional()?)
    }

    /// Calls `each` with every live record's merged state, in order of identity.
    fn each_state(
        &self,
        strand: No,
        kind: Kind,
        mut each: impl FnMut(RecordId, &State) -> Result<(), BookError>,
    ) -> Result<(), BookError> {
        let mut statement = self.db.prepare_cached(
            "SELECT id, state FROM record WHERE strand = ?1 AND kind = ?2 AND removed = 0 ORDER BY id",
        )?;
        let mut rows = statement.query(params![strand, kind.0])?;
        while let Some(row) = rows.next()? {
            let state = State::decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
            each(RecordId::from_bytes(row.get(0)?), &state)?;
        }
        Ok(())
    }
}

pub(super) fn entry<R: Record>(id: RecordId, state: &State) -> Option<Entry<R>> {
    let fields: Fields = state.current();
    Some(Entry {
        id,
        value: R::from_fields(&fields).ok()?,
        last: state.stamps()?.1,
        conflicts: state.conflicts(),
        revived: state.was_revived(),
    })
}

fn known(students: &[StudentEntry]) -> String {
    const MOST: usize = 8;
    if students.is_empty() {
        return "none yet; add one with `student add`".into();
    }
    let names: Vec<&str> = students.iter().take(MOST).map(|s| s.student.value.name.as_str()).collect();
    let more = students.len().saturating_sub(MOST);
    let end = if more > 0 { format!(" and {more} more; see `list`") } else { String::new() };
    names.join(", ") + &end
}
