//! Sentences of the screens: names of controls, what happened, what to do next.
//!
//! The rule: an empty screen says what to do next; a problem says what to do about it.
//! What screens share stands here, the rest in a module a screen.

pub mod ball;
pub mod coach;
pub mod first_use;
pub mod keep;
pub mod people;
pub mod picture;
pub mod plan;
pub mod readings;
pub mod rest;
pub mod sessions;
pub mod strikes;
pub mod today;

use super::number::count;
use crate::model::Day;

/// Back.
pub const BACK: &str = "Back";
/// To work out again what failed.
pub const AGAIN: &str = "Try again";
/// Without keys nothing is sealed.
pub const NO_KEYS: &str =
    "This device has no keys yet, so nothing can be sealed for anybody. Make its card first.";
/// Where there is no book yet.
pub const NO_BOOK: &str = "There is no book on this device yet: begin one first.";
/// Where there is no student.
pub const NO_STUDENT: &str = "There is no such student in this book: go back and choose one of the list.";
/// Where everything of the only student was erased.
pub const ALL_ERASED: &str = "Everything was erased here. Begin anew on the first screen.";
/// The bytes of an earlier state could not be read.
pub const STATE_LOST: &str =
    "Where you were could not be read, so this is the first screen. Everything saved is still there.";
/// A file that is not asked for any more.
pub const NO_SUCH_FILE: &str = "That file was handed over already, or is not asked for any more.";
/// The first main place before there is a book.
pub const TAB_WELCOME: &str = "Welcome";
/// The main place where a ball is logged.
pub const TAB_BALL: &str = "A ball";

/// What is being worked out.
pub fn busy(what: &str) -> String {
    format!("Working out {what} …")
}

/// The name of undo.
pub fn undo(what: &str, sent: bool) -> String {
    if sent { format!("Correct: take back {what}") } else { format!("Undo {what}") }
}

/// What undo did.
pub fn undone(what: &str, kept: u64) -> String {
    match kept {
        0 => format!("Taken back: {what}."),
        kept => format!("Taken back: {what}; {} changed since by somebody stayed.", count(kept, "figure")),
    }
}

/// An effect that failed.
pub fn failed(why: &str) -> String {
    format!("That did not work: {}. Nothing was lost; try again.", why.trim_end_matches('.'))
}

/// A file was handed over.
pub fn handed_over(to: &str) -> String {
    format!("Handed over for {to}. They take it in on their device.")
}

/// A text that begins as a sentence does.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A text as a part of a plain file name.
fn plain(text: &str) -> String {
    let dashed: String =
        text.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    dashed.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

/// A plain file name that says whose news it is, for whom and of which day.
pub fn file_name(student: &str, to: &str, day: Day) -> String {
    format!("{}-for-{}-{day}.chalk", plain(student), plain(to))
}

/// Something else than a number.
pub fn not_a_number(name: &str, written: &str) -> String {
    format!("{name}: {} is not a number; write one such as 12 or 12.5.", crate::model::check::quoted(written))
}
