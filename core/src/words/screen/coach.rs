//! Words of the coach's screens.

use super::super::number::{count, day, day_of_year, distance, fixed, speed};
use crate::flight::Split;
use crate::model::{Day, UnitSystem};

/// The main place.
pub const STUDENTS: &str = "Students";
/// The search.
pub const SEARCH: &str = "Look for";
/// No student.
pub const EMPTY: &str = "No student yet. Take in the file that a student sent, or add one.";
/// Nobody of that name.
pub const NOBODY: &str = "Nobody is called so. Write less of the name.";
/// To add one.
pub const ADD: &str = "Add a student";
/// Under it.
pub const ADD_HINT: &str = "For who has no device with this yet.";
/// The brief.
pub const BRIEF: &str = "The brief";
/// Under it.
pub const BRIEF_HINT: &str = "All of it, to read before the lesson.";
/// The lesson.
pub const LESSON: &str = "Lesson";
/// Under it.
pub const LESSON_HINT: &str = "Log strikes and see the pattern grow.";
/// All balls.
pub const SHOTS: &str = "Balls";
/// Under it.
pub const SHOTS_HINT: &str = "Every ball, with filters.";
/// What would help.
pub const WHAT_IF: &str = "What if";
/// Under it.
pub const WHAT_IF_HINT: &str = "What each fix would change, at a size that you set.";
/// Target and baseline.
pub const ABOUT: &str = "Target and baseline";
/// Under it.
pub const ABOUT_HINT: &str = "What strikes are judged by, and from when.";
/// The list's name.
pub const LIST: &str = "Who comes next first";
/// Nothing to brief on.
pub const NO_LOG: &str = "Nothing logged yet: take in their file, or log strikes in a lesson.";

/// Comes next.
pub fn next(day: Day) -> String {
    format!("lesson {}", day_of_year(day))
}

/// The last session.
pub fn last(of: Option<Day>, balls: u64) -> String {
    match of {
        Some(of) => format!("last ball {}, {} in all", day(of), count(balls, "ball")),
        None => "no ball yet".into(),
    }
}

/// Attention.
pub const PAIN: &str = "pain reported";
/// Attention.
pub const CONFLICT: &str = "plan changed on both sides";
/// Attention.
pub const ENDED: &str = "plan has ended";
/// Attention.
pub fn quiet(days: i64) -> String {
    format!("nothing logged for {days} days")
}

/// The baseline was kept.
pub const KEPT: &str = "Kept: progress is measured from all balls up to today.";
/// Keep as the baseline.
pub const KEEP: &str = "Keep as the baseline";
/// Under it.
pub const KEEP_HINT: &str = "Progress is measured from the balls up to today.";
/// What undo calls it.
pub const KEEP_UNDO: &str = "the baseline";
/// Target point.
pub const TARGET_TOE: &str = "Target, toward the toe";
/// Target point.
pub const TARGET_HIGH: &str = "Target, above the face centre";
/// Centre radius.
pub const TARGET_RADIUS: &str = "Counts as centred within";
/// Baseline.
pub const BASELINE: &str = "Baseline up to and with the day";
/// Baseline.
pub const BASELINE_HINT: &str = "Empty: the first three sessions with marks.";
/// Filters.
pub const FILTER_PLACE: &str = "Where";
/// Filters.
pub const FILTER_MARK: &str = "Strike";
/// Filters.
pub const ANY: &str = "Any";
/// Filters.
pub const MARKED: &str = "Looked at";
/// Filters.
pub const FELT: &str = "Felt";
/// Filters.
pub const NO_MARK: &str = "None";
/// No ball fits.
pub const NO_SHOTS: &str = "No ball fits. Choose Any, or log balls first.";
/// What the answer of a moved slider is.
pub const ROUGH: &str = "Rough figures while it is worked out in full.";
/// Ranked by.
pub const CARE: &str = "Ranked by";
/// Ranked by.
pub const CARE_BOTH: &str = "Both";
/// Ranked by.
pub const CARE_DISTANCE: &str = "Distance";
/// Ranked by.
pub const CARE_FAIRWAYS: &str = "Fairways";
/// Nothing read.
pub const NOTHING_READ: &str =
    "No ball was read well enough to say. Log strikes with start and curve, or any reading.";
/// The name of a new student.
pub const NAME: &str = "Their name";
/// The hand they play from.
pub const HAND: &str = "They play";
/// Without a name.
pub const NEED_NAME: &str = "Write their name first.";
/// The plan.
pub const PLAN: &str = "Plan";
/// Under it.
pub const PLAN_HINT: &str = "Drills, doses, caps; what was done and what came of it.";
/// About the student.
pub const WHO: &str = "About them";
/// The pattern of the day.
pub const TODAY_PATTERN: &str = "Strikes today";
/// The day.
pub const TODAY: &str = "today";

/// They were added.
pub fn added(name: &str) -> String {
    format!("Added: {name}.")
}

/// Over the parts of the last ball.
pub const SPLIT: &str = "The last ball";
/// Contact.
pub const CONTACT: &str = "Contact";
/// The face.
pub const FACE: &str = "Face and path";
/// The speed.
pub const WITH_SPEED: &str = "Head speed";

/// What came from where on the face it was struck: `6 yd less carry, curve 9 yd left`.
pub fn from_contact(split: &Split, units: UnitSystem) -> String {
    let carry = split.carry_m.from_strike;
    let more = if carry < 0.0 { "less" } else { "more" };
    format!(
        "{} {more} carry, curve {}",
        distance(units, carry.abs()),
        aside(units, split.curve_m.from_strike)
    )
}

/// What came from the face and the path: `started 2.1° right, curve 4 yd right`.
pub fn from_face(split: &Split, units: UnitSystem) -> String {
    let start = split.start_deg.from_delivery;
    let side = if start < 0.0 { "left" } else { "right" };
    let curve = aside(units, split.curve_m.from_delivery);
    format!("started {}° {side}, curve {curve}", fixed(start.abs(), 1))
}

/// With which speed, and how sure.
pub fn with_speed(mps: f64, sigma_mps: f64, units: UnitSystem) -> String {
    // 95 of 100 within 1.96 standard errors.
    format!("{}, give or take {}", speed(units, mps), speed(units, 1.96 * sigma_mps))
}

/// How sure the parts of one ball are: standard errors of the face and of the strike.
pub fn one_ball(face_sigma_deg: f64, strike_sigma_mm: f64) -> String {
    // 95 of 100 within 1.96 standard errors.
    format!(
        "Likeliest parts of one ball: its face is known to {}° either way, its strike to {} mm, each in 95 of 100.",
        fixed(1.96 * face_sigma_deg, 1),
        fixed(1.96 * strike_sigma_mm, 0)
    )
}

fn aside(units: UnitSystem, m: f64) -> String {
    format!("{} {}", distance(units, m.abs()), if m < 0.0 { "left" } else { "right" })
}
