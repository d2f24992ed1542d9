//! Options of `drills`, `plan`, `today`, and of `record drill`, `speed` and `pain`.

use std::path::PathBuf;

use chalkface_core::model::{Count, Day, Effort, Goal, Name, Purpose, Refusal, Remark, StartByEye, written};
use chalkface_core::plan::Fault;
use clap::{Args, Subcommand};

use super::name;

/// Options of `drills`.
#[derive(Debug, Args)]
pub struct Drills {
    /// One drill in full, by name or the start of it.
    pub drill: Option<String>,
}

/// Options of `plan`.
#[derive(Debug, Args)]
pub struct Plan {
    /// The student.
    pub student: String,
    /// Write it: .html, .svg, .png, .pdf, .json or .txt; to the terminal if not given.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The day it is read; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub as_of: Option<Day>,
    /// What to do with the plan; it is shown if nothing is said.
    #[command(subcommand)]
    pub command: Option<PlanCommand>,
}

/// What to do with a plan.
#[derive(Debug, Subcommand)]
pub enum PlanCommand {
    /// Two or three drills for what the log shows, for the time there is.
    Propose(Propose),
    /// Add a drill: one of ours, one of your own, or a new one with --text.
    Add(Add),
    /// Change a drill's dose, place or note, or the plan's last day and caps.
    Change(Change),
    /// Take a drill out of the plan; what was done of it stays.
    Drop {
        /// The drill: its name, the start of it, or its place in the plan.
        drill: String,
    },
    /// Write an exchange file with the student's news, the plan among them.
    Send {
        /// For whom; the student if not given.
        #[arg(long, value_name = "PERSON", value_parser = name)]
        to: Option<Name>,
        /// Where to write the file.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// Everything, not only what they have not proven to hold.
        #[arg(long)]
        all: bool,
    },
}

/// Options of `plan propose`.
#[derive(Debug, Args)]
pub struct Propose {
    /// For what, instead of what the log shows: high, low, toe, heel, scatter, speed, face or feel.
    #[arg(long = "for", value_name = "FAULT", num_args = 1.., value_parser = Fault::named)]
    pub faults: Vec<Fault>,
    /// Leave out what each fix would gain, which the brief counts; goes by the misses alone.
    #[arg(long)]
    pub misses_only: bool,
    /// The next lesson.
    #[arg(long, value_name = "DAY", value_parser = Day::parse)]
    pub until: Option<Day>,
    /// Practice sessions a week that the student has time for.
    #[arg(long, value_name = "NUMBER", default_value_t = 2, value_parser = clap::value_parser!(i64).range(1..=14))]
    pub sessions: i64,
    /// Minutes a session.
    #[arg(long, value_name = "NUMBER", default_value_t = 30, value_parser = clap::value_parser!(i64).range(5..=240))]
    pub minutes: i64,
    /// Begin the proposed plan.
    #[arg(long)]
    pub accept: bool,
    /// What the plan is after; made up of the faults if not given.
    #[arg(long, value_parser = name)]
    pub aim: Option<Name>,
}

/// A dose, as a whole or in parts.
#[derive(Debug, Args)]
pub struct DoseOptions {
    /// Sets a time.
    #[arg(long, value_name = "NUMBER")]
    pub sets: Option<i64>,
    /// Repetitions a set, both sides together.
    #[arg(long, value_name = "NUMBER")]
    pub repetitions: Option<i64>,
    /// Times a week.
    #[arg(long, value_name = "NUMBER")]
    pub times: Option<i64>,
    /// A note for both sides.
    #[arg(long, value_parser = remark)]
    pub note: Option<Remark>,
    /// Take the note away.
    #[arg(long, conflicts_with = "note")]
    pub no_note: bool,
    /// Its place in the plan, from 1.
    #[arg(long, value_name = "NUMBER")]
    pub place: Option<usize>,
}

/// What a drill of one's own says.
#[derive(Debug, Args)]
pub struct OwnOptions {
    /// How to do it: a file of CommonMark. Makes or changes a drill of your own.
    #[arg(long, value_name = "FILE")]
    pub text: Option<PathBuf>,
    /// What it is for: contact-bias, contact-scatter, speed, face or feel.
    #[arg(long, value_parser = purpose)]
    pub purpose: Option<Purpose>,
    /// How hard its swings are: easy, normal or full-speed. Speed drills count as full speed.
    #[arg(long, value_parser = effort)]
    pub effort: Option<Effort>,
    /// Swings are made from both sides.
    #[arg(long)]
    pub two_sided: bool,
    /// What it is judged by: centre-rate, scatter, start-line, finish-held, feel, speed-ratio or head-speed.
    #[arg(long, value_parser = goal)]
    pub goal: Option<Goal>,
    /// What it takes.
    #[arg(long, value_parser = remark)]
    pub equipment: Option<Remark>,
    /// What to write down.
    #[arg(long, value_parser = remark)]
    pub log: Option<Remark>,
    /// What to be careful about.
    #[arg(long, value_parser = remark)]
    pub care: Option<Remark>,
}

/// Options of `plan add`.
#[derive(Debug, Args)]
pub struct Add {
    /// The drill: a name from `drills`, or a new name with --text.
    #[arg(value_parser = name)]
    pub drill: Name,
    /// How much of it; the usual dose if not given.
    #[command(flatten)]
    pub dose: DoseOptions,
    /// A drill of your own.
    #[command(flatten)]
    pub own: OwnOptions,
}

/// Options of `plan change`.
#[derive(Debug, Args)]
pub struct Change {
    /// The drill: its name, the start of it, or its place in the plan.
    pub drill: Option<String>,
    /// How much of it.
    #[command(flatten)]
    pub dose: DoseOptions,
    /// What a drill of your own says.
    #[command(flatten)]
    pub own: OwnOptions,
    /// What the plan is after.
    #[arg(long, value_parser = name)]
    pub aim: Option<Name>,
    /// The plan's last day: the next lesson.
    #[arg(long, value_name = "DAY", value_parser = Day::parse)]
    pub until: Option<Day>,
    /// Full-speed swings a day at most; more than the ceiling has no effect.
    #[arg(long, value_name = "NUMBER", value_parser = count)]
    pub cap_day: Option<Count>,
    /// Full-speed swings in seven days at most.
    #[arg(long, value_name = "NUMBER", value_parser = count)]
    pub cap_week: Option<Count>,
    /// Days of rest between days of speed work, at least.
    #[arg(long, value_name = "NUMBER", value_parser = count)]
    pub rest_days: Option<Count>,
}

/// Options of `today`.
#[derive(Debug, Args)]
pub struct Today {
    /// The student; not needed where the book has one.
    pub student: Option<String>,
    /// The day; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub day: Option<Day>,
    /// Write it: .html, .svg, .png, .pdf, .json or .txt.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What to do; the day's drills are shown if nothing is said.
    #[command(subcommand)]
    pub command: Option<TodayCommand>,
}

/// What to do while a drill is being done. Each is in the book before it is answered.
#[derive(Debug, Subcommand)]
pub enum TodayCommand {
    /// Begin a drill of the plan, or go on with it.
    Begin {
        /// The drill: its name, the start of it, or its place in the plan.
        drill: String,
    },
    /// One repetition.
    Count {
        /// It was good by the drill's own measure.
        #[arg(long, conflicts_with = "missed")]
        good: bool,
        /// It was not.
        #[arg(long)]
        missed: bool,
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
    /// A ball, with what was seen of it.
    Ball(Ball),
    /// On to a step of the drill.
    Step {
        /// Its number.
        step: i64,
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
    /// The set is over, with fewer repetitions than planned.
    SetDone {
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
    /// The rest is over before its time.
    RestDone {
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
    /// Take the last count back.
    Undo {
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
    /// The drill is over for now.
    End {
        /// Which drill, where several are under way.
        #[arg(long)]
        drill: Option<String>,
    },
}

/// Options of `today ball`.
#[derive(Debug, Args)]
pub struct Ball {
    /// Where on the face, mm from its centre, such as toe20,high0 or heel5,low3.
    #[arg(long, value_name = "WHERE", value_parser = written::strike)]
    pub strike: Option<(f64, f64)>,
    /// Where it was felt before looking, in the same form.
    #[arg(long, value_name = "WHERE", value_parser = written::strike)]
    pub guess: Option<(f64, f64)>,
    /// Where it started: far-left, left, straight, right or far-right.
    #[arg(long, value_parser = start)]
    pub start: Option<StartByEye>,
    /// The finish was held for a count of three: yes or no.
    #[arg(long, value_name = "YES/NO", value_parser = yes)]
    pub held: Option<bool>,
    /// The face was powdered.
    #[arg(long)]
    pub powder: bool,
    /// Which drill, where several are under way.
    #[arg(long)]
    pub drill: Option<String>,
}

/// Options of `record drill`.
#[derive(Debug, Args)]
pub struct Done {
    /// The drill: its name, the start of it, or its place in the plan.
    pub drill: String,
    /// Whose; not needed where the book has one student.
    #[arg(long)]
    pub student: Option<String>,
    /// The day; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub day: Option<Day>,
    /// Sets done.
    #[arg(long, value_name = "NUMBER", value_parser = count, default_value = "1")]
    pub sets: Count,
    /// Repetitions done over all sets, both sides together; those of the sets if not given.
    #[arg(long, value_name = "NUMBER", value_parser = count)]
    pub repetitions: Option<Count>,
    /// Tries that were good, such as balls through the gate or finishes held.
    #[arg(long, value_name = "NUMBER", value_parser = count)]
    pub good: Option<Count>,
    /// Of how many tries; the repetitions if not given.
    #[arg(long, value_name = "NUMBER", value_parser = count, requires = "good")]
    pub tries: Option<Count>,
    /// The session of that day whose balls were hit in it, by its label.
    #[arg(long, value_name = "LABEL", value_parser = name)]
    pub session: Option<Name>,
    /// How it went.
    #[arg(long, value_parser = remark)]
    pub note: Option<Remark>,
}

/// Options of `record speed`.
#[derive(Debug, Args)]
pub struct Speed {
    /// Head speeds from the playing side, such as 98mph 101mph; nothing to see what is there.
    #[arg(value_name = "SPEED", value_parser = written::speed)]
    pub playing: Vec<f64>,
    /// Head speeds from the other side.
    #[arg(long, value_name = "SPEED", num_args = 1.., value_parser = written::speed)]
    pub other: Vec<f64>,
    /// They were read by a radar.
    #[arg(long)]
    pub radar: bool,
    /// The planned drill that they were made for, so that they don't count twice.
    #[arg(long, value_name = "DRILL")]
    pub drill: Option<String>,
    /// Whose; not needed where the book has one student.
    #[arg(long)]
    pub student: Option<String>,
    /// The day; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub day: Option<Day>,
}

/// Options of `record pain`.
#[derive(Debug, Args)]
pub struct PainReport {
    /// Where and when it hurts.
    #[arg(value_parser = remark)]
    pub note: Option<Remark>,
    /// A licensed professional allows full swings again, from today.
    #[arg(long, conflicts_with = "note")]
    pub cleared: bool,
    /// Whose; not needed where the book has one student.
    #[arg(long)]
    pub student: Option<String>,
}

fn spaced(text: &str) -> String {
    text.replace(['-', '_'], " ")
}

fn purpose(text: &str) -> Result<Purpose, Refusal> {
    Purpose::named(&spaced(text))
}

fn effort(text: &str) -> Result<Effort, Refusal> {
    Effort::named(&spaced(text))
}

fn goal(text: &str) -> Result<Goal, Refusal> {
    Goal::named(&spaced(text))
}

fn start(text: &str) -> Result<StartByEye, Refusal> {
    StartByEye::named(&spaced(text))
}

fn yes(text: &str) -> Result<bool, Refusal> {
    match text.trim().to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err(Refusal::new("held", text, "yes or no", "only these words are known")),
    }
}

fn remark(text: &str) -> Result<Remark, Refusal> {
    Remark::new(text)
}

fn count(text: &str) -> Result<Count, String> {
    let number = text.parse().map_err(|_| "a whole number such as 3".to_owned())?;
    Count::new(number).map_err(|refusal: Refusal| refusal.to_string())
}
