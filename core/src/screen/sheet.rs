//! A page laid out on paper: one drawing of A4's shape.
//!
//! A page with much on it is laid out on a larger sheet of the same shape, and
//! prints a little smaller. Charts that follow each other stand side by side.
//! Text is broken by the bundled font's widths, so the sheet is the same on
//! every device.

use super::block::{Basis, Block, Page, Row};
use crate::chart::Scene;
use crate::chart::measure::{fit, wrap};
use crate::chart::scene::{Anchor, Dash, Item, Role, Style, Text, Weight, at};

/// Width of A4 (ISO 216), mm.
const WIDTH_MM: f64 = 210.0;
/// Height of A4, mm.
const HEIGHT_MM: f64 = 297.0;
const MARGIN_MM: f64 = 9.5;
/// How much larger than A4 a sheet may get, and in which steps.
const LARGEST: f64 = 1.4;
const STEP: f64 = 0.02;
const TITLE_MM: f64 = 7.5;
const HEADING_MM: f64 = 4.2;
const TEXT_MM: f64 = 3.3;
const SMALL_MM: f64 = 2.9;
/// Line distance as a multiple of the text's size.
const LEADING: f64 = 1.36;
/// No text takes more lines than this: names and notes are bounded anyway.
const MOST_LINES: usize = 60;

/// The page as one drawing.
pub fn sheet(page: &Page) -> Scene {
    let mut scale = 1.0;
    loop {
        let sheet = Sheet::filled(page, WIDTH_MM * scale);
        let needs = sheet.y_mm + MARGIN_MM;
        if needs <= HEIGHT_MM * scale || scale >= LARGEST {
            return Scene {
                title: page.title.clone(),
                alt: page.subtitle.clone(),
                width_mm: WIDTH_MM * scale,
                height_mm: needs.max(HEIGHT_MM * scale),
                items: sheet.items,
            };
        }
        scale += STEP;
    }
}

/// A sheet being filled from the top.
struct Sheet {
    inner_mm: f64,
    y_mm: f64,
    items: Vec<Item>,
}

impl Sheet {
    /// The page on a sheet of a width.
    fn filled(page: &Page, width_mm: f64) -> Self {
        let mut sheet =
            Self { inner_mm: width_mm - 2.0 * MARGIN_MM, y_mm: 0.5 * MARGIN_MM, items: Vec::new() };
        sheet.title(page);
        let mut blocks = page.blocks.iter().peekable();
        while let Some(block) = blocks.next() {
            match block {
                Block::Heading { text, .. } => sheet.heading(text),
                Block::Text { text, basis, .. } => sheet.text(text, *basis),
                Block::Table { alt, columns, rows, key } => sheet.table(key, alt, columns, rows),
                Block::Chart { scene, .. } => {
                    let fits = |next: &Scene| scene.width_mm + next.width_mm <= sheet.inner_mm;
                    let beside = match blocks.peek() {
                        Some(Block::Chart { scene: next, .. }) if fits(next) => Some(next),
                        _ => None,
                    };
                    sheet.charts(scene, beside);
                    if beside.is_some() {
                        blocks.next();
                    }
                }
                Block::Items { items, .. } => items.iter().for_each(|item| sheet.item(item)),
                Block::Markup { text, .. } => sheet.text(text, Basis::Measured),
                Block::Caution { text, .. } => sheet.caution(text),
            }
        }
        sheet
    }

    fn title(&mut self, page: &Page) {
        let title = fit(&page.title, TITLE_MM, Weight::Bold, self.inner_mm);
        self.y_mm += TITLE_MM;
        self.put(&title, MARGIN_MM, TITLE_MM, Weight::Bold, Role::Ink);
        self.y_mm += 1.2;
        self.lines(&page.subtitle, MARGIN_MM, self.inner_mm, SMALL_MM, Weight::Regular, Role::Muted);
        self.y_mm += 1.6;
        self.rule(Role::Ink, 0.6);
        self.y_mm += 1.4;
    }

    fn heading(&mut self, text: &str) {
        self.y_mm += 1.6;
        self.lines(text, MARGIN_MM, self.inner_mm, HEADING_MM, Weight::Bold, Role::Ink);
        self.y_mm += 0.6;
    }

    fn text(&mut self, text: &str, basis: Basis) {
        let (size, role) = match basis {
            Basis::Inferred => (TEXT_MM, Role::Ink),
            Basis::Measured => (SMALL_MM, Role::Ink),
            Basis::Assumed => (SMALL_MM, Role::Muted),
        };
        self.lines(&marked(text, basis), MARGIN_MM, self.inner_mm, size, Weight::Regular, role);
        self.y_mm += 0.5;
    }

    fn item(&mut self, text: &str) {
        let top = self.y_mm + SMALL_MM;
        self.items.push(Item::Circle {
            centre: at(MARGIN_MM + 1.0, top - 0.32 * SMALL_MM),
            radius_mm: 0.55,
            style: Style::fill(Role::Ink),
        });
        self.lines(text, MARGIN_MM + 3.5, self.inner_mm - 3.5, SMALL_MM, Weight::Regular, Role::Ink);
        self.y_mm += 0.5;
    }

    fn caution(&mut self, text: &str) {
        self.y_mm += 1.6;
        let top = self.y_mm;
        self.lines(text, MARGIN_MM + 4.0, self.inner_mm - 4.0, SMALL_MM, Weight::Regular, Role::Ink);
        self.items.push(Item::Rect {
            corner: at(MARGIN_MM, top),
            width_mm: 1.4,
            height_mm: self.y_mm - top + 0.8,
            round_mm: 0.0,
            style: Style::fill(Role::Flag),
        });
        self.y_mm += 0.8;
    }

    fn charts(&mut self, left: &Scene, right: Option<&Scene>) {
        self.y_mm += 1.0;
        let shift = if right.is_some() { 0.0 } else { (self.inner_mm - left.width_mm).max(0.0) / 2.0 };
        self.chart(left, MARGIN_MM + shift);
        let mut height = left.height_mm;
        if let Some(right) = right {
            self.chart(right, MARGIN_MM + self.inner_mm - right.width_mm);
            height = height.max(right.height_mm);
        }
        self.y_mm += height;
    }

    fn chart(&mut self, scene: &Scene, x_mm: f64) {
        let items = scene.items.iter().map(|item| item.moved(x_mm, self.y_mm)).collect();
        self.items.push(Item::group(format!("chart.{}", self.items.len()), scene.alt.clone(), items));
    }

    fn table(&mut self, key: &str, alt: &str, columns: &[String], rows: &[Row]) {
        const GAP_MM: f64 = 3.0;
        let others = columns.len().saturating_sub(1).max(1) as f64;
        let first = if columns.len() > 2 { 0.27 } else { 0.4 } * self.inner_mm;
        let other = (self.inner_mm - first) / others;
        let before = self.items.len();
        self.y_mm += 0.8;
        let left =
            |column: usize| MARGIN_MM + if column == 0 { 0.0 } else { first + other * (column as f64 - 1.0) };
        let wide = |column: usize| if column == 0 { first } else { other } - GAP_MM;
        let top = self.y_mm;
        let mut bottom = top;
        for (column, head) in columns.iter().enumerate() {
            self.y_mm = top;
            self.lines(head, left(column), wide(column), SMALL_MM, Weight::Bold, Role::Ink);
            bottom = bottom.max(self.y_mm);
        }
        self.y_mm = bottom + 0.7;
        self.rule(Role::Ink, 0.35);
        for row in rows {
            let top = self.y_mm + 0.5;
            let mut bottom = top;
            let name = marked(&row.name, row.basis);
            for (column, cell) in std::iter::once(&name).chain(&row.cells).enumerate() {
                self.y_mm = top;
                self.lines(cell, left(column), wide(column), SMALL_MM, Weight::Regular, Role::Ink);
                bottom = bottom.max(self.y_mm);
            }
            self.y_mm = bottom + 0.7;
            self.rule(Role::Grid, 0.2);
        }
        let items = self.items.split_off(before);
        self.items.push(Item::group(key, alt, items));
        self.y_mm += 0.8;
    }

    fn rule(&mut self, role: Role, width_mm: f64) {
        self.items.push(Item::Line {
            from: at(MARGIN_MM, self.y_mm),
            to: at(MARGIN_MM + self.inner_mm, self.y_mm),
            style: Style::line(role, width_mm).dashed(Dash::Solid),
        });
    }

    /// Text broken into lines, below what is there.
    fn lines(&mut self, text: &str, x_mm: f64, wide_mm: f64, size_mm: f64, weight: Weight, role: Role) {
        for line in text.lines().flat_map(|line| wrap(line, size_mm, weight, wide_mm, MOST_LINES)) {
            self.y_mm += size_mm * LEADING;
            let below = self.y_mm;
            self.y_mm -= size_mm * (LEADING - 1.0);
            self.put(&line, x_mm, size_mm, weight, role);
            self.y_mm = below;
        }
    }

    fn put(&mut self, text: &str, x_mm: f64, size_mm: f64, weight: Weight, role: Role) {
        self.items.push(Item::Text(Text {
            at: at(x_mm, self.y_mm),
            text: text.to_owned(),
            size_mm,
            anchor: Anchor::Start,
            weight,
            role,
            halo: false,
        }));
    }
}

/// What is not plainly measured says so.
fn marked(text: &str, basis: Basis) -> String {
    match basis {
        Basis::Measured => text.to_owned(),
        Basis::Inferred | Basis::Assumed => format!("{text} ({})", basis.word()),
    }
}
