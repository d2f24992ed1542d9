//! Controls: what a person operates on a screen.
//!
//! The rule: a control says its value in words (`says`), so that a screen reader hears
//! what an eye sees; what it answers is an [`Event`](super::Event) with its key. While it is
//! held or written in, its value is the shell's, numbered by `no`: a shell keeps its own
//! where the core's number is smaller. Start at [`Control`].

use std::sync::Arc;

use serde::Serialize;

use crate::chart::Scene;

/// One control.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "control", rename_all = "snake_case")]
pub enum Control {
    /// Something to press. Answers with `Press`.
    Action {
        /// Its key.
        key: String,
        /// What it does.
        name: String,
        /// How much it asks for attention.
        look: Look,
        /// One line more; may be empty.
        hint: String,
    },
    /// One of a few. Answers with `Choose`.
    Choice {
        /// Its key.
        key: String,
        /// What is chosen.
        name: String,
        /// What there is to choose.
        options: Vec<Choosable>,
        /// The key of what is chosen.
        chosen: Option<String>,
    },
    /// Yes or no. Answers with `Switch`.
    Switch {
        /// Its key.
        key: String,
        /// What is so.
        name: String,
        /// Whether it is.
        on: bool,
        /// One line more; may be empty.
        hint: String,
    },
    /// A text to write. Answers with `Write`.
    Field {
        /// Its key.
        key: String,
        /// What is asked.
        name: String,
        /// What is written so far.
        text: String,
        /// Number of the latest text that came in.
        no: u64,
        /// What kind of text.
        kind: FieldKind,
        /// The unit that stands behind it; may be empty.
        unit: String,
        /// One line more; may be empty.
        hint: String,
        /// What is wrong with it, if anything.
        problem: Option<String>,
    },
    /// An amount as a slider. Answers with `Slide` while it moves.
    Amount {
        /// Its key.
        key: String,
        /// What it is an amount of.
        name: String,
        /// The amount.
        value: f64,
        /// The least.
        low: f64,
        /// The most.
        high: f64,
        /// From one amount to the next.
        step: f64,
        /// Number of the latest amount that came in.
        no: u64,
        /// The amount in words with its unit.
        says: String,
    },
    /// A drawing to touch: the face of a club. Answers with `Touch`, in the scene's mm.
    Touch {
        /// Its key.
        key: String,
        /// What is to be touched.
        name: String,
        /// The drawing.
        scene: Scene,
        /// Where it was touched, in words; empty if it was not.
        says: String,
        /// Places to choose instead, for who can't see or aim. Answers with `Choose`.
        places: Vec<Choosable>,
    },
    /// A picture with points to drag. Answers with `Drag`, in the picture's pixels, once a
    /// point is let go, and with `Choose` for a point that was pressed.
    Picture {
        /// Its key.
        key: String,
        /// What is to be dragged.
        name: String,
        /// What is under the points.
        picture: Picture,
        /// The points.
        points: Vec<DragPoint>,
        /// The key of the point that was pressed.
        chosen: Option<String>,
        /// What is seen, in words.
        says: String,
    },
    /// A grid of cells. Answers with `Choose`.
    Cells {
        /// Its key.
        key: String,
        /// What is chosen.
        name: String,
        /// Names of the columns, from left to right, whatever the reading direction.
        columns: Vec<String>,
        /// Names of the rows, from top to bottom.
        rows: Vec<String>,
        /// The cells, row by row, each with its name in full.
        cells: Vec<Choosable>,
        /// The key of the chosen cell.
        chosen: Option<String>,
        /// What is chosen, in words; empty if nothing is.
        says: String,
    },
    /// A big counter. Answers with `Press` to count one more.
    Counter {
        /// Its key.
        key: String,
        /// What is counted.
        name: String,
        /// So many.
        count: u64,
        /// Of so many.
        of: Option<u64>,
        /// The count in words.
        says: String,
    },
    /// A clock that runs down. The shell counts.
    Clock {
        /// Its key.
        key: String,
        /// What it is for.
        name: String,
        /// When it ends, ms since 1970-01-01 UTC.
        ends_ms: i64,
        /// How long it runs in all, s.
        seconds: u32,
    },
    /// A list, of which the first rows are here. A row answers with `Open`.
    Rows {
        /// Its key, for [`Loop::rows`](super::Loop::rows).
        key: String,
        /// What the rows are.
        name: String,
        /// How many there are in all.
        total: u64,
        /// The first of them.
        rows: Vec<ListRow>,
        /// What to do where there is none.
        empty: String,
    },
}

/// A picture; its bytes come from [`Loop::picture`](super::Loop::picture).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Picture {
    /// Names its bytes: another name, another picture.
    pub id: String,
    /// Its width, in the pixels of points.
    pub width_px: u32,
    /// Its height, in the pixels of points.
    pub height_px: u32,
    /// What of it is shown: left edge, top edge, width and height, in the same pixels.
    pub view_px: [f64; 4],
    /// The bytes of the whole, as JPEG; they may have fewer pixels.
    #[serde(skip)]
    pub jpeg: Arc<[u8]>,
}

/// A point that can be dragged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DragPoint {
    /// Its key.
    pub key: String,
    /// What it is, and where, in words.
    pub name: String,
    /// To the right of the picture's left edge, pixels.
    pub x_px: f64,
    /// Below its top edge, pixels.
    pub y_px: f64,
    /// What kind of point.
    pub look: PointLook,
    /// Number of the latest drag of it that came in.
    pub no: u64,
}

/// What kind of point: each has a shape of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PointLook {
    /// An end of the face: an open square.
    Handle,
    /// A mark of a ball that counts: a ring with a cross.
    New,
    /// A mark that was there before: a dashed ring.
    Earlier,
}

/// How much an action asks for attention.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// What is done here: one a screen at most.
    Main,
    /// What else can be done.
    Plain,
    /// A way to another screen.
    Way,
    /// What takes something away.
    Takes,
}

/// Something to choose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Choosable {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
}

/// What kind of text a field takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldKind {
    /// One line.
    Line,
    /// A person's name.
    Name,
    /// A number, maybe with a point and a sign.
    Number,
    /// A day, as 2026-04-30.
    Day,
    /// Several lines.
    Lines,
    /// What is looked for: answers while it is written.
    Search,
}

/// A row of a long list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ListRow {
    /// Its key: that of the record it shows.
    pub key: String,
    /// What it is.
    pub name: String,
    /// More about it; may be empty.
    pub detail: String,
    /// A figure at its end; may be empty.
    pub figure: String,
    /// What asks for attention; may be empty.
    pub flag: String,
}

/// Some rows of a long list.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct RowsPage {
    /// How many there are in all.
    pub total: u64,
    /// These.
    pub rows: Vec<ListRow>,
}

impl Control {
    /// Its key.
    pub fn key(&self) -> &str {
        match self {
            Self::Action { key, .. }
            | Self::Choice { key, .. }
            | Self::Switch { key, .. }
            | Self::Field { key, .. }
            | Self::Amount { key, .. }
            | Self::Touch { key, .. }
            | Self::Picture { key, .. }
            | Self::Cells { key, .. }
            | Self::Counter { key, .. }
            | Self::Clock { key, .. }
            | Self::Rows { key, .. } => key,
        }
    }

    /// Its name, as a screen reader says it.
    pub fn name(&self) -> &str {
        match self {
            Self::Action { name, .. }
            | Self::Choice { name, .. }
            | Self::Switch { name, .. }
            | Self::Field { name, .. }
            | Self::Amount { name, .. }
            | Self::Touch { name, .. }
            | Self::Picture { name, .. }
            | Self::Cells { name, .. }
            | Self::Counter { name, .. }
            | Self::Clock { name, .. }
            | Self::Rows { name, .. } => name,
        }
    }

    /// An action.
    pub fn action(key: impl Into<String>, name: impl Into<String>, look: Look) -> Self {
        Self::Action { key: key.into(), name: name.into(), look, hint: String::new() }
    }

    /// A way to another screen, with a line about it.
    pub fn way(key: impl Into<String>, name: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Action { key: key.into(), name: name.into(), look: Look::Way, hint: hint.into() }
    }

    /// A choice between a few, each with its key and name.
    pub fn choice<K: Into<String>, N: Into<String>>(
        key: impl Into<String>,
        name: impl Into<String>,
        options: impl IntoIterator<Item = (K, N)>,
        chosen: Option<String>,
    ) -> Self {
        let options =
            options.into_iter().map(|(key, name)| Choosable { key: key.into(), name: name.into() }).collect();
        Self::Choice { key: key.into(), name: name.into(), options, chosen }
    }

    /// Yes or no.
    pub fn switch(key: impl Into<String>, name: impl Into<String>, on: bool) -> Self {
        Self::Switch { key: key.into(), name: name.into(), on, hint: String::new() }
    }
}
