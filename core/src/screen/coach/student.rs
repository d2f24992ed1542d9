//! One student: the brief on one screen, and ways to all the rest.

use crate::model::Shot;
use crate::screen::block::Page;
use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::parts::text;
use crate::screen::places::{Place, Shown};
use crate::screen::reads;
use crate::screen::run::{Ask, Do, Problem, See};
use crate::words::screen::{coach as say, keep, rest, sessions, strikes};

const WAYS: &[(&str, &str, &str, Place)] = &[
    ("student.brief", say::BRIEF, say::BRIEF_HINT, Place::Brief),
    ("student.lesson", say::LESSON, say::LESSON_HINT, Place::Lesson),
    ("student.plan", say::PLAN, say::PLAN_HINT, Place::Plan),
    ("student.what_if", say::WHAT_IF, say::WHAT_IF_HINT, Place::WhatIf),
    ("student.shots", say::SHOTS, say::SHOTS_HINT, Place::Shots),
    ("student.strikes", strikes::TITLE, strikes::PROGRESS_HINT, Place::Strikes),
    ("student.sessions", sessions::TITLE, strikes::SESSIONS_HINT, Place::Sessions),
    ("student.send", rest::SEND, rest::SEND_BACK_HINT, Place::Send),
    ("student.about", say::ABOUT, say::ABOUT_HINT, Place::About),
    ("student.me", say::WHO, rest::ME_HINT, Place::Me),
    ("student.speed", rest::SPEED, rest::SPEED_HINT, Place::Speed),
    ("student.clubs", rest::CLUBS, rest::CLUBS_HINT, Place::Clubs),
    ("student.keep", keep::TITLE, keep::HINT, Place::Keep),
];

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let student = see.student()?;
    let mut shown = Shown::new(student.student.value.name.as_str(), "");
    if see.book()?.latest::<Shot>(student.strand, 1)?.is_empty() {
        shown.add(text("student.empty", say::NO_LOG));
    } else {
        let ask = Ask::new("the brief on one screen", Some(student.strand), see.day());
        if let Some(page) = see.answer::<Page>(ask, reads::card).or_say(&mut shown) {
            shown.subtitle.clone_from(&page.subtitle);
            shown.parts.extend(Page::clone(&page).into_parts());
        }
    }
    for (key, name, hint, _) in WAYS {
        shown.add(Control::way(*key, *name, *hint));
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key: pressed } = event else { return Ok(()) };
    if let Some((.., place)) = WAYS.iter().find(|(key, ..)| key == pressed) {
        doing.go_on(*place);
    }
    Ok(())
}
