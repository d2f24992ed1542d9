//! The brief as a page of blocks.

use super::block::{Basis, Block, Page, Row};
use super::compare::{changed_blocks, foremost_season};
use super::pattern::pattern_rows;
use crate::chart::{
    self, Band, FaceChart, MarkSet, MarkedPattern, PHONE_WIDTH_MM, Scene, Trend, TrendPoint, face_chart,
    trend_chart,
};
use crate::face::{Pattern, Strike};
use crate::lesson::{Brief, Choice, Figure, Mark, PlanDone, Span};
use crate::words::brief as say;
use crate::{model, words};

/// The brief as a page.
pub fn brief_page(brief: &Brief) -> Page {
    let mut blocks = Vec::new();
    if let Some(changed) = &brief.changed {
        changed_blocks(changed, &mut blocks);
    }
    strikes(brief, &mut blocks);
    speed_and_flight(brief, &mut blocks);
    practice(brief, &mut blocks);
    if !brief.unknown.is_empty() {
        blocks.push(heading("unknown", "Not known yet"));
        blocks.push(Block::Items {
            key: "unknown.items".into(),
            items: brief.unknown.iter().map(say::unknown).collect(),
        });
    }
    if !brief.notes.is_empty() {
        blocks.push(heading("notes", "Notes"));
        let line = |note: &crate::lesson::brief::NoteLine| {
            format!("{}: {}", words::number::day(note.day), note.text)
        };
        blocks
            .push(Block::Items { key: "notes.items".into(), items: brief.notes.iter().map(line).collect() });
    }
    blocks.push(Block::Caution { key: "caution".into(), text: say::CAUTION.into() });
    Page { title: brief.student.clone(), subtitle: say::subtitle(brief), blocks }
}

fn heading(key: &str, text: &str) -> Block {
    Block::Heading { key: key.into(), text: text.into() }
}

fn text(key: &str, basis: Basis, text: String) -> Block {
    Block::Text { key: key.into(), basis, text }
}

/// The spans that there are, with their columns' names.
fn columns(brief: &Brief) -> Vec<(&'static str, &Span)> {
    [("Baseline", &brief.baseline), ("Now", &brief.now)]
        .into_iter()
        .filter_map(|(name, span)| span.as_ref().map(|span| (name, span)))
        .collect()
}

fn strikes(brief: &Brief, blocks: &mut Vec<Block>) {
    blocks.push(heading("strikes", "Strikes"));
    let columns = columns(brief);
    if let Some((name, span)) = columns.last() {
        let says = words::pattern::sentences(&span.pattern).join(" ");
        blocks.push(text("strikes.says", Basis::Inferred, format!("{name}: {says}")));
    }
    blocks.push(text("strikes.rests", Basis::Measured, say::rests_on(brief)));
    let target = match brief.settings_chosen_by {
        Choice::Coach => Basis::Measured,
        Choice::Assumed => Basis::Assumed,
    };
    blocks.push(text("strikes.target", target, say::judged_by(brief)));
    if let Some(scene) = face_of(brief) {
        blocks.push(Block::Chart { key: "strikes.face".into(), scene });
    }
    // Beside the face: the season of looks, or the miss by session before there is one.
    if let Some(scene) = brief.changed.as_ref().and_then(foremost_season) {
        blocks.push(Block::Chart { key: "changed.season".into(), scene });
    } else if let Some(scene) = trend_of(brief) {
        blocks.push(Block::Chart { key: "strikes.trend".into(), scene });
    }
    if !columns.is_empty() {
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
    blocks.push(heading("flight", "Speed, start and finish"));
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

fn practice(brief: &Brief, blocks: &mut Vec<Block>) {
    let Some(plan) = &brief.plan else { return };
    blocks.push(heading("practice", "Practice"));
    blocks.push(text("practice.aim", Basis::Measured, aim(plan)));
    blocks.push(Block::Table {
        key: "practice.table".into(),
        alt: "What the plan asked for and what was logged of it".into(),
        columns: ["Drill", "Dose", "Done so far"].map(str::to_owned).to_vec(),
        rows: plan
            .drills
            .iter()
            .map(|drill| Row {
                name: drill.drill.clone(),
                basis: Basis::Measured,
                cells: vec![
                    format!(
                        "{} x {}, {}",
                        drill.sets,
                        drill.repetitions,
                        words::number::times_a_week(drill.times_a_week)
                    ),
                    format!(
                        "{} of {}, {}",
                        drill.done_times,
                        words::number::count(drill.asked_times.into(), "time"),
                        words::number::count(drill.done_repetitions as u64, "repetition")
                    ),
                ],
            })
            .collect(),
    });
    for (n, conflict) in brief.conflicts.iter().enumerate() {
        blocks.push(Block::Caution { key: format!("practice.conflict.{n}"), text: say::conflict(conflict) });
    }
}

fn aim(plan: &PlanDone) -> String {
    let until = plan.until.map_or_else(String::new, |until| format!(" to {}", words::number::day(until)));
    format!("{}: from {}{until}.", plan.aim, words::number::day(plan.from))
}

/// The face with the latest marks by session; the baseline's ellipses broken.
fn face_of(brief: &Brief) -> Option<Scene> {
    let span = brief.now.as_ref().or(brief.baseline.as_ref())?;
    let labels: Vec<String> = span.sessions.iter().map(|s| words::number::day_of_year(s.day)).collect();
    let strikes: Vec<Vec<Strike>> =
        span.sessions.iter().map(|s| s.marks.iter().map(Mark::strike).collect()).collect();
    let sets: Vec<MarkSet<'_>> =
        labels.iter().zip(&strikes).map(|(label, strikes)| MarkSet { label, strikes }).collect();
    let baseline = brief.now.as_ref().and(brief.baseline.as_ref());
    face_chart(&FaceChart {
        title: if brief.now.is_some() { "Strikes now" } else { "Strikes at the baseline" },
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
        width_mm: PHONE_WIDTH_MM,
    })
    .ok()
}

/// The miss of each session with enough marks.
fn trend_of(brief: &Brief) -> Option<Scene> {
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
        points: &points,
        band,
        from_zero: true,
        caption: "",
        width_mm: PHONE_WIDTH_MM,
    })
    .ok()
}
