//! What stands below the brief's story: tables and charts to look things up in,
//! what is not known yet, notes.
//!
//! The rule: nothing here is needed to start the lesson. Start at [`details`].

use super::block::{Basis, Block, Row};
use super::brief::{HALF_MM, heading, text};
use super::compare::changed_details;
use super::pattern::pattern_rows;
use super::what_if::landings;
use crate::chart::{
    self, Band, ChartError, FaceChart, MarkSet, MarkedPattern, Scene, Trend, TrendPoint, face_chart,
    trend_chart,
};
use crate::face::{Pattern, Strike};
use crate::lesson::brief::NoteLine;
use crate::lesson::{Brief, Choice, Figure, Mark, Span};
use crate::words::brief as say;
use crate::{model, words};

/// The details of a brief.
pub(super) fn details(brief: &Brief, blocks: &mut Vec<Block>) {
    blocks.push(heading("details", "Details"));
    blocks.push(text("strikes.rests", Basis::Measured, say::rests_on(brief)));
    let target = match brief.settings_chosen_by {
        Choice::Coach => Basis::Measured,
        Choice::Assumed => Basis::Assumed,
    };
    blocks.push(text("strikes.target", target, say::judged_by(brief)));
    strikes(brief, blocks);
    speed_and_flight(brief, blocks);
    if let Some(scene) = brief.what_if.as_ref().and_then(|worth| landings(&worth.found, brief.units, HALF_MM))
    {
        blocks.push(Block::Chart { key: "today.landings".into(), scene });
    }
    if brief.now.is_some()
        && let Some(scene) = brief.baseline.as_ref().and_then(|span| face_at_baseline(brief, span))
    {
        blocks.push(Block::Chart { key: "strikes.baseline".into(), scene });
    }
    if let Some(changed) = &brief.changed {
        changed_details(changed, blocks);
    }
    if brief.what_if.is_some() {
        blocks.push(text("lost.rule", Basis::Assumed, words::what_if::SPLIT.into()));
    }
    if !brief.unknown.is_empty() {
        blocks.push(heading("unknown", "Not known yet"));
        blocks.push(Block::Items {
            key: "unknown.items".into(),
            items: brief.unknown.iter().map(say::unknown).collect(),
        });
    }
    if !brief.notes.is_empty() {
        blocks.push(heading("notes", "Notes"));
        let line = |note: &NoteLine| format!("{}: {}", words::number::day(note.day), note.text);
        blocks
            .push(Block::Items { key: "notes.items".into(), items: brief.notes.iter().map(line).collect() });
    }
}

/// The spans that there are, with their columns' names.
fn columns(brief: &Brief) -> Vec<(&'static str, &Span)> {
    [("Baseline", &brief.baseline), ("Now", &brief.now)]
        .into_iter()
        .filter_map(|(name, span)| span.as_ref().map(|span| (name, span)))
        .collect()
}

fn strikes(brief: &Brief, blocks: &mut Vec<Block>) {
    let columns = columns(brief);
    if columns.is_empty() {
        return;
    }
    let patterns: Vec<&Pattern> = columns.iter().map(|(_, span)| &span.pattern).collect();
    blocks.push(Block::Table {
        key: "strikes.table".into(),
        alt: "The strike pattern at the baseline and now, with 95 % ranges".into(),
        columns: std::iter::once("Strike pattern (95 % range)".to_owned())
            .chain(columns.iter().map(|(name, span)| say::span_head(name, span)))
            .collect(),
        rows: pattern_rows(&patterns),
    });
}

fn speed_and_flight(brief: &Brief, blocks: &mut Vec<Block>) {
    let columns = columns(brief);
    let mut rows = Vec::new();
    for figure in Figure::ALL {
        let mean = |span: &Span| span.figures.iter().find(|f| f.figure == figure).map(|f| f.mean);
        if columns.iter().any(|(_, span)| mean(span).is_some()) {
            rows.push(Row {
                name: say::figure_name(figure).into(),
                basis: Basis::Measured,
                cells: columns
                    .iter()
                    .map(|(_, s)| say::mean_cell(figure, mean(s).as_ref(), brief.units))
                    .collect(),
            });
        }
    }
    if columns.iter().any(|(_, span)| span.tally.starts > 0) {
        rows.push(Row {
            name: "Started, by eye".into(),
            basis: Basis::Measured,
            cells: columns.iter().map(|(_, span)| say::starts_cell(&span.tally)).collect(),
        });
    }
    if columns.iter().any(|(_, span)| span.tally.finishes > 0) {
        rows.push(Row {
            name: "Finish held".into(),
            basis: Basis::Measured,
            cells: columns
                .iter()
                .map(|(_, s)| say::share_cell(s.tally.finish_held, s.tally.finishes))
                .collect(),
        });
    }
    if rows.is_empty() {
        return;
    }
    blocks.push(Block::Table {
        key: "flight.table".into(),
        alt: "Speeds, carry, start and finish at the baseline and now, with 95 % ranges".into(),
        columns: std::iter::once("Mean (95 % range)".to_owned())
            .chain(columns.iter().map(|(name, span)| {
                format!(
                    "{name}: {}, {}",
                    words::number::days(span.from, span.until),
                    words::number::count(span.balls.into(), "ball")
                )
            }))
            .collect(),
        rows,
    });
}

/// The face with the latest marks by session; the baseline's ellipses broken.
pub(super) fn face_of(brief: &Brief, width_mm: f64) -> Option<Scene> {
    let title = if brief.now.is_some() { "Strikes now" } else { "Strikes at the baseline" };
    face(brief, brief.latest()?, title, width_mm, face_chart)
}

/// The face with the baseline's marks.
fn face_at_baseline(brief: &Brief, span: &Span) -> Option<Scene> {
    face(brief, span, "Strikes at the baseline", HALF_MM, face_chart)
}

/// A face with the marks of some sessions, drawn one way or the other.
pub(super) fn face(
    brief: &Brief,
    span: &Span,
    title: &str,
    width_mm: f64,
    draw: fn(&FaceChart<'_>) -> Result<Scene, ChartError>,
) -> Option<Scene> {
    let labels: Vec<String> = span.sessions.iter().map(|s| words::number::day_of_year(s.day)).collect();
    let strikes: Vec<Vec<Strike>> =
        span.sessions.iter().map(|s| s.marks.iter().map(Mark::strike).collect()).collect();
    let sets: Vec<MarkSet<'_>> =
        labels.iter().zip(&strikes).map(|(label, strikes)| MarkSet { label, strikes }).collect();
    let baseline = brief.baseline.as_ref().filter(|baseline| !std::ptr::eq(*baseline, span));
    draw(&FaceChart {
        title,
        hand: match brief.hand {
            model::Hand::Right => chart::Hand::Right,
            model::Hand::Left => chart::Hand::Left,
        },
        face_width_mm: brief.face_mm.0,
        face_height_mm: brief.face_mm.1,
        settings: brief.settings,
        sets: &sets,
        latest: Some(&span.pattern),
        // The page says it beside the chart.
        caption: "",
        baseline: baseline.map(|b| MarkedPattern { label: "Baseline", pattern: &b.pattern }),
        width_mm,
    })
    .ok()
}

/// The miss of each session with enough marks.
pub(super) fn trend_of(brief: &Brief, width_mm: f64) -> Option<Scene> {
    if brief.trend.len() < 2 {
        return None;
    }
    let labels: Vec<String> = brief.trend.iter().map(|point| words::number::day_of_year(point.day)).collect();
    let points: Vec<TrendPoint<'_>> = brief
        .trend
        .iter()
        .zip(&labels)
        .map(|(point, label)| TrendPoint {
            label,
            value: Some(point.miss_mm),
            range: point.interval.map(|range| (range.low, range.high)),
            count: point.count,
        })
        .collect();
    let band = brief.baseline.as_ref().and_then(|baseline| {
        let range = baseline.pattern.intervals.rms_miss_mm?;
        Some(Band { label: "Baseline", value: baseline.pattern.rms_miss_mm?, range: (range.low, range.high) })
    });
    trend_chart(&Trend {
        title: "Miss by session",
        subtitle: "mm from the target point, lower is better",
        unit: "mm",
        counted: crate::words::chart::BALL_OR_BALLS,
        points: &points,
        band,
        from_zero: true,
        caption: "",
        width_mm,
    })
    .ok()
}
