//! Options of `trial` and `feel`.

use chalkface_core::model::{BallNo, Measure, Name, Refusal, TrialKind, written};
use clap::{Args, Subcommand};

use super::name;

/// Options of `trial`.
#[derive(Debug, Args)]
pub struct Trial {
    /// The student.
    pub student: String,
    /// What to do.
    #[command(subcommand)]
    pub command: TrialCommand,
}

/// What to do with a student's trial.
#[derive(Debug, Subcommand)]
pub enum TrialCommand {
    /// Begin a trial: its order is drawn now and kept.
    Begin(Begin),
    /// Which ball is next, and how to hit it.
    Next,
    /// Log the next ball, or the one with --ball.
    Log(Log),
    /// Leave a ball out: the next one, or the one with --ball.
    LeaveOut {
        /// Its number.
        #[arg(long, value_name = "NUMBER", value_parser = ball)]
        ball: Option<BallNo>,
    },
    /// End the trial before its last ball; nothing is called then.
    End,
    /// What came of it, once it is over.
    Result,
}

/// Options of `trial begin`.
#[derive(Debug, Args)]
pub struct Begin {
    /// What each way is called: first the usual one, then what is tried.
    #[arg(long, num_args = 2, required = true, value_names = ["USUAL", "TRIED"], value_parser = name)]
    pub arms: Vec<Name>,
    /// What they differ in: gripped-down, tee-height, ball, club or other.
    #[arg(long, value_parser = kind, default_value = "other")]
    pub kind: TrialKind,
    /// What it is judged by: carry, miss, head-speed or start-spread.
    #[arg(long, value_parser = measure, default_value = "carry")]
    pub measure: Measure,
    /// How many blocks.
    #[arg(long, default_value_t = 6)]
    pub blocks: i64,
    /// Balls a block, half of them each way.
    #[arg(long, default_value_t = 4)]
    pub balls: i64,
    /// Only say what such a trial could see, and begin nothing.
    #[arg(long)]
    pub dry_run: bool,
}

/// Options of `trial log`: what was read of the ball.
#[derive(Debug, Args)]
pub struct Log {
    /// The ball's number, where it isn't the next one: to hit one again.
    #[arg(long, value_name = "NUMBER", value_parser = ball)]
    pub ball: Option<BallNo>,
    /// Carry, such as 190m or 208yd.
    #[arg(long, value_name = "LENGTH", value_parser = written::length)]
    pub carry: Option<f64>,
    /// Head speed, such as 92mph.
    #[arg(long, value_name = "SPEED", value_parser = written::speed)]
    pub head_speed: Option<f64>,
    /// Ball speed, such as 135mph.
    #[arg(long, value_name = "SPEED", value_parser = written::speed)]
    pub ball_speed: Option<f64>,
    /// Where it started, degrees right of the target.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true)]
    pub start: Option<f64>,
    /// Where on the face, mm from its centre, such as toe20,high0 or heel5,low3.
    #[arg(long, value_name = "WHERE", value_parser = written::strike)]
    pub strike: Option<(f64, f64)>,
    /// Where it was felt before looking, in the same form.
    #[arg(long, value_name = "WHERE", value_parser = written::strike)]
    pub guess: Option<(f64, f64)>,
    /// The face was powdered.
    #[arg(long)]
    pub powder: bool,
}

/// Options of `feel`.
#[derive(Debug, Args)]
pub struct Feel {
    /// The student.
    pub student: String,
}

fn words(text: &str) -> String {
    text.replace(['-', '_'], " ")
}

fn kind(text: &str) -> Result<TrialKind, Refusal> {
    TrialKind::named(&words(text))
}

fn measure(text: &str) -> Result<Measure, Refusal> {
    Measure::named(&words(text))
}

fn ball(text: &str) -> Result<BallNo, String> {
    let number = text.parse().map_err(|_| "a whole number such as 5".to_owned())?;
    BallNo::new(number).map_err(|refusal: Refusal| refusal.to_string())
}
