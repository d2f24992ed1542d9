//! The laptop shell of Chalkface.

pub mod picture;

fn main() {}
