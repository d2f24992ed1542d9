//! The people whom this device exchanges files with, and who may read what.
//!
//! Who somebody is by their keys stands in `identity`; a person without keys,
//! from before there were any, is who their file said.

use rusqlite::{Connection, OptionalExtension, Row, params};

use super::Book;
use super::error::BookError;
use super::fold::No;
use super::read::StudentEntry;
use crate::model::{Name, PersonId, Role};
use crate::sync::{Header, PublicKey};

/// Somebody to exchange files with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    pub(super) no: No,
    /// Their identity, once a file of theirs was taken in.
    pub id: Option<PersonId>,
    /// Their name.
    pub name: String,
    /// What they are, once known.
    pub role: Option<Role>,
}

impl Book {
    /// Everybody known, by name.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn people(&self) -> Result<Vec<Person>, BookError> {
        all(&self.db)
    }
}

fn all(db: &Connection) -> Result<Vec<Person>, BookError> {
    Ok(db
        .prepare_cached("SELECT no, id, name, role FROM person ORDER BY name, no")?
        .query_map([], person)?
        .collect::<Result<_, _>>()?)
}

fn person(row: &Row<'_>) -> rusqlite::Result<Person> {
    Ok(Person {
        no: row.get(0)?,
        id: row.get::<_, Option<[u8; 16]>>(1)?.map(PersonId::from_bytes),
        name: row.get(2)?,
        role: row.get::<_, Option<i64>>(3)?.and_then(Role::from_code),
    })
}

pub(super) fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// Everybody called `name`.
pub(super) fn called(db: &Connection, name: &Name) -> Result<Vec<Person>, BookError> {
    Ok(all(db)?.into_iter().filter(|p| same_name(&p.name, name.as_str())).collect())
}

/// The name of somebody who is known by their keys.
pub(super) fn name_of(db: &Connection, root: &PublicKey) -> Result<Option<String>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT person.name FROM identity JOIN person ON person.no = identity.person WHERE identity.root = ?1",
        )?
        .query_row([root], |row| row.get(0))
        .optional()?)
}

/// The sender of a file, as they say they are.
pub(super) fn sender(db: &Connection, header: &Header, expected: Option<No>) -> Result<Person, BookError> {
    note(db, header.person, &header.name, header.role, expected)
}

/// Notes who somebody is: known by identity; else the one who so far is only
/// a name, the same name or `expected`; else new.
pub(super) fn note(
    db: &Connection,
    id: PersonId,
    name: &str,
    role: Role,
    expected: Option<No>,
) -> Result<Person, BookError> {
    let everybody = all(db)?;
    let known = everybody.iter().find(|p| p.id == Some(id)).or_else(|| {
        everybody
            .iter()
            .find(|p| p.id.is_none() && same_name(&p.name, name))
            .or_else(|| everybody.iter().find(|p| p.id.is_none() && Some(p.no) == expected))
    });
    let no = if let Some(known) = known {
        db.execute(
            "UPDATE person SET id = ?2, name = ?3, role = ?4 WHERE no = ?1",
            params![known.no, id.bytes(), name, role.code()],
        )?;
        known.no
    } else {
        db.execute(
            "INSERT INTO person (id, name, role) VALUES (?1, ?2, ?3)",
            params![id.bytes(), name, role.code()],
        )?;
        db.last_insert_rowid()
    };
    Ok(Person { no, id: Some(id), name: name.to_owned(), role: Some(role) })
}

/// Lets a person be sent a strand.
pub(super) fn let_read(db: &Connection, strand: No, person: &Person) -> Result<(), BookError> {
    db.execute("INSERT OR IGNORE INTO reader (strand, person) VALUES (?1, ?2)", params![strand, person.no])?;
    Ok(())
}

/// Whether a strand was sent to a person, or came from them.
pub(super) fn may_read(db: &Connection, strand: No, person: &Person) -> Result<bool, BookError> {
    Ok(db
        .prepare_cached("SELECT 1 FROM reader WHERE strand = ?1 AND person = ?2")?
        .exists(params![strand, person.no])?)
}

/// The one person who may read a strand but was not heard from yet, if there
/// is exactly one.
pub(super) fn only_unheard(db: &Connection, strand: No) -> Result<Option<No>, BookError> {
    let mut statement = db.prepare_cached(
        "SELECT person.no FROM reader JOIN person ON person.no = reader.person WHERE strand = ?1 AND person.id IS NULL",
    )?;
    let unheard: Vec<No> = statement.query_map([strand], |row| row.get(0))?.collect::<Result<_, _>>()?;
    Ok(match unheard.as_slice() {
        [one] => Some(*one),
        _ => None,
    })
}

/// Whether a person is the student whom a strand is about.
pub(super) fn is_the_student(person: &Person, student: &StudentEntry) -> bool {
    let record = &student.student.value;
    match (person.id, record.person) {
        (Some(id), Some(theirs)) => id == theirs,
        _ => same_name(&person.name, record.name.as_str()),
    }
}

/// How far a device has proven to hold another's changes in a strand.
pub(super) fn acknowledged(db: &Connection, device: No, strand: No, author: No) -> Result<u64, BookError> {
    let upto: Option<i64> = db
        .prepare_cached("SELECT upto FROM acknowledged WHERE device = ?1 AND strand = ?2 AND author = ?3")?
        .query_row(params![device, strand, author], |row| row.get(0))
        .optional()?;
    Ok(upto.unwrap_or(0) as u64)
}

/// Notes how far a device has proven to hold another's changes in a strand: by
/// its last file, for a device that came back from an old copy holds less.
pub(super) fn acknowledge(
    db: &Connection,
    device: No,
    strand: No,
    author: No,
    upto: u64,
) -> Result<(), BookError> {
    db.prepare_cached(
        "INSERT INTO acknowledged (device, strand, author, upto) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT DO UPDATE SET upto = excluded.upto",
    )?
    .execute(params![device, strand, author, upto as i64])?;
    Ok(())
}
