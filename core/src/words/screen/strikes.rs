//! Words of the strike pattern and of progress.

use super::super::number::{count, days};
use crate::model::Day;

/// The main place.
pub const TAB: &str = "My strikes";
/// Its title.
pub const TITLE: &str = "Strikes";
/// Progress.
pub const PROGRESS: &str = "Progress";
/// Under the way to progress.
pub const PROGRESS_HINT: &str = "What changed since the baseline, and how sure that is.";
/// Under the way to sessions.
pub const SESSIONS_HINT: &str = "Look at balls, correct or remove them.";
/// Where there is no mark.
pub const EMPTY: &str = "No strike mark yet. Powder the face, hit a ball, and tap where the mark is: three balls give a first picture.";
/// Where there is nothing to compare.
pub const NO_PROGRESS: &str =
    "Nothing logged yet. Log a few sessions of twelve balls or so: the first ones are the baseline.";

/// What a pattern rests on.
pub fn rests(from: Day, until: Day, sessions: u32, felt: u64) -> String {
    let felt = match felt {
        0 => String::new(),
        n => format!(
            " {} only felt and left out.",
            super::super::number::counted(n, "strike was", "strikes were")
        ),
    };
    format!("From {} of {}.{felt}", count(sessions.into(), "session"), days(from, until))
}
