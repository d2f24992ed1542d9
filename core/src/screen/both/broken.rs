//! What is shown where something can't be shown.

use crate::screen::block::Block;
use crate::screen::event::Event;
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::first_use as say;

pub fn show(_: &See<'_>) -> Result<Shown, Problem> {
    Ok(page(""))
}

pub fn act(_: &mut Do<'_>, _: &Event) -> Result<(), Problem> {
    Ok(())
}

/// A screen that says only what is wrong.
pub fn page(problem: &str) -> Shown {
    why(Shown::new(say::BROKEN, say::BROKEN_HINT), problem)
}

/// The same where only this screen can't be shown.
pub fn nothing(problem: &str) -> Shown {
    why(Shown::new(say::NOT_SHOWN, ""), problem)
}

fn why(mut shown: Shown, problem: &str) -> Shown {
    if !problem.is_empty() {
        shown.add(Block::Caution { key: "broken.why".into(), text: problem.to_owned() });
    }
    shown
}
