//! The command line, as clap reads it.

pub mod flight;
pub mod people;
pub mod photo;
pub mod plan;
pub mod trial;
pub mod what_if;

use std::path::PathBuf;

use chalkface_core::model::{Day, Hand, Name, Place, Role, UnitSystem};
use clap::{Args, Parser, Subcommand, ValueEnum};

/// Take in a student's log, read one brief, send back the plan.
#[derive(Debug, Parser)]
#[command(name = "chalkface", version, propagate_version = true, arg_required_else_help = true)]
pub struct Cli {
    /// The book: this device's record, one file.
    #[arg(
        long,
        global = true,
        value_name = "PATH",
        env = "CHALKFACE_BOOK",
        default_value = "chalkface.book"
    )]
    pub book: PathBuf,
    /// This device's keys, a file that only you may read; beside the book if not given.
    #[arg(long, global = true, value_name = "PATH", env = "CHALKFACE_KEYS")]
    pub keys: Option<PathBuf>,
    /// Print JSON for programs instead of text for people.
    #[arg(long, global = true)]
    pub json: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Play the whole loop with invented people, in a folder of its own.
    Demo(Demo),
    /// Make, check or rebuild a book.
    #[command(subcommand)]
    Book(BookCommand),
    /// Add, change or list students.
    #[command(subcommand)]
    Student(StudentCommand),
    /// Log what was hit.
    #[command(subcommand)]
    Record(RecordCommand),
    /// Show your contact card: text, or a QR code for another's camera.
    Card(people::Card),
    /// Take in somebody's contact card.
    Meet(people::Meet),
    /// Whom this book knows by their keys, and your own devices.
    People(people::People),
    /// Write a whole copy of the book into a new file. Its keys stay where they are.
    Backup(people::Backup),
    /// Go on with a book that you copied back from a backup to --book.
    Restore,
    /// Write an exchange file with a student's news for somebody.
    Send(Send),
    /// Take in an exchange file.
    Receive(Receive),
    /// Erase what a student doesn't want kept: here now, on other devices with your next file.
    Erase(people::Erase),
    /// Write all that the book holds into a file, or tables for reading.
    Export(people::Export),
    /// Take in what `export` wrote.
    Import(people::Import),
    /// Exchange files through a folder that any file service keeps in step, until stopped.
    Watch(people::Watch),
    /// Read strike marks out of pictures of the powdered face, without any book.
    Photo(Box<photo::Photo>),
    /// Say what the strike marks of a CSV file show, without any book.
    Pattern(Pattern),
    /// Whether strikes have really changed since a baseline: two CSV files, without any book.
    Compare(Compare),
    /// Where a ball flies, from what the club did or from its launch, without any book.
    Fly(Box<flight::Fly>),
    /// What the club did, from what was seen of each ball in a CSV file, without any book.
    Delivery(Box<flight::Delivery>),
    /// What a student's drives would be if one thing changed: fixes, ranked.
    WhatIf(Box<what_if::WhatIf>),
    /// The one page to read before a lesson.
    Brief(Brief),
    /// Our drills and your own: what for, how, how much, and when they are done with.
    Drills(plan::Drills),
    /// A student's plan: show it, propose one, add, change or drop drills, send it.
    Plan(Box<plan::Plan>),
    /// What to do now.
    Today(plan::Today),
    /// A trial of two ways to hit it, in blocks of random order: begin, next ball, log, result.
    Trial(Box<trial::Trial>),
    /// How well a student knows where they struck it: the guess before the look.
    Feel(trial::Feel),
    /// Open all of it in a browser on this machine; nobody else can.
    Serve {
        /// The port; a free one where none is said.
        #[arg(long, default_value_t = 0)]
        port: u16,
    },
    /// Who is in the book, with how much, and whom it exchanges files with.
    List,
    /// Print a shell's completion script.
    Completions {
        /// For which shell.
        shell: clap_complete::Shell,
    },
}

/// Options of `demo`.
#[derive(Debug, Args)]
pub struct Demo {
    /// The folder to fill; it must be new or empty.
    #[arg(long, value_name = "DIR", default_value = "chalkface-demo")]
    pub into: PathBuf,
}

/// What to do with a book.
#[derive(Debug, Subcommand)]
pub enum BookCommand {
    /// Make a new book at --book.
    New {
        /// Your name.
        #[arg(long, value_parser = name)]
        name: Name,
        /// What you are.
        #[arg(long, value_parser = role)]
        role: Role,
        /// Your twelve words, or - to type them, if you have lost your other devices.
        #[arg(long, value_name = "WORDS")]
        words: Option<String>,
    },
    /// Prove that the book is whole: the records are what the changes say.
    Check,
    /// Make the records anew from the changes.
    Rebuild,
}

/// What to do with students.
#[derive(Debug, Subcommand)]
pub enum StudentCommand {
    /// Add a student; in a student's own book, yourself.
    Add {
        /// Their name.
        #[arg(value_parser = name)]
        name: Name,
        /// The hand they play from.
        #[arg(long, value_parser = hand)]
        hand: Hand,
        /// What they read distances and speeds in.
        #[arg(long, value_enum, default_value = "metric")]
        units: Units,
        /// Year of birth: limits of speed work depend on it; unknown counts as young.
        #[arg(long, value_name = "YEAR")]
        birth_year: Option<i64>,
    },
    /// Set a student's target point, centre radius, baseline or units.
    Change {
        /// The student.
        student: String,
        /// Where the strike should be: mm toward the toe, mm toward the crown.
        #[arg(long, value_name = "TOE,HIGH", value_parser = pair, allow_hyphen_values = true)]
        target: Option<(f64, f64)>,
        /// Strikes this near the target count as centred, in mm.
        #[arg(long, value_name = "MM")]
        radius: Option<f64>,
        /// Progress is measured from the sessions up to this day.
        #[arg(long, value_name = "DAY", value_parser = Day::parse)]
        baseline_until: Option<Day>,
        /// What they read distances and speeds in.
        #[arg(long, value_enum)]
        units: Option<Units>,
        /// Year of birth: limits of speed work depend on it.
        #[arg(long, value_name = "YEAR")]
        birth_year: Option<i64>,
        /// The guardian of somebody under 16, who allows here and now that files are sent.
        #[arg(long, value_name = "GUARDIAN", value_parser = name)]
        guardian_agrees: Option<Name>,
        /// The guardian doesn't allow it any more.
        #[arg(long, value_name = "GUARDIAN", value_parser = name, conflicts_with = "guardian_agrees")]
        guardian_refuses: Option<Name>,
    },
    /// List students.
    List,
}

/// What to log.
#[derive(Debug, Subcommand)]
pub enum RecordCommand {
    /// Log the shots of CSV files: one row a ball, units in the header.
    Shots {
        /// The files.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// Whose shots; not needed where the book has one student.
        #[arg(long)]
        student: Option<String>,
        /// The day of sessions that don't say theirs; today if not given.
        #[arg(long, value_parser = Day::parse)]
        day: Option<Day>,
        /// Where, for sessions that don't say.
        #[arg(long, value_parser = place)]
        place: Option<Place>,
        /// What of the files is let pass.
        #[command(flatten)]
        lenient: Lenient,
    },
    /// Keep what a picture of the powdered face shows: a shot for each new mark.
    Photo(Box<photo::RecordPhoto>),
    /// Log that a drill of the plan was done.
    Drill(plan::Done),
    /// Log swings for speed from one side or both.
    Speed(plan::Speed),
    /// Report pain: speed work stops until a licensed professional clears it.
    Pain(plan::PainReport),
}

/// Options of `send`.
#[derive(Debug, Args)]
pub struct Send {
    /// Whose news.
    pub student: String,
    /// For whom.
    #[arg(long, value_name = "PERSON", value_parser = name)]
    pub to: Name,
    /// Where to write the file; a name that says whose and when if not given.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Everything, not only what they have not proven to hold.
    #[arg(long)]
    pub all: bool,
}

/// Options of `receive`.
#[derive(Debug, Args)]
pub struct Receive {
    /// The exchange file.
    pub file: PathBuf,
}

/// What of a CSV file is let pass.
#[derive(Debug, Clone, Copy, Args)]
pub struct Lenient {
    /// Use the good rows of a file that has bad ones, and list those.
    #[arg(long)]
    pub skip_bad_rows: bool,
    /// Ignore columns that are not known.
    #[arg(long)]
    pub ignore_unknown_columns: bool,
}

impl Lenient {
    /// As the core reads a file, for a player of a hand.
    pub fn options(self, hand: Option<Hand>) -> chalkface_core::table::Options {
        chalkface_core::table::Options {
            hand,
            skip_bad_rows: self.skip_bad_rows,
            allow_unknown_columns: self.ignore_unknown_columns,
        }
    }
}

/// Options of `pattern`.
#[derive(Debug, Args)]
pub struct Pattern {
    /// The CSV file, with columns `toe_mm` and `high_mm`.
    pub file: PathBuf,
    /// Where the strike should be: mm toward the toe, mm toward the crown.
    #[arg(long, value_name = "TOE,HIGH", value_parser = pair, allow_hyphen_values = true)]
    pub target: Option<(f64, f64)>,
    /// Strikes this near the target count as centred, in mm.
    #[arg(long, value_name = "MM")]
    pub radius: Option<f64>,
    /// The hand, for the drawing.
    #[arg(long, value_parser = hand, default_value = "right")]
    pub hand: Hand,
    /// Draw it: .svg, .png or .pdf.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What of the file is let pass.
    #[command(flatten)]
    pub lenient: Lenient,
}

/// Options of `compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// The baseline: a CSV file with columns `session`, `toe_mm` and `high_mm`.
    pub base: PathBuf,
    /// Later sessions, in order: each is one more look.
    pub now: PathBuf,
    /// Where the strike should be: mm toward the toe, mm toward the crown.
    #[arg(long, value_name = "TOE,HIGH", value_parser = pair, allow_hyphen_values = true)]
    pub target: Option<(f64, f64)>,
    /// Strikes this near the target count as centred, in mm.
    #[arg(long, value_name = "MM", visible_alias = "radius")]
    pub radius_mm: Option<f64>,
    /// The shift that the baseline should be long enough to show, in mm.
    #[arg(long, value_name = "MM")]
    pub shift_mm: Option<f64>,
    /// Sessions of another student in which nothing was changed, to learn how much days
    /// differ; one file a student, as often as wanted.
    #[arg(long, value_name = "FILE")]
    pub others: Vec<PathBuf>,
    /// The hand, for the drawing.
    #[arg(long, value_parser = hand, default_value = "right")]
    pub hand: Hand,
    /// Write the page: .html, .svg, .png, .pdf, .json or .txt.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What of the file is let pass.
    #[command(flatten)]
    pub lenient: Lenient,
}

/// Options of `brief`.
#[derive(Debug, Args)]
pub struct Brief {
    /// The student.
    pub student: String,
    /// Write it: .html, .svg, .png, .pdf, .json or .txt; to the terminal if not given.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The day it is read; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub as_of: Option<Day>,
    /// Only what fits one screen of a phone: five lines and two small drawings.
    #[arg(long)]
    pub card: bool,
}

/// Units by word.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Units {
    /// Metres and metres a second.
    Metric,
    /// Yards and miles an hour.
    Imperial,
}

impl From<Units> for UnitSystem {
    fn from(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metric,
            Units::Imperial => Self::Imperial,
        }
    }
}

pub(crate) fn name(text: &str) -> Result<Name, chalkface_core::model::Refusal> {
    Name::new(text)
}

pub(crate) fn hand(text: &str) -> Result<Hand, chalkface_core::model::Refusal> {
    Hand::named(text)
}

fn role(text: &str) -> Result<Role, chalkface_core::model::Refusal> {
    Role::named(text)
}

fn place(text: &str) -> Result<Place, chalkface_core::model::Refusal> {
    Place::named(text)
}

pub(crate) fn pair(text: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().map_err(|_| format!("{part:?} is not a number"));
    let (toe, high) = text.split_once(',').ok_or("two numbers with a comma between, such as 0,6")?;
    Ok((number(toe)?, number(high)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_target_is_two_numbers() {
        assert_eq!(pair("-2, 8.5"), Ok((-2.0, 8.5)));
        assert!(pair("8").is_err() && pair("a,b").is_err());
    }
}
