//! `brief`: the one page to read before a lesson.

use std::path::Path;

use chalkface_core::book::Book;
use chalkface_core::lesson::{Brief, DRIVES_FOR_A_BRIEF, Log, Worth};
use chalkface_core::model::Day;
use chalkface_core::screen::{Page, brief_card, brief_page, phone_sheet};
use serde_json::json;

use crate::cli;
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::progress::Busy;
use crate::render;

pub fn run(path: &Path, json: bool, options: &cli::Brief) -> Result<(), DeskError> {
    let busy = Busy::with("making the brief");
    let book = Book::open(path)?;
    let as_of = options.as_of.map_or_else(clock::today, Ok)?;
    let brief = make(&book, &options.student, as_of)?;
    let form = if options.card { Form::Card } else { Form::Page };
    let Some(out) = &options.out else {
        drop(busy);
        return print(json, &brief, || render::text::page(&form.of(&brief), render::text::WIDTH));
    };
    write_brief(&brief, form, out)?;
    drop(busy);
    print(json, &json!({ "file": out, "student": brief.student }), || {
        format!("{}: the brief of {}", out.display(), brief.student)
    })
}

/// How much of a brief is shown.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// The whole page.
    Page,
    /// What fits one screen of a phone.
    Card,
}

impl Form {
    fn of(self, brief: &Brief) -> Page {
        match self {
            Self::Page => brief_page(brief),
            Self::Card => brief_card(brief),
        }
    }
}

/// A student's brief.
///
/// # Errors
/// What the book reports.
pub fn make(book: &Book, student: &str, as_of: Day) -> Result<Brief, DeskError> {
    let student = book.student(student)?;
    let log = Log::read(book, &student)?;
    let brief = Brief::of(&log, &book.device_names()?, as_of)?;
    Ok(brief.with_worth(Worth::of(&log, DRIVES_FOR_A_BRIEF)))
}

/// Writes a brief as the file's ending says.
///
/// # Errors
/// As [`render::write_page`].
pub fn write_brief(brief: &Brief, form: Form, out: &Path) -> Result<(), DeskError> {
    let page = form.of(brief);
    match (form, render::ending(out).as_str()) {
        (Form::Card, "html" | "htm") => render::write(out, render::html::card(&page).as_bytes()),
        (Form::Card, "svg" | "png" | "pdf") => render::write_scene(&phone_sheet(&page), out),
        _ => render::write_page(brief, &page, out),
    }
}
