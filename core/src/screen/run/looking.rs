//! Looking around with invented people, and leaving them without a trace.
//!
//! The rule: their book lies beside the one to come, is opened only as long as the state
//! says so, and is taken away on leaving and at the next start. Start at [`Loop::look_around`].

use std::path::{Path, PathBuf};

use super::Loop;
use crate::book::{Book, BookError};
use crate::model::{Moment, Name, Now, Role};
use crate::screen::control::{Control, Look};
use crate::screen::part::{Part, Tone};
use crate::screen::{invented, parts};
use crate::words::screen::first_use as say;

/// The key of leaving invented people; the loop itself hears it.
pub(super) const LEAVE: &str = "invented.leave";

/// Where the book lies: one's own, or that of invented people beside it.
pub(super) fn book_path(own: &Path, invented: bool) -> PathBuf {
    if !invented {
        return own.to_owned();
    }
    let mut beside = own.as_os_str().to_owned();
    beside.push(".invented");
    beside.into()
}

/// Takes the book of invented people away, with what the storage keeps beside it.
pub(super) fn forget_invented(own: &Path) {
    Book::discard(&book_path(own, true));
}

impl Loop {
    /// Makes the book of invented people, and shows it.
    pub(super) fn look_around(&mut self, role: Role, now: Now) {
        forget_invented(&self.path);
        let made = Name::new(invented::owner(role)).map_err(BookError::from).and_then(|name| {
            let mut book = Book::create(&book_path(&self.path, true), name, role, now)?;
            invented::invent(&mut book, now)?;
            Ok(book)
        });
        match made {
            Ok(book) => {
                self.book = Some(book);
                self.go_home(now.at);
                self.state.demo = true;
            }
            Err(error) => {
                forget_invented(&self.path);
                self.state.tell(Tone::Problem, error.to_string());
            }
        }
    }

    /// Takes the book of invented people away, and begins where they were asked for.
    pub(super) fn leave_invented(&mut self, at: Moment) {
        self.book = None;
        self.answers.get_mut().forget();
        forget_invented(&self.path);
        self.go_home(at);
        self.state.tell(Tone::Done, say::INVENTED_GONE.into());
    }

    /// On main places, what is invented says so, with the way out.
    pub(super) fn with_leave(&self, mut shown: Vec<Part>) -> Vec<Part> {
        let at_root = self.state.tabs.get(self.state.tab).is_some_and(|stack| stack.len() <= 1);
        if self.state.demo && at_root {
            let leave = Control::action(LEAVE, say::LEAVE, Look::Plain);
            shown.splice(0..0, [parts::text("invented", say::INVENTED), leave.into()]);
        }
        shown
    }
}
