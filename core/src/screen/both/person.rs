//! One person: the six words to compare, their devices; a lost device of one's own, and who
//! doesn't belong to a student's people any more.

use crate::book::Acquaintance;
use crate::model::{Name, Role};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{Final, field, heading, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::sync::RootKey;
use crate::words::screen::people as say;

/// Under which key the person's six words are held.
pub const WHO: &str = "person.who";
const DEVICE: &str = "person.device";
const LOST: &str = "person.lost";
const WORDS: &str = "person.words";
const ONLY: &str = "person.only";
const PART: &str = "person.part";
const AGAIN: &str = "person.again";

const IS_LOST: Final = Final { key: LOST, name: say::LOST, hint: say::LOST_HINT, sure: say::LOST_SURE };
const ONLY_THIS: Final =
    Final { key: ONLY, name: say::ONLY_THIS, hint: say::ONLY_THIS_HINT, sure: say::ONLY_THIS_SURE };

fn found(all: Vec<Acquaintance>, who: Option<&str>) -> Result<Acquaintance, Problem> {
    let mut all = all.into_iter();
    all.find(|one| Some(one.check_phrase.as_str()) == who).ok_or_else(|| Problem(say::GONE.into()))
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, held) = (see.book()?, see.held());
    let who = found(book.acquaintances()?, held.text(WHO))?;
    let mut shown = Shown::new(who.name.as_str(), say::what(&who));
    let phrase = if who.owner { say::OWN_PHRASE } else { say::PHRASE };
    shown.add(heading("person.phrase", phrase));
    shown.add(text("person.words_said", who.check_phrase.as_str()));
    if !who.owner {
        shown.add(text("person.use", say::PHRASE_USE));
    }
    shown.add(heading("person.devices", say::DEVICES));
    let named = |device: &crate::book::KnownDevice| {
        format!("{}: {}", say::device(&device.device.to_string()), say::state(device.this, device.stands))
    };
    let items = who.devices.iter().map(named).collect();
    shown.add(crate::screen::block::Block::Items { key: "person.all".into(), items });
    if who.owner {
        own(&mut shown, see, &who);
    } else if book.owner().role == Role::Student && who.role != Some(Role::Student) {
        let student = see.student()?;
        let inside = book.audience(&student)?.iter().any(|one| one.name.as_str() == who.name);
        shown.add(if inside {
            Control::action(PART, say::PART, Look::Takes).hint(say::PART_HINT)
        } else {
            Control::action(AGAIN, say::AGAIN, Look::Plain)
        });
    }
    Ok(shown)
}

/// What the owner can do about lost devices; each of it is asked for twice.
fn own(shown: &mut Shown, see: &See<'_>, who: &Acquaintance) {
    let held = see.held();
    let others: Vec<_> = who.devices.iter().filter(|device| device.stands && !device.this).collect();
    if !others.is_empty() {
        let options = others.iter().map(|device| {
            let id = device.device.to_string();
            (id.clone(), say::device(&id))
        });
        let chosen = held.text(DEVICE).map(str::to_owned);
        shown.add(Control::choice(DEVICE, say::DEVICES, options, chosen));
        shown.parts.extend(IS_LOST.parts(held));
    }
    shown.add(field(held, WORDS, say::WORDS, FieldKind::Lines).hint(say::WORDS_HINT));
    shown.parts.extend(ONLY_THIS.parts(held));
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let held = doing.held().clone();
    match key.as_str() {
        LOST => {
            let device = held.text(DEVICE).ok_or_else(|| Problem(say::WHICH.into()))?.to_owned();
            if !IS_LOST.pressed(doing.held(), LOST) {
                return Ok(());
            }
            let keys = doing.keys()?;
            doing.with_book(&[], |book, _| book.revoke_device(&keys, &device))?;
            done(doing, say::LOST_DONE);
        }
        ONLY => {
            // Words that are none are told before anybody is asked to be sure.
            let root = RootKey::from_phrase(held.text(WORDS).unwrap_or_default())
                .map_err(|error| Problem(error.to_string()))?;
            if !ONLY_THIS.pressed(doing.held(), ONLY) {
                return Ok(());
            }
            let keys = doing.keys()?;
            doing.with_book(&[], |book, now| book.renew_identity(&keys, &root, now))?;
            let phrase = doing.book()?.identity()?.map(|own| crate::sync::check_phrase(&own.root()));
            doing.held().put(WHO, phrase.as_deref());
            done(doing, say::ONLY_THIS_DONE);
        }
        PART | AGAIN => {
            let (keys, student) = (doing.keys()?, doing.student()?);
            let who = found(doing.book()?.acquaintances()?, held.text(WHO))?;
            let name = Name::new(&who.name)?;
            doing.with_book(&[student.strand], |book, now| match key.as_str() {
                PART => book.part_with(&keys, &student, &name, now),
                _ => book.let_in_again(&keys, &student, &name, now),
            })?;
            doing.tell(if key == PART { say::PARTED } else { say::LET_IN });
        }
        other => {
            ONLY_THIS.pressed(doing.held(), other);
        }
    }
    Ok(())
}

fn done(doing: &mut Do<'_>, said: &str) {
    for key in [DEVICE, WORDS, "#person.words"] {
        doing.held().clear(key);
    }
    doing.tell(said);
}
