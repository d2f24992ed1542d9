//! The core of Chalkface: all of the computing, none of the drawing.
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

pub mod model;
pub mod table;
