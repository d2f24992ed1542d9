//! Sending a student's news: for whom, how much, and what to mind on the way.

use crate::model::{Name, Now, Role};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{caution, field};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Held, Problem, See, Wanted};
use crate::words::screen::{keep, rest as say};

const TO: &str = "send.to";
const NEW: &str = "send.new";
const ALL: &str = "send.all";
const MAKE: &str = "send.make";
const OTHER: &str = "other";
const GUARDIAN: &str = "send.guardian";

/// Whom a file may be for: people of the other role, and for a coach the student first.
fn people(see_book: &crate::book::Book, student: &str) -> Result<Vec<String>, Problem> {
    let own = see_book.owner();
    let mut names: Vec<String> = Vec::new();
    if own.role == Role::Coach {
        names.push(student.to_owned());
    }
    for person in see_book.people()? {
        if person.name != own.name.as_str() && !names.contains(&person.name) && own.role == Role::Student {
            names.push(person.name);
        }
    }
    Ok(names)
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student) = (see.book()?, see.student()?);
    let names = people(book, student.student.value.name.as_str())?;
    let held = see.held();
    let mut shown = Shown::new(say::SEND, student.student.value.name.as_str());
    if book.needs_guardian(student.strand, Now { at: see.at, entropy: [0; 16] })? {
        shown.add(Control::way(GUARDIAN, keep::GUARDIAN_FIRST, keep::GUARDIAN_FIRST_HINT));
    }
    let chosen = chosen(held, &names);
    if !names.is_empty() {
        let options = names.iter().enumerate().map(|(n, name)| (n.to_string(), name.clone()));
        let other = [(OTHER.to_owned(), say::TO_NEW.to_owned())];
        shown.add(Control::choice(TO, say::TO, options.chain(other), Some(chosen.clone())));
    }
    if chosen == OTHER {
        shown.add(field(held, NEW, say::TO_NEW, FieldKind::Name));
    }
    shown.add(Control::switch(ALL, say::ALL, held.flag(ALL).unwrap_or(false)).hint(say::ALL_HINT));
    shown.add(caution("send.channel", say::CHANNEL));
    shown.add(Control::action(MAKE, say::MAKE, Look::Main));
    Ok(shown)
}

/// The key of who is chosen; the first one where nobody is.
fn chosen(held: &Held, names: &[String]) -> String {
    let usual = if names.is_empty() { OTHER } else { "0" };
    held.text(TO).unwrap_or(usual).to_owned()
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Press { key } if key == MAKE => {}
        Event::Press { key } if key == GUARDIAN => {
            doing.go_on(Place::Me);
            return Ok(());
        }
        _ => return Ok(()),
    }
    let student = doing.student()?;
    let names = people(doing.book()?, student.student.value.name.as_str())?;
    let held = doing.held();
    let chosen = chosen(held, &names);
    let known = chosen.parse::<usize>().ok().and_then(|n| names.get(n)).map(String::as_str);
    let named = known.or(held.text(NEW)).filter(|name| !name.trim().is_empty());
    let to = Name::new(named.ok_or_else(|| Problem(say::NO_RECEIVER.into()))?)?;
    let all = held.flag(ALL).unwrap_or(false);
    // Whether it may be sent to them is asked now, not when the bytes are fetched.
    let keys = doing.keys()?;
    doing.with_book(&[], |book, now| book.send(&keys, &student, &to, now, all, std::io::sink()).map(drop))?;
    doing.ask(Wanted::Share { strand: student.strand, to: to.to_string(), all });
    doing.tell(keep::MADE);
    Ok(())
}
