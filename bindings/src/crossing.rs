//! How a screen of the core becomes what crosses: [`records`](crate::records) filled.
//!
//! The rule: nothing is added but furniture from the core's words; every block and control
//! has its arm here, which the compiler asks for. Start at `From<&core::Screen>`.

use chalkface_core::screen::{
    self as core, Asked, Basis, Block, Choosable, Column, Control, FieldKind, ListRow, Look, Tone, What,
};
use chalkface_core::words::shell;

use crate::records::{Effect, EffectKind, Kind, Notice, Option_, Part, Point, Row, RowsPage, Screen, Tab};

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
            Asked::Share { name, .. } => (EffectKind::Share, name.clone(), Vec::new()),
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
        let copies = if matches!(of.what, Asked::Share { text: true, .. }) { shell::COPY_TEXT } else { "" };
        let (does, copies, did) = (does.into(), copies.into(), did.into());
        Self { id: of.id, kind, name, endings, does, copies, did, not_now: shell::NOT_NOW.into() }
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
