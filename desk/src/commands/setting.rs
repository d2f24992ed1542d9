//! What `fly` and `delivery` share: club, hand, law and air from the options.

use std::path::Path;

use chalkface_core::flight::air::Told;
use chalkface_core::flight::{Air, Breach, Club, Conditions, FiveConstantLaw, Flier, FlightError, Head};
use serde::Serialize;

use crate::cli::flight::{InAir, Law, Swung};
use crate::error::DeskError;

/// A club file is no longer than this; the longest that says something is a tenth of it.
const MOST_CLUB_BYTES: u64 = 16_384;

/// A head, and what the Equipment Rules say against its club.
pub struct Swinging {
    pub head: Head,
    pub breaches: Vec<Breach>,
}

impl Swinging {
    pub fn of(options: &Swung) -> Result<Self, DeskError> {
        let club = options.club.as_deref().map_or_else(|| Ok(Club::default()), read_club)?;
        let (head, breaches) = club.any()?;
        Ok(Self { head, breaches })
    }
}

fn read_club(path: &Path) -> Result<Club, DeskError> {
    let wrong = |problem: String| DeskError::Club { path: path.to_owned(), problem };
    if std::fs::metadata(path).map_err(DeskError::file(path))?.len() > MOST_CLUB_BYTES {
        return Err(wrong(format!(
            "longer than {MOST_CLUB_BYTES} bytes, and no club is; give a JSON object of its figures"
        )));
    }
    let bytes = std::fs::read(path).map_err(DeskError::file(path))?;
    serde_json::from_slice(&bytes).map_err(|error| {
        wrong(format!("{error}; a club file is one JSON object of numbers, such as {{\"length_m\": 1.13}}"))
    })
}

/// The law that an option names.
pub fn law(options: &InAir) -> &'static FiveConstantLaw {
    match options.law {
        Law::Ods => &FiveConstantLaw::ODS_FIT,
        Law::SmitsSmith => &FiveConstantLaw::SMITS_SMITH_1994,
    }
}

/// The law in the air that the options tell of.
pub fn flier(options: &InAir) -> Result<(Flier<'static, FiveConstantLaw>, Air), FlightError> {
    let told = Told {
        temperature_c: options.temperature,
        pressure_hpa: options.pressure,
        humidity_percent: options.humidity,
        altitude_m: options.altitude,
    };
    let air = told.air()?;
    let conditions = Conditions {
        air,
        tail_wind_mps: options.tail_wind.unwrap_or(0.0),
        cross_wind_mps: options.cross_wind.unwrap_or(0.0),
        ..Conditions::default()
    };
    Ok((Flier::new(law(options), &conditions)?, air))
}

/// The line of a row that has no result.
#[derive(Debug, Serialize)]
pub struct BadRow {
    /// Its line in the file.
    pub line: u64,
    /// What is wrong, and what is allowed.
    pub error: String,
}

/// How many rows there were, and how many had no result.
#[derive(Debug, Default)]
pub struct Count {
    pub rows: u64,
    pub bad: u64,
}

impl Count {
    /// Done, or the error that says that some rows were not.
    pub fn settle(&self, path: &Path, hints: &[chalkface_core::table::Hint]) -> Result<(), DeskError> {
        if self.bad == 0 {
            return Ok(());
        }
        let hints = hints.iter().map(|hint| format!("\n{hint}")).collect();
        Err(DeskError::Rows { path: path.to_owned(), bad: self.bad, rows: self.rows, hints })
    }
}
