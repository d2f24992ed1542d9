//! Where somebody is, what is half entered, what can be undone, what is asked of the
//! shell: all that a killed device needs to go on.
//!
//! The rule: at most [`MOST_BYTES`], versioned, and bytes that can't be read lead home.
//! Start at [`State`].

use minicbor::{Decoder, Encoder};
use uuid::Uuid;

use super::held::Held;
use crate::model::fields::FieldsError;
use crate::model::{Kind, Moment, Now, RecordId, StrandId};
use crate::screen::part::{Notice, Tone};
use crate::screen::places::Place;

/// Bytes of a state at most.
pub const MOST_BYTES: usize = 32 * 1024;
const VERSION: u8 = 1;
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

    /// Its bytes. Where it were too large, drafts of screens that are not shown are left out.
    pub fn encode(&self) -> Vec<u8> {
        let bytes = self.bytes();
        if bytes.len() <= MOST_BYTES {
            return bytes;
        }
        let mut less = self.clone();
        for (n, stack) in less.tabs.iter_mut().enumerate() {
            let shown = if n == self.tab { stack.len().saturating_sub(1) } else { stack.len() };
            stack.iter_mut().take(shown).for_each(|frame| frame.held = Held::default());
        }
        let bytes = less.bytes();
        if bytes.len() <= MOST_BYTES {
            return bytes;
        }
        if let Some(frame) = less.frame_mut() {
            frame.held = Held::default();
        }
        less.bytes()
    }

    fn bytes(&self) -> Vec<u8> {
        let mut to = Vec::new();
        // Writing into a Vec can't fail: its error type is empty.
        let _ = Encoder::new(&mut to)
            .u8(VERSION)
            .and_then(|e| e.u64(self.turn))
            .and_then(|e| e.u64(self.since))
            .and_then(|e| e.i64(self.at.utc_ms))
            .and_then(|e| e.i16(self.at.offset_min))
            .and_then(|e| e.bool(self.demo))
            .and_then(|e| e.u64(self.next))
            .and_then(|e| e.u64(self.tab as u64))
            .and_then(|e| e.array(self.tabs.len() as u64));
        for stack in &self.tabs {
            let _ = Encoder::new(&mut to).array(stack.len() as u64);
            for frame in stack {
                let mut e = Encoder::new(&mut to);
                let _ = e.str(frame.place.word());
                id(&mut e, frame.strand.map(|strand| strand.0));
                id(&mut e, frame.record.map(|record| record.0));
                frame.held.encode(&mut to);
            }
        }
        let mut e = Encoder::new(&mut to);
        let _ = e.array(self.notices.len() as u64);
        for notice in &self.notices {
            let _ = e
                .u64(notice.id)
                .and_then(|e| e.bool(notice.tone == Tone::Problem))
                .and_then(|e| e.str(&notice.text));
        }
        let _ = e.array(self.undo.len() as u64);
        for undo in &self.undo {
            id(&mut e, Some(undo.strand.0));
            let _ = e
                .u64(undo.after)
                .and_then(|e| e.u64(undo.upto))
                .and_then(|e| e.bool(undo.sent))
                .and_then(|e| e.u64(undo.tab as u64))
                .and_then(|e| e.str(&undo.what));
        }
        let _ = e.array(self.effects.len() as u64);
        for effect in &self.effects {
            let _ = e
                .u64(effect.id)
                .and_then(|e| e.i64(effect.now.at.utc_ms))
                .and_then(|e| e.i16(effect.now.at.offset_min))
                .and_then(|e| e.bytes(&effect.now.entropy));
            match &effect.what {
                Wanted::Share { strand, to, all } => {
                    let _ = e.u8(0);
                    id(&mut e, Some(strand.0));
                    let _ = e.str(to).and_then(|e| e.bool(*all));
                }
                Wanted::Pick => {
                    let _ = e.u8(1);
                }
                Wanted::Buzz => {
                    let _ = e.u8(2);
                }
                Wanted::ShareCard => {
                    let _ = e.u8(4);
                }
                Wanted::PickCard => {
                    let _ = e.u8(5);
                }
                Wanted::Copy { strand } => {
                    let _ = e.u8(6);
                    id(&mut e, Some(strand.0));
                }
                Wanted::Table { strand, kind } => {
                    let _ = e.u8(7);
                    id(&mut e, Some(strand.0));
                    let _ = e.u16(kind.0);
                }
                Wanted::Picture { camera } => {
                    let _ = e.u8(3).and_then(|e| e.bool(*camera));
                }
            }
        }
        to
    }

    /// The state from its bytes; nothing for bytes that are none of this version.
    pub fn decode(bytes: &[u8]) -> Option<Self> {
        if bytes.len() > MOST_BYTES {
            return None;
        }
        read(bytes).ok().filter(|state| state.frame().is_some())
    }
}

fn id(e: &mut Encoder<&mut Vec<u8>>, id: Option<Uuid>) {
    let _ = match id {
        Some(id) => e.bytes(id.as_bytes()).map(drop),
        None => e.null().map(drop),
    };
}

fn read_id(d: &mut Decoder<'_>) -> Result<Option<Uuid>, FieldsError> {
    if d.datatype()? == minicbor::data::Type::Null {
        d.null()?;
        return Ok(None);
    }
    Uuid::from_slice(d.bytes()?).map(Some).map_err(|_| FieldsError("not an identity".into()))
}

fn whose(d: &mut Decoder<'_>) -> Result<StrandId, FieldsError> {
    read_id(d)?.map(StrandId).ok_or_else(|| FieldsError("nobody's".into()))
}

fn kind(d: &mut Decoder<'_>) -> Result<Kind, FieldsError> {
    let no = d.u16()?;
    let known = (1..=Kind::NEWEST.0).contains(&no).then_some(Kind(no));
    known.ok_or_else(|| FieldsError(format!("no kind {no}")))
}

fn read(bytes: &[u8]) -> Result<State, FieldsError> {
    let d = &mut Decoder::new(bytes);
    if d.u8()? != VERSION {
        return Err(FieldsError("another version".into()));
    }
    let mut state = State {
        turn: d.u64()?,
        since: d.u64()?,
        at: Moment { utc_ms: d.i64()?, offset_min: d.i16()? },
        demo: d.bool()?,
        next: d.u64()?,
        tab: d.u64()? as usize,
        tabs: Vec::new(),
        notices: Vec::new(),
        undo: Vec::new(),
        effects: Vec::new(),
        spare: Held::default(),
    };
    for _ in 0..d.array()?.unwrap_or(0) {
        let mut stack = Vec::new();
        for _ in 0..d.array()?.unwrap_or(0) {
            let word = d.str()?;
            let place = Place::named(word).ok_or_else(|| FieldsError(format!("no place {word}")))?;
            let (strand, record) = (read_id(d)?.map(StrandId), read_id(d)?.map(RecordId));
            stack.push(Frame { place, strand, record, held: Held::decode(d)? });
        }
        state.tabs.push(stack);
    }
    for _ in 0..d.array()?.unwrap_or(0) {
        let (id, problem) = (d.u64()?, d.bool()?);
        let tone = if problem { Tone::Problem } else { Tone::Done };
        state.notices.push(Notice { id, tone, text: d.str()?.to_owned() });
    }
    for _ in 0..d.array()?.unwrap_or(0) {
        let strand = whose(d)?;
        let (after, upto, sent, tab) = (d.u64()?, d.u64()?, d.bool()?, d.u64()? as usize);
        state.undo.push(Undo { strand, after, upto, sent, tab, what: d.str()?.to_owned() });
    }
    for _ in 0..d.array()?.unwrap_or(0) {
        let id = d.u64()?;
        let at = Moment { utc_ms: d.i64()?, offset_min: d.i16()? };
        let entropy = d.bytes()?.try_into().map_err(|_| FieldsError("too little entropy".into()))?;
        let what = match d.u8()? {
            0 => Wanted::Share { strand: whose(d)?, to: d.str()?.to_owned(), all: d.bool()? },
            1 => Wanted::Pick,
            2 => Wanted::Buzz,
            4 => Wanted::ShareCard,
            5 => Wanted::PickCard,
            3 => Wanted::Picture { camera: d.bool()? },
            6 => Wanted::Copy { strand: whose(d)? },
            7 => Wanted::Table { strand: whose(d)?, kind: kind(d)? },
            other => return Err(FieldsError(format!("no effect {other}"))),
        };
        state.effects.push(Waiting { id, what, now: Now { at, entropy } });
    }
    Ok(state)
}
