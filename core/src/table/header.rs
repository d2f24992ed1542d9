//! The header: which column holds what, in which unit.
//!
//! Names are taken in any order and case, with spaces, hyphens or brackets
//! for underscores. What is not understood is never guessed: it is refused
//! with the names that would be. Start at [`Columns`].

use csv::StringRecord;

use super::field::{Field, unit_name};
use super::problem::{ColumnName, Problem, Problems, TableError, Why};
use super::shape::MOST_COLUMNS;
use crate::model::check::quoted;
use crate::model::units::Unit;

/// Names that differ from a known one by so many letters are taken for slips.
const NEAR: usize = 2;

/// One column of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its number and its name as written.
    pub name: ColumnName,
    /// What it says; none for an unknown column that is skipped.
    pub field: Option<Field>,
    /// The unit of its values, where they have one.
    pub unit: Option<Unit>,
}

/// The columns of a file, in the file's order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns(Vec<Column>);

impl Columns {
    /// Understands a header that stands on `line`.
    pub(super) fn understand(
        header: &StringRecord,
        line: u64,
        allow_unknown: bool,
    ) -> Result<Self, TableError> {
        if header.len() > MOST_COLUMNS {
            return Err(TableError::TooManyColumns { line });
        }
        let known = Known::all();
        let mut problems = Problems::default();
        let mut columns: Vec<Column> = Vec::with_capacity(header.len());
        let mut add = |name: &ColumnName, why| {
            problems.add(Problem { line, column: Some(name.clone()), value: name.name.clone(), why });
        };
        for (at, written) in header.iter().enumerate() {
            let name = ColumnName { number: at + 1, name: quoted(written.trim()) };
            let (field, unit) = match known.resolve(written) {
                Ok((field, unit)) => (Some(field), unit),
                Err(why) => {
                    if !(allow_unknown && says_nothing(&why)) {
                        add(&name, why);
                    }
                    (None, None)
                }
            };
            if let Some(first) = columns.iter().find(|c| field.is_some() && c.field == field) {
                add(&name, Why::TwoColumns { first: first.name.clone() });
            }
            columns.push(Column { name, field, unit });
        }
        let mut columns = Self(columns);
        for column in &columns.0 {
            let needs = column.field.map(Field::needs).unwrap_or_default();
            if let Some(lacking) = needs.into_iter().find(|f| !columns.has(*f)) {
                add(&column.name, Why::Alone { needs: lacking.accepted().join(" or ") });
            }
        }
        if let (Some(mark), Some(axis)) = (columns.of(Field::MarkSigma), columns.of(Field::ToeSigma)) {
            add(&axis.name, Why::TwoColumns { first: mark.name.clone() });
        }
        if !problems.is_empty() {
            return Err(TableError::Header(problems));
        }
        columns.lend_units();
        Ok(columns)
    }

    /// An error's column without a unit of its own is in its reading's.
    fn lend_units(&mut self) {
        let units: Vec<(Field, Option<Unit>)> =
            self.0.iter().filter_map(|c| c.field.map(|f| (f, c.unit))).collect();
        for column in self.0.iter_mut().filter(|c| c.unit.is_none()) {
            let of = column.field.and_then(Field::error_of);
            column.unit = units.iter().find(|(f, _)| Some(*f) == of).and_then(|(_, unit)| *unit);
        }
    }

    /// All of them, skipped ones too.
    pub fn iter(&self) -> impl Iterator<Item = &Column> {
        self.0.iter()
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// The column that says this.
    pub fn of(&self, field: Field) -> Option<&Column> {
        self.0.iter().find(|c| c.field == Some(field))
    }

    /// Whether a column says this.
    pub fn has(&self, field: Field) -> bool {
        self.of(field).is_some()
    }

    /// The fields that no column gives.
    pub fn absent(&self) -> Vec<Field> {
        Field::all().filter(|f| !self.has(*f)).collect()
    }

    /// The unknown columns that were skipped.
    pub fn skipped(&self) -> impl Iterator<Item = &ColumnName> {
        self.0.iter().filter(|c| c.field.is_none()).map(|c| &c.name)
    }

    /// Checks that every one of these fields has a column.
    ///
    /// # Errors
    /// [`TableError::Lacks`] with the accepted names of those that have none.
    pub fn need(&self, fields: &[Field]) -> Result<(), TableError> {
        let names: Vec<String> =
            fields.iter().filter(|f| !self.has(**f)).map(|f| f.accepted().join(" or ")).collect();
        if names.is_empty() { Ok(()) } else { Err(TableError::Lacks { names }) }
    }
}

/// Whether a name says nothing here, so that its column may be skipped;
/// a known quantity with a wrong or missing unit says something.
fn says_nothing(why: &Why) -> bool {
    match why {
        Why::UnknownColumn { .. } | Why::UnnamedColumn => true,
        Why::UnitUnknown { unit, .. } => Unit::named(unit).is_none(),
        _ => false,
    }
}

/// Every name that is known: without its separators, as it is written, and
/// what it stands for.
struct Known(Vec<(String, String, Field, Option<Unit>)>);

impl Known {
    fn all() -> Self {
        let mut known = Vec::new();
        let mut add = |name: String, field, unit| known.push((squash(&name), name, field, unit));
        add("date".to_owned(), Field::Day, None);
        for field in Field::all() {
            let name = field.name();
            if field.units().is_empty() || field.error_of().is_some() {
                add(name.clone(), field, None);
            }
            for unit in field.units() {
                add(format!("{name}_{}", unit_name(*unit)), field, Some(*unit));
            }
        }
        Self(known)
    }

    /// What a column of that name says.
    fn resolve(&self, written: &str) -> Result<(Field, Option<Unit>), Why> {
        let squashed = squash(written);
        if squashed.is_empty() {
            return Err(Why::UnnamedColumn);
        }
        if let Some((_, _, field, unit)) = self.0.iter().find(|(name, ..)| *name == squashed) {
            return Ok((*field, *unit));
        }
        if let Some(field) = Field::all().find(|f| squash(&f.name()) == squashed) {
            return Err(Why::UnitMissing { accepted: field.accepted() });
        }
        // A known quantity with something after it: a unit that is not one of
        // its own. More than one word after it is rather another name.
        let parts = parts(written);
        let with_rest = (1..parts.len()).rev().find_map(|at| {
            let (base, rest) = (parts.get(..at)?.join("_"), parts.get(at..)?);
            let field = Field::all().filter(|f| f.name() == base).max_by_key(|f| f.units().len())?;
            Some((field, rest))
        });
        match with_rest {
            Some((field, [unit])) if !field.units().is_empty() => {
                Err(Why::UnitUnknown { unit: quoted(unit), accepted: field.accepted() })
            }
            Some((field, rest)) => Err(Why::UnknownColumn {
                suggestion: self
                    .nearest(&squashed)
                    .or_else(|| (rest.len() == 1).then(|| field.accepted().join(" or "))),
            }),
            None => Err(Why::UnknownColumn { suggestion: self.nearest(&squashed) }),
        }
    }

    /// The known name that a slip of the hand would turn into this one.
    fn nearest(&self, squashed: &str) -> Option<String> {
        let length = squashed.chars().count();
        let near = NEAR.min(length / 3);
        self.0
            .iter()
            .filter(|(name, ..)| name.len().abs_diff(length) <= near)
            .map(|(name, written, ..)| (distance(name, squashed), written))
            .filter(|(distance, _)| *distance <= near)
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, written)| written.clone())
    }
}

/// The words of a name, in lower case.
fn parts(written: &str) -> Vec<String> {
    written
        .split(|c: char| c.is_whitespace() || matches!(c, '_' | '-' | '.' | '/' | '(' | ')' | '[' | ']'))
        .filter(|part| !part.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// A name in lower case without what stands between its words.
fn squash(written: &str) -> String {
    parts(written).concat()
}

/// How many letters have to be put in, left out or changed to turn one name
/// into the other (Levenshtein's distance).
fn distance(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.chars().enumerate() {
        let mut row = vec![i + 1];
        let mut left = i + 1;
        for (pair, b) in last.windows(2).zip(&to) {
            let [across, above] = pair else { continue };
            left = (across + usize::from(a != *b)).min(above + 1).min(left + 1);
            row.push(left);
        }
        last = row;
    }
    last.last().copied().unwrap_or(0)
}
