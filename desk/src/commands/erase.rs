//! `erase`.

use std::path::Path;

use chalkface_core::act::{Erase, erase};
use chalkface_core::book::{Book, BookError, StudentEntry};
use chalkface_core::model::{Note, Refusal, Session, Shot, StrandId, StrikePhoto};
use chalkface_core::words;
use serde_json::json;

use crate::cli::people as cli;
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;

pub fn run(path: &Path, keys: &Keys, json: bool, options: &cli::Erase) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    if options.take_on_again {
        let strand = StrandId::parse(&options.student)?;
        book.take_on_again(&keys.read()?, strand, clock::now()?)?;
        return print(json, &json!({ "strand": strand, "taken_on_again": true }), || {
            "They are taken on again: take in their next file.".into()
        });
    }
    if let (Some(to), Some(out)) = (&options.tell, &options.out) {
        let strand = StrandId::parse(&options.student)?;
        let word = book.erased_students()?.into_iter().find(|word| word.strand == strand);
        let word = word.ok_or_else(|| BookError::NoSuchStudent {
            name: options.student.clone(),
            known: "only who was erased is told of so".into(),
        })?;
        book.send_file(&keys.read()?, &word, to, clock::now()?, true, out)?;
        let value = json!({ "file": out, "strand": strand, "to": to });
        return print(json, &value, || format!("{}: send it to {to} by any means.", out.display()));
    }
    let student = book.student(&options.student)?;
    let taken = if options.give_up {
        book.give_up(&student)?
    } else if options.everything {
        book.erase_student(&keys.read()?, &student, clock::now()?)?
    } else {
        let what = what(&book, &student, options)?;
        erase(&mut book, &keys.read()?, &student, clock::now()?, &what)?
    };
    let word = book.erased_students()?.into_iter().find(|word| word.strand == student.strand);
    let listeners = word.as_ref().map(|word| book.audience(word)).transpose()?;
    let tell: Vec<String> =
        listeners.into_iter().flatten().map(|listener| listener.name.to_string()).collect();
    let value = json!({ "strand": student.strand, "erased": taken, "tell": tell });
    print(json, &value, || {
        let strand = student.strand;
        if options.give_up {
            return format!(
                "{}\nTo take them on again: erase {strand} --take-on-again",
                words::exchange::GIVEN_UP
            );
        }
        if word.is_some() {
            let said = words::exchange::erased_student(&tell);
            if tell.is_empty() {
                return said;
            }
            return format!("{said}\nFor each of them: erase {strand} --tell NAME --out FILE");
        }
        words::exchange::erased(&taken)
    })
}

/// What of a student is meant.
fn what(book: &Book, student: &StudentEntry, options: &cli::Erase) -> Result<Vec<Erase>, DeskError> {
    let strand = student.strand;
    let mut all = Vec::new();
    let nothing =
        |field, said: &str| Refusal::new(field, said, "something that there is", "nothing was erased");
    for name in &options.session {
        let low = name.trim().to_lowercase();
        let found: Vec<_> = book
            .records_and_removed::<Session>(strand)?
            .into_iter()
            .filter(|kept| kept.entry.value.name.as_str().to_lowercase() == low)
            .map(|kept| Erase::Session(kept.entry.id))
            .collect();
        if found.is_empty() {
            return Err(nothing("session", name).into());
        }
        all.extend(found);
    }
    let balls = options.last_balls.unwrap_or(0);
    all.extend(book.latest::<Shot>(strand, balls)?.into_iter().map(|shot| Erase::Ball(shot.id)));
    for day in &options.pictures {
        let pictures = book.records_and_removed::<StrikePhoto>(strand)?.into_iter();
        let of_day = pictures.filter(|kept| kept.entry.value.day == *day);
        all.extend(of_day.map(|kept| Erase::Picture(kept.entry.id)));
    }
    for day in &options.notes {
        let notes = book.records_and_removed::<Note>(strand)?.into_iter();
        let of_day = notes.filter(|kept| kept.entry.value.day == *day);
        all.extend(of_day.map(|kept| Erase::Note(kept.entry.id)));
    }
    for id in &options.record {
        let kind = book.kind_of(strand, *id)?.ok_or_else(|| nothing("record", &id.to_string()))?;
        all.push(Erase::Record(kind, *id));
    }
    Ok(all)
}
