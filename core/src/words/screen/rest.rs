//! Words of what else there is: sending, taking in, clubs, oneself, swings for speed.

use super::super::exchange::Names;
use super::super::number::count;
use crate::book::Receipt;

/// The main place.
pub const TAB: &str = "The rest";
/// Send.
pub const SEND: &str = "Send";
/// Under it, for a student.
pub const SEND_HINT: &str = "One file with your news, for your coach.";
/// Under it, for a coach.
pub const SEND_BACK_HINT: &str = "One file with what is new, plan and all.";
/// Take in.
pub const TAKE_IN: &str = "Take in a file";
/// Under it.
pub const TAKE_IN_HINT: &str = "You see what it brings before anything is taken in.";
/// Under the way to the plan.
pub const PLAN_HINT: &str = "All of it, and what came of it.";
/// Clubs.
pub const CLUBS: &str = "Clubs";
/// Under it.
pub const CLUBS_HINT: &str = "Drivers and how they are built, as far as you know.";
/// Oneself.
pub const ME: &str = "About me";
/// Under it.
pub const ME_HINT: &str = "Hand, units, year of birth.";
/// Swings for speed.
pub const SPEED: &str = "Swings for speed";
/// Under it.
pub const SPEED_HINT: &str = "Both sides, within the caps.";

/// To whom.
pub const TO: &str = "For";
/// Somebody new.
pub const TO_NEW: &str = "Somebody else, by name";
/// Nobody named.
pub const NO_RECEIVER: &str = "Say for whom: choose somebody, or write a name.";
/// Everything.
pub const ALL: &str = "Everything, not only news";
/// When everything.
pub const ALL_HINT: &str = "For a new device, or where a file got lost.";
/// To send.
pub const MAKE: &str = "Make the file and hand it over";
/// How it travels.
pub const CHANNEL: &str = "Send it by any means: it is signed by this device and sealed to theirs. Meet them first: both take in the other's card.";
/// To choose a file.
pub const PICK: &str = "Choose a file";
/// What it brings.
pub const BRINGS: &str = "What it brings";
/// What is no sealed file of somebody.
pub const A_COPY: &str = "a copy of everything";
/// To take it in.
pub const TAKE: &str = "Take it in";
/// To leave it.
pub const LEAVE: &str = "Leave it";
/// It was left.
pub const LEFT: &str = "Left as it was: nothing was taken in.";
/// A held file that is gone.
pub const FILE_GONE: &str = "That file is not held any more: choose it again.";
/// A file that is too large.
pub const TOO_LARGE: &str =
    "That file is larger than 64 MB: no exchange file of a student is. Choose another.";
/// Before a file is chosen.
pub const NO_FILE: &str = "Choose the file that the other one sent: its name ends in .chalk. Or a copy of everything, to have it here too: .json or .csv.";

/// The clubs.
pub const CLUBS_EMPTY: &str = "No club yet. Add the driver that you play: its name is enough.";
/// A new club's name.
pub const CLUB_NAME: &str = "Name of a club";
/// To add it.
pub const CLUB_ADD: &str = "Add this club";
/// Without a name.
pub const CLUB_NEED: &str = "Write the club's name first, such as: my driver.";
/// What a club doesn't say.
pub const CLUB_NOTE: &str =
    "Leave empty what you don't know: then the usual driver's figure is taken, and results say so.";

/// It was added.
pub fn club_added(name: &str) -> String {
    format!("Added: {name}.")
}

/// Under the list of clubs.
pub fn club_known(known: u64) -> String {
    match known {
        0 => "name only".into(),
        n => format!("{} known", count(n, "figure")),
    }
}

/// Speed: the side.
pub const SIDE: &str = "Swung from";
/// The side that is played from.
pub const SIDE_PLAYING: &str = "My side";
/// The other one.
pub const SIDE_OTHER: &str = "The other side";
/// The figure.
pub const SPEED_VALUE: &str = "Head speed";
/// Where it comes from.
pub const SOURCE: &str = "Read by";
/// A radar.
pub const SOURCE_RADAR: &str = "A radar";
/// Typed.
pub const SOURCE_TYPED: &str = "Something else";
/// To log it.
pub const SPEED_LOG: &str = "Log this swing";
/// Without a figure.
pub const SPEED_NEED: &str = "Write the head speed that was read first.";
/// Report pain.
pub const PAIN: &str = "Something hurts";
/// Under it.
pub const PAIN_HINT: &str = "Stops speed work until a licensed professional allows it.";
/// As undo names it.
pub const PAIN_UNDO: &str = "the report of pain";
/// As undo names it.
pub const CLEAR_UNDO: &str = "the end of the stop";
/// Pain was reported.
pub const PAIN_SAID: &str = "Noted: stop now. Speed work is off until a licensed professional allows it.";
/// Cleared.
pub const CLEAR: &str = "A licensed professional allows full swings again";
/// Cleared.
pub const CLEARED: &str = "Noted. Begin gently: lower caps hold at first.";

/// How many efforts are left.
pub fn efforts(done: i64, left: i64) -> String {
    format!("{} today; {left} more at most.", count(done.max(0) as u64, "full-speed swing"))
}

/// A swing was logged.
pub fn swing(speed: &str) -> String {
    format!("Logged: {speed}.")
}

/// What a file would bring.
pub fn brings(receipt: &Receipt, names: &Names) -> Vec<String> {
    let mut would = receipt.clone();
    would.taken = 0;
    let said = super::super::exchange::receipt(&would, names);
    let first = format!(
        "From {}: {}; {} here already.",
        receipt.from,
        count(receipt.taken, "new change"),
        super::super::number::counted(receipt.already_had, "change is", "changes are"),
    );
    // The first line tells of what was taken in; the rest is the same before and after.
    std::iter::once(first).chain(said.lines().skip(1).map(|line| line.trim().to_owned())).collect()
}
