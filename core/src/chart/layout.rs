//! What all charts share: title block, legend, captions.
//!
//! Invariant: nothing laid out here is wider than the chart; text that is too
//! long is wrapped or cut with an ellipsis. Each function answers where the next
//! thing may start.
//!
//! Where to start: [`title`], [`legend`].

use super::measure::{cap_height_mm, fit, width_mm, wrap};
use super::scene::{Anchor, Item, Point, Role, Text, Weight, at};
use super::{LABEL_MM, LEADING_MM, MARGIN_MM, TITLE_MM};

/// A plain label.
pub(super) fn label(place: Point, text: impl Into<String>, anchor: Anchor, role: Role) -> Item {
    Item::Text(Text {
        at: place,
        text: text.into(),
        size_mm: LABEL_MM,
        anchor,
        weight: Weight::Regular,
        role,
        halo: false,
    })
}

/// A bold label that keeps legible over marks.
pub(super) fn sign(place: Point, text: impl Into<String>, anchor: Anchor) -> Item {
    Item::Text(Text {
        at: place,
        text: text.into(),
        size_mm: LABEL_MM,
        anchor,
        weight: Weight::Bold,
        role: Role::Ink,
        halo: true,
    })
}

/// Distance from a middle line down to the baseline of capitals centred on it.
pub(super) fn drop_mm() -> f64 {
    0.5 * cap_height_mm(LABEL_MM)
}

/// Title and subtitle from the top; answers the y below them.
pub(super) fn title(items: &mut Vec<Item>, title: &str, subtitle: &str, width_mm: f64) -> f64 {
    let room = width_mm - 2.0 * MARGIN_MM;
    let mut y = MARGIN_MM;
    for line in wrap(title, TITLE_MM, Weight::Bold, room, 2) {
        y += TITLE_MM;
        items.push(Item::Text(Text {
            at: at(MARGIN_MM, y),
            text: line,
            size_mm: TITLE_MM,
            anchor: Anchor::Start,
            weight: Weight::Bold,
            role: Role::Ink,
            halo: false,
        }));
        y += 0.8;
    }
    for line in wrap(subtitle, LABEL_MM, Weight::Regular, room, 3) {
        y += LEADING_MM;
        items.push(label(at(MARGIN_MM, y), line, Anchor::Start, Role::Muted));
    }
    y + 2.4
}

/// Running text across the chart; answers the y below it.
pub(super) fn caption(items: &mut Vec<Item>, text: &str, top: f64, width_mm: f64) -> f64 {
    let room = width_mm - 2.0 * MARGIN_MM;
    let mut y = top;
    for line in wrap(text, LABEL_MM, Weight::Regular, room, 6) {
        y += LEADING_MM;
        items.push(label(at(MARGIN_MM, y), line, Anchor::Start, Role::Ink));
    }
    y + 1.0
}

/// One entry of a legend: draws its sign around a point, 4 mm either side.
pub(super) struct Entry {
    /// Cut with an ellipsis where room is short.
    pub text: String,
    /// Follows the text and is never cut.
    pub tail: String,
    pub sign: Box<dyn Fn(Point) -> Vec<Item>>,
}

/// Space for the sign of a legend entry, mm.
const SIGN_MM: f64 = 8.0;
const SIGN_GAP_MM: f64 = 1.8;
/// Narrowest column of a legend, mm.
const COLUMN_MM: f64 = 42.0;

/// A legend in columns; an entry too long for one takes as many as it needs.
/// Answers the y below it.
pub(super) fn legend(items: &mut Vec<Item>, entries: &[Entry], top: f64, width: f64) -> f64 {
    let room = width - 2.0 * MARGIN_MM;
    let columns = (room / COLUMN_MM).floor().clamp(1.0, 3.0);
    let column_mm = room / columns;
    let before = SIGN_MM + SIGN_GAP_MM;
    let wide = |text: &str| width_mm(text, LABEL_MM, Weight::Regular);
    let mut inside = Vec::new();
    let (mut y, mut used) = (top, 0.0);
    for entry in entries {
        let tail_mm = wide(&entry.tail);
        let needed = before + wide(&entry.text) + tail_mm + 1.5;
        let span = (needed / column_mm).ceil().clamp(1.0, columns);
        if used + span > columns {
            used = 0.0;
            y += LEADING_MM + 0.4;
        }
        let (x, middle) = (MARGIN_MM + used * column_mm, y + 0.5 * LEADING_MM);
        inside.extend((entry.sign)(at(x + 0.5 * SIGN_MM, middle)));
        let text_room = span * column_mm - before - tail_mm;
        let text = fit(&entry.text, LABEL_MM, Weight::Regular, text_room);
        inside.push(label(at(x + before, middle + drop_mm()), text + &entry.tail, Anchor::Start, Role::Ink));
        used += span;
    }
    if entries.is_empty() {
        return y;
    }
    items.push(Item::group("legend", "", inside));
    y + LEADING_MM + 0.4
}
