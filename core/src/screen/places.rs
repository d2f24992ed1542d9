//! The table of all screens: the one place that names each of them.
//!
//! To add a screen: a file with `show` and `act` (and `rows`, where it has a long list),
//! a variant of [`Place`], a row of [`SCREENS`]. Words of places stand in states on
//! people's devices: they are for ever.

use super::both::clubs::one as club;
use super::both::{
    add_drill, broken, clubs, first_use, gone, keep, me, more, people, person, picture, plan, plan_drill,
    progress, propose, readings, send, session, sessions, shot, speed, strikes, take_in,
};
use super::coach::{about, brief, lesson, new_student, shots, student as one_student, students, what_if};
use super::control::RowsPage;
use super::event::Event;
use super::part::Part;
use super::run::{Do, Problem, See};
use super::student::{ball, today};
use crate::model::Role;

/// What a screen shows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shown {
    /// Its title.
    pub title: String,
    /// One line under it; may be empty.
    pub subtitle: String,
    /// Its parts in reading order.
    pub parts: Vec<Part>,
    /// What a screen reader is told once; may be empty.
    pub says: String,
}

impl Shown {
    /// A screen of a title, with nothing on it yet.
    pub fn new(title: impl Into<String>, subtitle: impl Into<String>) -> Self {
        Self { title: title.into(), subtitle: subtitle.into(), parts: Vec::new(), says: String::new() }
    }

    /// One more part.
    pub fn add(&mut self, part: impl Into<Part>) {
        self.parts.push(part.into());
    }
}

/// Shows a screen. Writes nothing.
pub type Show = fn(&See<'_>) -> Result<Shown, Problem>;
/// What a screen does when something happens on it. What is chosen, switched, written or
/// slid is held under its control's key already.
pub type Act = fn(&mut Do<'_>, &Event) -> Result<(), Problem>;
/// Rows of a screen's long list, after the row with a key, so many at most.
pub type MoreRows = fn(&See<'_>, &str, Option<&str>, usize) -> Result<RowsPage, Problem>;

/// A screen's row in the table.
pub struct Entry {
    /// Which.
    pub place: Place,
    /// Its word in states and on [`Screen::place`](super::Screen::place).
    pub word: &'static str,
    /// Shows it.
    pub show: Show,
    /// What it does.
    pub act: Act,
    /// Its long list.
    pub rows: MoreRows,
}

#[allow(clippy::unnecessary_wraps, reason = "it stands in the table for those that may fail")]
fn no_rows(_: &See<'_>, _: &str, _: Option<&str>, _: usize) -> Result<RowsPage, Problem> {
    Ok(RowsPage::default())
}

macro_rules! screens {
    ($($(#[$doc:meta])* $place:ident $word:literal $module:ident $(, $rows:ident)?;)+) => {
        /// A screen.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Place { $($(#[$doc])* $place),+ }

        /// All screens.
        pub static SCREENS: &[Entry] = &[$(Entry {
            place: Place::$place,
            word: $word,
            show: $module::show,
            act: $module::act,
            rows: screens!(@rows $module $($rows)?),
        }),+];
    };
    (@rows $module:ident) => { no_rows };
    (@rows $module:ident $rows:ident) => { $module::$rows };
}

screens! {
    /// The book can't be opened.
    Broken "broken" broken;
    /// There is no book yet.
    FirstUse "first_use" first_use;
    /// A ball is logged.
    Ball "ball" ball;
    /// Strikes are read off a picture.
    Picture "picture" picture;
    /// The strike pattern.
    Strikes "strikes" strikes;
    /// What changed since the baseline.
    Progress "progress" progress;
    /// All sessions.
    Sessions "sessions" sessions, rows;
    /// One session.
    Session "session" session, rows;
    /// One ball.
    Shot "shot" shot;
    /// What was read of a ball.
    Readings "readings" readings;
    /// What else there is.
    More "more" more;
    /// Sending a file.
    Send "send" send;
    /// Taking one in.
    TakeIn "take_in" take_in;
    /// Whose keys are known.
    People "people" people, rows;
    /// One of them.
    Person "person" person;
    /// Copies for elsewhere, and erasing.
    Keep "keep" keep;
    /// Who was erased or given up.
    Gone "gone" gone;
    /// Clubs.
    Clubs "clubs" clubs, rows;
    /// One club.
    Club "club" club;
    /// Hand, units, year of birth.
    Me "me" me;
    /// What to do now.
    Today "today" today;
    /// Swings for speed.
    Speed "speed" speed;
    /// The plan.
    Plan "plan" plan, rows;
    /// One drill of it.
    PlanDrill "plan_drill" plan_drill;
    /// A drill is added.
    AddDrill "add_drill" add_drill, rows;
    /// A proposal.
    Propose "propose" propose;
    /// All students.
    Students "students" students, rows;
    /// A student is added.
    NewStudent "new_student" new_student;
    /// One student.
    Student "student" one_student;
    /// The brief.
    Brief "brief" brief;
    /// A lesson.
    Lesson "lesson" lesson;
    /// Every ball.
    Shots "shots" shots, rows;
    /// What each fix would change.
    WhatIf "what_if" what_if;
    /// Target and baseline.
    About "about" about;
}

impl Place {
    /// Its row in the table.
    pub fn entry(self) -> &'static Entry {
        // The macro makes one entry of each place, in their order.
        SCREENS.get(self as usize).unwrap_or(&FALLBACK)
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        self.entry().word
    }

    /// The place of a word.
    pub fn named(word: &str) -> Option<Self> {
        SCREENS.iter().find(|entry| entry.word == word).map(|entry| entry.place)
    }
}

static FALLBACK: Entry =
    Entry { place: Place::Broken, word: "broken", show: broken::show, act: broken::act, rows: no_rows };

/// The main places of a role, with their names; the first one is home.
pub fn tabs(role: Option<Role>) -> &'static [(Place, &'static str)] {
    use crate::words::screen as say;
    match role {
        None => &[(Place::FirstUse, say::TAB_WELCOME)],
        Some(Role::Student) => &[
            (Place::Today, say::today::TITLE),
            (Place::Ball, say::TAB_BALL),
            (Place::Strikes, say::strikes::TAB),
            (Place::More, say::rest::TAB),
        ],
        Some(Role::Coach | Role::Reader) => {
            &[(Place::Students, say::coach::STUDENTS), (Place::More, say::rest::TAB)]
        }
    }
}
