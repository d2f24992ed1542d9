//! What changed since the baseline, and how sure that is.

use crate::screen::block::Page;
use crate::screen::event::Event;
use crate::screen::parts::text;
use crate::screen::places::Shown;
use crate::screen::reads;
use crate::screen::run::{Ask, Do, Problem, See};
use crate::words::screen::strikes as say;

/// So many changes are worked out at once.
const AT_ONCE: u64 = 200;

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let student = see.student()?;
    let mut shown =
        Shown::new(say::PROGRESS, if see.coach() { student.student.value.name.as_str() } else { "" });
    if see.book()?.latest::<crate::model::Shot>(student.strand, 1)?.is_empty() {
        shown.add(text("progress.empty", say::NO_PROGRESS));
        return Ok(shown);
    }
    let ask = Ask::new("your progress", Some(student.strand), see.day()).quick(AT_ONCE);
    if let Some(page) = see.answer::<Page>(ask, reads::progress).or_say(&mut shown) {
        shown.subtitle.clone_from(&page.subtitle);
        shown.parts.extend(Page::clone(&page).into_parts());
    }
    Ok(shown)
}

pub fn act(_: &mut Do<'_>, _: &Event) -> Result<(), Problem> {
    Ok(())
}
