//! Words of what a shell puts around a screen: none has any of its own.
//!
//! The rule: only furniture; what a screen says stands in [`screen`](super::screen).

use super::number::count;

/// The name of what puts a notice away.
pub const AWAY: &str = "Put this away";
/// Places by name, for who can't see or aim.
pub const ZONES: &str = "Zones";
/// The bar of main places.
pub const PLACES: &str = "Main places";
/// The switch to the colours that can be read in full sun.
pub const SUN: &str = "Full sun";
/// An effect that is not wanted now.
pub const NOT_NOW: &str = "Not now";
/// To pick the file that is asked for.
pub const CHOOSE_FILE: &str = "Choose the file";
/// To take the picture that is asked for.
pub const TAKE_PICTURE: &str = "Take the picture";
/// To hand a file to the system's ways of sharing.
pub const SHARE_FILE: &str = "Share the file";
/// To copy a short file's text, for pasting.
pub const COPY_TEXT: &str = "Copy it as text";
/// It was shared.
pub const HANDED_OVER: &str = "I have handed it over";
/// Before a caution.
pub const MIND: &str = "Mind:";
/// A clock that has run down.
pub const OVER: &str = "over";
/// The twelve words are on paper.
pub const WRITTEN_DOWN: &str = "I have written them down";
/// The device's key store has lost what it kept.
pub const KEYS_LOST: &str = "This phone can no longer read this book's key, so it can't seal or open files. Everything \
    that you logged is still here. With your twelve words a new book on this phone becomes yours again, and gets back what \
    others hold.";
/// A program that was asked for something isn't there.
pub const NO_PROGRAM: &str = "no program on this phone can do that";
/// A file of another program that can't be read.
pub const UNREADABLE: &str = "the file could not be read";

/// To show more rows of so many.
pub fn more(total: u64) -> String {
    format!("More of {}", count(total, "row"))
}

/// Of so many.
pub fn of(many: u64) -> String {
    format!("of {many}")
}

/// Seconds that a clock has left.
pub fn left(seconds: u32) -> String {
    if seconds == 0 { OVER.into() } else { format!("{seconds} s") }
}
