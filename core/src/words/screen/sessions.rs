//! Words of sessions, of one ball and its readings, and of what was corrected.

use super::super::number::{count, day};
use crate::model::{Day, Place};

/// The list's title.
pub const TITLE: &str = "Sessions";
/// The list's name.
pub const LIST: &str = "Sessions, the latest first";
/// Removed ones.
pub const REMOVED: &str = "Removed; open one to restore it";
/// No session.
pub const EMPTY: &str = "No session yet. The first ball that you log begins one.";
/// No removed session.
pub const NONE_REMOVED: &str = "None.";
/// The name of a session.
pub const NAME: &str = "Name";
/// Its day.
pub const DAY: &str = "Day";
/// Its balls.
pub const BALLS: &str = "Balls";
/// Its removed balls.
pub const REMOVED_BALLS: &str = "Removed balls; open one to restore it";
/// No ball in it.
pub const NO_BALLS: &str = "No ball in it. Log one, or remove the session.";
/// Save.
pub const SAVE: &str = "Save changes";
/// Remove a session.
pub const REMOVE: &str = "Remove this session";
/// Restore.
pub const RESTORE: &str = "Restore";
/// Remove a ball.
pub const REMOVE_BALL: &str = "Remove this ball";
/// Readings.
pub const READINGS: &str = "Readings";
/// Under it.
pub const READINGS_HINT: &str = "Speeds, angles, spin, carry: whatever was read.";
/// What changed when.
pub const HISTORY: &str = "What was written when";
/// There is no such record.
pub const GONE: &str = "That is not there any more: go back to the list.";
/// Saved.
pub const SAVED: &str = "Saved.";
/// Nothing was changed.
pub const UNCHANGED: &str = "Nothing is different from what is saved.";
/// Under readings.
pub const READINGS_NOTE: &str =
    "Right of the target is positive for everyone. Leave empty what was not read.";
/// Spin off powder.
pub const POWDER_NOTE: &str =
    "The face was powdered: powder changes spin, so spin is kept but not mixed with dry balls.";

/// `4 May 2026 · Range · 12 balls`.
pub fn session_line(of: Day, place: Option<Place>, balls: u64) -> String {
    let place = place.map_or_else(String::new, |place| format!(" · {}", super::ball::place(place)));
    format!("{}{place} · {}", day(of), count(balls, "ball"))
}

/// `Ball 3`.
pub fn ball(no: u64) -> String {
    format!("Ball {no}")
}

/// What undo calls it.
pub fn removal(what: &str) -> String {
    format!("the removal of {what}")
}

/// What undo calls it.
pub fn restoring(what: &str) -> String {
    format!("the return of {what}")
}

/// It was removed.
pub fn removed(what: &str) -> String {
    format!("Removed: {what}. Undo brings it back, and so does the list of removed ones.")
}

/// It is back.
pub fn restored(what: &str) -> String {
    format!("Restored: {what}.")
}

/// What undo calls a correction.
pub fn correction(what: &str) -> String {
    format!("the changes of {what}")
}

/// In a history.
pub const REMOVED_THEN: &str = "removed";

/// One line of a history: `4 May 2026, Mina: 8 mm toward the toe; finish held`.
pub fn history(of: Day, who: &str, is: &str) -> String {
    format!("{}, {who}: {is}", day(of))
}
