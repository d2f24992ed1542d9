//! `pattern`: what the strike marks of a file show, without a book.

use chalkface_core::face::{self, Settings, Strike};
use chalkface_core::model::{MarkRead, Target};
use chalkface_core::screen;
use chalkface_core::table::Field;
use serde_json::{Value, json};

use crate::cli::Pattern;
use crate::error::DeskError;
use crate::output::print;
use crate::render;

pub fn run(json: bool, options: &Pattern) -> Result<(), DeskError> {
    let read = options.lenient.options(Some(options.hand));
    let table = super::record::read(&options.file, read)?;
    let settings = settings(options.target, options.radius)?;
    table
        .columns
        .need(&[Field::Toe, Field::High])
        .map_err(|problem| DeskError::Table { path: options.file.clone(), problem })?;
    let sigma_given =
        [Field::MarkSigma, Field::ToeSigma, Field::HighSigma].iter().any(|f| table.columns.has(*f));
    let mut felt = 0_u64;
    let mut strikes = Vec::new();
    for row in &table.rows {
        let Some(mark) = row.mark else { continue };
        if mark.read == MarkRead::Felt {
            felt += 1;
            continue;
        }
        let sigma_mm = if sigma_given { mark.sigma_mm.mm() } else { 0.0 };
        strikes.push(Strike { toe_mm: mark.toe_mm.mm(), high_mm: mark.high_mm.mm(), sigma_mm });
    }
    let pattern = face::pattern(&strikes, &settings).map_err(|error| DeskError::System(error.to_string()))?;
    let notes = screen::pattern_notes(sigma_given, felt, table.rows.len() as u64, pattern.count.into());
    if let Some(out) = &options.out {
        let scene = screen::pattern_chart(&strikes, &pattern, options.hand)?;
        render::write_scene(&scene, out)?;
    }
    let mut value =
        serde_json::to_value(&pattern).map_err(|error| DeskError::System(format!("no JSON: {error}")))?;
    if let Value::Object(map) = &mut value {
        let said: Vec<&String> = notes.iter().map(|(_, text)| text).collect();
        map.insert("notes".into(), json!(said));
        map.insert("skipped".into(), json!(table.problems.to_string()));
    }
    print(json, &value, || {
        let page = screen::pattern_page(&options.file.display().to_string(), &pattern, &notes);
        let mut text = render::text::page(&page, render::text::WIDTH);
        if !table.problems.is_empty() {
            text += &format!("\nSkipped:\n{}\n", table.problems);
        }
        text
    })
}

/// What marks are judged by: the default where a part isn't said.
///
/// # Errors
/// [`DeskError::Refused`] for a target or radius that isn't allowed.
pub fn settings(target: Option<(f64, f64)>, radius_mm: Option<f64>) -> Result<Settings, DeskError> {
    let default = Settings::default();
    let (toe, high) = target.unwrap_or((default.target_toe_mm, default.target_high_mm));
    let target = Target::new(toe, high, radius_mm.unwrap_or(default.centre_radius_mm))?;
    Ok(Settings {
        target_toe_mm: target.toe_mm.mm(),
        target_high_mm: target.high_mm.mm(),
        centre_radius_mm: target.radius_mm.mm(),
        ..default
    })
}
