//! Printing: text for people, JSON for programs, errors to the error stream.

use std::io::{BufWriter, StdoutLock, Write};

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

/// Lines of JSON on the output, one value each, as they come.
pub struct Lines {
    out: BufWriter<StdoutLock<'static>>,
    closed: bool,
}

impl Lines {
    /// Nothing printed yet.
    pub fn new() -> Self {
        Self { out: BufWriter::with_capacity(1 << 16, std::io::stdout().lock()), closed: false }
    }

    /// Whether nobody reads any more, such as `head` that has seen enough.
    pub fn closed(&self) -> bool {
        self.closed
    }

    /// Prints one value on a line of its own.
    ///
    /// # Errors
    /// [`DeskError::System`] if it can't be printed.
    pub fn print(&mut self, value: &impl Serialize) -> Result<(), DeskError> {
        let done = serde_json::to_writer(&mut self.out, value).map_err(std::io::Error::from);
        let done = done.and_then(|()| self.out.write_all(b"\n"));
        self.settle(done)
    }

    /// Hands on what is still held back.
    ///
    /// # Errors
    /// As [`Self::print`].
    pub fn finish(mut self) -> Result<(), DeskError> {
        let done = self.out.flush();
        self.settle(done)
    }

    fn settle(&mut self, done: std::io::Result<()>) -> Result<(), DeskError> {
        match done {
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(())
            }
            other => other.map_err(|error| DeskError::System(format!("can't print: {error}"))),
        }
    }
}

/// Prints an error with what to do about it.
pub fn complain(error: &DeskError, json: bool) {
    if json {
        eprintln!("{}", json!({ "error": { "kind": error.kind(), "text": error.to_string() } }));
    } else {
        eprintln!("chalkface: {error}");
        if let Some(command) = error.command() {
            eprintln!("  (chalkface {command})");
        }
    }
}
