//! `watch`: a folder that any file service keeps in step between people, or an
//! object store that is used as one.
//!
//! The rule that must hold: every file in it has one writer, the device whose
//! number its name begins with; others only read it. A file is there whole or
//! not at all, so nobody reads half of one. What can't be taken in is told and
//! left as it is. Start at [`run`]; what a place has to do is in `place`.

mod place;
#[cfg(feature = "object-store")]
mod store;

use std::collections::BTreeMap;
use std::thread::sleep;
use std::time::Duration;

use chalkface_core::book::{Book, BookError, Receipt};
use chalkface_core::sync::{DeviceKeys, FileError};
use chalkface_core::words;
use serde_json::{Value, json};

use crate::cli::people as cli;
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use place::{Folder, Found, Place};

/// What the address of a store begins with.
const STORE: &str = "s3://";

pub fn run(path: &std::path::Path, keys: &Keys, json: bool, options: &cli::Watch) -> Result<(), DeskError> {
    let place = place(options)?;
    let mut book = Book::open(path)?;
    let keys = keys.read()?;
    let mut watch = Watch { place: &*place, seen: BTreeMap::new(), written: BTreeMap::new() };
    loop {
        match watch.turn(&mut book, &keys) {
            Ok(turn) if options.once || turn.did_something() => print(json, &turn.value(), || turn.said())?,
            Ok(_) => {}
            // Away from a network for a while: the next turn makes it good.
            #[cfg(feature = "object-store")]
            Err(error @ DeskError::Store { .. }) if !options.once => eprintln!("{error}"),
            Err(error) => return Err(error),
        }
        if options.once {
            return Ok(());
        }
        sleep(Duration::from_secs(options.every_s.max(1)));
    }
}

fn place(options: &cli::Watch) -> Result<Box<dyn Place>, DeskError> {
    match options.folder.to_str().filter(|text| text.starts_with(STORE)) {
        #[cfg(feature = "object-store")]
        Some(address) => Ok(Box::new(store::Store::at(address)?)),
        #[cfg(not(feature = "object-store"))]
        Some(_) => Err(DeskError::NotBuilt { what: "object stores", feature: "object-store" }),
        None => Ok(Box::new(Folder::new(&options.folder)?)),
    }
}

struct Watch<'a> {
    place: &'a dyn Place,
    /// What each file looked like when it was last taken in.
    seen: BTreeMap<String, String>,
    /// What this book held when each file was written.
    written: BTreeMap<String, String>,
}

/// What one look at the folder did.
#[derive(Default)]
struct Turn {
    taken: Vec<(String, Receipt)>,
    refused: Vec<(String, String)>,
    wrote: Vec<String>,
    names: words::exchange::Names,
}

impl Watch<'_> {
    /// Takes in what is new, then writes what is new.
    fn turn(&mut self, book: &mut Book, keys: &DeviceKeys) -> Result<Turn, DeskError> {
        let mut turn = Turn::default();
        let own = own_start(book);
        let (ours, others): (Vec<Found>, Vec<Found>) =
            self.place.files()?.into_iter().partition(|file| file.name.starts_with(&own));
        for file in others {
            self.take_in(book, keys, file, &mut turn)?;
        }
        self.write(book, keys, &ours, &mut turn)?;
        turn.names = book.device_names()?;
        Ok(turn)
    }

    fn take_in(
        &mut self,
        book: &mut Book,
        keys: &DeviceKeys,
        file: Found,
        turn: &mut Turn,
    ) -> Result<(), DeskError> {
        if self.seen.get(&file.name) == Some(&file.state) {
            return Ok(());
        }
        let shown = self.place.shown(&file.name);
        let from = match self.place.open(&file.name) {
            Ok(Some(from)) => from,
            Ok(None) => return Ok(()),
            // One that can't be fetched keeps none of the others back; it is tried again.
            Err(error) => {
                turn.refused.push((shown, error.to_string()));
                return Ok(());
            }
        };
        match book.receive(Some(keys), clock::now()?, from) {
            Ok(receipt) => turn.taken.push((shown, receipt)),
            // What is sealed to others passes by: the folder is everybody's.
            Err(BookError::File(FileError::NotOurs)) => {}
            Err(error @ (BookError::InUse | BookError::DiskFull | BookError::ReadOnly)) => {
                return Err(error.into());
            }
            Err(error) => turn.refused.push((shown, error.to_string())),
        }
        self.seen.insert(file.name, file.state);
        Ok(())
    }

    fn write(
        &mut self,
        book: &mut Book,
        keys: &DeviceKeys,
        ours: &[Found],
        turn: &mut Turn,
    ) -> Result<(), DeskError> {
        // Also of those who were erased: whoever had them is to hear of it.
        for student in book.students()?.into_iter().chain(book.erased_students()?) {
            for listener in book.audience(&student)? {
                let name = format!("{}{}.chalk", own_start(book), listener.letterbox);
                let is_there = ours.iter().any(|file| file.name == name);
                if is_there && self.written.get(&name) == Some(&listener.state) {
                    continue;
                }
                let now = clock::now()?;
                let put = self.place.put(&name, &mut |path| {
                    book.send_file(keys, &student, &listener.name, now, false, path).map(|_| ())
                });
                let shown = self.place.shown(&name);
                match put {
                    // What is held back is told; the others get theirs.
                    Err(DeskError::Book(error @ BookError::NeedsGuardian)) => {
                        turn.refused.push((shown, error.to_string()));
                        continue;
                    }
                    other => other?,
                }
                self.written.insert(name, listener.state);
                turn.wrote.push(shown);
            }
        }
        Ok(())
    }
}

fn own_start(book: &Book) -> String {
    format!("{}-", book.device())
}

impl Turn {
    fn did_something(&self) -> bool {
        let new = self.taken.iter().any(|(_, receipt)| receipt.taken > 0 || !receipt.refused.is_empty());
        new || !self.refused.is_empty() || !self.wrote.is_empty()
    }

    fn value(&self) -> Value {
        let taken: Vec<Value> = self
            .taken
            .iter()
            .map(|(file, receipt)| {
                json!({
                    "file": file, "from": receipt.from, "taken": receipt.taken,
                    "already_had": receipt.already_had, "refused": receipt.refused,
                })
            })
            .collect();
        let refused: Vec<Value> =
            self.refused.iter().map(|(file, why)| json!({ "file": file, "why": why })).collect();
        json!({ "taken_in": taken, "refused": refused, "wrote": self.wrote })
    }

    fn said(&self) -> String {
        let mut lines = Vec::new();
        for (_, receipt) in
            self.taken.iter().filter(|(_, receipt)| receipt.taken > 0 || !receipt.refused.is_empty())
        {
            lines.push(words::exchange::receipt(receipt, &self.names));
        }
        for (file, why) in &self.refused {
            lines.push(format!("{file}: {why}"));
        }
        lines.extend(self.wrote.iter().map(|file| format!("Wrote {file}")));
        if lines.is_empty() { "Nothing new.".into() } else { lines.join("\n") }
    }
}

#[cfg(test)]
mod tests;
