//! Long computations: asked for by a screen, done without the loop's lock, kept in
//! memory until what they rest on changes.
//!
//! The rule: an answer is a pure function of the book and the question, so that asking
//! again after a kill gives the same. Start at [`Ask`] and [`Work`].

use std::any::Any;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use super::see::Problem;
use crate::book::Book;
use crate::model::{Day, StrandId};

/// A question.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ask {
    /// What is asked; the same word means the same computation.
    pub what: &'static str,
    /// About whom; all students where it is nobody.
    pub strand: Option<StrandId>,
    /// On which day.
    pub day: Day,
    /// More, in the screen's own words.
    pub more: String,
    /// The student may have so many changes for it to be worked out at once, without
    /// waiting: those take a few milliseconds.
    pub quick: u64,
}

impl Ask {
    /// A question about a student.
    pub fn new(what: &'static str, strand: Option<StrandId>, day: Day) -> Self {
        Self { what, strand, day, more: String::new(), quick: 0 }
    }

    /// The same, worked out at once for a student of at most so many changes.
    #[must_use]
    pub fn quick(mut self, changes: u64) -> Self {
        self.quick = changes;
        self
    }

    /// The same with more to it.
    #[must_use]
    pub fn with(mut self, more: impl Into<String>) -> Self {
        self.more = more.into();
        self
    }
}

/// How a question is answered.
pub type Compute = fn(&Book, &Ask) -> Result<Found, Problem>;
/// What was found: the asking screen knows its form.
pub type Found = Arc<dyn Any + Send + Sync>;

/// An answer.
pub enum Answer {
    /// What was found.
    Found(Found),
    /// It could not be worked out; why and what to do.
    Failed(Problem),
}

/// Answers in memory at most; the oldest go.
const MOST: usize = 24;

/// The answers so far, and what is asked for.
#[derive(Default)]
pub struct Answers {
    known: BTreeMap<Ask, (u64, Arc<Answer>)>,
    wanted: Vec<(u64, Ask, Compute)>,
    next: u64,
}

impl Answers {
    /// The answer, or the question noted.
    pub(super) fn get(&mut self, ask: Ask, compute: Compute) -> Option<Arc<Answer>> {
        if let Some((_, answer)) = self.known.get(&ask) {
            return Some(Arc::clone(answer));
        }
        if !self.wanted.iter().any(|(_, asked, _)| *asked == ask) {
            self.next += 1;
            self.wanted.push((self.next, ask, compute));
        }
        None
    }

    /// The answer, if it is there.
    pub(super) fn known(&self, ask: &Ask) -> Option<Arc<Answer>> {
        self.known.get(ask).map(|(_, answer)| Arc::clone(answer))
    }

    /// Keeps an answer that was worked out at once.
    pub(super) fn keep(&mut self, ask: Ask, found: Result<Found, Problem>) -> Arc<Answer> {
        self.next += 1;
        let answer = Arc::new(found.map_or_else(Answer::Failed, Answer::Found));
        self.put(ask, self.next, Arc::clone(&answer));
        answer
    }

    /// Puts an answer among the known ones; the oldest make room.
    fn put(&mut self, ask: Ask, no: u64, answer: Arc<Answer>) {
        if self.known.len() >= MOST
            && let Some(oldest) = self.known.iter().min_by_key(|(_, (no, _))| *no).map(|(ask, _)| ask.clone())
        {
            self.known.remove(&oldest);
        }
        self.known.insert(ask, (no, answer));
    }

    /// Forgets what is asked for but not shown any more.
    pub(super) fn nothing_wanted(&mut self) {
        self.wanted.clear();
    }

    /// Forgets all that rests on a student's records, or on everybody's.
    pub(super) fn changed(&mut self, strand: StrandId) {
        self.known.retain(|ask, _| ask.strand.is_some_and(|of| of != strand));
        self.wanted.retain(|(_, ask, _)| ask.strand.is_some_and(|of| of != strand));
    }

    /// Forgets everything.
    pub(super) fn forget(&mut self) {
        self.known.clear();
        self.wanted.clear();
    }

    /// Forgets answers that failed, to try again.
    pub(super) fn try_again(&mut self) {
        self.known.retain(|_, (_, answer)| !matches!(**answer, Answer::Failed(_)));
    }

    /// The first question that waits.
    pub(super) fn first(&self) -> Option<(u64, &Ask, Compute)> {
        self.wanted.first().map(|(ticket, ask, compute)| (*ticket, ask, *compute))
    }

    /// Takes an answer in, if it is still asked for.
    pub(super) fn finish(&mut self, done: WorkDone) {
        let Some(at) =
            self.wanted.iter().position(|(ticket, ask, _)| *ticket == done.ticket && *ask == done.ask)
        else {
            return;
        };
        self.wanted.remove(at);
        self.put(done.ask, done.ticket, Arc::new(done.found.map_or_else(Answer::Failed, Answer::Found)));
    }
}

/// A long computation to be done on any thread.
pub struct Work {
    /// Its number.
    pub ticket: u64,
    pub(super) path: PathBuf,
    pub(super) ask: Ask,
    pub(super) compute: Compute,
}

impl Work {
    /// Does it, with a connection of its own to the book.
    pub fn run(self) -> WorkDone {
        let Self { ticket, path, ask, compute } = self;
        let found = Book::open(&path).map_err(Problem::from).and_then(|book| compute(&book, &ask));
        WorkDone { ticket, ask, found }
    }
}

/// What came of it, for [`Loop::finish`](super::Loop::finish).
pub struct WorkDone {
    ticket: u64,
    ask: Ask,
    found: Result<Found, Problem>,
}
