//! What the phones call: screens out, events in, and nothing else.
//!
//! The rule: the exported surface is small and plain (`api.txt` lists it, and a test keeps
//! that true): one object, flat records, no callbacks, nothing asynchronous, every call
//! fallible, so that a panic inside never ends an app.
//!
//! # Where to start
//! [`Device`] for the one object, [`records`] for what crosses, [`told`] for events,
//! `guard` for what becomes of a panic.
#![cfg_attr(
    test,
    allow(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        reason = "a test may stop at what it did not expect"
    )
)]
// The generated scaffolding is what it is.
#![allow(unsafe_code, clippy::needless_pass_by_value, reason = "calls that cross take what they are given")]
#![allow(clippy::missing_errors_doc, reason = "every call fails with a `Fault`, which says what each means")]

mod crossing;
mod device;
mod fault;
mod guard;
pub mod records;
mod scene;
#[cfg(test)]
mod tests;
pub mod told;
pub mod words;

pub use device::{Device, Ticket};
pub use fault::Fault;

uniffi::setup_scaffolding!("chalkface");
