//! Printing: text for people, JSON for programs, errors to the error stream.

use std::io::Write;

use serde::Serialize;
use serde_json::json;

use crate::error::DeskError;

/// Prints `value` as JSON, or else `text`.
///
/// # Errors
/// [`DeskError::System`] if it can't be printed.
pub fn print(json: bool, value: &impl Serialize, text: impl FnOnce() -> String) -> Result<(), DeskError> {
    let said = if json { to_json(value)? } else { text() };
    let mut out = std::io::stdout().lock();
    let result = out
        .write_all(said.trim_end().as_bytes())
        .and_then(|()| out.write_all(b"\n"))
        .and_then(|()| out.flush());
    match result {
        // Whoever read along, such as `head`, has seen enough.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other.map_err(|error| DeskError::System(format!("can't print: {error}"))),
    }
}

/// `value` as indented JSON.
///
/// # Errors
/// [`DeskError::System`] if it has no JSON form.
pub fn to_json(value: &impl Serialize) -> Result<String, DeskError> {
    serde_json::to_string_pretty(value).map_err(|error| DeskError::System(format!("no JSON: {error}")))
}

/// Prints an error with what to do about it.
pub fn complain(error: &DeskError, json: bool) {
    if json {
        eprintln!("{}", json!({ "error": { "kind": error.kind(), "text": error.to_string() } }));
    } else {
        eprintln!("chalkface: {error}");
    }
}
