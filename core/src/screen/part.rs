//! What a screen is made of: parts that are read (blocks) and parts that are
//! operated (controls).
//!
//! The rule: a part has a key that lives as long as its meaning, and a name that a
//! screen reader can say. Start at [`Screen`].

use serde::Serialize;

use super::block::{Block, Page};
use super::control::Control;
use super::effect::Effect;

/// What a shell shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Screen {
    /// Which screen it is; the same word for as long as it means the same.
    pub place: &'static str,
    /// Rises with every event; a shell sends it back with the next one.
    pub turn: u64,
    /// Its title.
    pub title: String,
    /// One line under it; may be empty.
    pub subtitle: String,
    /// Where back leads, in words; nothing at home.
    pub back: Option<String>,
    /// The main places.
    pub tabs: Vec<Tab>,
    /// What it shows and offers, in reading order.
    pub parts: Vec<Part>,
    /// What happened, the newest last.
    pub notices: Vec<Notice>,
    /// What undo would take back, in words.
    pub undo: Option<String>,
    /// What a screen reader is told once, politely; may be empty.
    pub says: String,
    /// What is waited for: a long computation.
    pub busy: Option<Busy>,
    /// What the shell is asked to do, until it answers.
    pub effects: Vec<Effect>,
}

/// A main place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Tab {
    /// Its key, for [`Event::Go`](super::Event::Go).
    pub key: &'static str,
    /// Its name.
    pub name: String,
    /// Whether the screen is in it.
    pub here: bool,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Notice {
    /// Its number, for [`Event::Dismiss`](super::Event::Dismiss).
    pub id: u64,
    /// Whether it went well.
    pub tone: Tone,
    /// What.
    pub text: String,
}

/// Whether something went well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// It was done.
    Done,
    /// It was not, and the text says what to do.
    Problem,
}

/// A long computation under way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Busy {
    /// Its number.
    pub ticket: u64,
    /// What is being worked out.
    pub text: String,
}

/// One part of a screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// Where it goes where there is room for columns.
    pub column: Column,
    /// What it is.
    #[serde(flatten)]
    pub what: What,
}

/// Where a part goes on a wide screen. On a narrow one all stand in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// In the main column.
    #[default]
    Main,
    /// In the one beside it.
    Beside,
}

/// Read or operated.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum What {
    /// To be read.
    Read(Block),
    /// To be operated.
    Do(Control),
}

impl Part {
    /// A block in the main column.
    pub fn read(block: Block) -> Self {
        Self { column: Column::Main, what: What::Read(block) }
    }

    /// A control in the main column.
    pub fn control(control: Control) -> Self {
        Self { column: Column::Main, what: What::Do(control) }
    }

    /// The same in the column beside.
    #[must_use]
    pub fn beside(mut self) -> Self {
        self.column = Column::Beside;
        self
    }

    /// Its key.
    pub fn key(&self) -> &str {
        match &self.what {
            What::Read(block) => block.key(),
            What::Do(control) => control.key(),
        }
    }
}

impl From<Block> for Part {
    fn from(block: Block) -> Self {
        Self::read(block)
    }
}

impl From<Control> for Part {
    fn from(control: Control) -> Self {
        Self::control(control)
    }
}

impl Page {
    /// A page's blocks as parts: drawings beside, the rest in the main column.
    pub fn into_parts(self) -> impl Iterator<Item = Part> {
        self.blocks.into_iter().map(|block| match block {
            Block::Chart { .. } => Part::read(block).beside(),
            other => Part::read(other),
        })
    }
}
