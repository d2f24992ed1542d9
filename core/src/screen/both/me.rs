//! Hand, units and year of birth of a student, by themselves or by their coach.

use crate::book::Draft;
use crate::model::{BirthYear, Guardian, Hand, Name, Now, RecordId, Student, UnitSystem};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{field, field_from, heading, text, whole};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::{first_use as words, keep, rest as say, sessions};

const HAND: &str = "me.hand";
const UNITS: &str = "me.units";
const BORN: &str = "me.born";
const SAVE: &str = "me.save";
const GUARDIAN: &str = "me.guardian_name";
const AGREE: &str = "me.agree";
const REFUSE: &str = "me.refuse";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, entry) = (see.book()?, see.student()?);
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
    let (said, now) = (book.guardian(entry.strand)?, Now { at: see.at, entropy: [0; 16] });
    if said.is_some() || book.needs_guardian(entry.strand, now)? {
        shown.add(heading("me.guardian", keep::GUARDIAN));
        shown.add(text("me.guardian_use", keep::GUARDIAN_USE));
        shown.add(text("me.guardian_said", keep::guardian(said.as_ref())));
        shown.add(field(held, GUARDIAN, keep::GUARDIAN_NAME, FieldKind::Name));
        shown.add(if said.is_some_and(|said| said.agrees) {
            Control::action(REFUSE, keep::REFUSE, Look::Takes)
        } else {
            Control::action(AGREE, keep::AGREE, Look::Plain)
        });
    }
    Ok(shown)
}

/// What the guardian says, here and now.
fn guardian(doing: &mut Do<'_>, agrees: bool) -> Result<(), Problem> {
    let entry = doing.student()?;
    let keys = doing.keys()?;
    let day = doing.day();
    let name = doing.held().text(GUARDIAN).filter(|name| !name.trim().is_empty());
    let name = Name::new(name.ok_or_else(|| Problem(keep::GUARDIAN_NEED.into()))?)?;
    let said = Guardian { agrees, day, name: Some(name) };
    doing.with_book(&[entry.strand], |book, now| book.set_guardian(&keys, &entry, &said, now))?;
    doing.held().clear_all("me.");
    doing.held().clear_all("#me.");
    doing.tell(if agrees { keep::AGREED } else { keep::REFUSED });
    Ok(())
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Press { key } if key == SAVE => {}
        Event::Press { key } if key == AGREE || key == REFUSE => return guardian(doing, key == AGREE),
        _ => return Ok(()),
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
