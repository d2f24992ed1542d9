//! What a plan asks, and what of that is to be done: drills as data, caps of
//! full-speed work, the plan as it is read, and the day's share of it.
//!
//! The rule that must hold: what is shown to do never passes a cap of full-speed
//! work, whatever was written by whom and merged in whatever order. So caps apply
//! last, when a plan is read, and what was held back is told.
//!
//! # Where to start
//! [`Papers`] for what a book holds of a student's plans, [`read()`] for what a plan
//! asks, [`today()`] for what is to be done now, [`Counted`] for what was done of it.
//! A drill while it is being
//! done, tap by tap: [`going`]. [`catalogue`] and [`caps`] are the data.

pub mod caps;
pub mod catalogue;
mod counted;
mod find;
pub mod going;
mod papers;
mod read;
mod today;

pub use caps::{Caps, Why};
pub use catalogue::{Balls, Exit, Stock, stock};
pub use counted::Counted;
pub use find::{find_own, find_planned, find_stock, own_drills};
pub use going::{Shape, Tap};
pub use papers::{Assigned, Papers, is_full_speed, is_two_sided};
pub use read::{Held, PlanConflict, Shown, ShownDrill, Stop, WrittenValue, read, within};
pub use today::{Going, Today, TodayDrill, today};

#[cfg(test)]
mod tests;
#[cfg(test)]
pub(crate) use tests::{day, keeps_the_caps, papers_of};
