//! What else there is: ways to sending, taking in, clubs, oneself, swings for speed.

use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::rest as say;

const WAYS: &[(&str, &str, &str, Place, bool)] = &[
    ("more.send", say::SEND, say::SEND_HINT, Place::Send, true),
    ("more.take_in", say::TAKE_IN, say::TAKE_IN_HINT, Place::TakeIn, false),
    ("more.plan", crate::words::screen::plan::TITLE, say::PLAN_HINT, Place::Plan, true),
    ("more.speed", say::SPEED, say::SPEED_HINT, Place::Speed, true),
    (
        "more.people",
        crate::words::screen::people::TITLE,
        crate::words::screen::people::HINT,
        Place::People,
        false,
    ),
    ("more.clubs", say::CLUBS, say::CLUBS_HINT, Place::Clubs, true),
    ("more.me", say::ME, say::ME_HINT, Place::Me, true),
];

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let book = see.book()?;
    let mut shown = Shown::new(say::TAB, book.owner().name.as_str());
    for (key, name, hint, _, of_student) in WAYS {
        if !(*of_student && see.coach()) {
            shown.add(Control::way(*key, *name, *hint));
        }
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key: pressed } = event else { return Ok(()) };
    if let Some((_, _, _, place, _)) = WAYS.iter().find(|(key, ..)| key == pressed) {
        doing.go_on(*place);
    }
    Ok(())
}
