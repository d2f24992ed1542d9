//! Screens of students and coaches alike.

pub mod broken;
pub mod clubs;
pub mod first_use;
pub mod me;
pub mod more;
pub mod progress;
pub mod readings;
pub mod send;
pub mod session;
pub mod sessions;
pub mod shot;
pub mod strikes;
pub mod take_in;
