//! The rows below the header, each as the parts of a shot.
//!
//! What must hold: a row comes out whole or not at all, and every bad cell of
//! a bad row is told. Start at [`Log`].

use csv::{Reader, ReaderBuilder, StringRecord};

use super::draft::Draft;
use super::field::{Field, unit_name, unit_words};
use super::header::{Column, Columns};
use super::problem::{Hint, Problem, TableError, Why};
use super::{Options, shape};
use crate::model::check::quoted;
use crate::model::{
    Ball, BallNo, CurveByEye, Day, Guess, Name, Place, Readings, RecordId, Shot, StartByEye, StrikeMark, Unit,
};

/// One row: what it says of the session, and of one ball.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Row {
    /// The line in the file on which it begins, from 1.
    pub line: u64,
    /// The session's label.
    pub session: Option<Name>,
    /// The local day.
    pub day: Option<Day>,
    /// Where.
    pub place: Option<Place>,
    /// Which ball.
    pub ball: Option<Ball>,
    /// What the player calls the club.
    pub club: Option<Name>,
    /// Whether the face was powdered.
    pub powder: Option<bool>,
    /// The strike; with the assumed error where the row gives none, and taken
    /// as tapped where it doesn't say how it was read.
    pub mark: Option<StrikeMark>,
    /// Whether the mark's error stood in the row.
    pub mark_sigma_given: bool,
    /// Whether the row said how the mark was read.
    pub mark_read_given: bool,
    /// Where the player felt the strike, before looking.
    pub guess: Option<Guess>,
    /// The ball's number in the student's trial.
    pub trial_ball: Option<BallNo>,
    /// That trial, where whoever logs knows it; a file doesn't say.
    pub trial: Option<RecordId>,
    /// Where the ball started, by eye.
    pub start_by_eye: Option<StartByEye>,
    /// How it curved, by eye.
    pub curve_by_eye: Option<CurveByEye>,
    /// What was read.
    pub readings: Readings,
    /// Whether the finish was held.
    pub finish_held: Option<bool>,
}

impl Row {
    /// The row as a shot of that session, with the session's club; which trial
    /// it belongs to is for the book to say.
    pub fn shot(&self, session: RecordId) -> Shot {
        Shot {
            powder: self.powder,
            mark: self.mark,
            guess: self.guess,
            start_by_eye: self.start_by_eye,
            curve_by_eye: self.curve_by_eye,
            readings: self.readings.clone(),
            finish_held: self.finish_held,
            ..Shot::of(session)
        }
    }
}

/// A file whose shape and header are sound, open for reading its rows as
/// often as needed: once to check all, then to use them one by one.
#[derive(Debug)]
pub struct Log<'a> {
    text: &'a str,
    separator: u8,
    lines: Vec<u32>,
    columns: Columns,
    options: Options,
}

impl<'a> Log<'a> {
    /// Looks at bounds and header.
    ///
    /// # Errors
    /// A [`TableError`] for a file whose rows are not worth looking at.
    pub fn open(bytes: &'a [u8], options: &Options) -> Result<Self, TableError> {
        let text = shape::text(bytes)?;
        let shape::Shape { separator, lines } = shape::shape(text)?;
        let mut header = StringRecord::new();
        let line = lines.first().copied().map_or(1, u64::from);
        reader(text, separator).read_record(&mut header).map_err(|_| TableError::NotUtf8 { line })?;
        let columns = Columns::understand(&header, line, options.allow_unknown_columns)?;
        if lines.len() < 2 {
            return Err(TableError::NoRows);
        }
        Ok(Self { text, separator, lines, columns, options: *options })
    }

    /// What the header named.
    pub fn columns(&self) -> &Columns {
        &self.columns
    }

    pub(super) fn into_columns(self) -> Columns {
        self.columns
    }

    /// The rows in order, each whole or as all that is wrong with it. Rows
    /// without any value are passed over.
    pub fn rows(&self) -> Rows<'_> {
        let mut order: Vec<(usize, &Column, Field)> =
            self.columns.iter().enumerate().filter_map(|(at, c)| c.field.map(|f| (at, c, f))).collect();
        // A reading's error is hung on the reading, which has to be there first.
        order.sort_by_key(|(_, _, field)| matches!(field, Field::SigmaOf(_)));
        Rows {
            log: self,
            reader: reader(self.text, self.separator),
            record: StringRecord::new(),
            at: 0,
            tallies: vec![Tally::default(); order.len()],
            order,
        }
    }
}

fn reader(text: &str, separator: u8) -> Reader<&[u8]> {
    ReaderBuilder::new().has_headers(false).flexible(true).delimiter(separator).from_reader(text.as_bytes())
}

/// How many of a column's values are out of range, to tell a wrong unit.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Tally {
    /// Its values that are numbers.
    pub(super) seen: u64,
    /// Those of them that are out of range.
    pub(super) outside: u64,
    /// Their sum, in the column's unit.
    pub(super) sum: f64,
}

/// The rows of a [`Log`], in order.
#[derive(Debug)]
pub struct Rows<'a> {
    log: &'a Log<'a>,
    reader: Reader<&'a [u8]>,
    record: StringRecord,
    at: usize,
    order: Vec<(usize, &'a Column, Field)>,
    tallies: Vec<Tally>,
}

impl Iterator for Rows<'_> {
    type Item = Result<Row, Vec<Problem>>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let read = self.reader.read_record(&mut self.record);
            let line = self.log.lines.get(self.at).copied().map_or(self.reader.position().line(), u64::from);
            self.at += 1;
            match read {
                Ok(false) => return None,
                Ok(true) if self.at == 1 || self.record.iter().all(|c| c.trim().is_empty()) => {}
                Ok(true) => return Some(self.row(line)),
                Err(why) => {
                    let why = Why::Unreadable(why.to_string());
                    return Some(Err(vec![Problem { line, column: None, value: String::new(), why }]));
                }
            }
        }
    }
}

impl Rows<'_> {
    fn row(&mut self, line: u64) -> Result<Row, Vec<Problem>> {
        let (found, expected) = (self.record.len(), self.log.columns.len());
        if found != expected {
            let decimal_comma = found > expected && self.log.separator == b',';
            let why = Why::Ragged { found, expected, decimal_comma };
            return Err(vec![Problem { line, column: None, value: String::new(), why }]);
        }
        let mut draft = Draft::on(line, self.log.options.hand, self.log.separator == b';');
        let mut problems = Vec::new();
        for ((at, column, field), tally) in self.order.iter().zip(&mut self.tallies) {
            let text = self.record.get(*at).unwrap_or_default().trim();
            if text.is_empty() {
                continue;
            }
            if let Err(refusal) = draft.take(*field, column, text, tally) {
                problems.push(Problem {
                    line,
                    column: Some(column.name.clone()),
                    value: quoted(text),
                    why: Why::Refused(refusal),
                });
            }
        }
        if problems.is_empty() {
            return draft.finish(&self.log.columns);
        }
        problems.sort_by_key(|p| p.column.as_ref().map(|c| c.number));
        Err(problems)
    }

    /// What may lie behind the problems so far: columns most of whose values
    /// are out of range.
    pub fn hints(&self) -> Vec<Hint> {
        let mut hints: Vec<Hint> = self
            .order
            .iter()
            .zip(&self.tallies)
            .filter_map(|((_, c, f), tally)| hint(c, *f, tally))
            .collect();
        hints.sort_by_key(|hint| hint.column.number);
        hints
    }
}

fn hint(column: &Column, field: Field, tally: &Tally) -> Option<Hint> {
    let range = field.range()?;
    if tally.outside * 2 <= tally.seen {
        return None;
    }
    let mean = tally.sum / tally.seen as f64;
    let off = |unit: Unit| (unit.to_inner(mean).abs() / field.typical()).ln().abs();
    let unit = field
        .units()
        .iter()
        .filter(|u| Some(**u) != column.unit && range.check(u.to_inner(mean)).is_ok())
        .min_by(|a, b| off(**a).total_cmp(&off(**b)));
    let looks_like = unit.map(|u| (unit_words(*u).to_owned(), format!("{}_{}", field.name(), unit_name(*u))));
    Some(Hint { column: column.name.clone(), outside: tally.outside, of: tally.seen, looks_like })
}
