//! One ball: what is known of it, to correct, remove or restore; every correction stays
//! visible.

use crate::act::Erase;
use crate::book::{Book, Draft, StudentEntry};
use crate::chart::{self, FacePad, PHONE_WIDTH_MM, face_pad, felt_zones};
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::model::record::REMOVED;
use crate::model::{
    CurveByEye, Fields, Hand, Kind, MarkRead, Record, RecordId, Session, Shot, StartByEye, StrikeMark,
};
use crate::screen::block::Block;
use crate::screen::control::{Choosable, Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{Final, caution, heading};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Held, Problem, See};
use crate::screen::student::ball::{flight_control, flight_of};
use crate::words::screen::{ball as words, keep, sessions as say};

use super::session::found;

const FACE: &str = "shot.face";
const TOE: &str = "shot.toe";
const HIGH: &str = "shot.high";
const FLIGHT: &str = "shot.flight";
const FINISH: &str = "shot.finish";
const SAVE: &str = "shot.save";
const REMOVE: &str = "shot.remove";
const RESTORE: &str = "shot.restore";
const READINGS: &str = "shot.readings";

const ERASE: Final =
    Final { key: "shot.erase", name: keep::BALL, hint: keep::ERASE_HINT, sure: keep::ERASE_SURE };

fn pad(hand: Hand, mark: Option<(f64, f64)>) -> FacePad<'static> {
    FacePad {
        hand: if hand == Hand::Left { chart::Hand::Left } else { chart::Hand::Right },
        face_width_mm: DEFAULT_FACE_WIDTH_MM,
        face_height_mm: DEFAULT_FACE_HEIGHT_MM,
        target: None,
        before: &[],
        mark,
        zones: false,
        width_mm: PHONE_WIDTH_MM,
    }
}

/// The mark that stands in the entry, or the ball's own.
fn mark(held: &Held, shot: &Shot) -> Option<(f64, f64)> {
    let own = shot.mark.map(|mark| (mark.toe_mm.mm(), mark.high_mm.mm()));
    held.number(TOE).zip(held.number(HIGH)).or(own)
}

/// A ball's number in its session, counting removed ones.
fn no(book: &Book, student: &StudentEntry, shot: &Shot, id: RecordId) -> Result<u64, Problem> {
    let all = book.shots_of(student.strand, shot.session)?;
    Ok(all.iter().position(|kept| kept.entry.id == id).map_or(0, |at| at as u64 + 1))
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student) = (see.book()?, see.student()?);
    let kept = found::<Shot>(book, student.strand, see.frame.record)?;
    let (shot, hand, held) = (&kept.entry.value, student.student.value.hand, see.held());
    let session = book.record::<Session>(student.strand, shot.session)?;
    let line = session.map_or_else(String::new, |of| {
        format!("{} · {}", of.value.name, crate::words::number::day(of.value.day))
    });
    let mut shown = Shown::new(say::ball(no(book, &student, shot, kept.entry.id)?), line);
    if kept.removed {
        shown.add(Control::action(RESTORE, say::RESTORE, Look::Main));
    } else {
        let place = mark(held, shot);
        let zones = felt_zones(DEFAULT_FACE_WIDTH_MM, DEFAULT_FACE_HEIGHT_MM);
        let choose =
            |(key, ..): &(&str, f64, f64)| Choosable { key: (*key).into(), name: words::zone(key).into() };
        match face_pad(&pad(hand, place)) {
            Ok(scene) => shown.add(Control::Touch {
                key: FACE.into(),
                name: words::FACE.into(),
                scene,
                says: place.map_or_else(String::new, |(toe, high)| words::strike(toe, high)),
                places: zones.iter().map(choose).collect(),
            }),
            Err(error) => shown.add(caution(FACE, error.to_string())),
        }
        let own = shot.start_by_eye.zip(shot.curve_by_eye);
        shown.add(flight_control(FLIGHT, hand, held.text(FLIGHT).and_then(flight_of).or(own)));
        let finish = held.flag(FINISH).or(shot.finish_held).unwrap_or(false);
        shown.add(Control::switch(FINISH, words::FINISH, finish));
        shown.add(Control::action(SAVE, say::SAVE, Look::Main));
        shown.add(Control::way(READINGS, say::READINGS, say::READINGS_HINT));
        shown.add(Control::action(REMOVE, say::REMOVE_BALL, Look::Takes));
    }
    shown.parts.extend(ERASE.parts(held));
    shown.add(heading("history", say::HISTORY));
    shown.add(Block::Items { key: "history.items".into(), items: history(book, &student, kept.entry.id)? });
    Ok(shown)
}

/// Who wrote when, and what the ball was after it, the first first.
fn history(book: &Book, student: &StudentEntry, id: RecordId) -> Result<Vec<String>, Problem> {
    let (hand, units) = (student.student.value.hand, student.student.value.units);
    let names = book.device_names()?;
    let mut fields = Fields::new();
    let mut lines = Vec::new();
    for change in book.history(student.strand, Kind::SHOT, id)? {
        for (no, value) in change.writes {
            fields.set(no, value);
        }
        let is = match Shot::from_fields(&fields) {
            _ if fields.bool(REMOVED) == Some(true) => say::REMOVED_THEN.to_owned(),
            Ok(shot) => {
                format!("{}{}", words::shot_line(&shot, hand), super::readings::said(&shot.readings, units))
            }
            Err(refusal) => refusal.to_string(),
        };
        lines.push(say::history(
            change.made.local_day(),
            &crate::words::exchange::who(change.stamp.author, &names),
            &is,
        ));
    }
    Ok(lines)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let student = doing.student()?;
    let strand = student.strand;
    let kept = found::<Shot>(doing.book()?, strand, doing.record())?;
    let (id, shot) = (kept.entry.id, kept.entry.value);
    let name = say::ball(no(doing.book()?, &student, &shot, id)?).to_lowercase();
    match event {
        Event::Touch { x_mm, y_mm, .. } => {
            let (toe, high) = pad(student.student.value.hand, None).place(*x_mm, *y_mm);
            StrikeMark::new(toe, high, None, MarkRead::Tap)?;
            doing.held().put(TOE, Some(toe));
            doing.held().put(HIGH, Some(high));
        }
        Event::Choose { key, option } if key == FACE => {
            let zones = felt_zones(DEFAULT_FACE_WIDTH_MM, DEFAULT_FACE_HEIGHT_MM);
            if let Some((_, toe, high)) = zones.iter().find(|(key, ..)| key == option) {
                doing.held().put(TOE, Some(*toe));
                doing.held().put(HIGH, Some(*high));
            }
        }
        Event::Press { key } => match key.as_str() {
            SAVE => {
                let after = edited(doing.held(), &shot)?;
                if after == shot {
                    return Err(Problem(say::UNCHANGED.into()));
                }
                doing.write(strand, say::correction(&name), |book, now| {
                    book.write(strand, now, [Draft::put(id, &after)])
                })?;
                doing.held().clear_all("shot.");
                doing.tell(say::SAVED);
            }
            REMOVE => {
                doing.write(strand, say::removal(&name), |book, now| {
                    book.write(strand, now, [Draft::remove(Kind::SHOT, id)])
                })?;
                doing.back();
                doing.tell(say::removed(&name));
            }
            RESTORE => {
                doing.write(strand, say::restoring(&name), |book, now| {
                    book.write(strand, now, [Draft::restore(Kind::SHOT, id)])
                })?;
                doing.tell(say::restored(&name));
            }
            READINGS => doing.go(Frame::new(Place::Readings).of(strand).about(id)),
            key if ERASE.pressed(doing.held(), key) => super::session::erased(doing, Erase::Ball(id))?,
            _ => {}
        },
        _ => {}
    }
    Ok(())
}

fn edited(held: &Held, before: &Shot) -> Result<Shot, Problem> {
    let mut after = before.clone();
    if let Some((toe, high)) = held.number(TOE).zip(held.number(HIGH)) {
        let read = before.mark.map_or(MarkRead::Tap, |mark| mark.read);
        // A correction by hand is a tap, also of what a picture said.
        let read = if read == MarkRead::Felt { MarkRead::Felt } else { MarkRead::Tap };
        after.mark = Some(StrikeMark::new(toe, high, None, read)?);
    }
    if let Some((start, curve)) = held.text(FLIGHT).and_then(flight_of) {
        let (start, curve): (StartByEye, CurveByEye) = (start, curve);
        (after.start_by_eye, after.curve_by_eye) = (Some(start), Some(curve));
    }
    after.finish_held = held.flag(FINISH).or(after.finish_held);
    Ok(after)
}
