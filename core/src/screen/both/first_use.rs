//! First use: who you are, how you play, what to mind.
//!
//! Nothing is written before "Begin"; then the book is made, and a student is in it.

use crate::act::{NewStudent, add_student};
use crate::model::{BirthYear, Hand, Name, Role, UnitSystem};
use crate::screen::block::Block;
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{field, heading, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Held, Problem, See, Wish};
use crate::words::screen::first_use as say;

const ROLE: &str = "role";
const NAME: &str = "name";
const HAND: &str = "hand";
const UNITS: &str = "units";
const BORN: &str = "born";
const BEGIN: &str = "begin";
const LOOK_AROUND: &str = "look_around";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let held = see.held();
    let chosen = |key: &str, usual: &str| Some(held.text(key).unwrap_or(usual).to_owned());
    let mut shown = Shown::new(say::TITLE, "");
    shown.add(text("about", say::ABOUT));
    shown.add(Control::choice(
        ROLE,
        say::ROLE,
        [("student", say::STUDENT), ("coach", say::COACH)],
        chosen(ROLE, "student"),
    ));
    shown.add(field(held, NAME, say::NAME, FieldKind::Name).hint(say::NAME_HINT));
    if held.text(ROLE) != Some("coach") {
        let hands = [("right", say::RIGHT), ("left", say::LEFT)];
        shown.add(Control::choice(HAND, say::HAND, hands, chosen(HAND, "right")));
        let units = [("metric", say::METRIC), ("imperial", say::IMPERIAL)];
        shown.add(Control::choice(UNITS, say::UNITS, units, chosen(UNITS, "metric")));
        shown.add(field(held, BORN, say::BORN, FieldKind::Number).hint(say::BORN_HINT));
    }
    shown.add(heading("mind", say::MIND));
    for (n, caution) in say::CAUTIONS.iter().enumerate() {
        shown.add(Block::Caution { key: format!("mind.{n}"), text: (*caution).into() });
    }
    shown.add(Control::action(BEGIN, say::BEGIN, Look::Main));
    shown.add(Control::way(LOOK_AROUND, say::LOOK_AROUND, say::LOOK_AROUND_HINT));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let held = doing.held();
    let role = if held.text(ROLE) == Some("coach") { Role::Coach } else { Role::Student };
    if key == LOOK_AROUND {
        doing.wish(Wish::LookAround { role });
        return Ok(());
    }
    let name = held.text(NAME).filter(|name| !name.trim().is_empty());
    let name = Name::new(name.ok_or_else(|| Problem(say::NEED_NAME.into()))?)?;
    // A year that can't be one is told before the book is made.
    born(held)?;
    doing.wish(Wish::Begin { name, role });
    Ok(())
}

/// The book is made: its student is written into it.
pub fn begun(doing: &mut Do<'_>, welcome: &Held) -> Result<(), Problem> {
    let owner = doing.book()?.owner().clone();
    if owner.role == Role::Coach {
        doing.tell(say::BEGUN_COACH);
        return Ok(());
    }
    let new = NewStudent {
        name: owner.name,
        hand: if welcome.text(HAND) == Some("left") { Hand::Left } else { Hand::Right },
        units: if welcome.text(UNITS) == Some("imperial") {
            UnitSystem::Imperial
        } else {
            UnitSystem::Metric
        },
        birth_year: born(welcome)?,
    };
    doing.with_book(&[], |book, now| add_student(book, now, new))?;
    doing.tell(say::BEGUN_STUDENT);
    Ok(())
}

fn born(held: &Held) -> Result<Option<BirthYear>, Problem> {
    crate::screen::parts::whole(held, BORN, say::BORN)?.map(BirthYear::new).transpose().map_err(Problem::from)
}
