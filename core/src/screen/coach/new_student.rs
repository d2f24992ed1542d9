//! A student who has no device with this yet.

use crate::act::{NewStudent, add_student};
use crate::model::{BirthYear, Hand, Name, UnitSystem};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{field, field_from, whole};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Problem, See};
use crate::words::screen::{coach as say, first_use as words, keep};

const NAME: &str = "new.name";
const HAND: &str = "new.hand";
const UNITS: &str = "new.units";
const BORN: &str = "new.born";
const ADD: &str = "new.add";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let held = see.held();
    let chosen = |key: &str, usual: &str| Some(held.text(key).unwrap_or(usual).to_owned());
    // A student whose log was erased begins anew under their own name.
    let (title, own) = match see.book()?.owner() {
        _ if see.coach() => (say::ADD, ""),
        owner => (keep::ANEW, owner.name.as_str()),
    };
    let mut shown = Shown::new(title, "");
    shown.add(field_from(held, NAME, say::NAME, FieldKind::Name, own));
    let hands = [("right", words::RIGHT), ("left", words::LEFT)];
    shown.add(Control::choice(HAND, say::HAND, hands, chosen(HAND, "right")));
    let units = [("metric", words::METRIC), ("imperial", words::IMPERIAL)];
    shown.add(Control::choice(UNITS, words::UNITS, units, chosen(UNITS, "metric")));
    shown.add(field(held, BORN, words::BORN, FieldKind::Number).hint(words::BORN_HINT));
    shown.add(Control::action(ADD, title, Look::Main));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == ADD) {
        return Ok(());
    }
    let (coach, own) = (doing.coach(), doing.book()?.owner().name.to_string());
    let held = doing.held();
    let written = held.text(NAME).or((!coach).then_some(own.as_str()));
    let written = written.filter(|name| !name.trim().is_empty());
    let new = NewStudent {
        name: Name::new(written.ok_or_else(|| Problem(say::NEED_NAME.into()))?)?,
        hand: if held.text(HAND) == Some("left") { Hand::Left } else { Hand::Right },
        units: if held.text(UNITS) == Some("imperial") { UnitSystem::Imperial } else { UnitSystem::Metric },
        birth_year: whole(held, BORN, words::BORN)?.map(BirthYear::new).transpose()?,
    };
    let name = new.name.to_string();
    let added = doing.with_book(&[], |book, now| add_student(book, now, new))?;
    // The list of all is known anew.
    doing.with_book(&[added.strand], |_, _| Ok::<_, Problem>(()))?;
    doing.back();
    if !coach {
        doing.tell(keep::ANEW_DONE);
        return Ok(());
    }
    doing.go(Frame::new(Place::Student).of(added.strand));
    doing.tell(say::added(&name));
    Ok(())
}
