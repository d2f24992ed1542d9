//! Screens of students and coaches alike.

pub mod broken;
pub mod first_use;
pub mod take_in;
