//! `record shots`, and whose records they are.

use std::path::{Path, PathBuf};

use chalkface_core::act::{Logged, Unsaid, log_rows};
use chalkface_core::book::{Book, StudentEntry};
use chalkface_core::table::{Options, Table, TableError};
use chalkface_core::{table, words};
use serde_json::{Value, json};

use super::homework;
use crate::cli::RecordCommand;
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::progress::Busy;

pub fn run(path: &Path, json: bool, command: RecordCommand) -> Result<(), DeskError> {
    let (files, student, day, place, lenient) = match command {
        RecordCommand::Shots { files, student, day, place, lenient } => (files, student, day, place, lenient),
        RecordCommand::Photo(options) => return super::record_photo::run(path, json, &options),
        RecordCommand::Drill(options) => return homework::drill(path, json, options),
        RecordCommand::Speed(options) => return homework::speed(path, json, &options),
        RecordCommand::Pain(options) => return homework::pain(path, json, options),
    };
    let mut book = Book::open(path)?;
    let student = whose(&book, student.as_deref())?;
    let options = lenient.options(Some(student.student.value.hand));
    let busy = Busy::with("logging");
    // All files are read before any is logged: one with a mistake stops all.
    let tables: Vec<(PathBuf, Table)> = files
        .into_iter()
        .map(|file| read(&file, options).map(|table| (file, table)))
        .collect::<Result<_, _>>()?;
    let now = clock::now()?;
    let unsaid = Unsaid { day: day.unwrap_or_else(|| now.at.local_day()), place };
    let rows: Vec<_> = tables.iter().flat_map(|(_, table)| table.rows.iter().cloned()).collect();
    let logged = log_rows(&mut book, student.strand, now, &rows, unsaid)?;
    drop(busy);
    let skipped: Vec<Value> = tables
        .iter()
        .filter(|(_, table)| !table.problems.is_empty())
        .map(|(file, table)| json!({ "file": file, "problems": table.problems.to_string() }))
        .collect();
    let value = json!({
        "student": student.student.value.name, "sessions": logged.sessions, "shots": logged.shots,
        "already_there": logged.already_there, "off_face": logged.off_face, "skipped": skipped,
    });
    print(json, &value, || said(&student, logged, &tables))
}

fn said(student: &StudentEntry, logged: Logged, tables: &[(PathBuf, Table)]) -> String {
    let mut text = format!(
        "{}: {} in {} logged.",
        student.student.value.name,
        words::number::counted(logged.shots, "new shot", "new shots"),
        words::number::counted(logged.sessions, "new session", "new sessions"),
    );
    if logged.already_there > 0 {
        text += &format!(
            " {} there already.",
            words::number::counted(logged.already_there, "shot was", "shots were")
        );
    }
    if logged.off_face > 0 {
        let marks = words::number::counted(logged.off_face, "mark lies", "marks lie");
        text += &format!(" {marks} beyond the club's face: kept, and left out of flight.");
    }
    for (file, table) in tables.iter().filter(|(_, table)| !table.problems.is_empty()) {
        text += &format!("\nSkipped in {}:\n{}", file.display(), table.problems);
    }
    text
}

/// The student named, or the only one of the book.
///
/// # Errors
/// If there is no such student, or several.
pub fn whose(book: &Book, named: Option<&str>) -> Result<StudentEntry, DeskError> {
    if let Some(name) = named {
        return Ok(book.student(name)?);
    }
    let mut students = book.students()?;
    match (students.pop(), students.len()) {
        (Some(only), 0) => Ok(only),
        // The book's own words for having none.
        (None, _) => Ok(book.student("")?),
        (Some(_), others) => Err(DeskError::Whose(others + 1)),
    }
}

/// Reads a CSV file.
///
/// # Errors
/// [`DeskError::File`] or [`DeskError::Table`].
pub fn read(path: &Path, options: Options) -> Result<Table, DeskError> {
    table::read(&bytes(path)?, &options)
        .map_err(|problem| DeskError::Table { path: path.to_owned(), problem })
}

/// The bytes of a CSV file.
///
/// # Errors
/// As [`read`].
pub fn bytes(path: &Path) -> Result<Vec<u8>, DeskError> {
    // A file beyond the table's bound is refused by its size, unread.
    let size = std::fs::metadata(path).map_err(DeskError::file(path))?.len();
    if size > table::MOST_BYTES as u64 {
        return Err(DeskError::Table { path: path.to_owned(), problem: TableError::TooLarge });
    }
    std::fs::read(path).map_err(DeskError::file(path))
}
