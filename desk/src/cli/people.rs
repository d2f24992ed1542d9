//! Options of `card`, `meet`, `people`, `watch`, `backup` and `erase`.

use std::path::PathBuf;

use chalkface_core::model::{Day, Name, RecordId};
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
    /// The card: a file, a picture of its code as JPEG or PNG, the text itself, or - to read
    /// it from the standard input.
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
    /// The folder, or s3://BUCKET/FOLDER in an object store, if built for that; everybody's
    /// files lie in it, each readable by its receivers only.
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

/// Options of `erase`.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("what").required(true).multiple(true))]
pub struct Erase {
    /// Whose; with --tell and --take-on-again, their identity as it was told.
    pub student: String,
    /// A visit by its name, with its balls, pictures, swings and notes.
    #[arg(long, value_name = "NAME", group = "what")]
    pub session: Vec<String>,
    /// The balls that were logged last: so many.
    #[arg(long, value_name = "COUNT", group = "what")]
    pub last_balls: Option<usize>,
    /// The pictures of the face of a day.
    #[arg(long, value_name = "DAY", value_parser = Day::parse, group = "what")]
    pub pictures: Vec<Day>,
    /// The notes of a day.
    #[arg(long, value_name = "DAY", value_parser = Day::parse, group = "what")]
    pub notes: Vec<Day>,
    /// Any record by its identity, as `export` has it.
    #[arg(long, value_name = "IDENTITY", value_parser = RecordId::parse, group = "what")]
    pub record: Vec<RecordId>,
    /// Everything of the student. This can't be undone.
    #[arg(long, group = "what", conflicts_with_all = ["session", "last_balls", "pictures", "notes", "record"])]
    pub everything: bool,
    /// Write the word that a student was erased for somebody who had them, with --out.
    #[arg(long, value_name = "PERSON", value_parser = crate::cli::name, group = "what", requires = "out")]
    pub tell: Option<Name>,
    /// Where that file goes.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Give the student up on this device only; others keep what they hold.
    #[arg(long, group = "what", conflicts_with_all = ["everything", "tell"])]
    pub give_up: bool,
    /// Take a student on again whom you gave up on this device.
    #[arg(long, group = "what", conflicts_with_all = ["everything", "tell", "give_up"])]
    pub take_on_again: bool,
}

/// Options of `export`.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("where").required(true).multiple(true))]
pub struct Export {
    /// The file with everything, to be taken in again: .json (a value a line) or .csv.
    #[arg(long, value_name = "FILE", group = "where")]
    pub out: Option<PathBuf>,
    /// A folder for a table of each kind of record, and the small pictures.
    #[arg(long, value_name = "DIR", group = "where")]
    pub tables: Option<PathBuf>,
    /// A folder for the same tables as Parquet files, if built for that.
    #[arg(long, value_name = "DIR", group = "where")]
    pub parquet: Option<PathBuf>,
    /// Only this student.
    #[arg(long)]
    pub student: Option<String>,
}

/// Options of `import`.
#[derive(Debug, Args)]
pub struct Import {
    /// What `export --out` wrote.
    pub file: PathBuf,
}
