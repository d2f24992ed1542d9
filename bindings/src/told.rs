//! What a shell tells: events, and the clock that comes with each.

use chalkface_core::model::{Moment, Now};
use chalkface_core::screen::{self as core, Outcome};

use crate::fault::Fault;

/// The clock and fresh random bytes of an event.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
pub struct Clock {
    /// Milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
    /// Minutes that local time is ahead of UTC.
    pub offset_min: i16,
    /// Sixteen unpredictable bytes, new with each event.
    pub entropy: Vec<u8>,
}

impl Clock {
    pub(crate) fn at(&self) -> Moment {
        Moment { utc_ms: self.utc_ms, offset_min: self.offset_min }
    }

    pub(crate) fn now(&self) -> Result<Now, Fault> {
        let entropy = sized(&self.entropy)?;
        Ok(Now { at: self.at(), entropy })
    }
}

/// Unpredictable bytes, as many as are needed.
pub(crate) fn sized<const N: usize>(bytes: &[u8]) -> Result<[u8; N], Fault> {
    bytes.try_into().map_err(|_| Fault::Invalid {
        problem: format!("entropy has {} bytes; it must have {N}", bytes.len()),
    })
}

/// What happened, as in the core's `Event`; a file has calls of its own.
#[derive(Debug, Clone, PartialEq, uniffi::Enum)]
#[allow(missing_docs, reason = "each is documented at the core's Event")]
pub enum Event {
    Wake,
    Press { key: String },
    Choose { key: String, option: String },
    Switch { key: String, on: bool },
    Write { key: String, text: String, no: u64 },
    Slide { key: String, value: f64, no: u64 },
    Touch { key: String, x_mm: f64, y_mm: f64 },
    Open { key: String, row: String },
    Drag { key: String, point: String, x_px: f64, y_px: f64, no: u64 },
    Go { tab: String },
    Back,
    Undo,
    Dismiss { notice: u64 },
    Answer { effect: u64, how: Answered },
}

/// How an effect ended.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Enum)]
#[allow(missing_docs, reason = "each is documented at the core's Outcome")]
pub enum Answered {
    Done,
    GivenUp,
    Failed { why: String },
    Lost,
}

impl From<Event> for core::Event {
    fn from(event: Event) -> Self {
        match event {
            Event::Wake => Self::Wake,
            Event::Press { key } => Self::Press { key },
            Event::Choose { key, option } => Self::Choose { key, option },
            Event::Switch { key, on } => Self::Switch { key, on },
            Event::Write { key, text, no } => Self::Write { key, text, no },
            Event::Slide { key, value, no } => Self::Slide { key, value, no },
            Event::Touch { key, x_mm, y_mm } => Self::Touch { key, x_mm, y_mm },
            Event::Drag { key, point, x_px, y_px, no } => Self::Drag { key, point, x_px, y_px, no },
            Event::Open { key, row } => Self::Open { key, row },
            Event::Go { tab } => Self::Go { tab },
            Event::Back => Self::Back,
            Event::Undo => Self::Undo,
            Event::Dismiss { notice } => Self::Dismiss { notice },
            Event::Answer { effect, how } => Self::Answer {
                effect,
                outcome: match how {
                    Answered::Done => Outcome::Done,
                    Answered::GivenUp => Outcome::GivenUp,
                    Answered::Failed { why } => Outcome::Failed { why },
                    Answered::Lost => Outcome::Lost,
                },
            },
        }
    }
}
