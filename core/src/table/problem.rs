//! What can be wrong with a table, said so that the person who made the file
//! can mend it: line, column, value, reason.
//!
//! However bad a file is, at most [`MOST_KEPT`] problems are kept; the rest
//! are counted. Start at [`TableError`] for a whole file, [`Why`] for one cell.

use serde::Serialize;

use super::shape::{MOST_CELL_CHARS, MOST_COLUMNS, MOST_ROWS};
use crate::model::Refusal;

/// So many problems of a file are kept; more would not be read.
pub const MOST_KEPT: usize = 20;

/// A file that can't be taken as a log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum TableError {
    /// More bytes than [`MOST_BYTES`](super::MOST_BYTES).
    #[error("the file is larger than 64 MB; split it, for instance by year")]
    TooLarge,
    /// Nothing in it but space.
    #[error("the file is empty; a log has a header line and then one line a ball")]
    Empty,
    /// A header and nothing below it.
    #[error("the file has a header but no rows below it; a log has one line a ball")]
    NoRows,
    /// A file of another kind, by its first bytes.
    #[error("this is {what}, not a text table; open it where it was made and export it as CSV (UTF-8)")]
    OtherFormat {
        /// What it looks like.
        what: &'static str,
    },
    /// Text in the UTF-16 encoding.
    #[error("the text is in UTF-16; save it as CSV in UTF-8")]
    Utf16,
    /// Bytes that are not UTF-8.
    #[error("line {line}: not UTF-8 text; save the file as CSV in UTF-8")]
    NotUtf8 {
        /// The line with the first such byte.
        line: u64,
    },
    /// A zero byte, which no text has.
    #[error(
        "line {line}: a zero byte, which no text holds; the file is damaged or not text: export it again as CSV in UTF-8"
    )]
    Nul {
        /// The line with the first zero byte.
        line: u64,
    },
    /// A quoted cell without its end.
    #[error("line {line}: a cell begins with a quotation mark that is never closed; close it or take it out")]
    OpenQuote {
        /// The line on which the cell begins.
        line: u64,
    },
    /// More rows than [`MOST_ROWS`].
    #[error("more than {MOST_ROWS} rows; split the file, for instance by year")]
    TooManyRows,
    /// More columns than [`MOST_COLUMNS`].
    #[error(
        "line {line}: more than {MOST_COLUMNS} columns; a log has one line a ball and a column a quantity"
    )]
    TooManyColumns {
        /// The line that has them.
        line: u64,
    },
    /// A cell longer than [`MOST_CELL_CHARS`].
    #[error(
        "line {line}, column {column}: a cell of more than {MOST_CELL_CHARS} characters; shorten it, or close the quotation mark it begins with"
    )]
    CellTooLong {
        /// The line on which the cell begins.
        line: u64,
        /// The column's number, from 1.
        column: usize,
    },
    /// Column names that can't be used.
    #[error("the header can't be used:\n{0}")]
    Header(Problems),
    /// Rows that can't be used.
    #[error("nothing was taken from the file:\n{0}")]
    Rows(Problems),
    /// Columns that the task at hand can't do without.
    #[error("the file lacks {}; add {}", names.join(" and "), if names.len() == 1 { "this column" } else { "these columns" })]
    Lacks {
        /// The columns' names, with the units that are accepted.
        names: Vec<String>,
    },
}

/// A column, as the file names it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ColumnName {
    /// Its number, from 1.
    pub number: usize,
    /// Its name as written in the header, cut if it is long.
    pub name: String,
}

impl std::fmt::Display for ColumnName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "column {} ({})", self.number, self.name)
    }
}

/// One thing wrong: where, with what value, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("line {line}{}: {why}", column.as_ref().map(|c| format!(", {c}")).unwrap_or_default())]
pub struct Problem {
    /// The line in the file, from 1.
    pub line: u64,
    /// The column, where it lies in one.
    pub column: Option<ColumnName>,
    /// The value as written, cut if it is long.
    pub value: String,
    /// What is wrong with it.
    pub why: Why,
}

/// Why a column or a cell can't be used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Why {
    /// The model won't hold the value.
    #[error("{0}")]
    Refused(Refusal),
    /// Not as many cells as the header has.
    #[error("the row has {found} cells, the header {expected}{}", if *decimal_comma {
        "; numbers with a decimal comma need semicolons between the cells"
    } else { "" })]
    Ragged {
        /// Cells in the row.
        found: usize,
        /// Columns in the header.
        expected: usize,
        /// Whether a decimal comma could have split a cell.
        decimal_comma: bool,
    },
    /// One half of a strike mark.
    #[error("empty, though {given} has a value; a strike needs both or neither")]
    HalfAMark {
        /// The column that has a value.
        given: String,
    },
    /// Errors of the two axes of one mark that are not alike.
    #[error("the strike's two axes have different errors; a mark has one, sigma_mm, for both")]
    UnequalSigma,
    /// A record that could not be split into cells.
    #[error("the line can't be split into cells ({0})")]
    Unreadable(String),
    /// A name that says nothing here.
    #[error("unknown column{}; rename it, take it out, or allow unknown columns to be skipped",
        suggestion.as_ref().map(|s| format!(": did you mean {s}?")).unwrap_or_default())]
    UnknownColumn {
        /// The known name nearest to it, if one is near.
        suggestion: Option<String>,
    },
    /// A column with no name.
    #[error("the column has no name; name it or take it out")]
    UnnamedColumn,
    /// A quantity without its unit.
    #[error("the unit is missing from the name; call it {}", accepted.join(" or "))]
    UnitMissing {
        /// The names that are accepted.
        accepted: Vec<String>,
    },
    /// A quantity in a unit that it can't have.
    #[error("{unit} is not a unit known here; accepted: {}", accepted.join(", "))]
    UnitUnknown {
        /// The unit as written.
        unit: String,
        /// The names that are accepted.
        accepted: Vec<String>,
    },
    /// A second column for the same quantity.
    #[error("the same quantity as {first}; leave one of the two out")]
    TwoColumns {
        /// The column that came first.
        first: ColumnName,
    },
    /// A column that says nothing without another one.
    #[error("it needs a column {needs} beside it")]
    Alone {
        /// The column that is missing.
        needs: String,
    },
}

/// What was wrong with a file: the first problems, how many there were, and
/// what may lie behind them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Problems {
    /// The first ones, at most [`MOST_KEPT`].
    pub kept: Vec<Problem>,
    /// How many there were.
    pub total: u64,
    /// How many rows had at least one.
    pub bad_rows: u64,
    /// What may lie behind many of them at once.
    pub hints: Vec<Hint>,
}

impl Problems {
    /// Whether there were none.
    pub fn is_empty(&self) -> bool {
        self.total == 0
    }

    /// Adds one.
    pub(super) fn add(&mut self, problem: Problem) {
        self.total += 1;
        if self.kept.len() < MOST_KEPT {
            self.kept.push(problem);
        }
    }

    /// Adds all those of one row.
    pub(super) fn add_row(&mut self, problems: Vec<Problem>) {
        self.bad_rows += 1;
        for problem in problems {
            self.add(problem);
        }
    }
}

impl std::fmt::Display for Problems {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let lines = self.hints.iter().map(ToString::to_string);
        let mut lines: Vec<String> = lines.chain(self.kept.iter().map(ToString::to_string)).collect();
        let more = self.total.saturating_sub(self.kept.len() as u64);
        if more > 0 {
            lines.push(format!("and {more} more"));
        }
        f.write_str(&lines.join("\n"))
    }
}

/// A column most of whose values are out of range, and the unit that they
/// look to be in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hint {
    /// The column.
    pub column: ColumnName,
    /// How many of its values are out of range.
    pub outside: u64,
    /// How many values it has.
    pub of: u64,
    /// What the values look like, in words, and the name the column would
    /// then have; none where no known unit fits either.
    pub looks_like: Option<(String, String)>,
}

impl std::fmt::Display for Hint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {} of {} values are out of range; ", self.column, self.outside, self.of)?;
        match &self.looks_like {
            Some((words, name)) => {
                write!(f, "these look like {words}: if they are, call the column {name}")
            }
            None => write!(f, "is the column's name and unit right?"),
        }
    }
}
