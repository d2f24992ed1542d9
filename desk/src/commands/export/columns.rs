//! The tables of an export as Parquet, for programs that read columns.
//!
//! The rule that must hold: a column has one type, that of all its cells, or text
//! where they differ; an empty cell is null. Texts stay as they are: an apostrophe
//! before what looks like a formula is for spreadsheets only. Start at [`write`].

use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use chalkface_core::book::export::tables::{Cell, KindTable};
use parquet::basic::{Compression, LogicalType, Repetition, TimeUnit, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use parquet::errors::{ParquetError, Result};
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::Type;

use crate::error::DeskError;

/// What the cells of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Bool,
    Number,
    /// Milliseconds since 1970 UTC.
    Moment,
    Text,
}

/// Writes a table into a file.
pub fn write(table: &KindTable, path: &Path) -> std::result::Result<(), DeskError> {
    let file = File::create(path).map_err(DeskError::file(path))?;
    write_into(table, file)
        .map_err(|error| DeskError::File { path: path.to_owned(), error: std::io::Error::other(error) })
}

fn write_into(table: &KindTable, file: File) -> Result<()> {
    let kinds: Vec<Kind> = (0..table.columns.len()).map(|column| kind_of(table, column)).collect();
    let fields = table
        .columns
        .iter()
        .zip(&kinds)
        .map(|(name, kind)| field(name, *kind).map(Arc::new))
        .collect::<Result<Vec<_>>>()?;
    let schema = Type::group_type_builder("table").with_fields(fields).build()?;
    let properties = WriterProperties::builder().set_compression(Compression::SNAPPY).build();
    let mut writer = SerializedFileWriter::new(file, Arc::new(schema), Arc::new(properties))?;
    let mut group = writer.next_row_group()?;
    for (column, kind) in kinds.into_iter().enumerate() {
        match kind {
            Kind::Bool => fill::<BoolType>(&mut group, table, column, |cell| match cell {
                Cell::Bool(yes) => Some(*yes),
                _ => None,
            }),
            Kind::Number => fill::<DoubleType>(&mut group, table, column, number),
            Kind::Moment => {
                fill::<Int64Type>(&mut group, table, column, |cell| number(cell).map(|ms| ms as i64))
            }
            Kind::Text => fill::<ByteArrayType>(&mut group, table, column, text),
        }?;
    }
    group.close()?;
    writer.close().map(|_| ())
}

/// One type for all cells of a column.
fn kind_of(table: &KindTable, column: usize) -> Kind {
    let all = |is: fn(&Cell) -> bool| {
        let mut cells = cells(table, column).filter(|cell| **cell != Cell::Empty).peekable();
        cells.peek().is_some() && cells.all(is)
    };
    let is_moment = table.columns.get(column).is_some_and(|name| name.ends_with("_written_ms"));
    if all(|cell| matches!(cell, Cell::Bool(_))) {
        Kind::Bool
    } else if all(|cell| matches!(cell, Cell::Number(_))) {
        if is_moment { Kind::Moment } else { Kind::Number }
    } else {
        Kind::Text
    }
}

fn field(name: &str, kind: Kind) -> Result<Type> {
    let (physical, logical) = match kind {
        Kind::Bool => (Physical::BOOLEAN, None),
        Kind::Number => (Physical::DOUBLE, None),
        Kind::Moment => (Physical::INT64, Some(LogicalType::timestamp(true, TimeUnit::MILLIS))),
        Kind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
    };
    Type::primitive_type_builder(name, physical)
        .with_repetition(Repetition::OPTIONAL)
        .with_logical_type(logical)
        .build()
}

fn cells(table: &KindTable, column: usize) -> impl Iterator<Item = &Cell> {
    table.rows.iter().filter_map(move |row| row.get(column))
}

/// The next column of a row group: values where there are any, null elsewhere.
fn fill<T: DataType>(
    group: &mut SerializedRowGroupWriter<'_, File>,
    table: &KindTable,
    column: usize,
    value: impl Fn(&Cell) -> Option<T::T>,
) -> Result<()> {
    let all: Vec<Option<T::T>> = cells(table, column).map(value).collect();
    let there: Vec<i16> = all.iter().map(|value| i16::from(value.is_some())).collect();
    let values: Vec<T::T> = all.into_iter().flatten().collect();
    let missing = || ParquetError::General("a column too many".into());
    let mut writer = group.next_column()?.ok_or_else(missing)?;
    writer.typed::<T>().write_batch(&values, Some(&there), None)?;
    writer.close()
}

fn number(cell: &Cell) -> Option<f64> {
    match cell {
        Cell::Number(n) => Some(*n),
        _ => None,
    }
}

fn text(cell: &Cell) -> Option<ByteArray> {
    match cell {
        Cell::Empty => None,
        Cell::Bool(yes) => Some(yes.to_string().into_bytes().into()),
        Cell::Number(n) => Some(n.to_string().into_bytes().into()),
        Cell::Text(text) => Some(text.clone().into_bytes().into()),
    }
}
