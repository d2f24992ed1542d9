//! From a student's log to what the coach needs to know.
//!
//! The rule that must hold: every figure says how many balls it rests on and
//! how sure it is; what is measured, inferred and assumed stays apart.
//!
//! # Where to start
//! [`Log::read`], then [`Brief::of`]; [`Changed`] for what changed and is it real,
//! [`Worth`] for what the misses cost and which fix is worth most. One ball by itself: [`explain()`], with [`seen`] for
//! the way from records to physics and [`given`] for the way to a flight.

pub mod brief;
mod chance;
pub mod changed;
mod explain;
pub mod feel;
mod figure;
mod fit_bytes;
pub mod fits;
mod gather;
pub mod given;
mod log;
pub mod mix;
pub mod on_the_tee;
pub mod plan_done;
pub mod seen;
pub mod shortfall;
mod spans;
pub mod student_model;
pub mod trial;
pub mod unknown;
pub mod what_if;
pub mod worth;

pub use brief::Brief;
pub use changed::Changed;
pub use explain::{Doubt, Explained, StruckAt, explain, explain_shot};
pub use feel::{Feel, FeltMark, felt_error, mark_from_felt};
pub use figure::{Figure, FigureMean, Mean, Tally};
pub use fits::{FitOfShot, computed_carry_m, fits};
pub use gather::{Gathering, LeftOut, club_in_use, gather_log};
pub use log::{Log, Visit};
pub use plan_done::{DrillConflict, DrillDone, Effect, EffectVerdict, PlanDone};
pub use shortfall::{Parts, Shortfall};
pub use spans::{Choice, Mark, SESSIONS_IN_A_SPAN, SessionMarks, Span, spans, target_of};
pub use student_model::{Assumed, StudentModel};
pub use unknown::Unknown;
pub use what_if::{Care, Edge, Sizes, Trouble, Want, WhatIf, what_if};
pub use worth::{DRIVES_FOR_A_BRIEF, Standing, Worth, want_of};

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_fits;
#[cfg(test)]
mod tests_worth;
