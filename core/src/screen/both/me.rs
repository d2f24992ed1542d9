//! Hand, units and year of birth of a student, by themselves or by their coach.

use crate::book::Draft;
use crate::model::{BirthYear, Hand, RecordId, Student, UnitSystem};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{field_from, whole};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::{first_use as words, rest as say, sessions};

const HAND: &str = "me.hand";
const UNITS: &str = "me.units";
const BORN: &str = "me.born";
const SAVE: &str = "me.save";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let entry = see.student()?;
    let (student, held): (&Student, _) = (&entry.student.value, see.held());
    let mut shown = Shown::new(say::ME, student.name.as_str());
    let hand = held.text(HAND).unwrap_or(student.hand.word()).to_owned();
    shown.add(Control::choice(
        HAND,
        words::HAND,
        [(Hand::Right.word(), words::RIGHT), (Hand::Left.word(), words::LEFT)],
        Some(hand),
    ));
    let units = if student.units == UnitSystem::Imperial { "imperial" } else { "metric" };
    shown.add(Control::choice(
        UNITS,
        words::UNITS,
        [("metric", words::METRIC), ("imperial", words::IMPERIAL)],
        Some(held.text(UNITS).unwrap_or(units).to_owned()),
    ));
    let born = student.birth_year.map_or_else(String::new, |year| year.get().to_string());
    shown.add(field_from(held, BORN, words::BORN, FieldKind::Number, &born).hint(words::BORN_HINT));
    shown.add(Control::action(SAVE, sessions::SAVE, Look::Main));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == SAVE) {
        return Ok(());
    }
    let entry = doing.student()?;
    let (strand, mut student) = (entry.strand, entry.student.value);
    let held = doing.held();
    if let Some(hand) = held.text(HAND) {
        student.hand = Hand::named(hand)?;
    }
    match held.text(UNITS) {
        Some("imperial") => student.units = UnitSystem::Imperial,
        Some(_) => student.units = UnitSystem::Metric,
        None => {}
    }
    if held.text(BORN).is_some() {
        student.birth_year = whole(held, BORN, words::BORN)?.map(BirthYear::new).transpose()?;
    }
    let written = doing.write(strand, sessions::correction(say::ME), |book, now| {
        book.write(strand, now, [Draft::put(RecordId(strand.0), &student)])
    })?;
    if written == 0 {
        return Err(Problem(sessions::UNCHANGED.into()));
    }
    doing.held().clear_all("me.");
    doing.held().clear_all("#me.");
    doing.tell(sessions::SAVED);
    Ok(())
}
