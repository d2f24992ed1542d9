//! `book new`, `book check`, `book rebuild`.

use std::path::Path;
use std::process::ExitCode;

use chalkface_core::book::{Book, Check};
use serde_json::json;

use crate::cli::BookCommand;
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::progress::Busy;

pub fn run(path: &Path, json: bool, command: BookCommand) -> Result<ExitCode, DeskError> {
    match command {
        BookCommand::New { name, role } => {
            let book = Book::create(path, name, role, clock::now()?)?;
            let owner = book.owner();
            let made = json!({
                "book": path, "name": owner.name, "role": owner.role,
                "person": owner.person, "device": book.device(),
            });
            print(json, &made, || {
                format!("A new book for {} ({}): {}", owner.name, owner.role.word(), path.display())
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
