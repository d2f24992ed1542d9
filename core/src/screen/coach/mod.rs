//! A coach's screens.

pub mod about;
pub mod brief;
pub mod lesson;
pub mod new_student;
pub mod shots;
pub mod student;
pub mod students;
pub mod what_if;
