//! What people do to a book, each as one call: add a student, log shots,
//! set a plan, log practice, run a trial.
//!
//! The rule that must hold: an act is one transaction of the book, or none.

mod log;
mod plan;
mod student;
mod trial;

pub use log::{Logged, Unsaid, log_rows};
pub use plan::{NewDrill, begin_plan, log_practice};
pub use student::{NewStudent, add_student};
pub use trial::{NewTrial, begin_trial, end_trial, leave_out_ball};
