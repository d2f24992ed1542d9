//! The bytes of a state, for a shell to keep where it likes.
//!
//! The rule: at most [`MOST_BYTES`], versioned, and bytes that can't be read lead home.
//! Start at [`State::encode`].

use minicbor::{Decoder, Encoder};
use uuid::Uuid;

use super::held::Held;
use super::state::{Frame, State, Undo, Waiting, Wanted};
use crate::model::fields::FieldsError;
use crate::model::{Kind, Moment, Now, RecordId, StrandId};
use crate::screen::part::{Notice, Tone};
use crate::screen::places::Place;

/// Bytes of a state at most.
pub const MOST_BYTES: usize = 32 * 1024;
const VERSION: u8 = 1;

impl State {
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
