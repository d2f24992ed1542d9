//! Checks against things outside the project: published standards and physics,
//! files of earlier versions, and the rules of how the code may depend on itself.
//!
//! # Where to start
//! `standards` for published vectors, `physics_*` for second solutions of the
//! published equations, `golden` for files that every later version must read,
//! `arrows` for which part may use which, `replays` for stories that every shell must tell alike. What other programs say of the
//! product is in `tests/python`.
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

#[cfg(test)]
mod arrows;
#[cfg(test)]
mod corpora;
#[cfg(test)]
mod golden;
#[cfg(test)]
#[path = "../fixtures/large_book.rs"]
mod large_book;
#[cfg(test)]
#[path = "../fixtures/large_walk.rs"]
mod large_walk;
#[cfg(test)]
mod largest;
#[cfg(test)]
mod physics_flight;
#[cfg(test)]
mod physics_impact;
#[cfg(test)]
mod replays;
#[cfg(test)]
mod screens;
#[cfg(test)]
mod source;
#[cfg(test)]
mod standards;
