//! Effects: what only the shell can do, asked for as data.
//!
//! The rule: an effect stays in the state until it is answered; a second answer is
//! ignored. Start at [`Effect`].

use serde::Serialize;

/// What the shell is asked to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Effect {
    /// Its number, for [`Event::Answer`](super::Event::Answer).
    pub id: u64,
    /// What.
    #[serde(flatten)]
    pub what: Asked,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "effect", rename_all = "snake_case")]
pub enum Asked {
    /// Hand a file to the system's ways of sharing. Its bytes come from
    /// [`Loop::content`](super::Loop::content).
    Share {
        /// A plain file name.
        name: String,
        /// It is short text that can as well be copied, to be pasted where somebody reads it.
        #[serde(skip_serializing_if = "std::ops::Not::not")]
        text: bool,
    },
    /// Let a file be picked.
    PickFile {
        /// Endings that fit, such as `chalk`.
        endings: Vec<String>,
    },
    /// Let a picture be taken with the camera. Answered with its bytes, as JPEG or PNG.
    TakePicture,
    /// A short buzz in the hand: it was saved.
    Buzz,
}
