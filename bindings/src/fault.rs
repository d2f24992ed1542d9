//! The one error: what a person can act on.

use chalkface_core::book::BookError;
use chalkface_core::sync::KeyError;

/// Why a call was not done. Nothing stored was changed by it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error, uniffi::Error)]
#[uniffi::export(Display)]
pub enum Fault {
    /// The object was closed.
    #[error("the book was closed; open it again")]
    Closed,
    /// Something that was asked for isn't there, or what was given isn't allowed.
    #[error("{problem}")]
    Invalid {
        /// What, and what to do.
        problem: String,
    },
    /// The storage failed.
    #[error("{problem}")]
    Storage {
        /// What, and what to do.
        problem: String,
    },
    /// A mistake of ours. What was acknowledged before is in the book.
    #[error("something went wrong that should not (number {id}); what was saved is still there")]
    Unexpected {
        /// Counts up, for the log.
        id: u64,
    },
}

impl From<BookError> for Fault {
    fn from(error: BookError) -> Self {
        Self::Storage { problem: error.to_string() }
    }
}

impl From<KeyError> for Fault {
    fn from(error: KeyError) -> Self {
        Self::Invalid { problem: error.to_string() }
    }
}
