//! The book: everything that one device knows, in one SQLite file.
//!
//! The rule that must hold: changes are only ever added, and the records are
//! a fold of them that can be made again with equal digests. Every public
//! call that writes is one transaction; when it has answered, its changes are
//! on the disk.
//!
//! # Where to start
//! [`Book::write`] adds changes, [`Book::records`] reads records,
//! [`Book::send`] and [`Book::receive`] exchange them, [`Book::check`] proves
//! the fold. [`Book::card`] and [`Book::meet`] make people known to each other. [`Book::cached`] and [`Book::keep`] hold what can be computed again.

mod audience;
mod belong;
mod check;
mod comeback;
mod erase;
mod erased;
mod error;
mod exchange;
pub mod export;
mod fold;
mod guardian;
mod held;
mod identity;
mod intake;
mod kept;
mod known;
mod members;
mod open;
mod people;
mod read;
mod receipt;
mod runs;
mod some;
mod take_back;
mod write;

#[cfg(test)]
pub mod testing;
#[cfg(test)]
mod tests;

use rusqlite::Connection;

pub use crate::sync::{Conflict, DeviceKeys};
pub use audience::Listener;
pub use check::{Check, StrandDigest};
pub use erase::Taken;
pub use error::BookError;
pub use exchange::Sent;
pub use held::Handle;
pub use identity::{Acquaintance, KnownDevice, Met};
pub use kept::{Kept, KeptKind, Print};
pub use people::Person;
pub use read::{Change, Entry, FieldWrite, OrRemoved, StudentEntry, Summary};
pub use receipt::{FieldConflict, Receipt, RefusedChange, StrandReceipt};
pub use take_back::TakenBack;
pub use write::Draft;

use crate::model::{AuthorId, Name, PersonId, Role};

/// Whose book it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owner {
    /// Their identity.
    pub person: PersonId,
    /// Their name.
    pub name: Name,
    /// What they are.
    pub role: Role,
}

/// One device's book.
#[derive(Debug)]
pub struct Book {
    db: Connection,
    device: AuthorId,
    owner: Owner,
}

impl Book {
    /// Whose book it is.
    pub fn owner(&self) -> &Owner {
        &self.owner
    }

    /// The device that writes it.
    pub fn device(&self) -> AuthorId {
        self.device
    }
}
