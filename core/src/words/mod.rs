//! Every sentence a person reads, made from data.
//!
//! Functions from plain values to plain English that a player understands. No
//! other module writes prose; a figure never goes without its certainty and the
//! number of balls it rests on.
//!
//! Where to start: the submodule named after what the words are about.

pub mod chart;
pub mod pattern;
