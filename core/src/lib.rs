//! The core of Chalkface: all of the computing, none of the drawing.

pub mod face;
