//! `book new`, `book check`, `book rebuild`.

use std::path::Path;
use std::process::ExitCode;

use chalkface_core::book::{Book, Check};
use chalkface_core::words;
use serde_json::json;

use crate::cli::BookCommand;
use crate::clock;
use crate::error::DeskError;
use crate::keys::{Keys, root_of};
use crate::output::print;
use crate::progress::Busy;

pub fn run(path: &Path, keys: &Keys, json: bool, command: BookCommand) -> Result<ExitCode, DeskError> {
    match command {
        BookCommand::New { name, role, words } => {
            let root = words.as_deref().map(root_of).transpose()?;
            if keys.exist() {
                return Err(DeskError::KeysExist(keys.path().to_owned()));
            }
            let mut book = Book::create(path, name, role, clock::now()?)?;
            let phrase = keys.make(&mut book, root.as_ref())?;
            let owner = book.owner();
            let made = json!({
                "book": path, "name": owner.name, "role": owner.role,
                "person": owner.person, "device": book.device(),
                "keys": keys.path(), "phrase": phrase,
            });
            print(json, &made, || {
                let made = format!(
                    "A new book for {} ({}): {}\nIts keys, for this device only: {}",
                    owner.name,
                    owner.role.word(),
                    path.display(),
                    keys.path().display()
                );
                match &phrase {
                    Some(phrase) => format!("{made}\n{}", words::people::phrase_use(phrase)),
                    None => made,
                }
            })?;
        }
        BookCommand::Check => {
            let busy = Busy::with("checking");
            let check = Book::open(path)?.check()?;
            drop(busy);
            print(json, &check, || said(&check))?;
            if !check.ok {
                return Ok(ExitCode::FAILURE);
            }
        }
        BookCommand::Rebuild => {
            let mut book = Book::open(path)?;
            let busy = Busy::with("rebuilding");
            book.rebuild()?;
            let check = book.check()?;
            drop(busy);
            print(json, &check, || {
                format!("The records were made anew from the changes.\n{}", said(&check))
            })?;
            if !check.ok {
                return Ok(ExitCode::FAILURE);
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn said(check: &Check) -> String {
    let mut lines = vec![if check.ok {
        format!("The book is whole: {} changes, digest {}", check.changes, check.digest)
    } else {
        format!("The book has problems: {} changes, digest {}", check.changes, check.digest)
    }];
    lines.extend(check.strands.iter().map(|strand| format!("  {}  {}", strand.digest, strand.student)));
    lines.extend(check.problems.iter().map(|problem| format!("! {problem}")));
    lines.join("\n")
}
