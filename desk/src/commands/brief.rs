//! `brief`: the one page to read before a lesson.

use std::path::Path;

use chalkface_core::book::Book;
use chalkface_core::lesson::{Brief, Log};
use chalkface_core::model::Day;
use chalkface_core::screen::{Page, brief_page};
use serde::Serialize;
use serde_json::json;

use crate::cli;
use crate::clock;
use crate::error::DeskError;
use crate::output::{print, to_json};
use crate::progress::Busy;
use crate::render;

pub fn run(path: &Path, json: bool, options: &cli::Brief) -> Result<(), DeskError> {
    let busy = Busy::with("making the brief");
    let book = Book::open(path)?;
    let as_of = options.as_of.map_or_else(clock::today, Ok)?;
    let (brief, page) = make(&book, &options.student, as_of)?;
    let Some(out) = &options.out else {
        drop(busy);
        return print(json, &brief, || render::text::page(&page, render::text::WIDTH));
    };
    write(&brief, &page, out)?;
    drop(busy);
    print(json, &json!({ "file": out, "student": brief.student }), || {
        format!("{}: the brief of {}", out.display(), brief.student)
    })
}

/// A student's brief, as values and as a page.
///
/// # Errors
/// What the book reports.
pub fn make(book: &Book, student: &str, as_of: Day) -> Result<(Brief, Page), DeskError> {
    let student = book.student(student)?;
    let log = Log::read(book, &student)?;
    let brief = Brief::of(&log, &book.device_names()?, as_of)?;
    let page = brief_page(&brief);
    Ok((brief, page))
}

/// Writes a page, or the value behind it, as the file's ending says.
///
/// # Errors
/// [`DeskError::Ending`] for an ending that it can't be written as, or what
/// the system says.
pub fn write(value: &impl Serialize, page: &Page, out: &Path) -> Result<(), DeskError> {
    match render::ending(out).as_str() {
        "html" | "htm" => render::write(out, render::html::page(page).as_bytes()),
        "txt" => render::write(out, render::text::page(page, render::text::WIDTH).as_bytes()),
        "json" => render::write(out, to_json(value)?.as_bytes()),
        "svg" | "png" | "pdf" => render::write_scene(&chalkface_core::screen::sheet(page), out),
        _ => {
            Err(DeskError::Ending { path: out.to_owned(), allowed: ".html, .svg, .png, .pdf, .json or .txt" })
        }
    }
}
