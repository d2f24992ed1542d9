//! The whole brief.

use crate::model::Shot;
use crate::screen::block::Page;
use crate::screen::event::Event;
use crate::screen::parts::text;
use crate::screen::places::Shown;
use crate::screen::reads;
use crate::screen::run::{Ask, Do, Problem, See};
use crate::words::screen::coach as say;

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let student = see.student()?;
    let mut shown = Shown::new(say::BRIEF, student.student.value.name.as_str());
    if see.book()?.latest::<Shot>(student.strand, 1)?.is_empty() {
        shown.add(text("brief.empty", say::NO_LOG));
        return Ok(shown);
    }
    let ask = Ask::new("the brief", Some(student.strand), see.day());
    if let Some(page) = see.answer::<Page>(ask, reads::brief).or_say(&mut shown) {
        shown.title.clone_from(&page.title);
        shown.subtitle.clone_from(&page.subtitle);
        shown.parts.extend(Page::clone(&page).into_parts());
    }
    Ok(shown)
}

pub fn act(_: &mut Do<'_>, _: &Event) -> Result<(), Problem> {
    Ok(())
}
