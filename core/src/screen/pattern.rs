//! The pattern of one set of strike marks as a page, and the table rows that
//! it shares with the brief.

use super::block::{Basis, Block, Page, Row};
use crate::chart::{self, ChartError, FaceChart, MarkSet, PHONE_WIDTH_MM, Scene, face_chart};
use crate::face::{Pattern, Spread, Strike};
use crate::model::Hand;
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::words;
use crate::words::brief as say;

/// A pattern as a page; `notes` say what it rests on.
pub fn pattern_page(title: &str, pattern: &Pattern, notes: &[(Basis, String)]) -> Page {
    let mut blocks: Vec<Block> = words::pattern::sentences(pattern)
        .into_iter()
        .enumerate()
        .map(|(n, text)| Block::Text { key: format!("says.{n}"), basis: Basis::Inferred, text })
        .collect();
    blocks.push(Block::Table {
        key: "pattern".into(),
        alt: "The strike pattern, with 95 % ranges".into(),
        columns: vec!["Strike pattern".into(), "95 % range in brackets".into()],
        rows: pattern_rows(&[pattern]),
    });
    blocks.extend(notes.iter().enumerate().map(|(n, (basis, text))| Block::Text {
        key: format!("notes.{n}"),
        basis: *basis,
        text: text.clone(),
    }));
    let subtitle = words::number::counted(pattern.count.into(), "strike mark", "strike marks");
    Page { title: title.into(), subtitle, blocks }
}

/// What a pattern made from a file rests on.
pub fn pattern_notes(sigma_given: bool, felt: u64, rows: u64, marks: u64) -> Vec<(Basis, String)> {
    let has = if rows == 1 { "has" } else { "have" };
    let mut notes = vec![(
        Basis::Measured,
        format!("{marks} of {} {has} a strike mark.", words::number::count(rows, "row")),
    )];
    if felt > 0 {
        let were = words::number::counted(felt, "strike was", "strikes were");
        notes.push((Basis::Measured, format!("{were} only felt and left out.")));
    }
    if !sigma_given && marks > 0 {
        notes.push((Basis::Assumed, "No column sigma_mm: the reading error is taken as 0.".into()));
    }
    notes
}

/// A pattern on a face of the default size.
///
/// # Errors
/// [`ChartError`] if a mark can't be drawn.
pub fn pattern_chart(strikes: &[Strike], pattern: &Pattern, hand: Hand) -> Result<Scene, ChartError> {
    face_chart(&FaceChart {
        title: "Strikes",
        hand: match hand {
            Hand::Right => chart::Hand::Right,
            Hand::Left => chart::Hand::Left,
        },
        face_width_mm: DEFAULT_FACE_WIDTH_MM,
        face_height_mm: DEFAULT_FACE_HEIGHT_MM,
        settings: pattern.settings,
        sets: &[MarkSet { label: "all marks", strikes }],
        latest: Some(pattern),
        caption: &words::pattern::headline(pattern),
        baseline: None,
        width_mm: PHONE_WIDTH_MM,
    })
}

/// A row for each figure of a pattern, a cell for each of the patterns.
pub(super) fn pattern_rows(patterns: &[&Pattern]) -> Vec<Row> {
    let row = |name: &str, basis, cell: &dyn Fn(&Pattern) -> String| Row {
        name: name.into(),
        basis,
        cells: patterns.iter().map(|pattern| cell(pattern)).collect(),
    };
    let deviation =
        |pattern: &Pattern, of: fn(Spread) -> f64| pattern.scatter_mm2.map(|s| of(s).max(0.0).sqrt());
    vec![
        row("Middle, heel to toe", Basis::Measured, &|p| {
            say::bias_cell(p.bias_toe_mm, p.intervals.bias_toe_mm, "toe", "heel")
        }),
        row("Middle, low to high", Basis::Measured, &|p| {
            say::bias_cell(p.bias_high_mm, p.intervals.bias_high_mm, "high", "low")
        }),
        row("Scatter, heel to toe", Basis::Inferred, &|p| {
            say::length_cell(deviation(p, |s| s.toe_mm2), p.intervals.scatter_toe_mm)
        }),
        row("Scatter, low to high", Basis::Inferred, &|p| {
            say::length_cell(deviation(p, |s| s.high_mm2), p.intervals.scatter_high_mm)
        }),
        row("Miss from the target point", Basis::Measured, &|p| {
            say::length_cell(p.rms_miss_mm, p.intervals.rms_miss_mm)
        }),
        row("Centred strikes", Basis::Measured, &|p| say::share_cell(p.centre_rate, p.count)),
    ]
}
