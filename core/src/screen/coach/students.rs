//! All students: who comes next first, and who needs attention and why.
//!
//! The next lesson is the last day of a student's plan: that is what a plan's days are for.

use std::sync::Arc;

use crate::book::{Book, StudentEntry};
use crate::model::{Day, Kind, Pain, Plan, PlannedDrill, Session};
use crate::screen::both::sessions::{FIRST, page};
use crate::screen::control::{Control, FieldKind, ListRow, RowsPage};
use crate::screen::event::Event;
use crate::screen::parts::{field, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Ask, Do, Found, Frame, Problem, See, Seen};
use crate::words::screen::{coach as say, rest};

const SEARCH: &str = "students.search";
const LIST: &str = "students.list";
const ADD: &str = "students.add";
const TAKE_IN: &str = "students.take_in";
/// Nothing logged for so long is worth a word (assumed: two weeks between lessons).
const QUIET_DAYS: i64 = 14;
/// Twenty a student: up to thirty students are read at once.
const AT_ONCE: u64 = 600;

fn read(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let mut rows = Vec::new();
    for student in book.students()? {
        rows.push(line(book, &student, ask.day)?);
    }
    rows.sort_by(|(a, one), (b, other)| a.cmp(b).then_with(|| one.name.cmp(&other.name)));
    Ok(Arc::new(rows.into_iter().map(|(_, row)| row).collect::<Vec<_>>()))
}

/// A student's row, and what sorts it: attention, then the day of the next lesson.
fn line(book: &Book, student: &StudentEntry, today: Day) -> Result<((u8, i64), ListRow), Problem> {
    let strand = student.strand;
    let last = book.latest::<Session>(strand, 8)?.iter().map(|entry| entry.value.day).max();
    let balls = book.count(strand, Kind::SHOT)?;
    let plans = book.records::<Plan>(strand)?;
    let plan = plans.iter().filter(|plan| plan.value.from <= today).max_by_key(|plan| plan.value.from);
    let until = plan.and_then(|plan| plan.value.until);
    let pain = book.records::<Pain>(strand)?.iter().any(|pain| pain.value.cleared.is_none());
    let conflict = plans.iter().any(|plan| !plan.conflicts.is_empty())
        || book.records::<PlannedDrill>(strand)?.iter().any(|drill| !drill.conflicts.is_empty());
    let quiet = last.map(|last| today.days_since(last)).filter(|days| *days >= QUIET_DAYS);
    let ended = until.is_some_and(|until| until < today);
    let flags = [
        pain.then(|| say::PAIN.to_owned()),
        conflict.then(|| say::CONFLICT.to_owned()),
        ended.then(|| say::ENDED.to_owned()),
        quiet.map(say::quiet),
    ];
    let flag = flags.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let next = until.filter(|until| *until >= today);
    let sort = u8::from(!pain);
    let row = ListRow {
        key: strand.to_string(),
        name: student.student.value.name.to_string(),
        detail: say::last(last, balls),
        figure: next.map_or_else(String::new, say::next),
        flag,
    };
    Ok(((sort, next.map_or(i64::MAX, Day::number)), row))
}

fn all(see: &See<'_>) -> Seen<Vec<ListRow>> {
    see.answer(Ask::new("the list of students", None, see.day()).quick(AT_ONCE), read)
}

/// The rows whose name holds what is looked for; upper and lower case alike.
fn wanted(see: &See<'_>, rows: &[ListRow]) -> Vec<ListRow> {
    let low = see.held().text(SEARCH).unwrap_or_default().trim().to_lowercase();
    rows.iter().filter(|row| row.name.to_lowercase().contains(&low)).cloned().collect()
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let mut shown = Shown::new(say::STUDENTS, see.book()?.owner().name.as_str());
    if let Some(rows) = all(see).or_say(&mut shown) {
        if rows.is_empty() {
            shown.add(text("students.empty", say::EMPTY));
        } else {
            let found = wanted(see, &rows);
            shown.add(field(see.held(), SEARCH, say::SEARCH, FieldKind::Search));
            shown.add(Control::Rows {
                key: LIST.into(),
                name: say::LIST.into(),
                total: found.len() as u64,
                rows: found.into_iter().take(FIRST).collect(),
                empty: say::NOBODY.into(),
            });
        }
    }
    shown.add(Control::way(TAKE_IN, rest::TAKE_IN, rest::TAKE_IN_HINT));
    shown.add(Control::way(ADD, say::ADD, say::ADD_HINT));
    Ok(shown)
}

pub fn rows(see: &See<'_>, _: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let Seen::Found(rows) = all(see) else { return Ok(RowsPage::default()) };
    Ok(page(&wanted(see, &rows), after, count))
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Press { key } if key == ADD => doing.go(Frame::new(Place::NewStudent)),
        Event::Press { key } if key == TAKE_IN => doing.go(Frame::new(Place::TakeIn)),
        Event::Open { row, .. } => {
            let strand = crate::screen::both::sessions::record(row)?;
            let strand = crate::model::StrandId(strand.0);
            crate::screen::run::student(doing.book()?, Some(strand))?;
            doing.go(Frame::new(Place::Student).of(strand));
        }
        _ => {}
    }
    Ok(())
}
