//! What people read of an export: a table for each kind of record, with the values
//! that count now. It says less than the log, and is not taken in again.
//!
//! Start at [`Book::tables`]; the desk writes them as CSV and as columns.

use std::collections::BTreeMap;

use rusqlite::params;

use crate::book::Book;
use crate::book::error::BookError;
use crate::model::fields::{FieldNo, Value};
use crate::model::{Kind, RecordId, StrandId, field_word};
use crate::sync::State;

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Yes or no.
    Bool(bool),
    /// A number.
    Number(f64),
    /// A text, or an identity as text.
    Text(String),
}

/// The records of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct KindTable {
    /// What the kind is called, such as "shot".
    pub name: String,
    /// The columns: student's strand, record, whether it was removed, when it was first and
    /// last written (ms since 1970 UTC, by the clock of changes), then its fields.
    pub columns: Vec<String>,
    /// The rows, in the order in which the records were made.
    pub rows: Vec<Vec<Cell>>,
}

impl KindTable {
    /// It as CSV (RFC 4180), for spreadsheets: a text that one would take for a formula
    /// gets an apostrophe before it.
    pub fn to_csv(&self) -> Vec<u8> {
        let mut sheet = csv::Writer::from_writer(Vec::new());
        // Writing into a Vec can't fail, and all rows are equally long.
        let _ = sheet.write_record(&self.columns);
        for row in &self.rows {
            let _ = sheet.write_record(row.iter().map(Cell::text));
        }
        sheet.into_inner().unwrap_or_default()
    }
}

impl Cell {
    fn text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Bool(yes) => yes.to_string(),
            Self::Number(n) => n.to_string(),
            Self::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => format!("'{text}"),
            Self::Text(text) => text.clone(),
        }
    }
}

impl Book {
    /// The tables of some students, or of all.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn tables(&self, only: Option<&[StrandId]>) -> Result<Vec<KindTable>, BookError> {
        let mut tables = Vec::new();
        for kind in (1..=Kind::NEWEST.0).map(Kind).filter(|kind| *kind != Kind::ERASURE) {
            tables.extend(self.table(kind, only)?);
        }
        Ok(tables)
    }

    /// The table of one kind of record, for some students or all; none where there is no such
    /// record.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn table(&self, kind: Kind, only: Option<&[StrandId]>) -> Result<Option<KindTable>, BookError> {
        let mut statement = self.db.prepare_cached(
            "SELECT strand.id, record.id, state FROM record JOIN strand ON strand.no = record.strand
             WHERE kind = ?1 ORDER BY strand.id, record.id",
        )?;
        let mut rows = statement.query(params![kind.0])?;
        let mut found: Vec<(StrandId, RecordId, State)> = Vec::new();
        while let Some(row) = rows.next()? {
            let strand = StrandId::from_bytes(row.get(0)?);
            if only.is_none_or(|only| only.contains(&strand)) {
                let state = State::decode(row.get_ref(2)?.as_blob().unwrap_or_default())?;
                found.push((strand, RecordId::from_bytes(row.get(1)?), state));
            }
        }
        if found.is_empty() {
            return Ok(None);
        }
        let mut names: BTreeMap<FieldNo, String> = BTreeMap::new();
        for (_, _, state) in &found {
            for (no, value) in state.current().iter() {
                // A picture is no cell.
                if no != crate::model::record::REMOVED && !matches!(value, Value::Bytes(_)) {
                    names.entry(no).or_insert_with(|| column(kind, no));
                }
            }
        }
        let first = ["student", "record", "removed", "first_written_ms", "last_written_ms"];
        let columns = first.into_iter().map(str::to_owned).chain(names.values().cloned()).collect();
        let rows = found.into_iter().map(|(strand, record, state)| {
            let (begun, last) = state.stamps().map_or((Cell::Empty, Cell::Empty), |(begun, last)| {
                (Cell::Number(begun.hlc.ms() as f64), Cell::Number(last.hlc.ms() as f64))
            });
            let current = state.current();
            let mut row = vec![
                Cell::Text(strand.to_string()),
                Cell::Text(record.to_string()),
                Cell::Bool(state.is_removed()),
                begun,
                last,
            ];
            row.extend(names.keys().map(|no| cell(current.get(*no))));
            row
        });
        Ok(Some(KindTable { name: kind.word().to_owned(), columns, rows: rows.collect() }))
    }
}

fn column(kind: Kind, no: FieldNo) -> String {
    let word = field_word(kind, no);
    let plain = word.strip_prefix(kind.word()).map(str::trim).filter(|rest| rest.starts_with("field "));
    format!("{}_{no}", plain.map_or(word.as_str(), |_| "field")).replace([' ', '-'], "_")
}

fn cell(value: Option<&Value>) -> Cell {
    match value {
        None | Some(Value::Null | Value::Bytes(_) | Value::Opaque(_)) => Cell::Empty,
        Some(Value::Bool(yes)) => Cell::Bool(*yes),
        Some(Value::Number(n)) => Cell::Number(*n),
        Some(Value::Text(text)) => Cell::Text(text.clone()),
        Some(Value::Id(id)) => Cell::Text(RecordId::from_bytes(*id).to_string()),
    }
}
