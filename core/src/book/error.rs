//! What can go wrong with a book, and what to do about it.

use rusqlite::ErrorCode;

use crate::model::Refusal;
use crate::model::fields::FieldsError;
use crate::sync::FileError;

/// Why something could not be done with a book. The book is as it was before.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// There is no file.
    #[error("there is no book at {path}; make one with `book new`")]
    Missing {
        /// Where it was looked for.
        path: String,
    },
    /// There is a file already.
    #[error("there is a file at {path} already; open it, or choose another place")]
    Exists {
        /// Where.
        path: String,
    },
    /// The file is something else.
    #[error("{path} is not a book; its first bytes are those of another kind of file")]
    NotABook {
        /// Where.
        path: String,
    },
    /// A newer version wrote it.
    #[error("the book has version {found}, this program knows {known}; update the program")]
    TooNew {
        /// The version of the book.
        found: i64,
        /// The highest version known.
        known: i64,
    },
    /// Another process is writing to it.
    #[error("another program is using the book; close it or wait, then try again")]
    InUse,
    /// It may only be read.
    #[error("the book may only be read; check the rights of the file and its folder")]
    ReadOnly,
    /// The disk is full.
    #[error("the disk is full; make room, then try again: nothing was changed")]
    DiskFull,
    /// The file is damaged.
    #[error(
        "the book is damaged: {what}; keep the file, and take in the other side's exchange file into a new book"
    )]
    Damaged {
        /// What was found.
        what: String,
    },
    /// No student of that name.
    #[error("there is no student called {name}; this book has: {known}")]
    NoSuchStudent {
        /// The name as given.
        name: String,
        /// Those that there are.
        known: String,
    },
    /// Several students of that name.
    #[error("{count} students are called {name}; give the identity shown by `list` instead")]
    SeveralStudents {
        /// The name as given.
        name: String,
        /// How many.
        count: usize,
    },
    /// A strand may not be sent to that person.
    #[error(
        "{person} may not read what belongs to {student}; only {student} can let them, by sending them a file"
    )]
    NotTheirs {
        /// Who would read it.
        person: String,
        /// Whose it is.
        student: String,
    },
    /// Somebody whose card was not taken in.
    #[error("this book has no card of {person}; ask for it and take it in, then send")]
    NotMet {
        /// Who would be sent to.
        person: String,
    },
    /// Somebody who doesn't belong to the student's people any more.
    #[error("{person} doesn't belong to the student's people any more; let them in again first")]
    Parted {
        /// Who would be sent to.
        person: String,
    },
    /// Somebody else decides.
    #[error("only {student} says who belongs to their people")]
    NotOurWord {
        /// Whose people.
        student: String,
    },
    /// A file of somebody whose card was not taken in.
    #[error("this file is from {from}, whose card was not taken in; take in their card, then the file")]
    Stranger {
        /// Who they say they are.
        from: String,
    },
    /// A file of a device that its owner has given up.
    #[error("this file is from a device that {from} has given up; nothing was taken in")]
    GivenUp {
        /// Whose device it was.
        from: String,
    },
    /// A file without signatures, where there are keys.
    #[error(
        "this file was made before there were keys, and anybody could have made it; ask {from} for a new one"
    )]
    Unsigned {
        /// Who it says sent it.
        from: String,
    },
    /// A file is for somebody else.
    #[error("this file is for {to}, and the book belongs to {owner}; nothing was taken in")]
    NotForUs {
        /// For whom it is.
        to: String,
        /// Whose book this is.
        owner: String,
    },
    /// A file was written by this very device.
    #[error("this file was written from this book; send it to {to} instead")]
    OurOwn {
        /// For whom it is.
        to: String,
    },
    /// The book has no keys yet.
    #[error("this book has no keys yet; they are made with its first card")]
    NoKeys,
    /// The book has keys already.
    #[error("this book has keys already; they are those of {person}")]
    HasKeys {
        /// Whose they are.
        person: String,
    },
    /// The keys are those of another device.
    #[error("these keys are not those of the device that writes this book; give its own with --keys")]
    WrongKeys,
    /// The device was revoked.
    #[error(
        "this device was revoked, or its owner has a newer list of devices; add it again from one of theirs"
    )]
    Revoked,
    /// A card can't be taken in.
    #[error("this card can't be taken in: {why}")]
    Card {
        /// Why, and what to do.
        why: String,
    },
    /// A device that isn't known.
    #[error("no device of yours is called {wanted}; look at the list of people")]
    NoSuchDevice {
        /// As it was called.
        wanted: String,
    },
    /// Somebody under 16 whose guardian has not said yes.
    #[error(
        "nothing of somebody who may be under 16 leaves this device without their guardian's box: let the guardian set it here first"
    )]
    NeedsGuardian,
    /// A record that was erased is written to.
    #[error("this was erased, and what is erased stays so")]
    WasErased,
    /// A student who was erased, or given up on this device.
    #[error("this student's records are not here any more: they were erased, or given up on this device")]
    Gone,
    /// Something that this person may not erase.
    #[error("only who wrote it, or the student whom it is about, can erase this")]
    NotYoursToErase,
    /// Who belongs to a student's people is no record of theirs.
    #[error("this can't be erased by itself: {what}")]
    NotErasable {
        /// Why, and what to do.
        what: &'static str,
    },
    /// A value isn't allowed.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// An exchange file could not be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// Anything else that the storage reports.
    #[error("the book's storage failed: {0}")]
    Storage(rusqlite::Error),
}

impl From<rusqlite::Error> for BookError {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::InUse,
            Some(ErrorCode::ReadOnly) => Self::ReadOnly,
            Some(ErrorCode::DiskFull) => Self::DiskFull,
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged { what: error.to_string() },
            _ => Self::Storage(error),
        }
    }
}

impl From<FieldsError> for BookError {
    fn from(error: FieldsError) -> Self {
        Self::Damaged { what: error.to_string() }
    }
}
