//! What people do to a book, each as one call: add a student, log shots,
//! set and edit a plan, do a drill, log practice and speed, report pain, run a trial, erase.
//!
//! The rule that must hold: an act is one transaction of the book, or none.

mod ball;
mod doing;
mod erase;
mod homework;
mod log;
mod photo;
mod plan;
mod student;
mod trial;

pub use ball::{Setting, log_ball, session_of};
pub use doing::{begin_drill, do_drill, log_drill_ball};
pub use erase::{Erase, erase};
pub use homework::{
    DrillChange, Edit, PlanChange, Told, add_drill, change_drill, clear_pain, drop_drill, edit_plan,
    log_told, record_speed, report_pain,
};
pub use log::{Logged, Unsaid, log_rows};
pub use photo::{NewPhoto, latest_photo, log_photo, read_mark, record_photo, set_mark, tell_earlier};
pub use plan::{NewDrill, begin_plan, log_practice};
pub use student::{NewStudent, add_student};
pub use trial::{NewTrial, begin_trial, end_trial, leave_out_ball};

#[cfg(test)]
mod tests_doing;
