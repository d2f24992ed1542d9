//! What crosses to a shell: a screen and its parts as flat records.
//!
//! A part has one form for everything; a field that its kind doesn't use is empty. What
//! each field means is said at the core's `Block` and `Control`.

use crate::scene::Scene;

/// What a shell shows.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Screen")]
pub struct Screen {
    pub place: String,
    pub turn: u64,
    pub title: String,
    pub subtitle: String,
    pub back: Option<String>,
    pub tabs: Vec<Tab>,
    pub parts: Vec<Part>,
    pub notices: Vec<Notice>,
    pub undo: Option<String>,
    pub says: String,
    pub busy: Option<String>,
    pub effects: Vec<Effect>,
}

/// A main place.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Tab")]
pub struct Tab {
    pub key: String,
    pub name: String,
    pub here: bool,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Notice")]
pub struct Notice {
    pub id: u64,
    pub problem: bool,
    pub text: String,
}

/// What the shell is asked to do: `name` of a file to share, `endings` of one to pick.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Effect")]
pub struct Effect {
    pub id: u64,
    pub kind: EffectKind,
    pub name: String,
    pub endings: Vec<String>,
    /// What there is to press: to do it, to copy its content as text instead (empty where it is none), that it
    /// was done, not now.
    pub does: String,
    pub copies: String,
    pub did: String,
    pub not_now: String,
}

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
#[allow(missing_docs, reason = "each is documented at the core's Asked")]
pub enum EffectKind {
    Share,
    PickFile,
    TakePicture,
    Buzz,
}

/// Which kind of part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
#[allow(missing_docs, reason = "each is documented at the core's Block and Control")]
pub enum Kind {
    Heading,
    Text,
    Table,
    Chart,
    Items,
    Steps,
    Caution,
    Action,
    Choice,
    Switch,
    Field,
    Amount,
    Touch,
    Picture,
    Cells,
    Counter,
    Clock,
    Rows,
}

/// One part of a screen.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Part {
    /// Which kind.
    pub kind: Kind,
    /// Its key.
    pub key: String,
    /// It goes into the column beside, where there is one.
    pub beside: bool,
    /// The name of a control, the alternative text of a table.
    pub name: String,
    /// The text of a block, or of a field.
    pub text: String,
    /// `measured`, `inferred` or `assumed` (said in `hint`, where it is not measured); `main`, `plain`, `way` or `takes`; the kind of a field.
    pub look: String,
    /// One line more, or what to do where a list is empty.
    pub hint: String,
    /// What is wrong with a field.
    pub problem: Option<String>,
    /// The value in words; of a list the way to further rows.
    pub says: String,
    /// The unit of a field; of how many a counter counts.
    pub unit: String,
    /// A switch is on.
    pub on: bool,
    /// The number of the latest text or amount.
    pub no: u64,
    /// An amount: value, least, most, step; of a picture its width and height and
    /// what of it is shown (left, top, width, height), pixels.
    pub amount: Vec<f64>,
    /// A count; rows in all.
    pub count: u64,
    /// Of so many.
    pub of: Option<u64>,
    /// When a clock ends, ms.
    pub ends_ms: i64,
    /// How long it runs, s.
    pub seconds: u32,
    /// What there is to choose: options, places, cells.
    pub options: Vec<Option_>,
    /// The key of what is chosen.
    pub chosen: Option<String>,
    /// Heads of columns; lines of items and steps.
    pub columns: Vec<String>,
    /// Names of rows of a grid.
    pub names: Vec<String>,
    /// Rows of a table or list.
    pub rows: Vec<Row>,
    /// Name of a picture, for `picture`; another name, another picture.
    pub picture: String,
    /// What of the picture can be dragged.
    pub points: Vec<Point>,
    /// A drawing.
    pub scene: Option<Scene>,
}

/// Which keys a device waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum KeysWanted {
    /// None: it has them, or there is no book yet.
    None,
    /// New ones: its book has none.
    New,
    /// Those that the shell keeps for it.
    Kept,
}

/// A contact card: as text to send, and as a code for another device's camera.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "said above")]
pub struct Card {
    pub text: String,
    pub code: Scene,
}

/// A point of a picture, to be dragged; `look` is `handle`, `new` or `earlier`.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's DragPoint")]
pub struct Point {
    pub key: String,
    pub name: String,
    pub x_px: f64,
    pub y_px: f64,
    pub look: String,
    pub no: u64,
}

/// Something to choose.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Choosable")]
#[uniffi(name = "Choosable")]
pub struct Option_ {
    pub key: String,
    pub name: String,
}

/// A row of a table (`cells`, `look`, said in `detail`) or of a list (the rest).
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Row and ListRow")]
pub struct Row {
    pub key: String,
    pub name: String,
    pub detail: String,
    pub figure: String,
    pub flag: String,
    pub look: String,
    pub cells: Vec<String>,
}

/// Some rows of a long list.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's RowsPage")]
pub struct RowsPage {
    pub total: u64,
    pub rows: Vec<Row>,
}
