//! What a screen sees when it is shown, and what it may do when something happens.
//!
//! The rule: showing writes nothing; an act writes through [`Do::write`], so that it can be
//! taken back. Start at [`See`] and [`Do`].

use std::cell::RefCell;
use std::sync::Arc;

use super::answers::{Answer, Answers, Ask, Compute};
use super::held::Held;
use super::state::{Frame, State, Undo, Wanted};
use crate::book::export::ExportError;
use crate::book::{Book, BookError, DeviceKeys, StudentEntry};
use crate::model::{Day, Moment, Now, RecordId, Refusal, Role, StrandId};
use crate::screen::control::{Control, Look};
use crate::screen::part::Tone;
use crate::screen::places::{Place, Shown};

/// Why something was not done, as a person reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem(pub String);

impl From<BookError> for Problem {
    fn from(error: BookError) -> Self {
        Self(error.to_string())
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        Self(refusal.to_string())
    }
}

impl From<ExportError> for Problem {
    fn from(error: ExportError) -> Self {
        Self(error.to_string())
    }
}

/// What a screen sees.
pub struct See<'a> {
    /// The book, where there is one.
    pub book: Option<&'a Book>,
    /// This device's keys, where the shell has given them.
    pub keys: Option<&'a DeviceKeys>,
    /// The clock of the last event.
    pub at: Moment,
    /// The screen's own frame.
    pub frame: &'a Frame,
    pub(super) answers: &'a RefCell<Answers>,
}

impl<'a> See<'a> {
    /// The book.
    ///
    /// # Errors
    /// Before first use there is none.
    pub fn book(&self) -> Result<&'a Book, Problem> {
        self.book.ok_or_else(|| Problem(crate::words::screen::NO_BOOK.into()))
    }

    /// What is half entered here.
    pub fn held(&self) -> &Held {
        &self.frame.held
    }

    /// The day.
    pub fn day(&self) -> Day {
        self.at.local_day()
    }

    /// Whether the book is a coach's.
    pub fn coach(&self) -> bool {
        self.book.is_some_and(|book| book.owner().role != Role::Student)
    }

    /// The student that the screen is about: the frame's, or the book's only one.
    ///
    /// # Errors
    /// Where there is none.
    pub fn student(&self) -> Result<StudentEntry, Problem> {
        student(self.book()?, self.frame.strand)
    }

    /// The answer to a long computation, if it is there; else it is asked for, and the
    /// screen shows what it can without.
    pub fn answer<T: Send + Sync + 'static>(&self, ask: Ask, compute: Compute) -> Seen<T> {
        let known = self.answers.borrow().known(&ask);
        let answer = known.or_else(|| match self.small(&ask) {
            Some(book) => {
                let found = compute(book, &ask);
                Some(self.answers.borrow_mut().keep(ask, found))
            }
            None => self.answers.borrow_mut().get(ask, compute),
        });
        match answer.as_deref() {
            None => Seen::Waiting,
            Some(Answer::Failed(problem)) => Seen::Failed(problem.clone()),
            Some(Answer::Found(found)) => match Arc::clone(found).downcast() {
                Ok(found) => Seen::Found(found),
                Err(_) => Seen::Waiting,
            },
        }
    }
}

impl<'a> See<'a> {
    /// The book, where a question about it is worked out at once.
    fn small(&self, ask: &Ask) -> Option<&'a Book> {
        let book = self.book.filter(|_| ask.quick > 0)?;
        let changes = match ask.strand {
            Some(strand) => book.about_how_many(strand).ok()?,
            None => book.students().ok()?.len() as u64 * 20,
        };
        (changes <= ask.quick).then_some(book)
    }
}

/// Where a long computation stands.
pub enum Seen<T> {
    /// It is under way; [`Screen::busy`](crate::screen::Screen::busy) says so.
    Waiting,
    /// It could not be done.
    Failed(Problem),
    /// What was found.
    Found(Arc<T>),
}

impl<T> Seen<T> {
    /// What was found. Else the screen says what is wrong, and offers to try again.
    pub fn or_say(self, shown: &mut Shown) -> Option<Arc<T>> {
        match self {
            Self::Found(found) => Some(found),
            Self::Waiting => None,
            Self::Failed(Problem(problem)) => {
                shown.add(crate::screen::parts::caution("failed", problem));
                shown.add(Control::action(AGAIN, crate::words::screen::AGAIN, Look::Plain));
                None
            }
        }
    }
}

/// The key of trying again what failed; the loop itself hears it.
pub(super) const AGAIN: &str = "failed.again";

/// The student of a strand, or the book's only one.
///
/// # Errors
/// Where there is none, or what the storage reports.
pub fn student(book: &Book, strand: Option<StrandId>) -> Result<StudentEntry, Problem> {
    let none = || Problem(crate::words::screen::NO_STUDENT.into());
    match strand {
        Some(strand) => Ok(book.student_of(strand)?.ok_or_else(none)?),
        None if book.owner().role == Role::Student => book
            .students()?
            .into_iter()
            .next()
            .ok_or_else(|| Problem(crate::words::screen::ALL_ERASED.into())),
        None => book.students()?.into_iter().next().ok_or_else(none),
    }
}

/// What a screen may do.
pub struct Do<'a> {
    pub(super) book: &'a mut Option<Book>,
    /// This device's keys, where the shell has given them.
    pub keys: Option<&'a DeviceKeys>,
    /// The clock and entropy of the event.
    pub now: Now,
    pub(super) state: &'a mut State,
    pub(super) touched: &'a mut Vec<StrandId>,
    pub(super) wish: &'a mut Option<Wish>,
    pub(super) answers: &'a RefCell<Answers>,
}

/// What only the loop itself can do, asked for by a screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Wish {
    /// Make this device's book.
    Begin {
        /// Whose it is.
        name: crate::model::Name,
        /// What they are.
        role: Role,
    },
    /// Show invented people, as somebody of that role sees them.
    LookAround {
        /// What they are.
        role: Role,
    },
}

impl Do<'_> {
    /// The book.
    ///
    /// # Errors
    /// Before first use there is none.
    pub fn book(&self) -> Result<&Book, Problem> {
        self.book.as_ref().ok_or_else(|| Problem(crate::words::screen::NO_BOOK.into()))
    }

    /// The student that the screen is about.
    ///
    /// # Errors
    /// Where there is none.
    pub fn student(&self) -> Result<StudentEntry, Problem> {
        student(self.book()?, self.state.frame().and_then(|frame| frame.strand))
    }

    /// This device's keys.
    ///
    /// # Errors
    /// Where the shell has given none.
    pub fn keys(&self) -> Result<DeviceKeys, Problem> {
        self.keys.cloned().ok_or_else(|| Problem(crate::words::screen::NO_KEYS.into()))
    }

    /// Whether the book is a coach's.
    pub fn coach(&self) -> bool {
        self.book.as_ref().is_some_and(|book| book.owner().role != Role::Student)
    }

    /// Which screen is shown.
    pub fn place(&self) -> Option<Place> {
        self.state.frame().map(|frame| frame.place)
    }

    /// The record that the screen is about.
    pub fn record(&self) -> Option<RecordId> {
        self.state.frame()?.record
    }

    /// What is half entered here.
    pub fn held(&mut self) -> &mut Held {
        self.state.held()
    }

    /// The day.
    pub fn day(&self) -> Day {
        self.now.at.local_day()
    }

    /// Goes on to a screen.
    pub fn go(&mut self, frame: Frame) {
        self.state.go(frame);
    }

    /// Goes on to a screen about the same student.
    pub fn go_on(&mut self, place: Place) {
        let strand = self.state.frame().and_then(|frame| frame.strand);
        self.state.go(Frame { strand, ..Frame::new(place) });
    }

    /// One step back.
    pub fn back(&mut self) {
        self.state.back();
    }

    /// To the first of the main places.
    pub fn home(&mut self) {
        self.state.home();
    }

    /// What belonged to a student can't be undone any more, nor handed over, and nobody is on
    /// a screen of theirs.
    pub fn left(&mut self, strand: StrandId) {
        self.state.leave(strand);
    }

    /// What was written of a student can't be undone any more.
    pub fn no_undo(&mut self, strand: StrandId) {
        self.state.undo.retain(|undo| undo.strand != strand);
    }

    /// Tells that something was done.
    pub fn tell(&mut self, text: impl Into<String>) {
        self.state.tell(Tone::Done, text.into());
    }

    /// Writes into a student's strand; what was written can be taken back by its name.
    ///
    /// # Errors
    /// What the act answers; then nothing was written.
    pub fn write<T>(
        &mut self,
        strand: StrandId,
        what: impl Into<String>,
        act: impl FnOnce(&mut Book, Now) -> Result<T, BookError>,
    ) -> Result<T, Problem> {
        let now = self.now;
        let book = self.book.as_mut().ok_or_else(|| Problem(crate::words::screen::NO_BOOK.into()))?;
        let after = book.own_last(strand)?;
        let done = act(book, now)?;
        let upto = book.own_last(strand)?;
        self.touched.push(strand);
        if upto > after {
            let tab = self.state.tab;
            self.state.can_undo(Undo { strand, after, upto, what: what.into(), sent: false, tab });
        }
        Ok(done)
    }

    /// Does something with the book that can't be taken back.
    ///
    /// # Errors
    /// What it answers.
    pub fn with_book<T, E>(
        &mut self,
        strands: &[StrandId],
        act: impl FnOnce(&mut Book, Now) -> Result<T, E>,
    ) -> Result<T, Problem>
    where
        Problem: From<E>,
    {
        let now = self.now;
        let book = self.book.as_mut().ok_or_else(|| Problem(crate::words::screen::NO_BOOK.into()))?;
        let done = act(book, now)?;
        self.touched.extend(strands);
        Ok(done)
    }

    /// What a long computation has found, if the screen shows it.
    pub fn answer<T: Send + Sync + 'static>(&self, ask: &Ask) -> Option<Arc<T>> {
        match self.answers.borrow().known(ask).as_deref() {
            Some(Answer::Found(found)) => Arc::clone(found).downcast().ok(),
            _ => None,
        }
    }

    /// Asks something of the shell.
    pub fn ask(&mut self, what: Wanted) {
        let now = self.now;
        self.state.ask(what, now);
    }

    /// Asks something of the loop itself.
    pub(crate) fn wish(&mut self, wish: Wish) {
        *self.wish = Some(wish);
    }
}
