//! Taking in a file: it is looked into first, and nothing comes in before "Take it in".

use std::sync::Arc;

use crate::book::{Book, Handle};
use crate::screen::block::Block;
use crate::screen::control::{Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{heading, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Ask, Do, Found, Frame, Held, Problem, See, Wanted};
use crate::words::screen::rest as say;

const PICK: &str = "take_in.pick";
const TAKE: &str = "take_in.take";
const LEAVE: &str = "take_in.leave";
const FILE: &str = "take_in.file";
const NAME: &str = "take_in.name";
const SIZE: &str = "take_in.size";
/// So many bytes are looked into at once: some ten thousand changes.
const AT_ONCE: f64 = 200_000.0;
/// No exchange file of a student is larger.
const MOST_BYTES: usize = 64 * 1024 * 1024;

fn handle(held: &Held) -> Option<Handle> {
    held.record(FILE).map(|id| *id.bytes())
}

/// What a held file would bring, line by line.
fn look(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let id: uuid::Uuid = ask.more.parse().map_err(|_| Problem(say::FILE_GONE.into()))?;
    let bytes = book.held(id.as_bytes())?.ok_or_else(|| Problem(say::FILE_GONE.into()))?;
    let receipt = book.look_into(bytes.as_slice())?;
    Ok(Arc::new(say::brings(&receipt, &book.device_names()?)))
}

fn lines(text: &str) -> Vec<String> {
    text.lines().map(|line| line.trim().to_owned()).collect()
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let held = see.held();
    let mut shown = Shown::new(say::TAKE_IN, held.text(NAME).unwrap_or_default());
    let Some(handle) = handle(held) else {
        shown.add(text("take_in.hint", say::NO_FILE));
        shown.add(Control::action(PICK, say::PICK, Look::Main));
        return Ok(shown);
    };
    shown.add(heading("brings", say::BRINGS));
    let id = uuid::Uuid::from_bytes(handle).to_string();
    let at_once = if held.number(SIZE).is_some_and(|bytes| bytes < AT_ONCE) { u64::MAX } else { 0 };
    let ask = Ask::new("what the file brings", None, see.day()).with(id).quick(at_once);
    if let Some(lines) = see.answer::<Vec<String>>(ask, look).or_say(&mut shown) {
        shown.add(Block::Items { key: "brings.lines".into(), items: lines.to_vec() });
        shown.add(Control::action(TAKE, say::TAKE, Look::Main));
    }
    shown.add(Control::action(LEAVE, say::LEAVE, Look::Plain));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    match key.as_str() {
        PICK => doing.ask(Wanted::Pick),
        TAKE => {
            let handle = handle(doing.held()).ok_or_else(|| Problem(say::FILE_GONE.into()))?;
            let bytes = doing.book()?.held(&handle)?.ok_or_else(|| Problem(say::FILE_GONE.into()))?;
            let receipt = doing.with_book(&[], |book, _| book.receive(bytes.as_slice()))?;
            let strands: Vec<_> = receipt.strands.iter().map(|strand| strand.strand).collect();
            doing.with_book(&strands, |book, _| book.let_go(&handle))?;
            let said = crate::words::exchange::receipt(&receipt, &doing.book()?.device_names()?);
            doing.held().clear_all("take_in.");
            doing.back();
            doing.tell(lines(&said).join(" "));
        }
        LEAVE => {
            if let Some(handle) = handle(doing.held()) {
                doing.with_book(&[], |book, _| book.let_go(&handle))?;
            }
            doing.held().clear_all("take_in.");
            doing.tell(say::LEFT);
        }
        _ => {}
    }
    Ok(())
}

/// A file was picked: it is held, and what it brings is shown.
pub fn picked(doing: &mut Do<'_>, name: &str, bytes: &[u8]) -> Result<(), Problem> {
    if bytes.len() > MOST_BYTES {
        return Err(Problem(say::TOO_LARGE.into()));
    }
    let handle = doing.with_book(&[], |book, now| book.hold(now, bytes))?;
    if doing.place() != Some(Place::TakeIn) {
        doing.go(Frame::new(Place::TakeIn));
    }
    let held = doing.held();
    held.put(SIZE, Some(bytes.len() as f64));
    held.put(FILE, Some(crate::model::RecordId::from_bytes(handle)));
    held.put(NAME, Some(crate::model::check::quoted(name).as_str()));
    Ok(())
}
