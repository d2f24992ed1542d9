//! Who was erased, to tell others of it, and who was given up here, to be taken on again.

use crate::book::{Book, Listener, StudentEntry};
use crate::model::StrandId;
use crate::screen::control::{Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{heading, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See, Wanted};
use crate::words::screen::keep as say;

const AGAIN: &str = "gone.again.";
const TELL: &str = "gone.tell.";
/// So many of each at most; who is done with leaves the list.
const MOST: usize = 20;

/// Everybody who is to be told of an erasure, with the key of telling them.
fn listeners(book: &Book, word: &StudentEntry) -> Result<Vec<(String, Listener)>, Problem> {
    let all = book.audience(word)?.into_iter().enumerate();
    Ok(all.map(|(n, listener)| (format!("{TELL}{}.{n}", word.strand), listener)).collect())
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let book = see.book()?;
    let mut shown = Shown::new(say::GONE, "");
    for word in book.erased_students()?.into_iter().take(MOST) {
        let id = word.strand.to_string();
        shown.add(heading(&format!("gone.erased.{id}"), say::erased(word.strand)));
        let listeners = listeners(book, &word)?;
        if listeners.is_empty() {
            shown.add(text(&format!("gone.nobody.{id}"), say::NO_LISTENER));
        }
        for (key, listener) in listeners {
            shown.add(Control::action(key, say::tell(listener.name.as_str()), Look::Plain));
        }
    }
    for strand in book.given_up_students()?.into_iter().take(MOST) {
        let id = strand.to_string();
        shown.add(heading(&format!("gone.given_up.{id}"), say::given_up(strand)));
        shown.add(Control::action(format!("{AGAIN}{id}"), say::AGAIN, Look::Plain).hint(say::AGAIN_HINT));
    }
    if shown.parts.is_empty() {
        shown.add(text("gone.empty", say::GONE_NOBODY));
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let keys = doing.keys()?;
    if let Some(id) = key.strip_prefix(AGAIN) {
        let strand = StrandId::parse(id)?;
        doing.with_book(&[strand], |book, now| book.take_on_again(&keys, strand, now))?;
        doing.tell(say::AGAIN_DONE);
        return Ok(());
    }
    for word in doing.book()?.erased_students()? {
        let all = listeners(doing.book()?, &word)?;
        if let Some((_, listener)) = all.into_iter().find(|(of, _)| of == key) {
            // Whether it may be sent to them is asked now, not when the bytes are fetched.
            let to = &listener.name;
            doing.with_book(&[], |book, now| {
                book.send(&keys, &word, to, now, true, std::io::sink()).map(drop)
            })?;
            doing.ask(Wanted::Share { strand: word.strand, to: to.to_string(), all: true });
            doing.tell(say::MADE);
        }
    }
    Ok(())
}
