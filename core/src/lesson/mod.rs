//! From a student's log to what the coach needs to know.
//!
//! The rule that must hold: every figure says how many balls it rests on and
//! how sure it is; what is measured, inferred and assumed stays apart.
//!
//! # Where to start
//! [`Log::read`], then [`Brief::of`]. One ball by itself: [`explain()`], with [`seen`] for
//! the way from records to physics and [`given`] for the way to a flight.

pub mod brief;
mod explain;
pub mod feel;
mod figure;
mod fit_bytes;
pub mod fits;
pub mod given;
mod log;
pub mod seen;
mod spans;
pub mod trial;

pub use brief::{Brief, DrillDone, PlanConflict, PlanDone, Unknown, WrittenValue};
pub use explain::{Doubt, Explained, StruckAt, explain};
pub use feel::{Feel, FeltMark, felt_error, mark_from_felt};
pub use figure::{Figure, FigureMean, Mean, Tally};
pub use fits::{FitOfShot, computed_carry_m, fits};
pub use log::{Log, Visit};
pub use spans::{Choice, Mark, SESSIONS_IN_A_SPAN, SessionMarks, Span, target_of};

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_dice;
#[cfg(test)]
mod tests_fits;
