//! What people do to a book, each as one call: add a student, log shots,
//! set a plan, log practice.
//!
//! The rule that must hold: an act is one transaction of the book, or none.

mod log;
mod plan;
mod student;

pub use log::{Logged, Unsaid, log_rows};
pub use plan::{NewDrill, begin_plan, log_practice};
pub use student::{NewStudent, add_student};
