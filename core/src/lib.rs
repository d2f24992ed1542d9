//! The core of Chalkface: all of the computing, none of the drawing.

pub mod chart;
pub mod face;
pub mod words;
