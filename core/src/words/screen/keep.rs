//! Words of copies, tables and erasing, and of a guardian's box.

use crate::model::{Day, Guardian, Kind, Moment, StrandId};
use crate::words::number::day;

/// The title.
pub const TITLE: &str = "Copies and erasing";
/// Under the way to it.
pub const HINT: &str = "Take everything along, tables for a spreadsheet, erase.";
/// A copy.
pub const COPY: &str = "A copy of everything";
/// What it is.
pub const COPY_USE: &str = "One file with every ball, plan and correction. Any other book can take it in. It is not sealed: whoever has it can read it.";
/// Makes it.
pub const COPY_MAKE: &str = "Make the copy and hand it over";
/// Tables.
pub const TABLES: &str = "A table for a spreadsheet";
/// What they are.
pub const TABLES_USE: &str = "For reading only: it can't be taken in again. It is not sealed either.";
/// Which one.
pub const TABLE: &str = "Of what";
/// Makes it.
pub const TABLE_MAKE: &str = "Make the table and hand it over";
/// There is nothing of that kind.
pub const NO_TABLE: &str = "There is nothing of that kind any more: choose another table.";
/// It is asked for.
pub const MADE: &str = "The file is ready to hand over.";
/// It was handed over.
pub const HANDED: &str = "Handed over. Keep it where only you can read it.";
/// Erasing.
pub const ERASE: &str = "Erase";
/// All of a student.
pub const ALL: &str = "Erase everything, everywhere";
/// What it does.
pub const ALL_HINT: &str =
    "Here at once; on every other device when it takes in the word of it. This can't be taken back.";
/// To be sure.
pub const ALL_SURE: &str = "Yes, erase everything";
/// Gives a student up.
pub const GIVE_UP: &str = "Give this student up on this device";
/// What it does.
pub const GIVE_UP_HINT: &str =
    "Nothing of theirs stays here, and no file brings it back. Others keep what they hold.";
/// To be sure.
pub const GIVE_UP_SURE: &str = "Yes, give them up here";
/// A ball.
pub const BALL: &str = "Erase this ball for good";
/// A session.
pub const SESSION: &str = "Erase this session for good";
/// What it does.
pub const ERASE_HINT: &str = "Removing keeps it, to be restored; erasing doesn't: it goes from here now, and from others' devices with your next file. This can't be taken back.";
/// To be sure.
pub const ERASE_SURE: &str = "Yes, erase it for good";
/// Not so.
pub const KEEP: &str = "No, keep it";

/// Those who are gone.
pub const GONE: &str = "Erased and given up";
/// Under the way to it.
pub const GONE_HINT: &str = "Tell others of what was erased, or take somebody on again.";
/// Nobody is.
pub const GONE_NOBODY: &str = "Nobody was erased here, and nobody given up.";
/// A word that was told to nobody.
pub const NO_LISTENER: &str = "Nobody had a file of it from here: there is nobody to tell.";
/// One who was given up.
pub const GIVEN_UP: &str = "Given up here";
/// Takes on again.
pub const AGAIN: &str = "Take them on again";
/// Under it.
pub const AGAIN_HINT: &str = "Their next file brings back what they share with you.";
/// Done.
pub const AGAIN_DONE: &str = "They are taken on again: take in their next file.";
/// The name in a file that tells that somebody was erased.
pub const ERASED_FILE: &str = "erased";

/// Nothing is on this device any more.
pub const NOTHING: &str = "Everything was erased here. Tell those who had it, so that it goes from their devices too; or begin anew.";
/// Begins anew.
pub const ANEW: &str = "Begin anew";
/// Under it.
pub const ANEW_HINT: &str = "An empty log, with the same keys and people.";
/// Begun anew.
pub const ANEW_DONE: &str = "Begun anew. The first ball that you log begins the first session.";

/// Under sixteen.
pub const GUARDIAN: &str = "The guardian's box";
/// What it is.
pub const GUARDIAN_USE: &str = "Whoever may be under 16 sends nothing before their guardian allows it, here, with their own hands. They can take it back at any time.";
/// Their name.
pub const GUARDIAN_NAME: &str = "The guardian's name";
/// They agree.
pub const AGREE: &str = "I am the guardian, and files may be sent";
/// They don't any more.
pub const REFUSE: &str = "I am the guardian, and nothing may be sent any more";
/// Without a name.
pub const GUARDIAN_NEED: &str = "Write the guardian's name first.";
/// It stands.
pub const AGREED: &str = "Noted: files may be sent.";
/// It doesn't.
pub const REFUSED: &str = "Noted: nothing is sent any more. What was sent stays with those who have it.";
/// The way to it.
pub const GUARDIAN_FIRST: &str = "The guardian's box comes first";
/// Under it.
pub const GUARDIAN_FIRST_HINT: &str = "Files are made when it is set.";

/// What the guardian said.
pub fn guardian(said: Option<&Guardian>) -> String {
    let Some(said) = said else { return "Nothing is said yet: nothing can be sent.".into() };
    let who = said.name.as_ref().map_or_else(|| "The guardian".to_owned(), ToString::to_string);
    let what = if said.agrees { "files may be sent" } else { "nothing may be sent" };
    format!("{who}, {}: {what}.", day(said.day))
}

/// A kind of record, as one of several to choose from.
pub fn kind(kind: Kind) -> String {
    let rows = match kind {
        Kind::STUDENT => "About the student",
        Kind::COACH => "Coaches",
        Kind::CLUB => "Clubs",
        Kind::SESSION => "Sessions",
        Kind::SHOT => "Balls",
        Kind::SPEED_SWING => "Speed swings",
        Kind::DRILL => "Drills",
        Kind::PLAN => "Plans",
        Kind::PLANNED_DRILL => "Planned drills",
        Kind::PRACTICE => "Practice",
        Kind::NOTE => "Notes",
        Kind::TRIAL => "Trials",
        Kind::PAIN => "Reports of pain",
        Kind::MEMBER => "People",
        Kind::STRIKE_PHOTO => "Pictures of strikes",
        _ => return super::sentence(kind.word()),
    };
    rows.into()
}

/// One who was erased: when they were added, and the end of what is left of them.
pub fn erased(id: StrandId) -> String {
    format!("Erased: {}", somebody(id))
}

/// One who was given up.
pub fn given_up(id: StrandId) -> String {
    format!("{GIVEN_UP}: {}", somebody(id))
}

/// An identity begins with the milliseconds of its making (RFC 9562, 5.7); four of its last
/// digits tell those of one day apart.
fn somebody(id: StrandId) -> String {
    let made = Moment { utc_ms: (id.0.as_u128() >> 80) as i64, offset_min: 0 };
    format!("added on {} · {:04x}", day(made.local_day()), id.0.as_u128() & 0xffff)
}

/// Tells somebody.
pub fn tell(name: &str) -> String {
    format!("Make the word for {name}")
}

/// A copy's file.
pub fn copy_name(student: &str, of: Day) -> String {
    format!("{}-all-{of}.json", super::plain(student))
}

/// A table's file.
pub fn table_name(student: &str, kind: &str, of: Day) -> String {
    format!("{}-{}-{of}.csv", super::plain(student), super::plain(kind))
}
