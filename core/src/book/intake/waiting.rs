//! Changes of a file that wait for the runs that cover them, in bounded memory. Start at
//! [`Waiting`].

use std::collections::VecDeque;

use crate::book::error::BookError;
use crate::book::receipt::Receipt;
use crate::sync::{Change, FileError, Run};

/// The most changes, and bytes of them, that wait for their signature.
const MOST_WAITING: (usize, usize) = (1 << 17, 8 << 20);

/// Nothing taken in yet.
pub(super) fn receipt_of(from: String) -> Receipt {
    Receipt {
        from,
        taken: 0,
        already_had: 0,
        refused: Vec::new(),
        conflicts: Vec::new(),
        strands: Vec::new(),
        erased: 0,
        came_back: false,
    }
}

/// Changes that wait for the runs that cover them, in bounded memory.
#[derive(Default)]
pub(in crate::book) struct Waiting {
    changes: VecDeque<Change>,
    bytes: usize,
}

impl Waiting {
    pub(in crate::book) fn add(&mut self, changes: Vec<Change>) -> Result<(), BookError> {
        self.bytes += changes.iter().map(|change| change.body.len()).sum::<usize>();
        self.changes.extend(changes);
        if self.changes.len() > MOST_WAITING.0 || self.bytes > MOST_WAITING.1 {
            return Err(damaged("changes without a signature"));
        }
        Ok(())
    }

    /// The changes that a run covers: the next that its numbers name.
    pub(in crate::book) fn of(&mut self, run: &Run) -> Result<Vec<Change>, BookError> {
        let count = run.present();
        if count > self.changes.len() {
            return Err(damaged("a signature without its changes"));
        }
        let changes: Vec<Change> = self.changes.drain(..count).collect();
        self.bytes -= changes.iter().map(|change| change.body.len()).sum::<usize>();
        Ok(changes)
    }

    pub(in crate::book) fn must_be_empty(&self) -> Result<(), BookError> {
        if self.changes.is_empty() { Ok(()) } else { Err(damaged("changes without a signature")) }
    }
}

pub(super) fn damaged(what: &str) -> BookError {
    FileError::Damaged { what: what.into(), at: 0 }.into()
}
