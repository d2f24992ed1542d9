//! What crosses to a shell: a screen and its parts as flat records.
//!
//! A part has one form for everything; a field that its kind doesn't use is empty. What
//! each field means is said at the core's `Block` and `Control`.

use chalkface_core::screen::{
    self as core, Asked, Basis, Block, Choosable, Column, Control, FieldKind, ListRow, Look, Tone, What,
};
use chalkface_core::words::shell;

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
    /// What there is to press: to do it, that it was done, not now.
    pub does: String,
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

impl From<&core::Screen> for Screen {
    fn from(of: &core::Screen) -> Self {
        let tab = |tab: &core::Tab| Tab { key: tab.key.into(), name: tab.name.clone(), here: tab.here };
        let notice = |of: &core::Notice| Notice {
            id: of.id,
            problem: of.tone == Tone::Problem,
            text: of.text.clone(),
        };
        Self {
            place: of.place.into(),
            turn: of.turn,
            title: of.title.clone(),
            subtitle: of.subtitle.clone(),
            back: of.back.clone(),
            tabs: of.tabs.iter().map(tab).collect(),
            parts: of.parts.iter().flat_map(parts).collect(),
            notices: of.notices.iter().map(notice).collect(),
            undo: of.undo.clone(),
            says: of.says.clone(),
            busy: of.busy.as_ref().map(|busy| busy.text.clone()),
            effects: of.effects.iter().map(Effect::from).collect(),
        }
    }
}

impl From<&core::Effect> for Effect {
    fn from(of: &core::Effect) -> Self {
        let (kind, name, endings) = match &of.what {
            Asked::Share { name } => (EffectKind::Share, name.clone(), Vec::new()),
            Asked::PickFile { endings } => (EffectKind::PickFile, String::new(), endings.clone()),
            Asked::TakePicture => (EffectKind::TakePicture, String::new(), Vec::new()),
            Asked::Buzz => (EffectKind::Buzz, String::new(), Vec::new()),
        };
        let (does, did) = match kind {
            EffectKind::Share => (shell::SHARE_FILE, shell::HANDED_OVER),
            EffectKind::PickFile => (shell::CHOOSE_FILE, ""),
            EffectKind::TakePicture => (shell::TAKE_PICTURE, ""),
            EffectKind::Buzz => ("", ""),
        };
        let (does, did) = (does.into(), did.into());
        Self { id: of.id, kind, name, endings, does, did, not_now: shell::NOT_NOW.into() }
    }
}

impl From<core::RowsPage> for RowsPage {
    fn from(of: core::RowsPage) -> Self {
        Self { total: of.total, rows: of.rows.iter().map(Row::from).collect() }
    }
}

impl From<&ListRow> for Row {
    fn from(of: &ListRow) -> Self {
        Self {
            key: of.key.clone(),
            name: of.name.clone(),
            detail: of.detail.clone(),
            figure: of.figure.clone(),
            flag: of.flag.clone(),
            look: String::new(),
            cells: Vec::new(),
        }
    }
}

impl Part {
    fn of(kind: Kind, key: &str) -> Self {
        Self {
            kind,
            key: key.into(),
            beside: false,
            name: String::new(),
            text: String::new(),
            look: String::new(),
            hint: String::new(),
            problem: None,
            says: String::new(),
            unit: String::new(),
            on: false,
            no: 0,
            amount: Vec::new(),
            count: 0,
            of: None,
            ends_ms: 0,
            seconds: 0,
            options: Vec::new(),
            chosen: None,
            columns: Vec::new(),
            names: Vec::new(),
            rows: Vec::new(),
            picture: String::new(),
            points: Vec::new(),
            scene: None,
        }
    }
}

/// A part as it crosses; a text in markup as the plain parts that it stands for.
fn parts(of: &core::Part) -> Vec<Part> {
    let beside = of.column == Column::Beside;
    let flat = match &of.what {
        What::Read(block) => core::plain(std::slice::from_ref(block)).iter().map(read).collect(),
        What::Do(control) => vec![operated(control)],
    };
    flat.into_iter().map(|part| Part { beside, ..part }).collect()
}

/// The word for what is not plainly measured.
fn tag(basis: Basis) -> String {
    if basis == Basis::Measured { String::new() } else { basis.word().into() }
}

impl From<&core::DragPoint> for Point {
    fn from(of: &core::DragPoint) -> Self {
        let look = match of.look {
            core::PointLook::Handle => "handle",
            core::PointLook::New => "new",
            core::PointLook::Earlier => "earlier",
        };
        let (key, name) = (of.key.clone(), of.name.clone());
        Self { key, name, x_px: of.x_px, y_px: of.y_px, look: look.into(), no: of.no }
    }
}

fn read(block: &Block) -> Part {
    let text = |kind, key: &str, text: &str| Part { text: text.into(), ..Part::of(kind, key) };
    match block {
        Block::Heading { key, text: of } => text(Kind::Heading, key, of),
        Block::Text { key, basis, text: of } => {
            Part { look: basis.word().into(), hint: tag(*basis), ..text(Kind::Text, key, of) }
        }
        Block::Table { key, alt, columns, rows } => Part {
            name: alt.clone(),
            columns: columns.clone(),
            rows: rows.iter().map(table_row).collect(),
            ..Part::of(Kind::Table, key)
        },
        Block::Chart { key, scene } => Part {
            name: scene.title.clone(),
            says: scene.alt.clone(),
            scene: Some(scene.into()),
            ..Part::of(Kind::Chart, key)
        },
        Block::Items { key, items } => Part { columns: items.clone(), ..Part::of(Kind::Items, key) },
        Block::Steps { key, items } => Part { columns: items.clone(), ..Part::of(Kind::Steps, key) },
        // A text in markup comes as what it stands for; were it to come, it would be a text.
        Block::Markup { key, text: of } => text(Kind::Text, key, of),
        Block::Caution { key, text: of } => Part { name: shell::MIND.into(), ..text(Kind::Caution, key, of) },
    }
}

fn table_row(of: &core::Row) -> Row {
    Row {
        key: String::new(),
        name: of.name.clone(),
        detail: tag(of.basis),
        figure: String::new(),
        flag: String::new(),
        look: of.basis.word().into(),
        cells: of.cells.clone(),
    }
}

fn options(of: &[Choosable]) -> Vec<Option_> {
    of.iter().map(|one| Option_ { key: one.key.clone(), name: one.name.clone() }).collect()
}

fn operated(control: &Control) -> Part {
    let named = |kind| Part { name: control.name().into(), ..Part::of(kind, control.key()) };
    match control {
        Control::Action { look, hint, .. } => Part {
            look: match look {
                Look::Main => "main",
                Look::Plain => "plain",
                Look::Way => "way",
                Look::Takes => "takes",
            }
            .into(),
            hint: hint.clone(),
            ..named(Kind::Action)
        },
        Control::Choice { options: of, chosen, .. } => {
            Part { options: options(of), chosen: chosen.clone(), ..named(Kind::Choice) }
        }
        Control::Switch { on, hint, .. } => Part { on: *on, hint: hint.clone(), ..named(Kind::Switch) },
        Control::Field { text, no, kind, unit, hint, problem, .. } => Part {
            text: text.clone(),
            no: *no,
            look: match kind {
                FieldKind::Line => "line",
                FieldKind::Name => "name",
                FieldKind::Number => "number",
                FieldKind::Day => "day",
                FieldKind::Lines => "lines",
                FieldKind::Search => "search",
            }
            .into(),
            unit: unit.clone(),
            hint: hint.clone(),
            problem: problem.clone(),
            ..named(Kind::Field)
        },
        Control::Amount { value, low, high, step, no, says, .. } => Part {
            amount: vec![*value, *low, *high, *step],
            no: *no,
            says: says.clone(),
            ..named(Kind::Amount)
        },
        Control::Touch { scene, says, places, .. } => Part {
            scene: Some(scene.into()),
            says: says.clone(),
            options: options(places),
            ..named(Kind::Touch)
        },
        Control::Picture { picture, points, chosen, says, .. } => Part {
            picture: picture.id.clone(),
            amount: [f64::from(picture.width_px), f64::from(picture.height_px)]
                .into_iter()
                .chain(picture.view_px)
                .collect(),
            points: points.iter().map(Point::from).collect(),
            chosen: chosen.clone(),
            says: says.clone(),
            ..named(Kind::Picture)
        },
        Control::Cells { columns, rows, cells, chosen, says, .. } => Part {
            columns: columns.clone(),
            names: rows.clone(),
            options: options(cells),
            chosen: chosen.clone(),
            says: says.clone(),
            ..named(Kind::Cells)
        },
        Control::Counter { count, of, says, .. } => Part {
            count: *count,
            of: *of,
            unit: of.map_or_else(String::new, shell::of),
            says: says.clone(),
            ..named(Kind::Counter)
        },
        Control::Clock { ends_ms, seconds, .. } => {
            Part { ends_ms: *ends_ms, seconds: *seconds, ..named(Kind::Clock) }
        }
        Control::Rows { total, rows, empty, .. } => Part {
            count: *total,
            rows: rows.iter().map(Row::from).collect(),
            hint: if *total == 0 { empty.clone() } else { String::new() },
            says: if (rows.len() as u64) < *total { shell::more(*total) } else { String::new() },
            ..named(Kind::Rows)
        },
    }
}
