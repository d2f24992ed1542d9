//! A row while its cells are taken one by one, until it is whole.
//!
//! Cells come in any order, but a reading before its error. Start at
//! [`Draft::take`]; a new column gets its arm there.

use super::cell;
use super::field::{Field, Measured};
use super::header::{Column, Columns};
use super::problem::{Problem, Why};
use super::rows::{Row, Tally};
use crate::model::check::quoted;
use crate::model::quantity::{High, MarkSigma, Toe};
use crate::model::{
    Ball, BallNo, Day, Guess, Hand, MarkRead, Name, Place, Reading, Refusal, Sigma, StrikeMark,
};

/// Calls a function on the slot of one reading, whatever its type.
macro_rules! on_reading {
    ($readings:expr, $measured:expr, $call:ident($arg:expr)) => {
        match $measured {
            Measured::HeadSpeed => $call(&mut $readings.head_speed, $arg),
            Measured::BallSpeed => $call(&mut $readings.ball_speed, $arg),
            Measured::Launch => $call(&mut $readings.launch, $arg),
            Measured::Start => $call(&mut $readings.start, $arg),
            Measured::Backspin => $call(&mut $readings.backspin, $arg),
            Measured::Sidespin => $call(&mut $readings.sidespin, $arg),
            Measured::Carry => $call(&mut $readings.carry, $arg),
            Measured::Side => $call(&mut $readings.side, $arg),
            Measured::Path => $call(&mut $readings.path, $arg),
            Measured::FaceAngle => $call(&mut $readings.face_angle, $arg),
            Measured::Attack => $call(&mut $readings.attack, $arg),
            Measured::DynamicLoft => $call(&mut $readings.dynamic_loft, $arg),
            Measured::Curve => $call(&mut $readings.curve, $arg),
        }
    };
}

/// A row, and the parts of its strike mark.
pub(super) struct Draft {
    row: Row,
    hand: Option<Hand>,
    decimal_comma: bool,
    toe: Option<Toe>,
    high: Option<High>,
    sigma: Option<MarkSigma>,
    high_sigma: Option<MarkSigma>,
    read: Option<MarkRead>,
    guess_toe: Option<Toe>,
    guess_high: Option<High>,
}

impl Draft {
    /// An empty row on that line.
    pub(super) fn on(line: u64, hand: Option<Hand>, decimal_comma: bool) -> Self {
        Self {
            row: Row { line, ..Row::default() },
            hand,
            decimal_comma,
            toe: None,
            high: None,
            sigma: None,
            high_sigma: None,
            read: None,
            guess_toe: None,
            guess_high: None,
        }
    }

    /// Takes one cell that is not empty.
    pub(super) fn take(
        &mut self,
        field: Field,
        column: &Column,
        text: &str,
        tally: &mut Tally,
    ) -> Result<(), Refusal> {
        let row = &mut self.row;
        let figure = |tally| figure(field, column, text, self.decimal_comma, tally);
        match field {
            Field::Session => row.session = Some(named("session", text)?),
            Field::Day => row.day = Some(Day::parse(text)?),
            Field::Place => row.place = Some(Place::named(text)?),
            Field::Ball => row.ball = Some(Ball::named(text)?),
            Field::Club => row.club = Some(named("club", text)?),
            Field::Powder => row.powder = Some(cell::yes_or_no(text, "powder")?),
            Field::FinishHeld => row.finish_held = Some(cell::yes_or_no(text, "finish held")?),
            Field::StartByEye => row.start_by_eye = Some(cell::start_word(text, self.hand)?),
            Field::CurveByEye => row.curve_by_eye = Some(cell::curve_word(text, self.hand)?),
            Field::Read => self.read = Some(MarkRead::named(text)?),
            Field::Toe => self.toe = Some(Toe::new(figure(tally)?)?),
            Field::High => self.high = Some(High::new(figure(tally)?)?),
            Field::MarkSigma | Field::ToeSigma => self.sigma = Some(MarkSigma::new(figure(tally)?)?),
            Field::HighSigma => self.high_sigma = Some(MarkSigma::new(figure(tally)?)?),
            Field::GuessToe => self.guess_toe = Some(Toe::new(figure(tally)?)?),
            Field::GuessHigh => self.guess_high = Some(High::new(figure(tally)?)?),
            Field::TrialBall => row.trial_ball = Some(trial_ball(text)?),
            Field::Reading(measured) => {
                let value = figure(tally)?;
                on_reading!(row.readings, measured, put(value))?;
            }
            Field::SigmaOf(measured) => {
                let sigma = Sigma::new(figure(tally)?).map_err(|r| Refusal { value: quoted(text), ..r })?;
                on_reading!(row.readings, measured, put_sigma(sigma));
            }
        }
        Ok(())
    }

    /// The row, once all its cells are taken.
    pub(super) fn finish(mut self, columns: &Columns) -> Result<Row, Vec<Problem>> {
        let line = self.row.line;
        let name = |field| columns.of(field).map(|c| c.name.clone());
        let bad = |at, why| vec![Problem { line, column: name(at), value: String::new(), why }];
        let half = |at, given| {
            let given = name(given).map(|n| n.name).unwrap_or_default();
            bad(at, Why::HalfAMark { given })
        };
        self.row.guess = match (self.guess_toe, self.guess_high) {
            (None, None) => None,
            (Some(_), None) => return Err(half(Field::GuessHigh, Field::GuessToe)),
            (None, Some(_)) => return Err(half(Field::GuessToe, Field::GuessHigh)),
            (Some(toe_mm), Some(high_mm)) => Some(Guess { toe_mm, high_mm }),
        };
        self.row.mark = match (self.toe, self.high) {
            (None, None) => None,
            (Some(_), None) => return Err(half(Field::High, Field::Toe)),
            (None, Some(_)) => return Err(half(Field::Toe, Field::High)),
            (Some(toe_mm), Some(high_mm)) => {
                if columns.has(Field::HighSigma) && self.sigma != self.high_sigma {
                    return Err(bad(Field::HighSigma, Why::UnequalSigma));
                }
                self.row.mark_sigma_given = self.sigma.is_some();
                self.row.mark_read_given = self.read.is_some();
                let read = self.read.unwrap_or(MarkRead::Tap);
                let sigma_mm = match self.sigma {
                    Some(sigma) => sigma,
                    None => MarkSigma::new(read.assumed_sigma_mm())
                        .map_err(|refusal| bad(Field::Read, Why::Refused(refusal)))?,
                };
                Some(StrikeMark { toe_mm, high_mm, sigma_mm, read })
            }
        };
        Ok(self.row)
    }
}

/// A cell's number in the unit that the core holds, within its range.
fn figure(
    field: Field,
    column: &Column,
    text: &str,
    decimal_comma: bool,
    tally: &mut Tally,
) -> Result<f64, Refusal> {
    let written = cell::number(text, &column.name.name, decimal_comma)?;
    let value = column.unit.map_or(written, |unit| unit.to_inner(written));
    tally.seen += 1;
    tally.sum += written;
    match field.range() {
        Some(range) if range.check(value).is_err() => {
            tally.outside += 1;
            Err(cell::out_of_range(text, column.unit, range))
        }
        _ => Ok(value),
    }
}

fn trial_ball(text: &str) -> Result<BallNo, Refusal> {
    let number = text.parse().map_err(|_| {
        Refusal::new(
            "trial ball",
            text,
            "a whole number such as 5",
            "it is the ball's number in the order of its trial",
        )
    })?;
    BallNo::new(number)
}

fn named(field: &str, text: &str) -> Result<Name, Refusal> {
    Name::new(text).map_err(|refusal| Refusal { field: field.to_owned(), ..refusal })
}

fn put<T: TryFrom<f64, Error = Refusal>>(slot: &mut Option<Reading<T>>, value: f64) -> Result<(), Refusal> {
    *slot = Some(Reading { value: T::try_from(value)?, sigma: None });
    Ok(())
}

/// An error without its reading says nothing and is passed over.
fn put_sigma<T>(slot: &mut Option<Reading<T>>, sigma: Sigma) {
    if let Some(reading) = slot {
        reading.sigma = Some(sigma);
    }
}
