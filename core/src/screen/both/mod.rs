//! Screens of students and coaches alike.

pub mod add_drill;
pub mod broken;
pub mod clubs;
pub mod first_use;
pub mod gone;
pub mod keep;
pub mod me;
pub mod more;
pub mod people;
pub mod person;
pub mod picture;
pub mod plan;
pub mod plan_drill;
pub mod progress;
pub mod propose;
pub mod readings;
pub mod send;
pub mod session;
pub mod sessions;
pub mod shot;
pub mod speed;
pub mod strikes;
pub mod take_in;
