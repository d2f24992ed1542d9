//! `send` and `receive`.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use chalkface_core::book::{Book, Receipt};
use chalkface_core::model::Day;
use chalkface_core::words;
use serde_json::{Value, json};

use crate::cli::{Receive, Send};
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use crate::progress::Busy;

pub fn send(path: &Path, keys: &Keys, json: bool, options: &Send) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let student = book.student(&options.student)?;
    let file = options.out.clone().unwrap_or_else(|| {
        file_name(student.student.value.name.as_str(), options.to.as_str(), clock::today())
    });
    let busy = Busy::with("writing the file");
    let sent = book.send_file(&keys.read()?, &student, &options.to, clock::now()?, options.all, &file)?;
    drop(busy);
    let bytes = std::fs::metadata(&file).map_err(DeskError::file(&file))?.len();
    let value = json!({ "file": file, "student": sent.student, "to": sent.to, "changes": sent.changes, "bytes": bytes });
    print(json, &value, || {
        let news = if sent.changes == 0 {
            format!("no news for {}; it still tells them what this book holds", sent.to)
        } else {
            format!("{} for {}, {bytes} bytes", words::number::count(sent.changes, "change"), sent.to)
        };
        format!(
            "{}: {news}. It is sealed: send it by any means, only {} can open it.",
            file.display(),
            sent.to
        )
    })
}

/// A name that says whose news it is, for whom and of which day, and is a
/// plain file name on every system.
fn file_name(student: &str, to: &str, day: Result<Day, DeskError>) -> PathBuf {
    let plain = |text: &str| -> String {
        let dashed: String =
            text.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        dashed.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
    };
    let day = day.map_or_else(|_| String::new(), |day| format!("-{day}"));
    PathBuf::from(format!("{}-for-{}{day}.chalk", plain(student), plain(to)))
}

pub fn receive(path: &Path, keys: &Keys, json: bool, options: &Receive) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    // A file from before there were keys is read without any.
    let keys = if keys.exist() { Some(keys.read()?) } else { None };
    let file = File::open(&options.file).map_err(DeskError::file(&options.file))?;
    let size = file.metadata().map_err(DeskError::file(&options.file))?.len();
    let busy = Busy::reading("taking in", size);
    let receipt = book.receive(keys.as_ref(), clock::now()?, busy.read(BufReader::new(file)))?;
    drop(busy);
    let names = book.device_names()?;
    let receipt_words = words::exchange::receipt(&receipt, &names);
    print(json, &receipt_json(&receipt, &names), || receipt_words)
}

pub fn receipt_json(receipt: &Receipt, names: &words::exchange::Names) -> Value {
    let conflicts: Vec<Value> = receipt
        .conflicts
        .iter()
        .map(|c| {
            json!({
                "strand": c.strand, "kind": c.kind.word(), "record": c.record,
                "field": chalkface_core::model::field_word(c.kind, c.conflict.field),
                "values": words::exchange::values(c, names)
                    .into_iter()
                    .map(|(by, value)| json!({ "by": by, "value": value }))
                    .collect::<Vec<Value>>(),
            })
        })
        .collect();
    json!({
        "from": receipt.from, "taken": receipt.taken, "already_had": receipt.already_had,
        "refused": receipt.refused, "conflicts": conflicts, "strands": receipt.strands,
        "erased": receipt.erased, "came_back": receipt.came_back,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_says_whose_for_whom_and_when_and_leaves_no_folder() {
        let name = file_name("Ása <O'Neil>", "../Coach Bo", Day::parse("2026-05-01").map_err(Into::into));
        assert_eq!(name, PathBuf::from("ása-o-neil-for-coach-bo-2026-05-01.chalk"));
    }
}
