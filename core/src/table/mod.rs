//! Logs as tables: the bytes of a CSV file in, checked rows out.
//!
//! What must hold: nothing of a file is handed on if one of its rows is bad,
//! unless the caller asked for bad rows to be skipped; and a file of any
//! bytes costs bounded memory and time. The same header machinery serves
//! every command that reads a table: a command says which [`Field`]s it can't
//! do without ([`Columns::need`]) and takes the rest as it comes.
//!
//! # Where to start
//! [`read`] for a whole file, [`Log`] to go through a large one row by row;
//! [`field`] for the columns and their units, [`problem`] for how a bad file
//! is explained. On the way in a file passes `shape` (bounds, separator),
//! `header`, then `rows`
//! with `draft` and `cell`.

mod cell;
mod draft;
pub mod field;
mod header;
pub mod problem;
mod rows;
mod shape;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;

pub use field::{Field, Measured};
pub use header::{Column, Columns};
pub use problem::{ColumnName, Hint, Problem, Problems, TableError, Why};
pub use rows::{Log, Row, Rows};
pub use shape::{MOST_BYTES, MOST_CELL_CHARS, MOST_COLUMNS, MOST_ROWS};

use crate::model::Hand;

/// How a log is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// The player's hand, for words that mean another side for each: hook,
    /// draw, fade, slice, pull and push. Without it those words are refused.
    pub hand: Option<Hand>,
    /// Leave out bad rows and report them, instead of refusing the file.
    pub skip_bad_rows: bool,
    /// Leave out columns whose names say nothing here, instead of refusing
    /// the file. A known quantity with a wrong or missing unit stays refused.
    pub allow_unknown_columns: bool,
}

/// A log that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The good rows, in the file's order.
    pub rows: Vec<Row>,
    /// What the header named, and so what was absent.
    pub columns: Columns,
    /// What was wrong with the rows that were skipped; empty unless skipping
    /// was asked for.
    pub problems: Problems,
}

/// Reads a whole log.
///
/// ```
/// use chalkface_core::table::{Options, read};
/// let log = b"toe_mm, high_mm, head_speed_mph\n-12.5, 3, 98.2\n";
/// let table = read(log, &Options::default())?;
/// let mark = table.rows.first().and_then(|row| row.mark);
/// assert_eq!(mark.map(|m| m.toe_mm.mm()), Some(-12.5));
/// # Ok::<(), chalkface_core::table::TableError>(())
/// ```
///
/// # Errors
/// A [`TableError`] that says what is wrong, where, and what to do; with
/// [`Options::skip_bad_rows`] a bad row is one only if no good one is left.
pub fn read(bytes: &[u8], options: &Options) -> Result<Table, TableError> {
    let log = Log::open(bytes, options)?;
    let mut rows = Vec::new();
    let mut problems = Problems::default();
    let mut found = log.rows();
    for row in &mut found {
        match row {
            // Once the file is refused anyway, its good rows are not kept.
            Ok(row) if problems.is_empty() || options.skip_bad_rows => rows.push(row),
            Ok(_) => {}
            Err(bad) => {
                problems.add_row(bad);
                if !options.skip_bad_rows {
                    rows = Vec::new();
                }
            }
        }
    }
    problems.hints = found.hints();
    if rows.is_empty() && problems.is_empty() {
        return Err(TableError::NoRows);
    }
    if rows.is_empty() {
        return Err(TableError::Rows(problems));
    }
    Ok(Table { rows, columns: log.into_columns(), problems })
}
