//! From a student's log to what the coach needs to know.
//!
//! The rule that must hold: every figure says how many balls it rests on and
//! how sure it is; what is measured, inferred and assumed stays apart.
//!
//! # Where to start
//! [`Log::read`], then [`Brief::of`].

pub mod brief;
mod figure;
mod log;
mod spans;

pub use brief::{Brief, DrillDone, PlanConflict, PlanDone, Unknown, WrittenValue};
pub use figure::{Figure, FigureMean, Mean, Tally};
pub use log::{Log, Visit};
pub use spans::{Choice, Mark, SESSIONS_IN_A_SPAN, SessionMarks, Span, target_of};

#[cfg(test)]
mod tests;
