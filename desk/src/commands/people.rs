//! `card`, `meet`, `people`.

use std::fs;
use std::io::Read;
use std::path::Path;

use chalkface_core::book::Book;
use chalkface_core::chart::{Theme, card_code, to_svg};
use chalkface_core::face::photo::grey;
use chalkface_core::sync::card_picture::read_picture;
use chalkface_core::sync::{Card, check_phrase};
use chalkface_core::words;
use serde_json::json;

use crate::cli::people as cli;
use crate::clock;
use crate::error::DeskError;
use crate::keys::{Keys, root_of};
use crate::output::print;
use crate::picture;

/// Ten pixels to a module of 1 mm: no edge falls inside a pixel.
const CARD_PIXELS_PER_INCH: f64 = 254.0;
/// The largest picture of a card.
const MOST_PICTURE_BYTES: u64 = 32 * 1024 * 1024;
/// A code is read in a picture of about this size: finer ones take longer and show no more.
const PICTURE_SIDE: usize = 1200;
/// The largest file that is looked at for a card.
const MOST_BYTES: u64 = 64 * 1024;

pub fn card(path: &Path, keys: &Keys, json: bool, options: &cli::Card) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    // A book from before there were keys gets them with its first card.
    let phrase = if book.identity()?.is_none() { keys.make(&mut book, None)? } else { None };
    let card = book.card(&keys.read()?, clock::now()?)?;
    let check = check_phrase(&card.identity.root());
    let text = card.text();
    if let Some(out) = &options.out {
        let whose = format!("{} ({})", card.name, card.role.word());
        let bytes = match out.extension().and_then(|ending| ending.to_str()) {
            Some("txt") => format!("{text}\n").into_bytes(),
            Some("svg") => to_svg(&card_code(&text, &whose, &check)?, Theme::Print).into_bytes(),
            Some("png") => {
                picture::to_png(&card_code(&text, &whose, &check)?, Theme::Print, CARD_PIXELS_PER_INCH)?
            }
            Some("pdf") => picture::to_pdf(&card_code(&text, &whose, &check)?, Theme::Print)?,
            _ => return Err(DeskError::Ending { path: out.clone(), allowed: ".txt, .svg, .png or .pdf" }),
        };
        fs::write(out, bytes).map_err(DeskError::file(out))?;
    }
    let value = json!({
        "name": card.name, "role": card.role, "card": text, "check_phrase": check, "file": options.out,
        "phrase": phrase,
    });
    print(json, &value, || {
        let shown = options.out.as_ref().map_or_else(|| text.clone(), |out| out.display().to_string());
        let mut said = format!("{shown}\n{}", words::people::card_use(&check));
        if let Some(phrase) = &phrase {
            said = format!("{}\n\n{said}", words::people::phrase_use(phrase));
        }
        said
    })
}

pub fn meet(path: &Path, keys: &Keys, json: bool, options: &cli::Meet) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let card = read(&options.card)?;
    let check = check_phrase(&card.identity.root());
    if options.add_device {
        book.add_device(&keys.read()?, &card)?;
        let value = json!({ "added": card.by(), "check_phrase": check });
        return print(json, &value, || words::people::added(&check));
    }
    if options.join {
        book.join(&keys.read()?, &card)?;
        let value = json!({ "joined": card.name, "role": card.role, "check_phrase": check });
        return print(json, &value, || words::people::joined(card.name.as_str(), &check));
    }
    let met = book.meet(&card)?;
    print(json, &met, || words::people::met(&met))
}

pub fn people(path: &Path, keys: &Keys, json: bool, options: &cli::People) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    if let Some(lost) = &options.lost {
        book.revoke_device(&keys.read()?, lost)?;
    }
    if let Some(typed) = &options.only_this_device {
        book.renew_identity(&keys.read()?, &root_of(typed)?, clock::now()?)?;
    }
    for (who, back) in [(&options.end, false), (&options.back, true)] {
        let Some(who) = who else { continue };
        let student = super::record::whose(&book, options.student.as_deref())?;
        if back {
            book.let_in_again(&keys.read()?, &student, who, clock::now()?)?;
        } else {
            book.part_with(&keys.read()?, &student, who, clock::now()?)?;
        }
    }
    let all = book.acquaintances()?;
    print(json, &json!({ "people": all }), || words::people::people(&all))
}

pub fn backup(path: &Path, json: bool, options: &cli::Backup) -> Result<(), DeskError> {
    let book = Book::open(path)?;
    book.backup(&options.to)?;
    print(json, &json!({ "backup": options.to }), || {
        format!(
            "{} is a whole copy. Everything in it can be read: keep it as you keep the book.",
            options.to.display()
        )
    })
}

pub fn restore(path: &Path, keys: &Keys, json: bool) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let device = book.restore(&keys.read()?, clock::now()?)?;
    print(json, &json!({ "book": path, "device": device }), || {
        "This book goes on under a new number. Send a file to those you know: theirs bring back what they hold.".into()
    })
}

/// The card in a file, in the words of the command itself, or from the input.
fn read(given: &str) -> Result<Card, DeskError> {
    let system = |error| DeskError::System(format!("can't read the card: {error}"));
    let text = if given == "-" {
        let mut text = String::new();
        std::io::stdin().take(MOST_BYTES).read_to_string(&mut text).map_err(system)?;
        text
    } else if Path::new(given).is_file() {
        let path = Path::new(given);
        let mut bytes = Vec::new();
        let file = fs::File::open(path).map_err(DeskError::file(path))?;
        file.take(MOST_PICTURE_BYTES).read_to_end(&mut bytes).map_err(DeskError::file(path))?;
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) || bytes.starts_with(b"\x89PNG") {
            let problem = |problem| DeskError::Photo { path: path.to_owned(), problem };
            let seen = grey(&bytes, PICTURE_SIDE).map_err(problem)?;
            return Ok(read_picture(&seen.luma, seen.width, seen.height)?);
        }
        String::from_utf8_lossy(&bytes).into_owned()
    } else {
        given.to_owned()
    };
    Ok(Card::read(&text)?)
}
