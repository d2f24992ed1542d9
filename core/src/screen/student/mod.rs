//! A student's screens.

pub mod ball;
