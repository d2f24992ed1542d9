//! `record photo`: what a picture of the powdered face shows, kept in the book.

use std::path::Path;

use chalkface_core::act::{NewPhoto, Unsaid, latest_photo, read_mark, record_photo, set_mark, tell_earlier};
use chalkface_core::book::Book;
use chalkface_core::face::photo;
use chalkface_core::model::{MarkBy, PhotoMark};
use chalkface_core::words;
use serde_json::json;

use super::photo::{Problem, Read, read};
use super::record::whose;
use crate::cli::photo::RecordPhoto;
use crate::clock;
use crate::error::DeskError;
use crate::output::print;

pub fn run(path: &Path, json: bool, options: &RecordPhoto) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let student = whose(&book, options.student.as_deref())?;
    let now = clock::now()?;
    let unsaid = Unsaid { day: options.day.unwrap_or_else(|| now.at.local_day()), place: options.place };
    let image = &options.image;
    let Read { bytes, photo: seen, .. } = read(image, &options.face).map_err(|problem| problem.of(image))?;
    if !seen.quality.good && !options.anyway {
        let why: Vec<&str> = seen.quality.problems.iter().map(|what| words::photo::trouble(*what)).collect();
        return Err(DeskError::System(format!(
            "{}: {} (or keep it with --anyway)",
            image.display(),
            why.join(" ")
        )));
    }
    let mut marks = marks(&seen, options)?;
    if !options.fresh
        && let Some(before) = latest_photo(&book, student.strand, unsaid)?
    {
        tell_earlier(&mut marks, &before);
    }
    let thumbnail = photo::thumbnail(&bytes, &seen).map_err(|error| Problem::Photo(error).of(image))?;
    let new = NewPhoto { session: options.session.clone(), club: options.club.clone(), marks, thumbnail };
    let logged = record_photo(&mut book, student.strand, now, &new, unsaid)?;
    let fresh = new.marks.iter().filter(|mark| mark.is_new()).count() as u64;
    let name = &student.student.value.name;
    let value = json!({
        "student": name, "day": unsaid.day, "marks": new.marks, "new_marks": fresh, "shots": logged.shots,
        "thumbnail_bytes": new.thumbnail.len(),
    });
    print(json, &value, || {
        let strikes = new.marks.iter().filter(|mark| mark.is_strike()).count() as u64;
        let all = words::number::count(strikes, "mark");
        format!(
            "{name}: {all} on the face, {fresh} of them new; {} logged.",
            words::number::count(logged.shots, "shot")
        )
    })
}

/// The picture's marks, with those that were set or moved by hand; those left out are no strikes.
fn marks(seen: &photo::Photo, options: &RecordPhoto) -> Result<Vec<PhotoMark>, DeskError> {
    let most = seen.marks.len();
    let none = |n: &usize| *n == 0 || *n > most;
    let moved = || options.moves.iter().map(|(n, _)| n);
    for (numbers, what) in
        [(options.leave_out.iter().collect::<Vec<_>>(), "to leave out"), (moved().collect(), "to move")]
    {
        if let Some(none) = numbers.into_iter().find(|n| none(n)) {
            return Err(DeskError::System(format!("there is no mark {none} {what}; the picture has {most}")));
        }
    }
    if let Some(both) = moved().find(|n| options.leave_out.contains(n)) {
        return Err(DeskError::System(format!("mark {both} can't be moved and left out")));
    }
    let mut marks = Vec::new();
    for (n, mark) in seen.marks.iter().enumerate() {
        if moved().any(|m| *m == n + 1) {
            continue;
        }
        let mut read = read_mark(mark)?;
        if options.leave_out.contains(&(n + 1)) {
            read.by = MarkBy::NoStrike;
        }
        marks.push(read);
    }
    for (x, y) in options.moves.iter().map(|(_, to)| to).chain(&options.set) {
        marks.push(set_mark(*x, *y)?);
    }
    marks.sort_by(|a, b| a.mark.toe_mm.mm().total_cmp(&b.mark.toe_mm.mm()));
    Ok(marks)
}
