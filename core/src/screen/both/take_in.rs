//! Taking in a file: it is looked into first, and nothing comes in before "Take it in".

use crate::book::export::{Form, json, sheet};
use crate::book::{DeviceKeys, Handle, Receipt};
use crate::screen::block::Block;
use crate::screen::control::{Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{heading, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Held, Problem, See, Wanted};
use crate::words::screen::rest as say;

const PICK: &str = "take_in.pick";
const TAKE: &str = "take_in.take";
const LEAVE: &str = "take_in.leave";
const FILE: &str = "take_in.file";
const NAME: &str = "take_in.name";
const LINES: &str = "take_in.lines";
/// No exchange file of a student is larger.
pub const MOST_BYTES: usize = 64 * 1024 * 1024;

fn handle(held: &Held) -> Option<Handle> {
    held.record(FILE).map(|id| *id.bytes())
}

fn lines(text: &str) -> Vec<String> {
    text.lines().map(|line| line.trim().to_owned()).collect()
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let held = see.held();
    let mut shown = Shown::new(say::TAKE_IN, held.text(NAME).unwrap_or_default());
    let Some(_) = handle(held) else {
        shown.add(text("take_in.hint", say::NO_FILE));
        shown.add(Control::action(PICK, say::PICK, Look::Main));
        return Ok(shown);
    };
    shown.add(heading("brings", say::BRINGS));
    let brings = held.text(LINES).unwrap_or_default().lines().map(str::to_owned).collect();
    shown.add(Block::Items { key: "brings.lines".into(), items: brings });
    shown.add(Control::action(TAKE, say::TAKE, Look::Main));
    shown.add(Control::action(LEAVE, say::LEAVE, Look::Plain));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    match key.as_str() {
        PICK => doing.ask(Wanted::Pick),
        TAKE => {
            let handle = handle(doing.held()).ok_or_else(|| Problem(say::FILE_GONE.into()))?;
            let keys = doing.keys.cloned();
            let bytes = doing.book()?.held(&handle)?.ok_or_else(|| Problem(say::FILE_GONE.into()))?;
            let receipt = take(doing, keys.as_ref(), &bytes, true)?;
            let strands: Vec<_> = receipt.strands.iter().map(|strand| strand.strand).collect();
            doing.with_book(&strands, |book, _| book.let_go(&handle))?;
            let said = crate::words::exchange::receipt(&receipt, &doing.book()?.device_names()?);
            doing.held().clear_all("take_in.");
            doing.back();
            for strand in strands {
                if doing.book()?.student_of(strand)?.is_none() {
                    doing.left(strand);
                }
            }
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

/// Takes a file in, or finds out what it would bring: a sealed one, or a copy of everything.
fn take(doing: &mut Do<'_>, keys: Option<&DeviceKeys>, bytes: &[u8], keep: bool) -> Result<Receipt, Problem> {
    let Some(form) = Form::of(bytes) else {
        return doing.with_book(&[], |book, now| {
            if keep { book.receive(keys, now, bytes) } else { book.look_into(keys, now, bytes) }
        });
    };
    let keys = keys.ok_or_else(|| Problem(crate::words::screen::NO_KEYS.into()))?;
    let receipt = doing.with_book(&[], |book, now| match (form, keep) {
        (Form::Json, true) => book.import(keys, now, json::read(bytes)),
        (Form::Json, false) => book.look_into_export(keys, now, json::read(bytes)),
        (Form::Sheet, true) => book.import(keys, now, sheet::read(bytes)),
        (Form::Sheet, false) => book.look_into_export(keys, now, sheet::read(bytes)),
    })?;
    // Nobody sent it: whoever has the copy takes it in with their own hands.
    Ok(Receipt { from: say::A_COPY.into(), ..receipt })
}

/// A file was picked: it is held, and what it brings is shown.
pub fn picked(doing: &mut Do<'_>, name: &str, bytes: &[u8]) -> Result<(), Problem> {
    if bytes.len() > MOST_BYTES {
        return Err(Problem(say::TOO_LARGE.into()));
    }
    // A file that can't be taken in is told at once, and not held.
    let keys = doing.keys.cloned();
    let receipt = take(doing, keys.as_ref(), bytes, false)?;
    let brings = say::brings(&receipt, &doing.book()?.device_names()?).join("\n");
    let handle = doing.with_book(&[], |book, now| book.hold(now, bytes))?;
    if doing.place() != Some(Place::TakeIn) {
        doing.go(Frame::new(Place::TakeIn));
    }
    let held = doing.held();
    held.put(LINES, Some(brings.as_str()));
    held.put(FILE, Some(crate::model::RecordId::from_bytes(handle)));
    held.put(NAME, Some(crate::model::check::quoted(name).as_str()));
    Ok(())
}
