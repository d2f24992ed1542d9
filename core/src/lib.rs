//! The core of Chalkface: all of the computing, none of the drawing.
//!
//! Data flows one way. Nothing here reads a clock, a random source, a locale
//! or a network; only [`book`] touches the disk.
//!
//! ```text
//! table -> model; face, flight, sound use no other            data in, data out
//!          model -> sync (clock, changes, merge, file)         pure
//!                   sync -> book (SQLite)                      the only part on disk
//!                           book -> dose, act                  what a plan asks, what people do
//!                                   dose -> lesson -> plan -> words -> chart -> screen
//! ```
//!
//! # Where to start
//! [`model`] for the words, [`sync`] for what a book is made of,
//! [`lesson::Brief`] for what all of it is for.
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

pub mod act;
pub mod book;
pub mod chart;
#[cfg(test)]
mod dice;
pub mod dose;
pub mod face;
pub mod flight;
pub mod lesson;
pub mod model;
pub mod plan;
pub mod screen;
pub mod sound;
pub mod sync;
pub mod table;
pub mod words;
