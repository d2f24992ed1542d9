//! A student's screens.

pub mod ball;
pub mod today;
