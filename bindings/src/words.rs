//! Words and bounds that a shell needs around a screen: it has none of its own.

use chalkface_core::words::shell;

/// Names of what every screen has around it.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each word is documented at the core's words::shell")]
pub struct Words {
    pub away: String,
    pub zones: String,
    pub places: String,
    pub sun: String,
    pub written_down: String,
    pub keys_lost: String,
    pub no_program: String,
    pub unreadable: String,
}

/// Those words.
#[uniffi::export]
pub fn words() -> Words {
    Words {
        away: shell::AWAY.into(),
        zones: shell::ZONES.into(),
        places: shell::PLACES.into(),
        sun: shell::SUN.into(),
        written_down: shell::WRITTEN_DOWN.into(),
        keys_lost: shell::KEYS_LOST.into(),
        no_program: shell::NO_PROGRAM.into(),
        unreadable: shell::UNREADABLE.into(),
    }
}

/// What a clock shows that has so many seconds left.
#[uniffi::export]
pub fn clock_left(seconds: u32) -> String {
    shell::left(seconds)
}

/// Bytes of a file that is taken in, at most; of a larger one this many and one more are enough
/// to be told so.
#[uniffi::export]
pub fn most_file_bytes() -> u64 {
    chalkface_core::screen::MOST_FILE_BYTES as u64
}
