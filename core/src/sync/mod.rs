//! How two books come to agree: the clock, changes, the merge of a record,
//! and the exchange file. Pure; the book does the storing.
//!
//! The rule that must hold: a record's state depends on *which* changes are
//! there, never on the order or the number of times in which they came.
//!
//! # Where to start
//! [`change`] for the one thing that books are made of, [`state`] for the
//! merge, [`mod@file`] for what travels.

pub mod block;
pub mod change;
pub mod clock;
pub mod file;
pub mod state;

pub use change::{Body, Change, Stamp};
pub use clock::Hlc;
pub use file::{FileError, Header, StrandHeader};
pub use state::{Conflict, State};
