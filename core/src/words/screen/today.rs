//! Words of the day's drills while they are being done.

use super::super::number::count;

/// The main place.
pub const TITLE: &str = "Today";
/// No plan.
pub const EMPTY: &str = "No plan yet: your coach makes one and sends it. Until then, log balls: they are what a plan is made from.";
/// To log a ball.
pub const BALL: &str = "Log a ball";
/// Under it.
pub const BALL_HINT: &str = "Where it met the face, how it flew.";
/// Under the way to taking in.
pub const TAKE_IN_HINT: &str = "Your coach's file, with the plan in it.";
/// Rest.
pub const REST: &str = "Rest";
/// The rest is over.
pub const REST_DONE: &str = "Rested enough";
/// The set is over.
pub const SET_DONE: &str = "This set is over";
/// The drill is over.
pub const END: &str = "Enough of this for now";
/// It is not there any more.
pub const GONE: &str = "That drill is not under way any more: look at the list again.";

/// To begin a drill.
pub fn begin(name: &str) -> String {
    format!("Begin: {name}")
}

/// One more repetition.
pub fn one_more(name: &str) -> String {
    format!("One more of {name}")
}

/// One more good try.
pub fn good(name: &str) -> String {
    format!("A good one of {name}")
}

/// One more try that was not.
pub fn missed(name: &str) -> String {
    format!("One of {name} that missed")
}

/// To a ball with its strike or flight.
pub fn hit(name: &str) -> String {
    format!("A ball of {name}")
}

/// What that is for.
pub const HIT_HINT: &str = "With its strike and flight; it counts in the drill.";

/// The count in words.
pub fn counted(done: u64, of: u64, sets: u64) -> String {
    let sets = if sets == 0 { String::new() } else { format!(", {} done", count(sets, "set")) };
    format!("{done} of {of} in this set{sets}")
}

/// As undo names it.
pub fn begun(name: &str) -> String {
    format!("the beginning of {name}")
}

/// As undo names it.
pub fn one_of(name: &str) -> String {
    format!("one of {name}")
}

/// As undo names it.
pub fn set_of(name: &str) -> String {
    format!("the end of a set of {name}")
}

/// As undo names it.
pub fn rest_of(name: &str) -> String {
    format!("the end of a rest of {name}")
}

/// As undo names it.
pub fn end_of(name: &str) -> String {
    format!("the end of {name}")
}
