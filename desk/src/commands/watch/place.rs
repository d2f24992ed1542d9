//! Where the files of several devices lie side by side.
//!
//! The rule that must hold: a file is there whole or not at all, and what is said of
//! its state differs whenever its bytes do. [`Folder`] is the one that is always there.

use std::fs::{self, File};
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};

use chalkface_core::book::BookError;

use crate::error::DeskError;

/// A file as it is listed.
pub struct Found {
    /// Its name, without a place.
    pub name: String,
    /// Equal as long as its bytes are.
    pub state: String,
}

/// A folder, or what is used as one.
pub trait Place {
    /// The exchange files in it, by name.
    fn files(&self) -> Result<Vec<Found>, DeskError>;
    /// A file's bytes; `None` where it went away meanwhile.
    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, DeskError>;
    /// Has a file written to a path on this machine, and puts it in place whole.
    fn put(&self, name: &str, write: &mut dyn FnMut(&Path) -> Result<(), BookError>)
    -> Result<(), DeskError>;
    /// How people are told of a file.
    fn shown(&self, name: &str) -> String;
}

/// A folder that a file service keeps in step.
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    pub fn new(path: &Path) -> Result<Self, DeskError> {
        if path.is_dir() {
            Ok(Self { path: path.to_owned() })
        } else {
            Err(DeskError::NoFolder(path.to_owned()))
        }
    }
}

impl Place for Folder {
    fn files(&self) -> Result<Vec<Found>, DeskError> {
        let mut found = Vec::new();
        for entry in fs::read_dir(&self.path).map_err(DeskError::file(&self.path))? {
            let entry = entry.map_err(DeskError::file(&self.path))?;
            let Ok(name) = entry.file_name().into_string() else { continue };
            // A file that goes away meanwhile is looked at in the next turn.
            let (true, Ok(about)) = (is_exchange_file(&name), fs::metadata(entry.path())) else { continue };
            found.push(Found { name, state: format!("{} {:?}", about.len(), about.modified().ok()) });
        }
        found.sort_by(|one, other| one.name.cmp(&other.name));
        Ok(found)
    }

    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, DeskError> {
        Ok(File::open(self.path.join(name)).ok().map(|file| Box::new(BufReader::new(file)) as Box<dyn Read>))
    }

    fn put(
        &self,
        name: &str,
        write: &mut dyn FnMut(&Path) -> Result<(), BookError>,
    ) -> Result<(), DeskError> {
        // The core writes under a temporary name, then renames.
        Ok(write(&self.path.join(name))?)
    }

    fn shown(&self, name: &str) -> String {
        self.path.join(name).display().to_string()
    }
}

/// Whether a name is that of an exchange file, and of nothing half written.
pub fn is_exchange_file(name: &str) -> bool {
    Path::new(name).extension().is_some_and(|ending| ending == "chalk")
}
