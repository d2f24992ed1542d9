//! `compare`: whether the strikes of a file have really changed since those of
//! another, without a book.

use std::path::{Path, PathBuf};

use chalkface_core::face::Settings;
use chalkface_core::face::compare::{Aim, KnownShifts};
use chalkface_core::lesson::Changed;
use chalkface_core::lesson::changed::{Lots, lots};
use chalkface_core::screen::{Sides, compare_page};
use chalkface_core::table::Field;
use chalkface_core::words;
use serde_json::{Value, json};

use crate::cli::Compare;
use crate::error::DeskError;
use crate::output::print;
use crate::render;

/// A file's sessions, and what of it was left out.
struct Read {
    lots: Lots,
    notes: Vec<String>,
}

pub fn run(json: bool, options: &Compare) -> Result<(), DeskError> {
    let settings = super::pattern::settings(options.target, options.radius_mm)?;
    let base = read(&options.base, options)?;
    let now = read(&options.now, options)?;
    let default = Aim::of(&settings);
    let aim = Aim {
        shift_mm: options.shift_mm.unwrap_or(default.shift_mm),
        others: known_shifts(&options.others, &settings, options)?,
    };
    let changed = Changed::between(&base.lots.lots, &now.lots.lots, &settings, &aim)?;
    let notes: Vec<String> = base.notes.into_iter().chain(now.notes).collect();
    let sides = Sides { baseline: &base.lots.lots, later: &now.lots.lots, hand: options.hand };
    let title = format!("{} against {}", options.now.display(), options.base.display());
    let page = compare_page(&title, &changed, &sides, &notes);
    let mut value =
        serde_json::to_value(&changed).map_err(|error| DeskError::System(format!("no JSON: {error}")))?;
    if let Value::Object(map) = &mut value {
        map.insert("says".into(), json!(words::compare::sentences(&changed)));
        map.insert("advice_says".into(), json!(words::compare::advice(&changed.comparison)));
        let asked: Vec<String> = changed.asks.iter().map(words::compare::ask).collect();
        map.insert("asks_say".into(), json!(asked));
        map.insert("felt".into(), json!({ "baseline": base.lots.felt, "later": now.lots.felt }));
        map.insert("notes".into(), json!(notes));
    }
    if let Some(out) = &options.out {
        render::write_page(&value, &page, out)?;
    }
    print(json, &value, || render::text::page(&page, render::text::WIDTH))
}

fn read(path: &Path, options: &Compare) -> Result<Read, DeskError> {
    let read = options.lenient.options(Some(options.hand));
    let table = super::record::read(path, read)?;
    table
        .columns
        .need(&[Field::Session, Field::Toe, Field::High])
        .map_err(|problem| DeskError::Table { path: path.to_owned(), problem })?;
    let sigma_given =
        [Field::MarkSigma, Field::ToeSigma, Field::HighSigma].iter().any(|f| table.columns.has(*f));
    let lots = lots(&table.rows, sigma_given)
        .map_err(|problem| DeskError::Sessions { path: path.to_owned(), problem })?;
    let skipped = (!table.problems.is_empty()).then(|| table.problems.to_string());
    let notes = words::compare::notes(&path.display().to_string(), &lots, sigma_given, skipped.as_deref());
    Ok(Read { lots, notes })
}

/// How days differ with other students; nothing without a file of one.
fn known_shifts(
    files: &[PathBuf],
    settings: &Settings,
    options: &Compare,
) -> Result<Option<KnownShifts>, DeskError> {
    let students: Vec<_> =
        files.iter().map(|file| Ok(read(file, options)?.lots.lots)).collect::<Result<_, DeskError>>()?;
    KnownShifts::of(&students, settings).map_err(|error| DeskError::System(error.to_string()))
}
