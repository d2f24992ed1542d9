//! Making and opening a book: one SQLite file a device.
//!
//! | pragma | value | why |
//! |---|---|---|
//! | `application_id` | `CHLK` | tells a book from any other SQLite file |
//! | `user_version` | number of the last migration | a newer one is refused |
//! | `journal_mode` | WAL | a reader never waits; one write a commit |
//! | `synchronous` | FULL | what was acknowledged survives a power cut |
//! | `temp_store` | memory | some phones have no folder for temporary files |
//! | `trusted_schema` | off | a book from elsewhere runs no code of its own |

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, TransactionBehavior, params};

use super::erased::scrub;
use super::error::BookError;
use super::{Book, Owner};
use crate::model::ids::Minter;
use crate::model::{AuthorId, Name, Now, PersonId, Role};

const APPLICATION_ID: i64 = i64::from_be_bytes(*b"\0\0\0\0CHLK");
/// Every version's step from the one before. Steps never rewrite changes.
const MIGRATIONS: [&str; 4] = [
    include_str!("migrations/001.sql"),
    include_str!("migrations/002.sql"),
    include_str!("migrations/003.sql"),
    include_str!("migrations/004.sql"),
];
/// Books from this version on hold all that reading and writing records needs;
/// later steps add what can be computed again, and what exchanging files needs.
const WHOLE_SINCE: i64 = 1;
/// How long to wait for another process before saying that the book is in use.
pub(super) const PATIENCE: Duration = Duration::from_secs(2);

impl Book {
    /// Takes a whole book away, with what the storage keeps beside it: for one that nothing of
    /// is to stay, as of invented people. What isn't there needs no taking away.
    pub fn discard(path: &Path) {
        for more in ["", "-wal", "-shm", "-journal"] {
            let mut file = path.as_os_str().to_owned();
            file.push(more);
            let _ = std::fs::remove_file(file);
        }
    }

    /// Makes a new book for `owner`.
    ///
    /// # Errors
    /// [`BookError::Exists`] if there is a file at `path`, or what the storage reports.
    pub fn create(path: &Path, name: Name, role: Role, now: Now) -> Result<Self, BookError> {
        if path.exists() {
            return Err(BookError::Exists { path: path.display().to_string() });
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut db = connect(path, flags)?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        let mut minter = Minter::new(now);
        let device = AuthorId(minter.mint());
        let person = PersonId(minter.mint());
        let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.pragma_update(None, "application_id", APPLICATION_ID)?;
        migrate(&tx, 0)?;
        let mut about = tx.prepare("INSERT INTO about (key, value) VALUES (?1, ?2)")?;
        about.execute(params!["device", device.bytes()])?;
        about.execute(params!["person", person.bytes()])?;
        about.execute(params!["name", name.as_str()])?;
        about.execute(params!["role", role.code()])?;
        drop(about);
        tx.execute("INSERT INTO author (no, id) VALUES (1, ?1)", [device.bytes()])?;
        tx.commit()?;
        Ok(Self { db, device, owner: Owner { person, name, role } })
    }

    /// Opens the book at `path`.
    ///
    /// # Errors
    /// [`BookError`] if there is none, it is no book, is newer than this
    /// program, or can't be read.
    pub fn open(path: &Path) -> Result<Self, BookError> {
        let shown = || path.display().to_string();
        if !path.is_file() {
            return Err(BookError::Missing { path: shown() });
        }
        let (mut db, id) = match identified(path) {
            Err(BookError::Storage(error)) if error.sqlite_error_code() == Some(ErrorCode::NotADatabase) => {
                return Err(BookError::NotABook { path: shown() });
            }
            other => other?,
        };
        if id != APPLICATION_ID {
            return Err(BookError::NotABook { path: shown() });
        }
        let found: i64 = db.pragma_query_value(None, "user_version", |row| row.get(0))?;
        let known = MIGRATIONS.len() as i64;
        if found > known {
            return Err(BookError::TooNew { found, known });
        }
        if found < known {
            match bring_up(&mut db, found) {
                // On a disk that may only be read, or while another program
                // writes, it is used as it is; the step waits for another day.
                Err(BookError::ReadOnly | BookError::InUse) if found >= WHOLE_SINCE => {}
                other => other?,
            }
        }
        let (device, owner) = whose(&db)?;
        // A process that was stopped in the middle of it left this to be done. Where
        // somebody else has the file open, it waits for another day.
        let _ = scrub(&db);
        Ok(Self { db, device, owner })
    }

    /// Learns what another connection has written of the owner and the device meanwhile:
    /// with their first keys a person gets another identity.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn learn_whose(&mut self) -> Result<(), BookError> {
        (self.device, self.owner) = whose(&self.db)?;
        Ok(())
    }
}

/// The device that writes a book, and whose it is.
fn whose(db: &Connection) -> Result<(AuthorId, Owner), BookError> {
    let owner = Owner {
        person: PersonId::from_bytes(about(db, "person")?),
        name: Name::new(&about::<String>(db, "name")?)?,
        role: Role::from_code(about(db, "role")?).unwrap_or(Role::Student),
    };
    Ok((AuthorId::from_bytes(about(db, "device")?), owner))
}

/// A connection, and the number that says what kind of file it is.
fn identified(path: &Path) -> Result<(Connection, i64), BookError> {
    let ask = |db: Connection| -> Result<(Connection, i64), BookError> {
        let id = db.pragma_query_value(None, "application_id", |row| row.get(0))?;
        Ok((db, id))
    };
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    match connect(path, flags).and_then(ask) {
        // Beside a book in WAL mode the storage keeps two files of its own. On
        // a disk that may only be read it can't, so the book is read as it lies.
        Err(BookError::Storage(error))
            if error.sqlite_error_code() == Some(ErrorCode::CannotOpen) && !has_unmerged_log(path) =>
        {
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
                | OpenFlags::SQLITE_OPEN_NO_MUTEX
                | OpenFlags::SQLITE_OPEN_URI;
            connect(Path::new(&as_it_lies(path)), flags).and_then(ask)
        }
        other => other,
    }
}

/// Whether the storage's own log beside the book holds something.
fn has_unmerged_log(path: &Path) -> bool {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    std::fs::metadata(log).is_ok_and(|log| log.len() > 0)
}

/// The path as a URI that says nobody writes to it (RFC 3986 escapes).
fn as_it_lies(path: &Path) -> String {
    use std::fmt::Write;
    let mut uri = String::from("file:");
    for byte in path.to_string_lossy().bytes() {
        if byte.is_ascii_alphanumeric() || b"/-_.~".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            let _ = write!(uri, "%{byte:02X}");
        }
    }
    uri + "?immutable=1"
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, BookError> {
    let db = Connection::open_with_flags(path, flags)?;
    db.busy_timeout(PATIENCE)?;
    db.set_prepared_statement_cache_capacity(64);
    db.pragma_update(None, "synchronous", "FULL")?;
    db.pragma_update(None, "temp_store", "MEMORY")?;
    db.pragma_update(None, "trusted_schema", false)?;
    Ok(db)
}

/// Brings an open book up to the newest version, or leaves it as it was.
fn bring_up(db: &mut Connection, from: i64) -> Result<(), BookError> {
    let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    migrate(&tx, from)?;
    tx.commit()?;
    Ok(())
}

/// Brings the tables from version `from` to the newest one.
fn migrate(tx: &rusqlite::Transaction<'_>, from: i64) -> Result<(), BookError> {
    for step in MIGRATIONS.iter().skip(from.max(0) as usize) {
        tx.execute_batch(step)?;
    }
    tx.pragma_update(None, "user_version", MIGRATIONS.len() as i64)?;
    Ok(())
}

fn about<T: rusqlite::types::FromSql>(db: &Connection, key: &str) -> Result<T, BookError> {
    db.query_row("SELECT value FROM about WHERE key = ?1", [key], |row| row.get(0))
        .optional()?
        .ok_or_else(|| BookError::Damaged { what: format!("it doesn't say its {key}") })
}

#[cfg(test)]
mod tests;
