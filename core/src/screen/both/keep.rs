//! A student's copies for elsewhere, and erasing all of a student.

use crate::book::Book;
use crate::model::{Kind, StrandId};
use crate::screen::control::{Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{Final, heading, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See, Wanted};
use crate::words::exchange;
use crate::words::screen::keep as say;

const COPY: &str = "keep.copy";
const TABLE: &str = "keep.table";
const MAKE: &str = "keep.make";
const GIVE_UP: Final =
    Final { key: "keep.give_up", name: say::GIVE_UP, hint: say::GIVE_UP_HINT, sure: say::GIVE_UP_SURE };
const ALL: Final = Final { key: "keep.all", name: say::ALL, hint: say::ALL_HINT, sure: say::ALL_SURE };

/// The kinds of which there is something.
fn kinds(book: &Book, strand: StrandId) -> Result<Vec<Kind>, Problem> {
    let mut kinds = Vec::new();
    for kind in (1..=Kind::NEWEST.0).map(Kind).filter(|kind| *kind != Kind::ERASURE) {
        if book.count(strand, kind)? > 0 {
            kinds.push(kind);
        }
    }
    Ok(kinds)
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student, held) = (see.book()?, see.student()?, see.held());
    let mut shown = Shown::new(say::TITLE, student.student.value.name.as_str());
    shown.add(heading("keep.copy_of", say::COPY));
    shown.add(text("keep.copy_use", say::COPY_USE));
    shown.add(Control::action(COPY, say::COPY_MAKE, Look::Main));
    shown.add(heading("keep.tables", say::TABLES));
    shown.add(text("keep.tables_use", say::TABLES_USE));
    let kinds = kinds(book, student.strand)?;
    let usual = kinds.iter().find(|kind| **kind == Kind::SHOT).or(kinds.first()).map(|kind| kind.word());
    let chosen = held.text(TABLE).or(usual).map(str::to_owned);
    let options = kinds.iter().map(|kind| (kind.word(), say::kind(*kind)));
    shown.add(Control::choice(TABLE, say::TABLE, options, chosen));
    shown.add(Control::action(MAKE, say::TABLE_MAKE, Look::Plain));
    shown.add(heading("keep.erase", say::ERASE));
    if see.coach() {
        shown.parts.extend(GIVE_UP.parts(held));
    }
    if book.may_erase_student(&student)? {
        shown.parts.extend(ALL.parts(held));
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let student = doing.student()?;
    let strand = student.strand;
    match key.as_str() {
        COPY => {
            doing.ask(Wanted::Copy { strand });
            doing.tell(say::MADE);
        }
        MAKE => {
            let kinds = kinds(doing.book()?, strand)?;
            let held = doing.held();
            let word = held.text(TABLE).unwrap_or(Kind::SHOT.word());
            let kind = kinds.iter().find(|kind| kind.word() == word).or(kinds.first());
            let kind = *kind.ok_or_else(|| Problem(say::NO_TABLE.into()))?;
            doing.ask(Wanted::Table { strand, kind });
            doing.tell(say::MADE);
        }
        key if GIVE_UP.pressed(doing.held(), key) => {
            doing.with_book(&[strand], |book, _| book.give_up(&student))?;
            doing.left(strand);
            doing.tell(exchange::GIVEN_UP);
        }
        key if ALL.pressed(doing.held(), key) => {
            let keys = doing.keys()?;
            doing.with_book(&[strand], |book, now| book.erase_student(&keys, &student, now))?;
            let book = doing.book()?;
            let word = book.erased_students()?.into_iter().find(|word| word.strand == strand);
            let listeners = word.map(|word| book.audience(&word)).transpose()?.unwrap_or_default();
            let tell: Vec<_> = listeners.into_iter().map(|listener| listener.name.to_string()).collect();
            doing.left(strand);
            if !doing.coach() {
                doing.home();
            }
            doing.tell(exchange::erased_student(&tell));
        }
        _ => {}
    }
    Ok(())
}
