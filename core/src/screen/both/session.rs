//! One session: what it was, its balls, removed ones too; to correct, remove, restore.

use crate::act::{Erase, erase};
use crate::book::{Draft, OrRemoved};
use crate::model::{Ball, Day, Kind, Name, Place as Where, Record, RecordId, Session, StrandId};
use crate::screen::control::{Control, FieldKind, ListRow, Look, RowsPage};
use crate::screen::event::Event;
use crate::screen::parts::{Final, field_from};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Problem, See};
use crate::words::screen::{ball as words, keep, sessions as say};

use super::sessions::{list, page, record};

const NAME: &str = "session.name";
const DAY: &str = "session.day";
const PLACE: &str = "session.place";
const BALL: &str = "session.ball";
const POWDER: &str = "session.powder";
const SAVE: &str = "session.save";
const REMOVE: &str = "session.remove";
const RESTORE: &str = "session.restore";
const BALLS: &str = "session.balls";
const GONE: &str = "session.gone";

const ERASE: Final =
    Final { key: "session.erase", name: keep::SESSION, hint: keep::ERASE_HINT, sure: keep::ERASE_SURE };

/// A record with those that were removed.
///
/// # Errors
/// Where there is none, or what the storage reports.
pub fn found<R: Record>(
    book: &crate::book::Book,
    strand: StrandId,
    id: Option<RecordId>,
) -> Result<OrRemoved<R>, Problem> {
    let gone = || Problem(say::GONE.into());
    let id = id.ok_or_else(gone)?;
    book.record_or_removed(strand, id)?.ok_or_else(gone)
}

/// The session's balls in the order they were hit, live and removed ones.
fn balls(see: &See<'_>, strand: StrandId, id: RecordId) -> Result<(Vec<ListRow>, Vec<ListRow>), Problem> {
    let hand = see.student()?.student.value.hand;
    let (mut live, mut removed) = (Vec::new(), Vec::new());
    for (n, kept) in see.book()?.shots_of(strand, id)?.into_iter().enumerate() {
        let row = ListRow {
            key: kept.entry.id.to_string(),
            name: say::ball(n as u64 + 1),
            detail: words::shot_line(&kept.entry.value, hand),
            figure: String::new(),
            flag: String::new(),
        };
        if kept.removed { removed.push(row) } else { live.push(row) }
    }
    Ok((live, removed))
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let strand = see.student()?.strand;
    let kept = found::<Session>(see.book()?, strand, see.frame.record)?;
    let (session, held) = (&kept.entry.value, see.held());
    let (live, removed) = balls(see, strand, kept.entry.id)?;
    let line = say::session_line(session.day, session.place, live.len() as u64);
    let mut shown = Shown::new(session.name.as_str(), line);
    if kept.removed {
        shown.add(Control::action(RESTORE, say::RESTORE, Look::Main));
        shown.parts.extend(ERASE.parts(held));
        return Ok(shown);
    }
    shown.add(list(BALLS, say::BALLS, &live, say::NO_BALLS));
    if !removed.is_empty() {
        shown.add(list(GONE, say::REMOVED_BALLS, &removed, say::NONE_REMOVED));
    }
    let fields = [
        field_from(held, NAME, say::NAME, FieldKind::Name, session.name.as_str()),
        field_from(held, DAY, say::DAY, FieldKind::Day, &session.day.to_string()),
        Control::choice(
            PLACE,
            words::PLACE,
            Where::ALL.iter().map(|(word, place)| (*word, words::place(*place))),
            held.text(PLACE).map(str::to_owned).or(session.place.map(|place| place.word().into())),
        ),
        Control::choice(
            BALL,
            words::BALL,
            Ball::ALL.iter().map(|(word, ball)| (*word, words::ball(*ball))),
            held.text(BALL).map(str::to_owned).or(session.ball.map(|ball| ball.word().into())),
        ),
        Control::switch(POWDER, words::POWDER, held.flag(POWDER).or(session.powder).unwrap_or(false)),
        Control::action(SAVE, say::SAVE, Look::Plain),
        Control::action(REMOVE, say::REMOVE, Look::Takes),
    ];
    let fields = fields.into_iter().map(crate::screen::Part::control).chain(ERASE.parts(held));
    shown.parts.extend(fields.map(crate::screen::Part::beside));
    Ok(shown)
}

pub fn rows(see: &See<'_>, key: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let strand = see.student()?.strand;
    let Some(id) = see.frame.record else { return Ok(RowsPage::default()) };
    let (live, removed) = balls(see, strand, id)?;
    Ok(if key == GONE { page(&removed, after, count) } else { page(&live, after, count) })
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let strand = doing.student()?.strand;
    let kept = found::<Session>(doing.book()?, strand, doing.record())?;
    let (id, name) = (kept.entry.id, kept.entry.value.name.to_string());
    match event {
        Event::Open { row, .. } => {
            let shot = record(row)?;
            doing.go(Frame::new(Place::Shot).of(strand).about(shot));
        }
        Event::Press { key } if key == SAVE => {
            let after = edited(doing, &kept.entry.value)?;
            if after == kept.entry.value {
                return Err(Problem(say::UNCHANGED.into()));
            }
            doing.write(strand, say::correction(&name), |book, now| {
                book.write(strand, now, [Draft::put(id, &after)])
            })?;
            doing.held().clear_all("session.");
            doing.held().clear_all("#session.");
            doing.tell(say::SAVED);
        }
        Event::Press { key } if key == REMOVE => {
            doing.write(strand, say::removal(&name), |book, now| {
                book.write(strand, now, [Draft::remove(Kind::SESSION, id)])
            })?;
            doing.back();
            doing.tell(say::removed(&name));
        }
        Event::Press { key } if key == RESTORE => {
            doing.write(strand, say::restoring(&name), |book, now| {
                book.write(strand, now, [Draft::restore(Kind::SESSION, id)])
            })?;
            doing.tell(say::restored(&name));
        }
        Event::Press { key } if ERASE.pressed(doing.held(), key) => erased(doing, Erase::Session(id))?,
        _ => {}
    }
    Ok(())
}

/// Erases, and goes back to where it was chosen.
pub fn erased(doing: &mut Do<'_>, what: Erase) -> Result<(), Problem> {
    let student = doing.student()?;
    let keys = doing.keys()?;
    let taken = doing.with_book(&[student.strand], |book, now| erase(book, &keys, &student, now, &[what]))?;
    doing.no_undo(student.strand);
    doing.back();
    doing.tell(crate::words::exchange::erased(&taken));
    Ok(())
}

fn edited(doing: &mut Do<'_>, before: &Session) -> Result<Session, Problem> {
    let held = doing.held();
    let mut after = before.clone();
    if let Some(name) = held.text(NAME) {
        after.name = Name::new(name)?;
    }
    if let Some(day) = held.text(DAY) {
        after.day = Day::parse(day.trim())?;
    }
    if let Some(place) = held.text(PLACE) {
        after.place = Some(Where::named(place)?);
    }
    if let Some(ball) = held.text(BALL) {
        after.ball = Some(Ball::named(ball)?);
    }
    after.powder = held.flag(POWDER).or(after.powder);
    if after.place == Some(Where::Course) && after.powder == Some(true) {
        return Err(Problem(words::COURSE.into()));
    }
    Ok(after)
}
