//! The homework: which drills, and what came of them.
//!
//! The rule that must hold: drills are chosen by rules that are data, and nothing is
//! called done with before its own measure says so with the stated certainty. What a
//! plan asks, within the caps of full-speed work, is [`dose`](crate::dose)'s.
//!
//! # Where to start
//! [`propose()`] for the choice of drills, [`progress`] for what came of them,
//! [`sure`] for how sure many looks may be.

mod diagnosis;
mod measure;
pub mod progress;
mod propose;
pub mod speed;
pub mod sure;

pub use crate::dose::*;
pub use diagnosis::{Fault, Found, faults_of};
pub use measure::{Measured, Point};
pub use progress::{Decision, DoneLine, DrillProgress, Progress, Reason};
pub use propose::{Free, Proposal, Proposed, RULES as PROPOSE_RULES, propose};
pub use speed::{SideSpeed, SpeedSummary};

#[cfg(test)]
mod tests_merge;
#[cfg(test)]
mod tests_season;
