//! The strike pattern of the latest sessions, with ways to progress and sessions.

use crate::screen::block::Page;
use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::parts::text;
use crate::screen::places::{Place, Shown};
use crate::screen::reads;
use crate::screen::run::{Ask, Do, Problem, See};
use crate::words::screen::{sessions, strikes as say};

const PROGRESS: &str = "strikes.progress";
const SESSIONS: &str = "strikes.sessions";

/// So many changes are worked out at once.
const AT_ONCE: u64 = 600;

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let student = see.student()?;
    let mut shown =
        Shown::new(say::TITLE, if see.coach() { student.student.value.name.as_str() } else { "" });
    let ask = Ask::new("the pattern", Some(student.strand), see.day()).quick(AT_ONCE);
    let found = see.answer::<Option<Page>>(ask, reads::pattern).or_say(&mut shown);
    match found.as_deref() {
        Some(Some(page)) => {
            shown.subtitle.clone_from(&page.subtitle);
            shown.parts.extend(page.clone().into_parts());
        }
        Some(None) => shown.add(text("strikes.empty", say::EMPTY)),
        None => {}
    }
    shown.add(Control::way(PROGRESS, say::PROGRESS, say::PROGRESS_HINT));
    shown.add(Control::way(SESSIONS, sessions::TITLE, say::SESSIONS_HINT));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if let Event::Press { key } = event {
        match key.as_str() {
            PROGRESS => doing.go_on(Place::Progress),
            SESSIONS => doing.go_on(Place::Sessions),
            _ => {}
        }
    }
    Ok(())
}
