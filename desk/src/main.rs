//! The laptop shell of Chalkface.
fn main() {}
