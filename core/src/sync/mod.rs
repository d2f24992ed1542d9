//! How two books come to agree: the clock, changes, the merge of a record,
//! keys and who is who, and the exchange file. Pure; the book does the storing.
//!
//! The rule that must hold: a record's state depends on *which* changes are
//! there, never on the order or the number of times in which they came.
//!
//! # Where to start
//! [`change`] for the one thing that books are made of, [`state`] for the
//! merge, [`mod@file`] for what travels, [`card`] for who somebody is.

pub mod block;
pub mod card;
pub mod card_picture;
pub mod change;
pub mod clock;
pub mod erasure;
pub mod file;
pub mod identity;
pub mod keys;
mod proven;
pub mod run;
pub mod seal;
pub mod state;

pub use card::{Card, CardError, check_phrase};
pub use change::{Body, Change, Stamp};
pub use clock::Hlc;
pub use file::{FileError, Header, StrandHeader};
pub use identity::{Device, Identity};
pub use keys::{DeviceKeys, KeyError, PublicKey, RootKey};
pub use run::Run;
pub use state::{Conflict, State};
