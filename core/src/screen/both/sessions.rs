//! All sessions, the latest first, and those that were removed.

use std::sync::Arc;

use crate::book::Book;
use crate::model::{RecordId, Session, Shot};
use crate::screen::control::{Control, ListRow, RowsPage};
use crate::screen::event::Event;
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Ask, Do, Found, Frame, Problem, See, Seen};
use crate::words::screen::sessions as say;

const LIST: &str = "sessions.list";
const REMOVED: &str = "sessions.removed";
/// Rows that come with the screen itself.
pub const FIRST: usize = 20;
/// So many changes are read at once.
const AT_ONCE: u64 = 3000;

/// Both lists.
#[derive(Debug, Default)]
struct Lists {
    live: Vec<ListRow>,
    removed: Vec<ListRow>,
}

fn read(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let Some(strand) = ask.strand else { return Ok(Arc::new(Lists::default())) };
    let mut balls: std::collections::BTreeMap<RecordId, u64> = std::collections::BTreeMap::new();
    for shot in book.records::<Shot>(strand)? {
        *balls.entry(shot.value.session).or_default() += 1;
    }
    let mut sessions = book.records_and_removed::<Session>(strand)?;
    sessions.sort_by_key(|kept| std::cmp::Reverse((kept.entry.value.day, kept.entry.id)));
    let mut lists = Lists::default();
    for kept in sessions {
        let session = &kept.entry.value;
        let count = balls.get(&kept.entry.id).copied().unwrap_or(0);
        let row = ListRow {
            key: kept.entry.id.to_string(),
            name: session.name.to_string(),
            detail: say::session_line(session.day, session.place, count),
            figure: String::new(),
            flag: String::new(),
        };
        if kept.removed { lists.removed.push(row) } else { lists.live.push(row) }
    }
    Ok(Arc::new(lists))
}

fn lists(see: &See<'_>) -> Result<Seen<Lists>, Problem> {
    let strand = see.student()?.strand;
    Ok(see.answer(Ask::new("the sessions", Some(strand), see.day()).quick(AT_ONCE), read))
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let mut shown = Shown::new(
        say::TITLE,
        if see.coach() { see.student()?.student.value.name.to_string() } else { String::new() },
    );
    let Some(lists) = lists(see)?.or_say(&mut shown) else { return Ok(shown) };
    shown.add(list(LIST, say::LIST, &lists.live, say::EMPTY));
    if !lists.removed.is_empty() {
        shown.add(list(REMOVED, say::REMOVED, &lists.removed, say::NONE_REMOVED));
    }
    Ok(shown)
}

/// A long list with its first rows.
pub fn list(key: &str, name: &str, rows: &[ListRow], empty: &str) -> Control {
    Control::Rows {
        key: key.into(),
        name: name.into(),
        total: rows.len() as u64,
        rows: rows.iter().take(FIRST).cloned().collect(),
        empty: empty.into(),
    }
}

/// Rows after the one with a key.
pub fn page(rows: &[ListRow], after: Option<&str>, count: usize) -> RowsPage {
    let from = match after {
        None => 0,
        Some(key) => rows.iter().position(|row| row.key == key).map_or(rows.len(), |at| at + 1),
    };
    RowsPage { total: rows.len() as u64, rows: rows.iter().skip(from).take(count).cloned().collect() }
}

pub fn rows(see: &See<'_>, key: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let Seen::Found(lists) = lists(see)? else { return Ok(RowsPage::default()) };
    Ok(match key {
        LIST => page(&lists.live, after, count),
        REMOVED => page(&lists.removed, after, count),
        _ => RowsPage::default(),
    })
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if let Event::Open { row, .. } = event {
        let id = record(row)?;
        let strand = doing.student()?.strand;
        doing.go(Frame::new(Place::Session).of(strand).about(id));
    }
    Ok(())
}

/// The record that a row's key names.
///
/// # Errors
/// For what names none.
pub fn record(row: &str) -> Result<RecordId, Problem> {
    row.parse().map(RecordId).map_err(|_| Problem(say::GONE.into()))
}
