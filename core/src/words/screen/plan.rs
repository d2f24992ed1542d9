//! Words of the plan's screens.

/// Its title.
pub const TITLE: &str = "Plan";
/// As undo names it.
pub const PLAN: &str = "the plan";
/// No plan.
pub const EMPTY: &str = "No plan yet. Let one be proposed from the log; everything of it can be changed.";
/// Its drills.
pub const DRILLS: &str = "Drills; open one to change it";
/// None.
pub const NO_DRILLS: &str = "No drill in it. Add one.";
/// Both sides wrote.
pub const BOTH_WROTE: &str = "both changed it";
/// To add one.
pub const ADD: &str = "Add a drill";
/// Under it.
pub const ADD_HINT: &str = "From the catalogue, or your own.";
/// A proposal.
pub const PROPOSE: &str = "Propose drills";
/// A proposal where there is a plan.
pub const PROPOSE_ANEW: &str = "Propose the next plan";
/// Under it.
pub const PROPOSE_HINT: &str = "For what the log shows, in the time there is.";
/// The plan's own figures.
pub const FRAME: &str = "Days and caps";
/// The last day.
pub const UNTIL: &str = "Up to the next lesson on";
/// Under it.
pub const UNTIL_HINT: &str = "A day such as 2026-05-21.";
/// Not in the past.
pub const UNTIL_LATER: &str = "The next lesson must be after today: write a later day.";
/// Caps.
pub const A_DAY: &str = "Full-speed swings a day, at most";
/// Caps.
pub const A_WEEK: &str = "Full-speed swings in seven days, at most";
/// Caps.
pub const REST_DAYS: &str = "Days of rest between, at least";
/// Under them.
pub const CAPS_HINT: &str = "Caps have ceilings by age and pain; a student may only be stricter.";
/// It is gone.
pub const DRILL_GONE: &str = "That drill is not in the plan any more: go back to the list.";
/// A dose.
pub const SETS: &str = "Sets";
/// A dose.
pub const REPETITIONS: &str = "Repetitions a set";
/// A dose.
pub const TIMES: &str = "Times a week";
/// Its place.
pub const PLACE: &str = "Place in the plan, from 1";
/// A note.
pub const NOTE: &str = "Note";
/// To drop it.
pub const DROP: &str = "Take it out of the plan";
/// Under it.
pub const DROP_HINT: &str = "What was done of it stays.";
/// The catalogue.
pub const CATALOGUE: &str = "Drills; open one to add it";
/// One's own.
pub const OWN: &str = "your own";
/// A new one.
pub const NEW: &str = "A new one of your own";
/// Its name.
pub const NEW_NAME: &str = "Its name";
/// How to do it.
pub const NEW_HOW: &str = "How to do it";
/// To add it.
pub const NEW_ADD: &str = "Add it";
/// Without a name.
pub const NEED_NAME: &str = "Write the drill's name first.";
/// Time.
pub const SESSIONS: &str = "Practice sessions a week";
/// Time.
pub const MINUTES: &str = "Minutes each";
/// The log shows nothing.
pub const NOTHING_SHOWN: &str =
    "The log shows nothing to choose drills for yet. Log more balls, or add drills of your choice to a plan.";
/// To begin it.
pub const BEGIN: &str = "Begin this plan";
/// Under it.
pub const BEGIN_HINT: &str = "Then change whatever you want.";
/// It has begun.
pub const BEGUN: &str = "The plan has begun. Open a drill to change it, then send.";

/// What a plan is after.
pub fn aim(faults: &[&str]) -> String {
    format!("Against {}", faults.join(" and ")).replace("Against more head speed", "More head speed")
}

/// It was added.
pub fn added(name: &str) -> String {
    format!("Added: {name}.")
}
