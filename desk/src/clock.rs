//! The clock and the random source that the core doesn't have.

#![allow(clippy::disallowed_methods, reason = "the shell is where clock and environment are read")]

use chalkface_core::model::{Day, Moment, Now};
use chrono::{DateTime, FixedOffset, Local, Offset};

use crate::error::DeskError;

/// For tests and demonstrations: a time such as `2026-05-01T10:00:00+02:00`
/// instead of the system's.
const CLOCK: &str = "CHALKFACE_NOW";

/// The clock and fresh random bytes, for one act.
///
/// # Errors
/// If the system has no random bytes, or the set time can't be read.
pub fn now() -> Result<Now, DeskError> {
    let mut entropy = [0; 16];
    getrandom::fill(&mut entropy).map_err(|error| DeskError::System(format!("no random bytes: {error}")))?;
    Ok(Now { at: moment()?, entropy })
}

/// Today, where this laptop is.
///
/// # Errors
/// If the set time can't be read.
pub fn today() -> Result<Day, DeskError> {
    Ok(moment()?.local_day())
}

fn moment() -> Result<Moment, DeskError> {
    let time: DateTime<FixedOffset> = if let Ok(set) = std::env::var(CLOCK) {
        DateTime::parse_from_rfc3339(&set).map_err(|_| {
            DeskError::System(format!("{CLOCK} must be a time such as 2026-05-01T10:00:00+02:00"))
        })?
    } else {
        let local = Local::now();
        local.with_timezone(&local.offset().fix())
    };
    Ok(Moment { utc_ms: time.timestamp_millis(), offset_min: (time.offset().local_minus_utc() / 60) as i16 })
}

/// A reading of a clock that only goes forward, to tell how long something took.
pub fn watch() -> std::time::Instant {
    std::time::Instant::now()
}
