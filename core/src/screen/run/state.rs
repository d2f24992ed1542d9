//! Where somebody is, what is half entered, what can be undone, what is asked of the
//! shell: all that a killed device needs to go on.
//!
//! The rule: every list in it is bounded. Start at [`State`]; its bytes are in
//! `state_bytes`.

use super::held::Held;
use crate::model::{Kind, Moment, Now, RecordId, StrandId};
use crate::screen::part::{Notice, Tone};
use crate::screen::places::Place;

/// Frames of one main place at most: deeper ones take the place of the last.
const MOST_DEEP: usize = 8;
const MOST_NOTICES: usize = 3;
const MOST_UNDO: usize = 8;
const MOST_EFFECTS: usize = 8;

/// One screen that somebody is on, or comes back to.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Which screen.
    pub place: Place,
    /// Whose.
    pub strand: Option<StrandId>,
    /// About which record.
    pub record: Option<RecordId>,
    /// What is half entered.
    pub held: Held,
}

impl Frame {
    /// A screen about nobody in particular.
    pub fn new(place: Place) -> Self {
        Self { place, strand: None, record: None, held: Held::default() }
    }

    /// The same about a student.
    #[must_use]
    pub fn of(mut self, strand: StrandId) -> Self {
        self.strand = Some(strand);
        self
    }

    /// The same about a record.
    #[must_use]
    pub fn about(mut self, record: RecordId) -> Self {
        self.record = Some(record);
        self
    }
}

/// What an act wrote, so that it can be taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undo {
    /// In whose strand.
    pub strand: StrandId,
    /// After this of the device's own sequence numbers ...
    pub after: u64,
    /// ... and up to this one.
    pub upto: u64,
    /// What it was, in words.
    pub what: String,
    /// Whether it was sent to somebody: then it is corrected, not undone.
    pub sent: bool,
    /// The main place where it was done: only there it is offered.
    pub tab: usize,
}

/// An effect that waits for its answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// Its number.
    pub id: u64,
    /// What is asked.
    pub what: Wanted,
    /// The clock and entropy of the event that asked.
    pub now: Now,
}

/// What is asked of the shell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// To share a student's news with somebody.
    Share {
        /// Whose.
        strand: StrandId,
        /// With whom, by name.
        to: String,
        /// All of it, or the news only.
        all: bool,
    },
    /// To pick a file, for the screen that asked.
    Pick,
    /// A picture, for the screen that asked.
    Picture {
        /// From the camera; else one that is there already.
        camera: bool,
    },
    /// To hand over all of a student, for another book.
    Copy {
        /// Whose.
        strand: StrandId,
    },
    /// To hand over the records of a kind, for a spreadsheet.
    Table {
        /// Whose.
        strand: StrandId,
        /// Of what kind.
        kind: Kind,
    },
    /// To share one's own card.
    ShareCard,
    /// To pick the file of somebody's card.
    PickCard,
    /// To buzz.
    Buzz,
}

impl Wanted {
    /// Whose file it is.
    fn strand(&self) -> Option<StrandId> {
        match self {
            Self::Share { strand, .. } | Self::Copy { strand } | Self::Table { strand, .. } => Some(*strand),
            Self::Pick | Self::Picture { .. } | Self::ShareCard | Self::PickCard | Self::Buzz => None,
        }
    }
}

/// All that a killed device needs to go on.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Counts events.
    pub turn: u64,
    /// The turn since which this screen is shown.
    pub since: u64,
    /// The clock of the last event.
    pub at: Moment,
    /// The book is the demo's.
    pub demo: bool,
    /// Which main place is shown.
    pub tab: usize,
    /// The frames of each main place, the shown one last.
    pub tabs: Vec<Vec<Frame>>,
    /// Notices that were not read yet.
    pub notices: Vec<Notice>,
    /// What can be undone, the latest last.
    pub undo: Vec<Undo>,
    /// What the shell has not answered yet.
    pub effects: Vec<Waiting>,
    /// The next number of a notice or effect.
    pub next: u64,
    /// Where drafts go that belong to no frame; never kept.
    pub(super) spare: Held,
}

impl State {
    /// At the first of some main places.
    pub fn at_home(tabs: &[Place], at: Moment) -> Self {
        Self {
            turn: 0,
            since: 0,
            at,
            demo: false,
            tab: 0,
            tabs: tabs.iter().map(|place| vec![Frame::new(*place)]).collect(),
            notices: Vec::new(),
            undo: Vec::new(),
            effects: Vec::new(),
            next: 1,
            spare: Held::default(),
        }
    }

    /// The frame that is shown.
    pub fn frame(&self) -> Option<&Frame> {
        self.tabs.get(self.tab)?.last()
    }

    /// The frame that is shown.
    pub fn frame_mut(&mut self) -> Option<&mut Frame> {
        self.tabs.get_mut(self.tab)?.last_mut()
    }

    /// What is half entered on the screen that is shown.
    pub fn held(&mut self) -> &mut Held {
        match self.tabs.get_mut(self.tab).and_then(|stack| stack.last_mut()) {
            Some(frame) => &mut frame.held,
            None => &mut self.spare,
        }
    }

    /// Goes on to a screen.
    pub fn go(&mut self, frame: Frame) {
        self.since = self.turn;
        if let Some(stack) = self.tabs.get_mut(self.tab) {
            if stack.len() >= MOST_DEEP {
                stack.pop();
            }
            stack.push(frame);
        }
    }

    /// One step back: up the stack, then to the first main place.
    pub fn back(&mut self) {
        self.since = self.turn;
        match self.tabs.get_mut(self.tab) {
            Some(stack) if stack.len() > 1 => {
                stack.pop();
            }
            _ => self.tab = 0,
        }
    }

    /// To the first screen of the first main place.
    pub fn home(&mut self) {
        self.since = self.turn;
        self.tab = 0;
        self.tabs.iter_mut().for_each(|stack| stack.truncate(1));
    }

    /// Drops what is about a student who is gone: undo, files to hand over, screens.
    pub fn leave(&mut self, strand: StrandId) {
        self.since = self.turn;
        self.undo.retain(|undo| undo.strand != strand);
        self.effects.retain(|waiting| waiting.what.strand() != Some(strand));
        for stack in &mut self.tabs {
            let keep = stack.iter().position(|frame| frame.strand == Some(strand)).unwrap_or(stack.len());
            stack.truncate(keep.max(1));
        }
    }

    /// Tells what happened.
    pub fn tell(&mut self, tone: Tone, text: String) {
        self.notices.retain(|notice| notice.text != text);
        if self.notices.len() >= MOST_NOTICES {
            self.notices.remove(0);
        }
        self.notices.push(Notice { id: self.next, tone, text });
        self.next += 1;
    }

    /// What undo would take back here.
    pub fn undoable(&self) -> Option<&Undo> {
        self.undo.last().filter(|undo| undo.tab == self.tab)
    }

    /// Keeps what an act wrote, so that it can be taken back.
    pub fn can_undo(&mut self, undo: Undo) {
        if self.undo.len() >= MOST_UNDO {
            self.undo.remove(0);
        }
        self.undo.push(undo);
    }

    /// Asks something of the shell.
    pub fn ask(&mut self, what: Wanted, now: Now) {
        // One of each is enough: what was asked before and not answered is asked anew.
        self.effects.retain(|waiting| waiting.what != what);
        if self.effects.len() >= MOST_EFFECTS {
            self.effects.remove(0);
        }
        self.effects.push(Waiting { id: self.next, what, now });
        self.next += 1;
    }
}
