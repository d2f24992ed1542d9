//! The homework: which drills, how much, what was done, what came of it.
//!
//! The rule that must hold: what is shown to do never passes a cap of full-speed
//! work, whatever was written by whom and merged in whatever order. So caps apply
//! last, when a plan is read, and what was held back is told.
//!
//! # Where to start
//! [`Papers`] for what a book holds of a student's plans, [`read()`] for what a plan
//! asks, [`today()`] for what is to be done now, [`progress`] for what came of it.
//! [`catalogue`] and [`caps`] are the data, [`propose()`] the choice of drills.

pub mod caps;
pub mod catalogue;
mod diagnosis;
mod measure;
mod papers;
pub mod progress;
mod propose;
mod read;
pub mod speed;
pub mod sure;
mod today;

pub use caps::{Caps, Why};
pub use catalogue::{Exit, Stock, stock};
pub use diagnosis::{Fault, Found, faults_of};
pub use measure::{Measured, Point};
pub use papers::{Assigned, Papers};
pub use progress::{Decision, DoneLine, DrillProgress, Progress, Reason};
pub use propose::{Free, Proposal, Proposed, RULES as PROPOSE_RULES, propose};
pub use read::{Held, PlanConflict, Shown, ShownDrill, Stop, read};
pub use speed::{SideSpeed, SpeedSummary};
pub use today::{Today, TodayDrill, today};

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_merge;
#[cfg(test)]
mod tests_season;
