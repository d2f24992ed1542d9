//! What else there is: ways to sending, taking in, clubs, oneself, swings for speed.

use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::{keep, rest as say};

const GONE: &str = "more.gone";

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
    ("more.keep", keep::TITLE, keep::HINT, Place::Keep, true),
    ("more.clubs", say::CLUBS, say::CLUBS_HINT, Place::Clubs, true),
    ("more.me", say::ME, say::ME_HINT, Place::Me, true),
];

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let book = see.book()?;
    let mut shown = Shown::new(say::TAB, book.owner().name.as_str());
    let all_erased = !see.coach() && book.students()?.is_empty();
    for (key, name, hint, _, of_student) in WAYS {
        if !(*of_student && (see.coach() || all_erased)) {
            shown.add(Control::way(*key, *name, *hint));
        }
    }
    if !(book.erased_students()?.is_empty() && book.given_up_students()?.is_empty()) {
        shown.add(Control::way(GONE, keep::GONE, keep::GONE_HINT));
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key: pressed } = event else { return Ok(()) };
    if pressed == GONE {
        doing.go_on(Place::Gone);
    }
    if let Some((_, _, _, place, _)) = WAYS.iter().find(|(key, ..)| key == pressed) {
        doing.go_on(*place);
    }
    Ok(())
}
