//! Words of the screen that reads strikes off a picture.

use super::super::number::{count, fixed};
use super::ball::strike;
use crate::face::photo::Trouble;

/// Its title.
pub const TITLE: &str = "Strikes off a picture";
/// The way to it.
pub const WAY_HINT: &str = "Photograph the powdered face; the marks are read on this device.";
/// How to take one.
pub const HOW: &[&str] = &[
    "Powder the face thinly and evenly, then hit one to six balls.",
    "Hold the phone in front of the face, about two hands away, so that the whole face fills the picture.",
    "Turn until no light glares off the middle.",
];
/// With powder.
pub const POWDER: &str = "Spray outdoors, away from faces, and wipe it off afterwards. Step off the tee line before you look at the face.";
/// Takes one.
pub const TAKE: &str = "Take a picture";
/// Takes another.
pub const TAKE_AGAIN: &str = "Take another picture";
/// Chooses one.
pub const CHOOSE: &str = "Choose a picture";
/// What is worked out.
pub const SHOWN: &str = "the picture";
/// What is worked out.
pub const READ: &str = "its marks";
/// The picture itself.
pub const PICTURE: &str = "The face with its ends and its marks";
/// What to do first.
pub const ENDS_FIRST: &str = "The four squares belong on the ends of the face: heel, toe, crown and sole, where its middle lines meet its edge. Drag each that is off, then look at the marks.";
/// They were set.
pub const ENDS_SET: &str = "The marks were read between the ends as you set them.";
/// The ends could not be found.
pub const NO_FACE: &str = "The face was not found: drag the four squares onto its ends.";
/// Shows more than the face.
pub const WHOLE: &str = "Show the whole picture";
/// Below a heading.
pub const MARKS: &str = "Marks";
/// None found.
pub const NO_MARKS: &str = "No mark is seen. Add one where the ball met the face, or take another picture.";
/// Adds one.
pub const ADD: &str = "Add a mark";
/// It stands in the middle.
pub const ADD_HINT: &str = "It comes up in the middle of the picture: drag it into place.";
/// Takes one out.
pub const OUT: &str = "This is no mark";
/// It was there before.
pub const WAS: &str = "It was there before this picture";
/// It counts as a ball only once.
pub const WAS_HINT: &str = "Then it is no new ball.";
/// The face was powdered anew.
pub const FRESH: &str = "Powdered anew since the last picture";
/// What that does.
pub const FRESH_HINT: &str = "Else marks of the last picture don't count a second time.";
/// Of the face's size.
pub const USUAL_FACE: &str = "The face is taken as a usual one. Measure yours once and write it under Clubs: marks are then right to the millimetre.";
/// What stays.
pub const STAYS: &str = "The picture itself is not kept: only its marks, and a small grey one of the face.";
/// It is gone.
pub const GONE: &str = "The picture is not held any more: take it again.";

/// The ends, as `Heel`.
pub const ENDS: [&str; 4] = ["Heel end", "Toe end", "Crown edge", "Sole edge"];

/// What is wrong with a picture, and what to do.
pub fn trouble(trouble: Trouble) -> &'static str {
    crate::words::photo::trouble(trouble)
}

/// A mark.
pub fn mark(no: usize, toe_mm: f64, high_mm: f64) -> String {
    format!("Mark {no}: {}", strike(toe_mm, high_mm))
}

/// How sure one that was read is.
pub fn read(sigma_mm: f64, confidence: f64) -> String {
    // Two numbers of one standard error each: 95 of 100 lie within 2.45 of it (Rayleigh).
    let within = format!("Off by less than {} mm in 95 of 100", fixed(2.448 * sigma_mm, 1));
    if confidence < 0.7 { format!("{within}; it may be something else: look at it") } else { within }
}

/// One that was set.
pub const SET: &str = "Set by you";
/// Its flag.
pub const NEW: &str = "new";
/// Its flag.
pub const EARLIER: &str = "there before";

/// What is seen.
pub fn seen(marks: usize, new: usize) -> String {
    match marks {
        0 => "No mark".into(),
        marks => format!("{}, {new} of them new", count(marks as u64, "mark")),
    }
}

/// Saves them.
pub fn save(new: usize) -> String {
    match new {
        0 => "Keep the picture's marks".into(),
        new => format!("Log {}", count(new as u64, "ball")),
    }
}

/// What was saved, as undo names it.
pub fn what(new: usize) -> String {
    match new {
        0 => "a picture's marks".into(),
        new => format!("{} off a picture", count(new as u64, "ball")),
    }
}

/// What was done.
pub fn done(marks: usize, new: usize) -> String {
    format!(
        "{}; {} logged. Wipe the face, or go on with the same powder.",
        seen(marks, new),
        count(new as u64, "ball")
    )
}
