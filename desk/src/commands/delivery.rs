//! `delivery`: what the club did, from what was seen of each ball of a file.

use chalkface_core::face::Settings;
use chalkface_core::flight::{Prior, Setting};
use chalkface_core::lesson::seen::{Watched, face_of, hand_of};
use chalkface_core::lesson::{Explained, explain};
use chalkface_core::model::Target;
use chalkface_core::table::{Log, Options, Row};
use chalkface_core::words::flight::club_warning;
use serde::Serialize;

use super::setting::{BadRow, Count, Swinging, flier};
use crate::cli::flight::Delivery;
use crate::error::DeskError;
use crate::output::Lines;

#[derive(Serialize)]
struct Answer {
    line: u64,
    #[serde(flatten)]
    explained: Explained,
}

pub fn run(options: &Delivery) -> Result<(), DeskError> {
    let (flier, _) = flier(&options.air)?;
    let swinging = Swinging::of(&options.swung)?;
    let target = target(options)?;
    let path = &options.file;
    let bytes = super::record::bytes(path)?;
    let read = Options {
        hand: Some(options.swung.hand),
        skip_bad_rows: false,
        allow_unknown_columns: options.ignore_unknown_columns,
    };
    let log = Log::open(&bytes, &read).map_err(|problem| DeskError::Table { path: path.clone(), problem })?;
    for breach in &swinging.breaches {
        eprintln!("chalkface: {}", club_warning(*breach));
    }
    let prior = Prior::default();
    let explained = |row: &Row| {
        let face = face_of(row.powder);
        let setting =
            Setting { head: &swinging.head, hand: hand_of(options.swung.hand), face, flier: &flier };
        let watched = Watched {
            mark: row.mark,
            start_by_eye: row.start_by_eye,
            curve_by_eye: row.curve_by_eye,
            readings: &row.readings,
        };
        explain(&setting, &prior, watched, target).map_err(|error| error.to_string())
    };
    let mut lines = Lines::new();
    let mut count = Count::default();
    let mut rows = log.rows();
    for row in &mut rows {
        count.rows += 1;
        let (line, found) = match row {
            Ok(row) => (row.line, explained(&row)),
            Err(problems) => super::fly::told(&problems),
        };
        match found {
            Ok(explained) => lines.print(&Answer { line, explained })?,
            Err(error) => {
                count.bad += 1;
                lines.print(&BadRow { line, error })?;
            }
        }
        if lines.closed() {
            return Ok(());
        }
    }
    lines.finish()?;
    count.settle(path, &rows.hints())
}

fn target(options: &Delivery) -> Result<[f64; 2], DeskError> {
    let default = Settings::default();
    let (toe, high) = options.target.unwrap_or((default.target_toe_mm, default.target_high_mm));
    let target = Target::new(toe, high, default.centre_radius_mm)?;
    Ok([target.toe_mm.mm(), target.high_mm.mm()])
}
