//! What is asked of the shell, as it is told, and the bytes of files that are handed over.
//!
//! The rule: the bytes of a wish are the same content each time they are asked for.

use super::state::{Waiting, Wanted};
use super::{Loop, Problem, see};
use crate::book::{Book, DeviceKeys, StudentEntry, export};
use crate::model::{Name, StrandId};
use crate::screen::effect::{Asked, Effect};
use crate::words::screen as say;

impl Loop {
    /// What the shell has not answered yet.
    pub(super) fn effects(&self) -> Vec<Effect> {
        let named = |strand: StrandId| {
            let student = self.book.as_ref().and_then(|book| see::student(book, Some(strand)).ok());
            student.map_or_else(|| say::keep::ERASED_FILE.into(), |s| s.student.value.name.to_string())
        };
        let file = |name: String| Asked::Share { name, text: false };
        let what = |waiting: &Waiting| {
            let day = waiting.now.at.local_day();
            match &waiting.what {
                Wanted::Share { strand, to, .. } => file(say::file_name(&named(*strand), to, day)),
                Wanted::ShareCard => {
                    let name = self.book.as_ref().map_or("", |book| book.owner().name.as_str());
                    Asked::Share { name: say::people::file_name(name), text: true }
                }
                Wanted::Copy { strand } => file(say::keep::copy_name(&named(*strand), day)),
                Wanted::Table { strand, kind } => {
                    file(say::keep::table_name(&named(*strand), kind.word(), day))
                }
                Wanted::Pick => {
                    Asked::PickFile { endings: ["chalk", "json", "csv"].map(str::to_owned).into() }
                }
                Wanted::PickCard => Asked::PickFile { endings: vec!["txt".into()] },
                Wanted::Picture { camera: true } => Asked::TakePicture,
                Wanted::Picture { camera: false } => {
                    Asked::PickFile { endings: ["jpg", "jpeg", "png"].map(str::to_owned).into() }
                }
                Wanted::Buzz => Asked::Buzz,
            }
        };
        self.state.effects.iter().map(|waiting| Effect { id: waiting.id, what: what(waiting) }).collect()
    }

    /// The bytes of a file that an effect asks to share: each time the same content,
    /// signed with this device's keys and, where it is for somebody, sealed anew.
    ///
    /// # Errors
    /// Why there are none.
    pub fn content(&mut self, effect: u64) -> Result<Vec<u8>, Problem> {
        let waiting = self.state.effects.iter().find(|waiting| waiting.id == effect).cloned();
        let Waiting { what, now, .. } = waiting.ok_or_else(|| Problem(say::NO_SUCH_FILE.into()))?;
        let book = self.book.as_mut().ok_or_else(|| Problem(say::NO_BOOK.into()))?;
        let keys = self.keys.as_ref().ok_or_else(|| Problem(say::NO_KEYS.into()));
        match what {
            Wanted::Share { strand, to, all } => {
                let student = student_or_word(book, strand)?;
                let mut bytes = Vec::new();
                book.send(keys?, &student, &Name::new(&to)?, now, all, &mut bytes)?;
                Ok(bytes)
            }
            Wanted::ShareCard => Ok(book.card(keys?, now)?.text().into_bytes()),
            Wanted::Copy { strand } => copy(book, keys.ok(), strand),
            Wanted::Table { strand, kind } => {
                let table = book.table(kind, Some(&[strand]))?;
                Ok(table.ok_or_else(|| Problem(say::keep::NO_TABLE.into()))?.to_csv())
            }
            Wanted::Pick | Wanted::PickCard | Wanted::Picture { .. } | Wanted::Buzz => {
                Err(Problem(say::NO_SUCH_FILE.into()))
            }
        }
    }
}

/// A student, or the word that is left of one who was erased.
fn student_or_word(book: &Book, strand: StrandId) -> Result<StudentEntry, Problem> {
    let word = book.erased_students()?.into_iter().find(|word| word.strand == strand);
    word.map_or_else(|| see::student(book, Some(strand)), Ok)
}

/// All of a student, to be taken in by another book; the owner's hands are the only guard.
fn copy(book: &mut Book, keys: Option<&DeviceKeys>, strand: StrandId) -> Result<Vec<u8>, Problem> {
    let mut bytes = Vec::new();
    export::json::begin(&mut bytes)?;
    book.export(keys, Some(&[strand]), |item| export::json::write(&mut bytes, &item))?;
    Ok(bytes)
}
