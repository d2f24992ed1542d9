//! What a command may fail with.

use std::path::{Path, PathBuf};

use chalkface_core::book::BookError;
use chalkface_core::model::Refusal;

use crate::picture::PictureError;

/// Why a command could not be done.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// The book or an exchange file.
    #[error(transparent)]
    Book(#[from] BookError),
    /// A value that isn't allowed.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// A CSV file with something wrong in it.
    #[error("{}: {problem}", .path.display())]
    Table {
        /// The file.
        path: PathBuf,
        /// What is wrong, where, and what to do.
        problem: chalkface_core::table::TableError,
    },
    /// A file whose sessions can't be compared.
    #[error("{}: {problem}", .path.display())]
    Sessions {
        /// The file.
        path: PathBuf,
        /// What is wrong, where, and what to do.
        problem: chalkface_core::lesson::changed::LotsError,
    },
    /// Two sides that can't be compared.
    #[error(transparent)]
    Compare(#[from] chalkface_core::face::compare::CompareError),
    /// A file that the system can't read or write.
    #[error("{}: {error}", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        error: std::io::Error,
    },
    /// A picture of the face that can't be read.
    #[error("{}: {problem}", .path.display())]
    Photo {
        /// The file.
        path: PathBuf,
        /// What is wrong, and what to do.
        problem: chalkface_core::face::photo::PhotoError,
    },
    /// A file ending that nothing can be written as.
    #[error("{}: can't write that kind of file; its name has to end in {allowed}", .path.display())]
    Ending {
        /// The file.
        path: PathBuf,
        /// The endings that there are.
        allowed: &'static str,
    },
    /// A picture that could not be made.
    #[error(transparent)]
    Picture(#[from] PictureError),
    /// A flight that could not be drawn.
    #[error(transparent)]
    Draw(#[from] chalkface_core::screen::DrawError),
    /// A chart that could not be made.
    #[error(transparent)]
    Chart(#[from] chalkface_core::chart::ChartError),
    /// A flight, an impact or an explanation that can't be computed.
    #[error(transparent)]
    Flight(#[from] chalkface_core::flight::FlightError),
    /// A club file that says nothing that can be used.
    #[error("{}: {problem}", .path.display())]
    Club {
        /// The file.
        path: PathBuf,
        /// What is wrong, and what is known.
        problem: String,
    },
    /// Rows without a result; the others have theirs.
    #[error("{}: {bad} of {rows} rows could not be computed; each of their lines says why{hints}", .path.display())]
    Rows {
        /// The file.
        path: PathBuf,
        /// How many have none.
        bad: u64,
        /// Of how many.
        rows: u64,
        /// What may lie behind many of them; empty, or a line each.
        hints: String,
    },
    /// An export that can't be written or read.
    #[error(transparent)]
    Export(#[from] chalkface_core::book::export::ExportError),
    /// A contact card that can't be read.
    #[error(transparent)]
    Card(#[from] chalkface_core::sync::CardError),
    /// The keys can't be used.
    #[error("{}: {problem}", .path.display())]
    Keys {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        problem: chalkface_core::sync::KeyError,
    },
    /// Words that are nobody's.
    #[error(transparent)]
    Words(chalkface_core::sync::KeyError),
    /// There are no keys where they should be.
    #[error("there are no keys at {}; say with --keys where they are, or make them with `card`", .0.display())]
    NoKeyFile(PathBuf),
    /// There are keys where new ones should be.
    #[error("there are keys at {} already; move them away or choose another place with --keys", .0.display())]
    KeysExist(PathBuf),
    /// Others may read the keys.
    #[error("others on this machine may read the keys at {}; close them with chmod 600, then try again", .0.display())]
    OpenKeys(PathBuf),
    /// There is no such folder.
    #[error("there is no folder at {}; make it, or give another one", .0.display())]
    NoFolder(PathBuf),
    /// An object store that can't be reached, or says no.
    #[cfg(feature = "object-store")]
    #[error(
        "{place}: {problem}; look at the address, the network and the AWS_ variables that say who you are"
    )]
    Store {
        /// What was to be read or written.
        place: String,
        /// What the store or the network says.
        problem: String,
    },
    /// Something that takes long to build and was left out.
    #[error(
        "this program was built without {what}; build it with: cargo build --release -p chalkface-desk --features {feature}"
    )]
    NotBuilt {
        /// What it can't do.
        what: &'static str,
        /// What to build it with.
        feature: &'static str,
    },
    /// The demo's folder holds something.
    #[error("{} is not empty; choose another folder with --into, or remove it", .0.display())]
    NotEmpty(PathBuf),
    /// Something about a plan that isn't there.
    #[error("{0}")]
    Plan(String),
    /// Whose shots is not said.
    #[error("the book has {0} students; say whose with --student NAME")]
    Whose(usize),
    /// The system lacks something.
    #[error("{0}")]
    System(String),
}

impl DeskError {
    /// The command that does what the core's words ask for: those are for every shell.
    pub fn command(&self) -> Option<&'static str> {
        let Self::Book(error) = self else { return None };
        Some(match error {
            BookError::NotMet { .. } | BookError::Stranger { .. } => "meet CARD",
            BookError::Parted { .. } => "people --back NAME",
            BookError::NoKeys => "card",
            BookError::NoSuchDevice { .. } => "people",
            _ => return None,
        })
    }

    /// The kind of error, for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Book(_) => "book",
            Self::Refused(_) => "refused",
            Self::Table { .. } | Self::Sessions { .. } => "table",
            Self::Compare(_) => "compare",
            Self::File { .. } | Self::Ending { .. } | Self::NotEmpty(_) | Self::NoFolder(_) => "file",
            Self::Picture(_) | Self::Chart(_) | Self::Draw(_) => "picture",
            Self::Flight(_) => "flight",
            Self::Photo { .. } => "photo",
            Self::Club { .. } => "club",
            Self::Export(_) => "export",
            Self::Card(_) => "card",
            Self::Keys { .. }
            | Self::Words(_)
            | Self::NoKeyFile(_)
            | Self::KeysExist(_)
            | Self::OpenKeys(_) => "keys",
            Self::Rows { .. } => "rows",
            Self::Plan(_) => "plan",
            Self::Whose(_) => "student",
            #[cfg(feature = "object-store")]
            Self::Store { .. } => "store",
            Self::NotBuilt { .. } | Self::System(_) => "system",
        }
    }

    /// An error of the system about a file.
    pub fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |error| Self::File { path, error }
    }
}
