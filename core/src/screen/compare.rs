//! What changed since the baseline, and is it real: a page of its own for two
//! files, and the first section of the brief.
//!
//! The rule: figures are always shown; what must be asked first stands before them.
//! Start at [`compare_page`], [`changed_blocks`].

use super::block::{Basis, Block, Page, Row};
use crate::chart::{
    self, FaceChart, MarkSet, MarkedPattern, PHONE_WIDTH_MM, Scene, SeasonChart, SeasonLook, face_chart,
    season_chart,
};
use crate::face::compare::{Change, LAST_LOOK, Look, Seen};
use crate::lesson::Changed;
use crate::lesson::changed::{Lot, Verdict, pattern_of_lots};
use crate::model::Hand;
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::words::compare as say;

/// The sessions on both sides, for the drawing of the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sides<'a> {
    /// Sessions of the baseline.
    pub baseline: &'a [Lot],
    /// Later sessions.
    pub later: &'a [Lot],
    /// The hand, for the drawing.
    pub hand: Hand,
}

/// The comparison of two files as a page; `notes` say what was left out.
pub fn compare_page(title: &str, changed: &Changed, sides: &Sides<'_>, notes: &[String]) -> Page {
    let mut blocks = Vec::new();
    said(changed, &mut blocks);
    advice(changed, &mut blocks);
    blocks.extend(face(changed, sides).map(|scene| Block::Chart { key: "changed.face".into(), scene }));
    for quantity in Quantity::ALL {
        blocks.extend(
            season(changed, quantity, PHONE_WIDTH_MM)
                .map(|scene| Block::Chart { key: format!("changed.season.{}", quantity.key()), scene }),
        );
    }
    blocks.extend(table(changed));
    blocks.push(text("changed.limit", Basis::Inferred, format!("{} {}", say::LIMIT_NOTE, say::RANGE_NOTE)));
    blocks.extend(
        notes.iter().enumerate().map(|(n, note)| text(&format!("notes.{n}"), Basis::Measured, note.clone())),
    );
    Page { title: title.into(), subtitle: say::rests_on(changed), blocks }
}

/// The section of the brief: what is said and the figures. Its chart is
/// [`foremost_season`].
pub(super) fn changed_blocks(changed: &Changed, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading { key: "changed".into(), text: "What changed, and is it real".into() });
    said(changed, blocks);
    blocks.push(text("changed.rests", Basis::Measured, say::rests_on(changed)));
    blocks.extend(table(changed));
}

/// What the brief says of the comparison itself, among its details.
pub(super) fn changed_details(changed: &Changed, blocks: &mut Vec<Block>) {
    advice(changed, blocks);
    if changed.comparison.later_sessions > 0 {
        blocks.push(text("changed.limit", Basis::Inferred, say::LIMIT_NOTE.into()));
    }
}

fn text(key: &str, basis: Basis, text: String) -> Block {
    Block::Text { key: key.into(), basis, text }
}

/// Verdict and questions.
fn said(changed: &Changed, blocks: &mut Vec<Block>) {
    for (n, sentence) in say::sentences(changed).into_iter().enumerate() {
        blocks.push(text(&format!("changed.says.{n}"), Basis::Inferred, sentence));
    }
    for (n, ask) in changed.asks.iter().enumerate() {
        blocks.push(Block::Caution { key: format!("changed.ask.{n}"), text: say::ask(ask) });
    }
}

/// Whether the baseline is long enough, and what other students' days lent.
fn advice(changed: &Changed, blocks: &mut Vec<Block>) {
    let advice = &changed.comparison.advice;
    let basis = match advice.outlook().basis {
        crate::face::compare::Basis::ThisStudent => Basis::Inferred,
        _ => Basis::Assumed,
    };
    blocks.push(text("changed.advice", basis, say::advice(&changed.comparison)));
    blocks.extend(say::known_shifts(changed).map(|said| text("changed.others", Basis::Assumed, said)));
}

fn table(changed: &Changed) -> Option<Block> {
    if changed.verdict == Verdict::NothingToCompare {
        return None;
    }
    let c = &changed.comparison;
    let row = |name: &str, cell: String, change: &Change| Row {
        name: name.into(),
        basis: Basis::Inferred,
        cells: vec![cell, say::called_cell(change)],
    };
    Some(Block::Table {
        key: "changed.table".into(),
        alt: "What differs from the baseline, with ranges that hold at every look, and what was called"
            .into(),
        columns: ["Since the baseline", "Difference (range)", "Called"].map(str::to_owned).to_vec(),
        rows: vec![
            row("Middle, heel to toe", say::moved_cell(&c.bias.toe, "toe", "heel"), &c.bias.toe),
            row("Middle, low to high", say::moved_cell(&c.bias.high_axis, "high", "low"), &c.bias.high_axis),
            row("Scatter", say::ratio_cell(&c.scatter), &c.scatter),
            row("Centred strikes", say::points_cell(&c.centre_rate), &c.centre_rate),
        ],
    })
}

/// Marks of the later sessions, with the ellipses of both sides.
fn face(changed: &Changed, sides: &Sides<'_>) -> Option<Scene> {
    let before = pattern_of_lots(sides.baseline, &changed.settings).ok()?;
    let now = pattern_of_lots(sides.later, &changed.settings).ok()?;
    let sets: Vec<MarkSet<'_>> =
        sides.later.iter().map(|lot| MarkSet { label: &lot.label, strikes: &lot.strikes }).collect();
    face_chart(&FaceChart {
        title: "Strikes since the baseline",
        hand: match sides.hand {
            Hand::Right => chart::Hand::Right,
            Hand::Left => chart::Hand::Left,
        },
        face_width_mm: DEFAULT_FACE_WIDTH_MM,
        face_height_mm: DEFAULT_FACE_HEIGHT_MM,
        settings: changed.settings,
        sets: &sets,
        latest: Some(&now),
        caption: "",
        baseline: Some(MarkedPattern { label: "Baseline", pattern: &before }),
        width_mm: PHONE_WIDTH_MM,
    })
    .ok()
}

/// What a season's chart is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quantity {
    Toe,
    High,
    Scatter,
}

impl Quantity {
    const ALL: [Self; 3] = [Self::Toe, Self::High, Self::Scatter];

    const fn key(self) -> &'static str {
        match self {
            Self::Toe => "toe",
            Self::High => "high",
            Self::Scatter => "scatter",
        }
    }

    const fn seen(self, look: &Look) -> &Seen {
        match self {
            Self::Toe => &look.toe,
            Self::High => &look.high_axis,
            Self::Scatter => &look.scatter,
        }
    }

    const fn change(self, changed: &Changed) -> &Change {
        match self {
            Self::Toe => &changed.comparison.bias.toe,
            Self::High => &changed.comparison.bias.high_axis,
            Self::Scatter => &changed.comparison.scatter,
        }
    }

    /// How near the latest estimate is to the edge; 1 is on it.
    fn nearness(self, changed: &Changed) -> f64 {
        let Some(named) = changed.looks.iter().rev().find(|n| self.seen(&n.look).edge_high.is_some()) else {
            return 0.0;
        };
        let seen = self.seen(&named.look);
        let (Some(value), Some(low), Some(high)) = (seen.estimate, seen.edge_low, seen.edge_high) else {
            return 0.0;
        };
        let scale = |v: f64| if self == Self::Scatter { libm::log(v.max(1e-9)) } else { v };
        let value = scale(value);
        let edge = if value < 0.0 { -scale(low) } else { scale(high) };
        if edge > 0.0 { value.abs() / edge } else { 0.0 }
    }
}

/// What was called first, or else came nearest to it.
fn foremost(changed: &Changed) -> Option<Quantity> {
    let called = Quantity::ALL
        .into_iter()
        .filter_map(|q| Some((q.change(changed).first_called_at?, q)))
        .min_by_key(|(at, _)| *at);
    called.map(|(_, q)| q).or_else(|| {
        let nearest = |a: &Quantity, b: &Quantity| a.nearness(changed).total_cmp(&b.nearness(changed));
        Quantity::ALL.into_iter().max_by(nearest)
    })
}

/// The season of looks that matters most; nothing before the second look.
pub(super) fn foremost_season(changed: &Changed, width_mm: f64) -> Option<Scene> {
    season(changed, foremost(changed)?, width_mm)
}

/// The season of looks of one quantity. Nothing before the second look.
fn season(changed: &Changed, quantity: Quantity, width_mm: f64) -> Option<Scene> {
    // Past this look nothing is called any more.
    let named = changed.looks.get(..changed.looks.len().min(LAST_LOOK as usize))?;
    if named.len() < 2 {
        return None;
    }
    let labels: Vec<String> = named.iter().map(say::look_label).collect();
    let looks: Vec<SeasonLook<'_>> = named
        .iter()
        .zip(&labels)
        .map(|(named, label)| {
            let seen = quantity.seen(&named.look);
            SeasonLook {
                label,
                count: named.look.balls,
                value: seen.estimate,
                edges: seen.edge_low.zip(seen.edge_high),
                called: seen.called,
            }
        })
        .collect();
    let last = quantity.seen(&named.last()?.look);
    let (title, subtitle, unit, unchanged) = match quantity {
        Quantity::Toe => ("Middle since the baseline, heel to toe", "mm; up is toward the toe", "mm", 0.0),
        Quantity::High => {
            ("Middle since the baseline, low to high", "mm; up is higher on the face", "mm", 0.0)
        }
        Quantity::Scatter => {
            ("Scatter since the baseline", "1 is as wide as then, lower is tighter", "of the baseline's", 1.0)
        }
    };
    let subtitle = format!("{subtitle}; all sessions so far together");
    season_chart(&SeasonChart {
        title,
        subtitle: &subtitle,
        unit,
        unchanged,
        looks: &looks,
        range: last.low.zip(last.high),
        caption: "",
        width_mm,
    })
    .ok()
}
