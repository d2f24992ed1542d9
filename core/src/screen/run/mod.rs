//! The one loop: an event comes in, changes go into the book, a screen comes out.
//!
//! The rule that must hold: what [`Loop::act`] has answered is in the book; nothing
//! that comes in makes it fail or lose anything; the same events with the same clock and
//! entropy give the same screens, states and books. Start at [`Loop`].

mod accept;
mod answers;
mod files;
mod held;
mod looking;
mod see;
mod state;
mod state_bytes;

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use looking::{LEAVE, book_path, forget_invented};

pub use answers::{Answer, Answers, Ask, Compute, Found, Work, WorkDone};
pub use held::Held;
pub(crate) use see::Wish;
pub use see::{Do, Problem, See, Seen, student};
pub use state::{Frame, State, Undo, Waiting, Wanted};
pub use state_bytes::MOST_BYTES;

use super::control::{Control, RowsPage};
use super::event::{Event, Outcome};
use super::part::{Busy, Screen, Tab, Tone, What};
use super::places::{Place, Shown, tabs};
use crate::book::{Book, BookError, DeviceKeys};
use crate::model::{Moment, Now, Role, StrandId};
use crate::words::screen as say;

/// Rows in one answer at most.
pub const MOST_ROWS: usize = 200;

/// An event as a shell tells it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// The turn of the screen on which it happened; where it is told and another screen has
    /// come up since, the event was not meant for that and is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<u64>,
    /// What happened.
    #[serde(flatten)]
    pub event: Event,
}

impl From<Event> for Told {
    fn from(event: Event) -> Self {
        Self { seen: None, event }
    }
}

/// One device's app: its book, and where its person is in it.
pub struct Loop {
    path: PathBuf,
    book: Option<Book>,
    /// Why the book can't be opened.
    broken: Option<String>,
    state: State,
    /// This device's keys: the shell keeps them, and gives them at each start.
    keys: Option<DeviceKeys>,
    answers: RefCell<Answers>,
    shown: RefCell<Option<Arc<Screen>>>,
}

impl Loop {
    /// Opens the book at `path`, or offers to make one. `state` are the bytes that
    /// [`Loop::state`] gave; `at` is the clock. Never fails: what is wrong is shown.
    pub fn open(path: &Path, state: Option<&[u8]>, at: Moment) -> Self {
        let kept = state.map(State::decode);
        let invented = matches!(&kept, Some(Some(kept)) if kept.demo);
        if !invented {
            forget_invented(path);
        }
        let (book, broken) = match Book::open(&book_path(path, invented)) {
            Ok(book) => (Some(book), None),
            Err(BookError::Missing { .. }) => (None, None),
            Err(error) => (None, Some(error.to_string())),
        };
        let mut opened = Self {
            path: path.to_owned(),
            book,
            broken,
            state: State::at_home(&[], at),
            keys: None,
            answers: RefCell::default(),
            shown: RefCell::default(),
        };
        opened.go_home(at);
        match kept {
            Some(Some(kept)) if opened.fits(&kept) => opened.state = kept,
            Some(_) => opened.state.tell(Tone::Problem, say::STATE_LOST.into()),
            None => {}
        }
        opened
    }

    /// Gives the keys of this device, without which no file is sealed or opened.
    pub fn give_keys(&mut self, keys: DeviceKeys) {
        self.keys = Some(keys);
        // The shell may have made them in the book just now. Where that can't be read, the
        // next thing that is done with the book says so.
        let _ = self.book.as_mut().map(Book::learn_whose);
        self.shown.replace(None);
    }

    /// Takes in what happened. What it did is in the book when it comes back.
    pub fn act(&mut self, told: &Told, now: Now) {
        let before = self.shown.get_mut().take();
        self.state.turn += 1;
        self.state.at = now.at;
        let stale = told.seen.is_some_and(|seen| seen < self.state.since);
        match &told.event {
            Event::Wake => self.answers.get_mut().forget(),
            Event::Dismiss { notice } => self.state.notices.retain(|told| told.id != *notice),
            Event::Answer { effect, outcome } => self.answered(*effect, outcome, now),
            Event::Handed { name, bytes } => {
                self.with_screen(now, |_, act| super::both::take_in::picked(act, name, bytes));
            }
            _ if stale => {}
            Event::Back => {
                self.state.notices.retain(|notice| notice.tone == Tone::Problem);
                self.state.back();
            }
            Event::Undo => self.undo(now),
            Event::Go { tab } => self.go_tab(tab),
            event => {
                let shown = before.unwrap_or_else(|| Arc::new(self.make_screen()));
                if accept::accept(&shown, event, self.state.held()) {
                    // Whoever goes on has read them; who only writes on has not.
                    if !matches!(event, Event::Write { .. } | Event::Slide { .. }) {
                        self.state.notices.clear();
                    }
                    if matches!(event, Event::Press { key } if key == see::AGAIN) {
                        self.answers.get_mut().try_again();
                    } else if self.state.demo && matches!(event, Event::Press { key } if key == LEAVE) {
                        self.leave_invented(now.at);
                    } else {
                        self.with_screen(now, |place, act| (place.entry().act)(act, event));
                    }
                }
            }
        }
        self.answers.get_mut().ask_anew();
        self.shown.replace(None);
    }

    /// What is shown now.
    pub fn screen(&self) -> Arc<Screen> {
        let known = self.shown.borrow().clone();
        known.unwrap_or_else(|| {
            let screen = Arc::new(self.make_screen());
            self.shown.replace(Some(Arc::clone(&screen)));
            screen
        })
    }

    /// Rows of a long list on this screen, after the row with a key (from the first where
    /// there is none), at most [`MOST_ROWS`].
    pub fn rows(&self, key: &str, after: Option<&str>, count: usize) -> RowsPage {
        let Some(frame) = self.state.frame() else { return RowsPage::default() };
        let see = self.see(frame);
        (frame.place.entry().rows)(&see, key, after, count.min(MOST_ROWS)).unwrap_or_default()
    }

    /// Where the person is, as bytes for [`Loop::open`].
    pub fn state(&self) -> Vec<u8> {
        self.state.encode()
    }

    /// The bytes of a picture that the screen shows, as JPEG.
    pub fn picture(&self, id: &str) -> Option<Arc<[u8]>> {
        self.screen().parts.iter().find_map(|part| match &part.what {
            What::Do(Control::Picture { picture, .. }) if picture.id == id => Some(Arc::clone(&picture.jpeg)),
            _ => None,
        })
    }

    /// The next long computation that the screen waits for.
    pub fn work(&self) -> Option<Work> {
        self.screen();
        let answers = self.answers.borrow();
        let (ticket, ask, compute) = answers.first()?;
        Some(Work { ticket, path: book_path(&self.path, self.state.demo), ask: ask.clone(), compute })
    }

    /// Takes in what a computation has found. An answer that nobody waits for any more
    /// is dropped.
    pub fn finish(&mut self, done: WorkDone) {
        self.answers.get_mut().finish(done);
        self.shown.replace(None);
    }

    /// The digest of what the book holds of each student, for tests and replays.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn digests(&self) -> Result<Vec<String>, BookError> {
        let Some(book) = &self.book else { return Ok(Vec::new()) };
        Ok(book.check()?.strands.into_iter().map(|strand| strand.digest).collect())
    }

    fn role(&self) -> Option<Role> {
        self.book.as_ref().map(|book| book.owner().role)
    }

    fn tab_places(&self) -> &'static [(Place, &'static str)] {
        if self.broken.is_some() { &[(Place::Broken, say::TAB_WELCOME)] } else { tabs(self.role()) }
    }

    fn go_home(&mut self, at: Moment) {
        let places: Vec<Place> = self.tab_places().iter().map(|(place, _)| *place).collect();
        self.state = State { turn: self.state.turn, ..State::at_home(&places, at) };
        self.state.since = self.state.turn;
    }

    /// Whether a state is one of this book's.
    fn fits(&self, state: &State) -> bool {
        let roots = state.tabs.iter().map(|stack| stack.first().map(|frame| frame.place));
        roots.eq(self.tab_places().iter().map(|(place, _)| Some(*place)))
    }

    fn see<'a>(&'a self, frame: &'a Frame) -> See<'a> {
        See {
            book: self.book.as_ref(),
            keys: self.keys.as_ref(),
            at: self.state.at,
            frame,
            answers: &self.answers,
        }
    }

    fn make_screen(&self) -> Screen {
        let frame = self.state.frame();
        let place = frame.map_or(Place::Broken, |frame| frame.place);
        let shown = match (&self.broken, frame) {
            (None, Some(frame)) => (place.entry().show)(&self.see(frame))
                .unwrap_or_else(|Problem(problem)| super::both::broken::nothing(&say::sentence(&problem))),
            (broken, _) => super::both::broken::page(broken.as_deref().unwrap_or_default()),
        };
        let Shown { title, subtitle, parts, says } = shown;
        self.answers.borrow_mut().asked_all();
        let parts = self.with_leave(parts);
        let says = self.state.notices.last().map_or(says, |notice| notice.text.clone());
        Screen {
            place: place.word(),
            turn: self.state.turn,
            title,
            subtitle,
            back: self.back_name(),
            tabs: self.tabs(),
            parts,
            notices: self.state.notices.clone(),
            undo: self.state.undoable().map(|undo| say::undo(&undo.what, undo.sent)),
            says,
            busy: self
                .answers
                .borrow()
                .first()
                .map(|(ticket, ask, _)| Busy { ticket, text: say::busy(ask.what) }),
            effects: self.effects(),
        }
    }

    fn back_name(&self) -> Option<String> {
        let stack = self.state.tabs.get(self.state.tab)?;
        let home = self.state.tab == 0 && stack.len() <= 1;
        (!home).then(|| say::BACK.into())
    }

    fn tabs(&self) -> Vec<Tab> {
        let places = self.tab_places();
        if places.len() < 2 {
            return Vec::new();
        }
        let tab = |(n, (place, name)): (usize, &(Place, &str))| Tab {
            key: place.word(),
            name: (*name).to_owned(),
            here: n == self.state.tab,
        };
        places.iter().enumerate().map(tab).collect()
    }

    fn go_tab(&mut self, tab: &str) {
        let Some(at) = self.tab_places().iter().position(|(place, _)| place.word() == tab) else { return };
        self.state.since = self.state.turn;
        self.state.notices.retain(|notice| notice.tone == Tone::Problem);
        // The place that is shown already goes back to its first screen.
        if at == self.state.tab
            && let Some(stack) = self.state.tabs.get_mut(at)
        {
            stack.truncate(1);
        }
        self.state.tab = at;
    }

    /// Lets a screen act: all of it, or a notice.
    fn with_screen(&mut self, now: Now, act: impl FnOnce(Place, &mut Do<'_>) -> Result<(), Problem>) {
        let Some(place) = self.state.frame().map(|frame| frame.place) else { return };
        let kept = self.state.clone();
        let (mut touched, mut wish) = (Vec::new(), None);
        let mut doing = Do {
            book: &mut self.book,
            keys: self.keys.as_ref(),
            now,
            state: &mut self.state,
            touched: &mut touched,
            wish: &mut wish,
            answers: &self.answers,
        };
        let done = act(place, &mut doing);
        self.touched(&touched);
        if let Err(Problem(problem)) = done {
            self.state = State { undo: std::mem::take(&mut self.state.undo), ..kept };
            self.state.tell(Tone::Problem, say::sentence(&problem));
        } else if let Some(wish) = wish {
            self.grant(wish, now);
        }
    }

    fn touched(&mut self, strands: &[StrandId]) {
        for strand in strands {
            self.answers.get_mut().changed(*strand);
        }
    }

    fn grant(&mut self, wish: Wish, now: Now) {
        let done = match wish {
            Wish::Begin { name, role } => Book::create(&self.path, name, role, now),
            Wish::LookAround { role } => return self.look_around(role, now),
        };
        match done {
            Ok(book) => {
                self.book = Some(book);
                let welcome = self.state.frame().map(|frame| frame.held.clone()).unwrap_or_default();
                self.go_home(now.at);
                self.with_screen(now, |_, act| super::both::first_use::begun(act, &welcome));
            }
            Err(error) => self.state.tell(Tone::Problem, error.to_string()),
        }
    }

    fn undo(&mut self, now: Now) {
        if self.state.undoable().is_none() {
            return;
        }
        let Some(undo) = self.state.undo.pop() else { return };
        let Some(book) = self.book.as_mut() else { return };
        match book.take_back(undo.strand, undo.after, undo.upto, now) {
            Ok(taken) => {
                self.touched(&[undo.strand]);
                self.state.tell(Tone::Done, say::undone(&undo.what, taken.kept));
            }
            Err(error) => {
                self.state.undo.push(undo);
                self.state.tell(Tone::Problem, error.to_string());
            }
        }
    }

    /// An effect's first answer; further ones find nothing.
    fn answered(&mut self, effect: u64, outcome: &Outcome, now: Now) {
        let Some(at) = self.state.effects.iter().position(|waiting| waiting.id == effect) else { return };
        let waiting = self.state.effects.remove(at);
        match (waiting.what, outcome) {
            (_, Outcome::Failed { why }) => self.state.tell(Tone::Problem, say::failed(why)),
            (Wanted::Share { strand, to, .. }, Outcome::Done) => {
                self.state
                    .undo
                    .iter_mut()
                    .filter(|undo| undo.strand == strand)
                    .for_each(|undo| undo.sent = true);
                self.state.notices.retain(|notice| notice.text != say::keep::MADE);
                self.state.tell(Tone::Done, say::handed_over(&to));
            }
            (Wanted::Pick, Outcome::File { name, bytes }) => {
                self.with_screen(now, |_, act| super::both::take_in::picked(act, name, bytes));
            }
            (Wanted::Copy { .. } | Wanted::Table { .. }, Outcome::Done) => {
                self.state.notices.retain(|notice| notice.text != say::keep::MADE);
                self.state.tell(Tone::Done, say::keep::HANDED.into());
            }
            (Wanted::ShareCard, Outcome::Done) => self.state.tell(Tone::Done, say::people::HANDED.into()),
            (Wanted::PickCard, Outcome::File { bytes, .. }) => {
                self.with_screen(now, |_, act| super::both::people::picked(act, bytes));
            }
            (Wanted::Picture { .. }, Outcome::File { bytes, .. }) => {
                self.with_screen(now, |_, act| super::both::picture::picked(act, bytes));
            }
            _ => {}
        }
    }
}
