//! Events: what a person did, or what became of an effect.
//!
//! The rule: an event names keys of the screen that was shown; one that fits nothing
//! there changes nothing. Start at [`Event`].

use serde::{Deserialize, Serialize};

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    /// The shell came to the front: time has passed, another program may have written.
    Wake,
    /// An action or a counter was pressed.
    Press {
        /// Its key.
        key: String,
    },
    /// One of several was chosen: of a choice, a cell, a place of a drawing.
    Choose {
        /// Key of the control.
        key: String,
        /// Key of what was chosen.
        option: String,
    },
    /// A switch was set.
    Switch {
        /// Its key.
        key: String,
        /// To this.
        on: bool,
    },
    /// A field's text so far; also at pauses and on leaving it.
    Write {
        /// Its key.
        key: String,
        /// The text.
        text: String,
        /// Counts up with each text of this field; an older one is dropped.
        no: u64,
    },
    /// A slider's amount.
    Slide {
        /// Its key.
        key: String,
        /// The amount.
        value: f64,
        /// Counts up, as in `Write`.
        no: u64,
    },
    /// A drawing was touched.
    Touch {
        /// Its key.
        key: String,
        /// To the right of the scene's left edge, mm.
        x_mm: f64,
        /// Below its top edge, mm.
        y_mm: f64,
    },
    /// A point of a picture was dragged and let go.
    Drag {
        /// Key of the picture.
        key: String,
        /// Key of the point.
        point: String,
        /// To the right of the picture's left edge, pixels.
        x_px: f64,
        /// Below its top edge, pixels.
        y_px: f64,
        /// Counts up with each drag of this point; an older one is dropped.
        no: u64,
    },
    /// A row of a list was opened.
    Open {
        /// Key of the list.
        key: String,
        /// Key of the row.
        row: String,
    },
    /// A main place was chosen.
    Go {
        /// Its key.
        tab: String,
    },
    /// A file was opened from another program: it is looked into, as a picked one is.
    Handed {
        /// Its name.
        name: String,
        /// What is in it.
        #[serde(with = "hex")]
        bytes: Vec<u8>,
    },
    /// One step back.
    Back,
    /// The last act is to be taken back.
    Undo,
    /// A notice was read.
    Dismiss {
        /// Its number.
        notice: u64,
    },
    /// What became of an effect.
    Answer {
        /// Its number.
        effect: u64,
        /// How it ended.
        outcome: Outcome,
    },
}

/// How an effect ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "outcome", rename_all = "snake_case")]
pub enum Outcome {
    /// It was done.
    Done,
    /// A file was picked.
    File {
        /// Its name.
        name: String,
        /// What is in it.
        #[serde(with = "hex")]
        bytes: Vec<u8>,
    },
    /// The person thought better of it.
    GivenUp,
    /// It could not be done.
    Failed {
        /// Why, in words.
        why: String,
    },
    /// Nobody knows: the shell was ended meanwhile.
    Lost,
}

/// Bytes as pairs of hexadecimal digits.
mod hex {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    pub fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&bytes.iter().map(|byte| format!("{byte:02x}")).collect::<String>())
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u8>, D::Error> {
        let text = String::deserialize(from)?;
        let digit = |at: usize| text.get(at..at + 2).and_then(|pair| u8::from_str_radix(pair, 16).ok());
        if text.len() % 2 != 0 {
            return Err(D::Error::custom("an odd number of hexadecimal digits"));
        }
        (0..text.len())
            .step_by(2)
            .map(|at| digit(at).ok_or_else(|| D::Error::custom("not a hexadecimal digit")))
            .collect()
    }
}
