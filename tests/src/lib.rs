//! Checks against things outside the project.
#![cfg_attr(
    test,
    allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        clippy::panic,
        reason = "a test may stop at what it did not expect"
    )
)]

#[cfg(test)]
mod physics_flight;
#[cfg(test)]
mod physics_impact;
