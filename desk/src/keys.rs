//! Where a laptop keeps a device's keys: a file beside the book that only its
//! owner may read, unless `--keys` says otherwise.
//!
//! The rule that must hold: secrets come from the system's random source, are
//! written once, under a name that did not exist, and are never printed; the
//! twelve words are printed once, when they are made. Start at [`Keys`].

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use chalkface_core::book::{Book, BookError};
use chalkface_core::sync::{DeviceKeys, KeyError, RootKey};

use crate::clock;
use crate::error::DeskError;

/// Where the keys of a book lie.
#[derive(Debug, Clone)]
pub struct Keys {
    path: PathBuf,
}

impl Keys {
    /// Beside the book, or where the person says.
    pub fn of(book: &Path, said: Option<&Path>) -> Self {
        let beside = || {
            let mut name = book.as_os_str().to_owned();
            name.push(".key");
            PathBuf::from(name)
        };
        Self { path: said.map_or_else(beside, Path::to_owned) }
    }

    /// Where that is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether there is a file.
    pub fn exist(&self) -> bool {
        self.path.exists()
    }

    /// The keys.
    ///
    /// # Errors
    /// [`DeskError::Keys`] or [`DeskError::File`] that says what is wrong with the file.
    pub fn read(&self) -> Result<DeviceKeys, DeskError> {
        if !self.exist() {
            return Err(DeskError::NoKeyFile(self.path.clone()));
        }
        self.only_ours()?;
        let text = fs::read_to_string(&self.path).map_err(DeskError::file(&self.path))?;
        DeviceKeys::from_text(&text).map_err(|problem| self.wrong(problem))
    }

    /// Makes the keys of a book's device, and the person whose it is: new, or
    /// the one behind twelve words. Answers the words if they are new.
    ///
    /// # Errors
    /// [`DeskError`] if the file exists, or what system and book report.
    pub fn make(&self, book: &mut Book, words: Option<&RootKey>) -> Result<Option<String>, DeskError> {
        if book.identity()?.is_some() {
            return Err(BookError::HasKeys { person: book.owner().name.to_string() }.into());
        }
        let keys =
            DeviceKeys::from_entropy(book.device(), &random()?).map_err(|problem| self.wrong(problem))?;
        self.write(&keys)?;
        let (root, new) = if let Some(root) = words {
            (root.clone(), None)
        } else {
            let root = RootKey::from_entropy(random()?);
            let phrase = root.phrase();
            (root, Some(phrase))
        };
        let begun = clock::now().and_then(|now| Ok(book.begin_identity(&keys, &root, now)?));
        if begun.is_err() {
            // Keys that no book knows are of no use to anybody.
            let _ = fs::remove_file(&self.path);
        }
        begun.map(|()| new)
    }

    /// Writes keys where there are none.
    ///
    /// # Errors
    /// [`DeskError::File`] if there are, or what the system reports.
    pub fn write(&self, keys: &DeviceKeys) -> Result<(), DeskError> {
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            options.mode(0o600);
        }
        let mut file = options.open(&self.path).map_err(DeskError::file(&self.path))?;
        file.write_all(keys.to_text().as_bytes())
            .and_then(|()| file.sync_all())
            .map_err(DeskError::file(&self.path))
    }

    /// Whether nobody else on this machine may read them.
    #[cfg(unix)]
    fn only_ours(&self) -> Result<(), DeskError> {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(&self.path).map_err(DeskError::file(&self.path))?.permissions().mode();
        // The last six bits are the group's and everybody's rights.
        if mode.trailing_zeros() >= 6 { Ok(()) } else { Err(DeskError::OpenKeys(self.path.clone())) }
    }

    #[cfg(not(unix))]
    #[allow(clippy::unused_self, clippy::unnecessary_wraps, reason = "other systems keep rights elsewhere")]
    fn only_ours(&self) -> Result<(), DeskError> {
        Ok(())
    }

    fn wrong(&self, problem: KeyError) -> DeskError {
        DeskError::Keys { path: self.path.clone(), problem }
    }
}

/// The person behind twelve words that were typed; `-` reads them from the
/// standard input, where no list of commands remembers them.
///
/// # Errors
/// [`DeskError::Words`] if they aren't such words.
pub fn root_of(words: &str) -> Result<RootKey, DeskError> {
    if words != "-" {
        return RootKey::from_phrase(words).map_err(DeskError::Words);
    }
    let mut line = String::new();
    std::io::stdin()
        .read_line(&mut line)
        .map_err(|error| DeskError::System(format!("can't read the words: {error}")))?;
    RootKey::from_phrase(&line).map_err(DeskError::Words)
}

fn random<const N: usize>() -> Result<[u8; N], DeskError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| DeskError::System(format!("no random bytes: {error}")))?;
    Ok(bytes)
}
