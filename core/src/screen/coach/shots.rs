//! Every ball of a student, the latest first, with filters.
//!
//! Only identities are kept of all of them; a row is read when it is asked for.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::book::Book;
use crate::model::{MarkRead, Place as Where, RecordId, Session, Shot};
use crate::screen::both::sessions::{FIRST, record};
use crate::screen::control::{Control, ListRow, RowsPage};
use crate::screen::event::Event;
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Ask, Do, Found, Frame, Held, Problem, See, Seen};
use crate::words::number::{day_of_year, distance};
use crate::words::screen::{ball as words, coach as say};

const LIST: &str = "shots.list";
const PLACE: &str = "shots.place";
const MARK: &str = "shots.mark";
/// So many changes are gone through at once.
const AT_ONCE: u64 = 2000;

/// The balls that fit, the latest first, and their sessions.
struct Fitting {
    shots: Vec<RecordId>,
    sessions: BTreeMap<RecordId, Session>,
}

fn read(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let Some(strand) = ask.strand else { return Ok(Arc::new(())) };
    let (place, mark) = ask.more.split_once(' ').unwrap_or(("any", "any"));
    let sessions: BTreeMap<RecordId, Session> =
        book.records::<Session>(strand)?.into_iter().map(|entry| (entry.id, entry.value)).collect();
    let fits = |shot: &Shot| {
        let session = sessions.get(&shot.session);
        let there = match place {
            "any" => session.is_some(),
            word => session.and_then(|session| session.place).is_some_and(|place| place.word() == word),
        };
        there
            && match mark {
                "marked" => shot.mark.is_some_and(|mark| mark.read != MarkRead::Felt),
                "felt" => shot.mark.is_some_and(|mark| mark.read == MarkRead::Felt),
                "none" => shot.mark.is_none(),
                _ => true,
            }
    };
    let mut shots: Vec<(i64, RecordId)> = book
        .records::<Shot>(strand)?
        .into_iter()
        .filter(|entry| fits(&entry.value))
        .map(|entry| (sessions.get(&entry.value.session).map_or(0, |of| of.day.number()), entry.id))
        .collect();
    shots.sort_by(|a, b| b.cmp(a));
    Ok(Arc::new(Fitting { shots: shots.into_iter().map(|(_, id)| id).collect(), sessions }))
}

fn filters(held: &Held) -> (String, String) {
    let of = |key: &str| held.text(key).unwrap_or("any").to_owned();
    (of(PLACE), of(MARK))
}

fn fitting(see: &See<'_>) -> Result<Seen<Fitting>, Problem> {
    let (place, mark) = filters(see.held());
    let ask = Ask::new("the list of balls", Some(see.student()?.strand), see.day());
    Ok(see.answer(ask.with(format!("{place} {mark}")).quick(AT_ONCE), read))
}

fn page(see: &See<'_>, of: &Fitting, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let from = match after {
        None => 0,
        Some(key) => {
            let id = record(key)?;
            of.shots.iter().position(|shot| *shot == id).map_or(of.shots.len(), |at| at + 1)
        }
    };
    let (book, student) = (see.book()?, see.student()?);
    let (hand, units) = (student.student.value.hand, student.student.value.units);
    let mut rows = Vec::new();
    for id in of.shots.iter().skip(from).take(count) {
        let Some(entry) = book.record::<Shot>(student.strand, *id)? else { continue };
        let session = of.sessions.get(&entry.value.session);
        rows.push(ListRow {
            key: id.to_string(),
            name: session.map_or_else(String::new, |of| format!("{} · {}", day_of_year(of.day), of.name)),
            detail: words::shot_line(&entry.value, hand),
            figure: entry
                .value
                .readings
                .carry
                .map_or_else(String::new, |carry| distance(units, carry.value.m())),
            flag: String::new(),
        });
    }
    Ok(RowsPage { total: of.shots.len() as u64, rows })
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let student = see.student()?;
    let mut shown = Shown::new(say::SHOTS, student.student.value.name.as_str());
    let (place, mark) = filters(see.held());
    let any = [("any", say::ANY)];
    let places = Where::ALL.iter().map(|(word, place)| (*word, words::place(*place)));
    shown.add(Control::choice(PLACE, say::FILTER_PLACE, any.into_iter().chain(places), Some(place)));
    let marks = [("any", say::ANY), ("marked", say::MARKED), ("felt", say::FELT), ("none", say::NO_MARK)];
    shown.add(Control::choice(MARK, say::FILTER_MARK, marks, Some(mark)));
    if let Some(fitting) = fitting(see)?.or_say(&mut shown) {
        let first = page(see, &fitting, None, FIRST)?;
        shown.add(Control::Rows {
            key: LIST.into(),
            name: say::SHOTS.into(),
            total: first.total,
            rows: first.rows,
            empty: say::NO_SHOTS.into(),
        });
    }
    Ok(shown)
}

pub fn rows(see: &See<'_>, _: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    match fitting(see)? {
        Seen::Found(fitting) => page(see, &fitting, after, count),
        _ => Ok(RowsPage::default()),
    }
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if let Event::Open { row, .. } = event {
        let (id, strand) = (record(row)?, doing.student()?.strand);
        doing.go(Frame::new(Place::Shot).of(strand).about(id));
    }
    Ok(())
}
