//! `watch`: a folder that any file service keeps in step between people.
//!
//! The rule that must hold: every file in it has one writer, the device whose
//! number its name begins with; others only read it. A file is written under a
//! temporary name and then renamed, so nobody reads half of one. What can't be
//! taken in is told and left as it is. Start at [`run`].

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

use chalkface_core::book::{Book, BookError, Receipt};
use chalkface_core::sync::{DeviceKeys, FileError};
use chalkface_core::words;
use serde_json::{Value, json};

use crate::cli::people as cli;
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;

pub fn run(path: &Path, keys: &Keys, json: bool, options: &cli::Watch) -> Result<(), DeskError> {
    if !options.folder.is_dir() {
        return Err(DeskError::NoFolder(options.folder.clone()));
    }
    let mut book = Book::open(path)?;
    let keys = keys.read()?;
    let mut watch = Watch { folder: &options.folder, seen: BTreeMap::new(), written: BTreeMap::new() };
    loop {
        let turn = watch.turn(&mut book, &keys)?;
        if options.once || turn.did_something() {
            print(json, &turn.value(), || turn.said())?;
        }
        if options.once {
            return Ok(());
        }
        sleep(Duration::from_secs(options.every_s.max(1)));
    }
}

struct Watch<'a> {
    folder: &'a Path,
    /// What each file looked like when it was last taken in.
    seen: BTreeMap<PathBuf, (u64, Option<SystemTime>)>,
    /// What this book held when each file was written.
    written: BTreeMap<PathBuf, String>,
}

/// What one look at the folder did.
#[derive(Default)]
struct Turn {
    taken: Vec<(PathBuf, Receipt)>,
    refused: Vec<(PathBuf, String)>,
    wrote: Vec<PathBuf>,
    names: words::exchange::Names,
}

impl Watch<'_> {
    /// Takes in what is new, then writes what is new.
    fn turn(&mut self, book: &mut Book, keys: &DeviceKeys) -> Result<Turn, DeskError> {
        let mut turn = Turn::default();
        for path in self.others(book)? {
            self.take_in(book, keys, path, &mut turn)?;
        }
        self.write(book, keys, &mut turn)?;
        turn.names = book.device_names()?;
        Ok(turn)
    }

    /// The files of others.
    fn others(&self, book: &Book) -> Result<BTreeSet<PathBuf>, DeskError> {
        let own = own_start(book);
        let mut paths = BTreeSet::new();
        for entry in fs::read_dir(self.folder).map_err(DeskError::file(self.folder))? {
            let path = entry.map_err(DeskError::file(self.folder))?.path();
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            if path.extension().is_some_and(|ending| ending == "chalk") && !name.starts_with(&own) {
                paths.insert(path);
            }
        }
        Ok(paths)
    }

    fn take_in(
        &mut self,
        book: &mut Book,
        keys: &DeviceKeys,
        path: PathBuf,
        turn: &mut Turn,
    ) -> Result<(), DeskError> {
        // A file that went away meanwhile is looked at in the next turn.
        let Ok(about) = fs::metadata(&path) else { return Ok(()) };
        let look = (about.len(), about.modified().ok());
        if self.seen.get(&path) == Some(&look) {
            return Ok(());
        }
        let Ok(file) = fs::File::open(&path) else { return Ok(()) };
        match book.receive(Some(keys), clock::now()?, BufReader::new(file)) {
            Ok(receipt) => turn.taken.push((path.clone(), receipt)),
            // What is sealed to others passes by: the folder is everybody's.
            Err(BookError::File(FileError::NotOurs)) => {}
            Err(error @ (BookError::InUse | BookError::DiskFull | BookError::ReadOnly)) => {
                return Err(error.into());
            }
            Err(error) => turn.refused.push((path.clone(), error.to_string())),
        }
        self.seen.insert(path, look);
        Ok(())
    }

    fn write(&mut self, book: &mut Book, keys: &DeviceKeys, turn: &mut Turn) -> Result<(), DeskError> {
        // Also of those who were erased: whoever had them is to hear of it.
        for student in book.students()?.into_iter().chain(book.erased_students()?) {
            for listener in book.audience(&student)? {
                let name = format!("{}{}.chalk", own_start(book), listener.letterbox);
                let path = self.folder.join(name);
                if path.exists() && self.written.get(&path) == Some(&listener.state) {
                    continue;
                }
                match book.send_file(keys, &student, &listener.name, clock::now()?, false, &path) {
                    // What is held back is told; the others get theirs.
                    Err(error @ BookError::NeedsGuardian) => {
                        turn.refused.push((path, error.to_string()));
                        continue;
                    }
                    other => other?,
                };
                self.written.insert(path.clone(), listener.state);
                turn.wrote.push(path);
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
            lines.push(format!("{}: {why}", file.display()));
        }
        lines.extend(self.wrote.iter().map(|file| format!("Wrote {}", file.display())));
        if lines.is_empty() { "Nothing new.".into() } else { lines.join("\n") }
    }
}
