//! Options of `card`, `meet` and `people`.

use std::path::PathBuf;

use chalkface_core::model::Name;
use clap::Args;

/// Options of `card`.
#[derive(Debug, Args)]
pub struct Card {
    /// Write it: .txt, or a QR code as .svg, .png or .pdf; to the terminal if not given.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Options of `meet`.
#[derive(Debug, Args)]
pub struct Meet {
    /// The card: a file, the text itself, or - to read it from the standard input.
    pub card: String,
    /// It is of a new device of yours, made a moment ago: from now on that is you too.
    #[arg(long, conflicts_with = "join")]
    pub add_device: bool,
    /// It is your own card, made on another device of yours that added this one.
    #[arg(long)]
    pub join: bool,
}

/// Options of `watch`.
#[derive(Debug, Args)]
pub struct Watch {
    /// The folder; everybody's files lie in it, each readable by its receivers only.
    pub folder: PathBuf,
    /// Look once and stop, for a scheduler.
    #[arg(long)]
    pub once: bool,
    /// Seconds between two looks.
    #[arg(long, value_name = "SECONDS", default_value_t = 20)]
    pub every_s: u64,
}

/// Options of `backup`.
#[derive(Debug, Args)]
pub struct Backup {
    /// The new file.
    pub to: PathBuf,
}

/// Options of `people`.
#[derive(Debug, Args)]
pub struct People {
    /// A device of yours is lost: the start of its identity as listed.
    #[arg(long, value_name = "DEVICE")]
    pub lost: Option<String>,
    /// Part with somebody: they don't belong to the student's people any more.
    #[arg(long, value_name = "PERSON", value_parser = crate::cli::name)]
    pub end: Option<Name>,
    /// Take somebody back whom you parted with.
    #[arg(long, value_name = "PERSON", value_parser = crate::cli::name)]
    pub back: Option<Name>,
    /// Whose people, with --end and --back; not needed where the book has one student.
    #[arg(long)]
    pub student: Option<String>,
    /// Your twelve words, or - to type them: of all your devices only this one counts from now on.
    #[arg(long, value_name = "WORDS", conflicts_with = "lost")]
    pub only_this_device: Option<String>,
}
