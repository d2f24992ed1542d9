//! A page laid out on paper, one drawing of A4's shape, or on a phone's screen.
//!
//! A page with much on it is laid out in two columns, and on a larger sheet of the
//! same shape, which prints a little smaller. Charts that follow each other stand
//! side by side where there is room.
//! Text is broken by the bundled font's widths, so the sheet is the same on
//! every device.

use super::block::{Basis, Block, Page, Row};
use super::markup::plain;
use crate::chart::measure::{fit, wrap};
use crate::chart::scene::{Anchor, Dash, Item, Role, Style, Text, Weight, at};
use crate::chart::{PHONE_WIDTH_MM, Scene};

/// Width of A4 (ISO 216), mm.
const WIDTH_MM: f64 = 210.0;
/// Height of A4, mm.
const HEIGHT_MM: f64 = 297.0;
/// Width and height of a phone's screen of 360 x 640 CSS pixels, mm.
const PHONE_MM: (f64, f64) = (PHONE_WIDTH_MM, 640.0 / 360.0 * PHONE_WIDTH_MM);
/// How much larger than A4 a sheet may get, and in which steps.
const LARGEST: f64 = 1.4;
const STEP: f64 = 0.02;
/// A page that needs more than this is set in two columns, if its charts fit one.
const LARGEST_IN_ONE: f64 = 1.2;
/// Space between columns.
const BETWEEN_MM: f64 = 7.0;
/// Line distance as a multiple of the text's size.
const LEADING: f64 = 1.36;
/// No text takes more lines than this: names and notes are bounded anyway.
const MOST_LINES: usize = 60;

/// Sizes of type and space, mm.
#[derive(Debug, Clone, Copy)]
struct Type {
    margin: f64,
    title: f64,
    heading: f64,
    text: f64,
    small: f64,
}

const PAPER: Type = Type { margin: 9.5, title: 7.5, heading: 4.2, text: 3.3, small: 2.9 };
/// Read at arm's length from a screen: 15 and 13 CSS pixels.
const SCREEN: Type = Type { margin: 4.0, title: 6.4, heading: 4.6, text: 4.0, small: 3.5 };

/// The page as one drawing of A4's shape.
pub fn sheet(page: &Page) -> Scene {
    let mut columns = 1;
    let mut scale = 1.0;
    loop {
        let sheet = Sheet::filled(page, PAPER, columns, (WIDTH_MM * scale, HEIGHT_MM * scale));
        // What fits nowhere gets a longer sheet rather than less on it.
        if sheet.fits() || (columns == 2 && scale + STEP > LARGEST) {
            return sheet.scene(page);
        }
        scale += STEP;
        if columns == 1 && scale > LARGEST_IN_ONE {
            (columns, scale) = (2, 1.0);
        }
    }
}

/// The page as one drawing of a phone's screen; longer if it has to be.
pub fn phone_sheet(page: &Page) -> Scene {
    Sheet::filled(page, SCREEN, 1, PHONE_MM).scene(page)
}

/// A sheet being filled from the top, column by column.
struct Sheet {
    size_mm: (f64, f64),
    of: Type,
    /// Where columns begin.
    top_mm: f64,
    /// Left edge and width of the column that is being filled.
    left_mm: f64,
    inner_mm: f64,
    y_mm: f64,
    /// Where the longest column ends.
    end_mm: f64,
    /// The widest drawing so far.
    widest_mm: f64,
    items: Vec<Item>,
}

impl Sheet {
    /// The page on a sheet of a size.
    fn filled(page: &Page, of: Type, columns: u32, size_mm: (f64, f64)) -> Self {
        let mut sheet = Self {
            size_mm,
            of,
            top_mm: 0.0,
            left_mm: of.margin,
            inner_mm: size_mm.0 - 2.0 * of.margin,
            y_mm: 0.5 * of.margin,
            end_mm: 0.0,
            widest_mm: 0.0,
            items: Vec::new(),
        };
        sheet.title(page);
        sheet.top_mm = sheet.y_mm;
        let many = f64::from(columns);
        sheet.inner_mm = (sheet.inner_mm - BETWEEN_MM * (many - 1.0)) / many;
        let mut more_columns = columns - 1;
        let blocks = plain(&page.blocks);
        let mut rest = &*blocks;
        while !rest.is_empty() {
            let (now, later) = rest.split_at(sheet.together(rest).min(rest.len()));
            let (items, from_mm) = (sheet.items.len(), sheet.y_mm);
            sheet.blocks(now);
            if sheet.y_mm > sheet.bottom_mm() && more_columns > 0 && from_mm > sheet.top_mm {
                // Does not fit below: the next column takes it.
                sheet.items.truncate(items);
                sheet.end_mm = sheet.end_mm.max(from_mm);
                sheet.left_mm += sheet.inner_mm + BETWEEN_MM;
                sheet.y_mm = sheet.top_mm;
                more_columns -= 1;
                sheet.blocks(now);
            }
            rest = later;
        }
        sheet.end_mm = sheet.end_mm.max(sheet.y_mm);
        sheet
    }

    fn bottom_mm(&self) -> f64 {
        self.size_mm.1 - self.of.margin
    }

    /// Whether everything is on the sheet, and no drawing wider than its column.
    fn fits(&self) -> bool {
        self.end_mm <= self.bottom_mm() && self.widest_mm <= self.inner_mm
    }

    fn scene(self, page: &Page) -> Scene {
        let (width_mm, height_mm) = self.size_mm;
        Scene {
            title: page.title.clone(),
            alt: page.subtitle.clone(),
            width_mm,
            height_mm: (self.end_mm + self.of.margin).max(height_mm),
            items: self.items,
        }
    }

    /// How many of the next blocks must stand together: a heading and what follows
    /// it, and two drawings side by side.
    fn together(&self, blocks: &[Block]) -> usize {
        let headings = blocks.iter().take_while(|block| matches!(block, Block::Heading { .. })).count();
        match blocks.get(headings..headings + 2) {
            Some([Block::Chart { scene, .. }, Block::Chart { scene: next, .. }])
                if self.is_room(scene, next) =>
            {
                headings + 2
            }
            _ => headings + 1,
        }
    }

    fn is_room(&self, scene: &Scene, beside: &Scene) -> bool {
        scene.width_mm + beside.width_mm <= self.inner_mm
    }

    fn blocks(&mut self, blocks: &[Block]) {
        let mut blocks = blocks.iter().peekable();
        while let Some(block) = blocks.next() {
            match block {
                Block::Heading { text, .. } => self.heading(text),
                Block::Text { text, basis, .. } => self.text(text, *basis),
                Block::Table { alt, columns, rows, key } => self.table(key, alt, columns, rows),
                Block::Chart { scene, .. } => {
                    let beside = match blocks.peek() {
                        Some(Block::Chart { scene: next, .. }) if self.is_room(scene, next) => Some(next),
                        _ => None,
                    };
                    self.charts(scene, beside);
                    if beside.is_some() {
                        blocks.next();
                    }
                }
                Block::Items { items, .. } => items.iter().for_each(|item| self.item(item)),
                Block::Steps { items, .. } => {
                    items.iter().enumerate().for_each(|(n, item)| self.step(n + 1, item));
                }
                // It was made plain before.
                Block::Markup { text, .. } => self.text(text, Basis::Measured),
                Block::Caution { text, .. } => self.caution(text),
            }
        }
    }

    fn title(&mut self, page: &Page) {
        let title = fit(&page.title, self.of.title, Weight::Bold, self.inner_mm);
        self.y_mm += self.of.title;
        self.put(&title, self.left_mm, self.of.title, Weight::Bold, Role::Ink);
        self.y_mm += 1.2;
        self.lines(&page.subtitle, self.left_mm, self.inner_mm, self.of.small, Weight::Regular, Role::Muted);
        self.y_mm += 1.6;
        self.rule(Role::Ink, 0.6);
        self.y_mm += 1.4;
    }

    fn heading(&mut self, text: &str) {
        self.y_mm += 1.6;
        self.lines(text, self.left_mm, self.inner_mm, self.of.heading, Weight::Bold, Role::Ink);
        self.y_mm += 0.6;
    }

    fn text(&mut self, text: &str, basis: Basis) {
        let (size, role) = match basis {
            Basis::Inferred => (self.of.text, Role::Ink),
            Basis::Measured => (self.of.small, Role::Ink),
            Basis::Assumed => (self.of.small, Role::Muted),
        };
        self.lines(&marked(text, basis), self.left_mm, self.inner_mm, size, Weight::Regular, role);
        self.y_mm += 0.5;
    }

    fn item(&mut self, text: &str) {
        let top = self.y_mm + self.of.small;
        self.items.push(Item::Circle {
            centre: at(self.left_mm + 1.0, top - 0.32 * self.of.small),
            radius_mm: 0.55,
            style: Style::fill(Role::Ink),
        });
        self.beside(text);
    }

    fn step(&mut self, number: usize, text: &str) {
        // The number stands on the line that its text begins on.
        self.y_mm += self.of.small;
        self.put(&number.to_string(), self.left_mm, self.of.small, Weight::Bold, Role::Muted);
        self.y_mm -= self.of.small;
        self.beside(text);
    }

    /// The text of a list's line, beside its sign.
    fn beside(&mut self, text: &str) {
        self.lines(text, self.left_mm + 3.5, self.inner_mm - 3.5, self.of.small, Weight::Regular, Role::Ink);
        self.y_mm += 0.5;
    }

    fn caution(&mut self, text: &str) {
        self.y_mm += 1.6;
        let top = self.y_mm;
        self.lines(text, self.left_mm + 4.0, self.inner_mm - 4.0, self.of.small, Weight::Regular, Role::Ink);
        self.items.push(Item::Rect {
            corner: at(self.left_mm, top),
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
        self.chart(left, self.left_mm + shift);
        let mut height = left.height_mm;
        if let Some(right) = right {
            self.chart(right, self.left_mm + self.inner_mm - right.width_mm);
            height = height.max(right.height_mm);
        }
        self.y_mm += height;
    }

    fn chart(&mut self, scene: &Scene, x_mm: f64) {
        self.widest_mm = self.widest_mm.max(scene.width_mm);
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
        let edge_mm = self.left_mm;
        let left =
            |column: usize| edge_mm + if column == 0 { 0.0 } else { first + other * (column as f64 - 1.0) };
        let wide = |column: usize| if column == 0 { first } else { other } - GAP_MM;
        let top = self.y_mm;
        let mut bottom = top;
        for (column, head) in columns.iter().enumerate() {
            self.y_mm = top;
            self.lines(head, left(column), wide(column), self.of.small, Weight::Bold, Role::Ink);
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
                self.lines(cell, left(column), wide(column), self.of.small, Weight::Regular, Role::Ink);
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
            from: at(self.left_mm, self.y_mm),
            to: at(self.left_mm + self.inner_mm, self.y_mm),
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
