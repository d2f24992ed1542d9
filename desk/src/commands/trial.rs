//! `trial`: two ways to hit it, in random order, judged at the end; and `feel`.

use std::path::Path;

use chalkface_core::act::{NewTrial, Unsaid, begin_trial, end_trial, leave_out_ball, log_rows};
use chalkface_core::book::{Book, Entry, StudentEntry};
use chalkface_core::lesson::trial::{Foresight, Standing, TrialResult, latest, may_begin};
use chalkface_core::lesson::{self, FitOfShot, fits};
use chalkface_core::model::{
    BallNo, BlockOrder, Guess, MarkRead, Name, Reading, Readings, Refusal, StrikeMark, Trial, UnitSystem,
};
use chalkface_core::screen::{feel_page, trial_page};
use chalkface_core::table::Row;
use chalkface_core::words::trial as say;
use serde_json::json;

use crate::cli::trial::{Begin, Feel, Log, Trial as Options, TrialCommand};
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::render;

/// A student's log as it is now.
struct Known {
    student: StudentEntry,
    log: lesson::Log,
}

impl Known {
    fn read(book: &Book, student: &str) -> Result<Self, DeskError> {
        let student = book.student(student)?;
        let log = lesson::Log::read(book, &student)?;
        Ok(Self { student, log })
    }

    /// Its fits, for carries that were not read.
    fn fits(&self, book: &Book) -> Result<Vec<FitOfShot>, DeskError> {
        Ok(fits(Some(book), &self.log)?)
    }

    fn units(&self) -> UnitSystem {
        self.log.student.units
    }

    fn trial(&self) -> Result<&Entry<Trial>, DeskError> {
        latest(&self.log).ok_or_else(|| {
            Refusal::new(
                "trial",
                self.log.student.name.as_str(),
                "a student with a trial",
                "begin one with `trial STUDENT begin`",
            )
            .into()
        })
    }
}

pub fn run(path: &Path, json: bool, options: Options) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let known = Known::read(&book, &options.student)?;
    match options.command {
        TrialCommand::Begin(begin) => self::begin(&mut book, json, &known, begin),
        TrialCommand::Next => next(json, &known),
        TrialCommand::Log(log) => self::log(&mut book, json, &known, &log),
        TrialCommand::LeaveOut { ball } => {
            let trial = known.trial()?;
            let ball = wanted(&known, trial, ball)?;
            leave_out_ball(&mut book, known.student.strand, clock::now()?, trial.id, ball)?;
            next(json, &Known::read(&book, &options.student)?)
        }
        TrialCommand::End => {
            end_trial(&mut book, known.student.strand, clock::now()?, known.trial()?.id)?;
            result(&book, json, &Known::read(&book, &options.student)?)
        }
        TrialCommand::Result => result(&book, json, &known),
    }
}

pub fn feel(path: &Path, json: bool, options: &Feel) -> Result<(), DeskError> {
    let book = Book::open(path)?;
    let student = book.student(&options.student)?;
    let log = lesson::Log::read(&book, &student)?;
    let feel = lesson::Feel::of(&log);
    print(json, &feel, || {
        render::text::page(&feel_page(log.student.name.as_str(), &feel), render::text::WIDTH)
    })
}

fn begin(book: &mut Book, json: bool, known: &Known, options: Begin) -> Result<(), DeskError> {
    let Begin { arms, kind, measure, blocks, balls, dry_run } = options;
    let arms: [Name; 2] =
        arms.try_into().map_err(|_| DeskError::System("a trial has two arms: --arms USUAL TRIED".into()))?;
    let cautions = say::cautions(kind, measure);
    let now = clock::now()?;
    let order = BlockOrder::draw(blocks, balls, now.entropy)?;
    let foresight = Foresight::of_order(&known.log, &known.fits(book)?, measure, &order);
    let told = say::foresight(known.units(), order.blocks(), order.balls_a_block(), &foresight);
    let said = |first: &str| {
        let cautions: Vec<String> = cautions.iter().map(|caution| format!("! {caution}")).collect();
        format!("{first}{told}\n{}", cautions.join("\n"))
    };
    if dry_run {
        let value = json!({ "foresight": foresight, "cautions": cautions });
        return print(json, &value, || said(""));
    }
    may_begin(&known.log)?;
    let strand = known.student.strand;
    begin_trial(book, strand, now, NewTrial { kind, arms, measure, blocks, balls })?;
    let known = Known::read(book, &strand.to_string())?;
    let standing = Standing::of(&known.log, known.trial()?);
    let value = json!({ "standing": standing, "foresight": foresight, "cautions": cautions });
    print(json, &value, || said(&format!("{}\n", say::next(&standing))))
}

fn next(json: bool, known: &Known) -> Result<(), DeskError> {
    let standing = Standing::of(&known.log, known.trial()?);
    print(json, &standing, || say::next(&standing))
}

fn result(book: &Book, json: bool, known: &Known) -> Result<(), DeskError> {
    let found = TrialResult::of(&known.log, &known.fits(book)?, known.trial()?);
    print(json, &found, || render::text::page(&trial_page(&found, known.units()), render::text::WIDTH))
}

/// The ball that was named, else the next one.
fn wanted(known: &Known, trial: &Entry<Trial>, named: Option<BallNo>) -> Result<BallNo, DeskError> {
    let next = Standing::of(&known.log, trial).next.map(|next| next.ball);
    named.or(next).ok_or_else(|| {
        let why = "to hit a ball again, name it with --ball; see `trial STUDENT result`";
        Refusal::new("trial ball", "the next one", "nothing: the trial is over", why).into()
    })
}

fn log(book: &mut Book, json: bool, known: &Known, options: &Log) -> Result<(), DeskError> {
    let trial = known.trial()?;
    let ball = wanted(known, trial, options.ball)?;
    let now = clock::now()?;
    let today = now.at.local_day();
    let row = Row {
        session: Some(Name::new("trial")?),
        day: Some(today),
        powder: options.powder.then_some(true),
        mark: options
            .strike
            .map(|(toe, high)| StrikeMark::new(toe, high, None, MarkRead::Tap))
            .transpose()?,
        guess: options.guess.map(guess).transpose()?,
        trial_ball: Some(ball),
        trial: Some(trial.id),
        readings: Readings {
            carry: reading(options.carry)?,
            head_speed: reading(options.head_speed)?,
            ball_speed: reading(options.ball_speed)?,
            start: reading(options.start)?,
            ..Readings::default()
        },
        ..Row::default()
    };
    let strand = known.student.strand;
    let logged = log_rows(book, strand, now, &[row], Unsaid { day: today, place: None })?;
    let known = Known::read(book, &strand.to_string())?;
    let standing = Standing::of(&known.log, known.trial()?);
    let value = json!({ "ball": ball, "shots": logged.shots, "standing": standing });
    print(json, &value, || format!("Ball {} logged. {}", ball.get(), say::next(&standing)))
}

fn guess((toe, high): (f64, f64)) -> Result<Guess, Refusal> {
    Ok(Guess { toe_mm: toe.try_into()?, high_mm: high.try_into()? })
}

fn reading<T: TryFrom<f64, Error = Refusal>>(value: Option<f64>) -> Result<Option<Reading<T>>, Refusal> {
    value.map(|value| Ok(Reading { value: T::try_from(value)?, sigma: None })).transpose()
}
