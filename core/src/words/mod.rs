//! Every sentence that a person reads: plain English, the player's units,
//! plurals and hands. One place for other languages.
//!
//! The rule that must hold: words say what the data says, never more.
//!
//! # Where to start
//! [`number`] for figures and days, then the module of the page.

pub mod brief;
pub mod card;
pub mod chart;
pub mod compare;
pub mod drill;
pub mod exchange;
pub mod feel;
pub mod flight;
pub mod flight_chart;
pub mod number;
pub mod on_the_tee;
pub mod pattern;
pub mod people;
pub mod photo;
pub mod plan;
pub mod plan_done;
pub mod screen;
pub mod shell;
pub mod today;
pub mod trial;
pub mod what_if;
pub mod worth;
