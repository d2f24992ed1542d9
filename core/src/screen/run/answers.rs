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

/// A question that waits for its answer.
struct Open {
    ticket: u64,
    ask: Ask,
    compute: Compute,
    /// Whether the screen that is shown asks it; where it doesn't, it is given up.
    asked: bool,
}

/// The answers so far, and what is asked for.
#[derive(Default)]
pub struct Answers {
    known: BTreeMap<Ask, (u64, Arc<Answer>)>,
    wanted: Vec<Open>,
    next: u64,
}

impl Answers {
    /// The answer, or the question noted.
    pub(super) fn get(&mut self, ask: Ask, compute: Compute) -> Option<Arc<Answer>> {
        if let Some((_, answer)) = self.known.get(&ask) {
            return Some(Arc::clone(answer));
        }
        if let Some(open) = self.wanted.iter_mut().find(|open| open.ask == ask) {
            open.asked = true;
        } else {
            self.next += 1;
            self.wanted.push(Open { ticket: self.next, ask, compute, asked: true });
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

    /// Something happened: what is under way goes on only if the next screen asks it too.
    pub(super) fn ask_anew(&mut self) {
        self.wanted.iter_mut().for_each(|open| open.asked = false);
    }

    /// A screen was made: gives up what it doesn't ask.
    pub(super) fn asked_all(&mut self) {
        self.wanted.retain(|open| open.asked);
    }

    /// Forgets all that rests on a student's records, or on everybody's.
    pub(super) fn changed(&mut self, strand: StrandId) {
        self.known.retain(|ask, _| ask.strand.is_some_and(|of| of != strand));
        self.wanted.retain(|open| open.ask.strand.is_some_and(|of| of != strand));
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
        self.wanted.first().map(|open| (open.ticket, &open.ask, open.compute))
    }

    /// Takes an answer in, if it is still asked for.
    pub(super) fn finish(&mut self, done: WorkDone) {
        let same = |open: &Open| open.ticket == done.ticket && open.ask == done.ask;
        let Some(at) = self.wanted.iter().position(same) else { return };
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

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(what: &'static str) -> Ask {
        Ask::new(what, None, Day::parse("2026-05-04").unwrap())
    }

    const COMPUTE: Compute = |_, _| Ok(Arc::new(7_u8));

    fn done(ticket: u64, what: &'static str) -> WorkDone {
        WorkDone { ticket, ask: ask(what), found: Ok(Arc::new(7_u8)) }
    }

    #[test]
    fn what_the_next_screen_asks_too_goes_on_and_the_rest_is_given_up() {
        let mut answers = Answers::default();
        assert!(answers.get(ask("slow"), COMPUTE).is_none() && answers.get(ask("other"), COMPUTE).is_none());
        let (slow, ..) = answers.first().unwrap();
        answers.ask_anew();
        assert!(answers.get(ask("slow"), COMPUTE).is_none());
        answers.asked_all();
        assert_eq!((answers.first().unwrap().0, answers.wanted.len()), (slow, 1));
        answers.finish(done(slow, "slow"));
        assert!(answers.known(&ask("slow")).is_some() && answers.first().is_none());
        answers.finish(done(slow + 1, "other"));
        assert!(answers.known(&ask("other")).is_none(), "given up: what it found is dropped");
    }

    #[test]
    fn what_rests_on_records_that_changed_begins_anew() {
        let mut answers = Answers::default();
        answers.get(ask("slow"), COMPUTE);
        let (before, ..) = answers.first().unwrap();
        answers.changed(StrandId(uuid::Uuid::from_u128(1)));
        answers.get(ask("slow"), COMPUTE);
        answers.finish(done(before, "slow"));
        assert!(answers.known(&ask("slow")).is_none());
        assert_ne!(answers.first().unwrap().0, before);
    }
}
