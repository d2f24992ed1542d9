//! The plan, a proposal and swings for speed as pages.
//!
//! The plan's page is complete on paper: what to do, how, boxes to tick, cautions.
//! Start at [`plan_page`].

use super::block::{Basis, Block, Page, Row};
use super::drill::{Records, cautions, general_care, heading, how_to, text};
use crate::chart::{PHONE_WIDTH_MM, Scene, TickRow, Ticks, Trend, TrendPoint, ticks_chart, trend_chart};
use crate::model::{Effort, Goal, UnitSystem};
use crate::plan::{DrillProgress, Measured, Progress, Proposal, Shown, ShownDrill, SpeedSummary};
use crate::words::drill as texts;
use crate::words::number::{count, day_of_year, fixed, times_a_week};
use crate::words::plan as say;

/// Boxes of a row at most: twelve weeks of daily practice and some.
const MOST_BOXES: i64 = 90;
/// The latest points of a measure that are drawn.
const MOST_POINTS: usize = 24;

/// A plan with what came of it. `drills` are the drills' own records, for the texts of
/// drills that are not ours.
pub fn plan_page(student: &str, units: UnitSystem, progress: &Progress, drills: &Records) -> Page {
    let shown = &progress.shown;
    let full_speed = shown.drills.iter().any(|drill| drill.effort == Effort::FullSpeed);
    let mut blocks = Vec::new();
    if shown.stop.is_some() {
        blocks.push(Block::Caution { key: "stop".into(), text: say::PAIN.into() });
    }
    blocks.push(to_do(progress, units));
    let held: Vec<String> =
        shown.drills.iter().filter_map(|drill| say::held_line(&drill.name, &drill.held)).collect();
    if !held.is_empty() {
        blocks.push(Block::Items { key: "held".into(), items: held });
    }
    if full_speed {
        blocks.push(text("caps", Basis::Assumed, say::caps(&shown.caps)));
    }
    let all =
        shown.drills.iter().flat_map(|drill| drill.conflicts.iter().map(move |c| (drill.name.as_str(), c)));
    let of_plan = shown.conflicts.iter().map(|conflict| ("The plan", conflict));
    blocks.extend(cautions("conflict", of_plan.chain(all).map(|(name, c)| say::conflict(name, c)).collect()));
    let back = shown.drills.iter().filter(|drill| drill.revived);
    blocks.extend(cautions("revived", back.map(|drill| say::revived(&drill.name)).collect()));
    blocks.extend(charts(progress, units));
    let speed = say::speed(&progress.speed, units);
    if full_speed && !speed.is_empty() {
        blocks.push(heading("speed", "Speed"));
        blocks.push(Block::Items { key: "speed.items".into(), items: speed });
    }
    let begun = progress.progress.iter().filter(|drill| drill.asked_times > 0 || drill.done_times > 0);
    let next: Vec<String> = begun.map(say::decision).collect();
    if !next.is_empty() {
        blocks.push(heading("next", "What next"));
        blocks.push(Block::Items { key: "next.items".into(), items: next });
    }
    let to_do: Vec<&ShownDrill> = shown.drills.iter().filter(|drill| drill.dose.is_some()).collect();
    if to_do.iter().any(|drill| drill.effort != Effort::Easy) {
        blocks.push(heading("warm-up", "Before any full swing"));
        blocks.push(text("warm-up.steps", Basis::Measured, texts::WARM_UP.join(" ")));
    }
    blocks.extend(to_do.into_iter().flat_map(|drill| how_to(drill, drills.get(&drill.drill))));
    blocks.push(Block::Caution { key: "care".into(), text: care_of(shown).join(" ") });
    Page { title: "Plan".into(), subtitle: say::subtitle(student, shown), blocks }
}

/// All cautions of a plan's drills, each once.
fn care_of(shown: &Shown) -> Vec<&'static str> {
    let mut care = vec![texts::BALL_CARE];
    for line in shown.drills.iter().flat_map(general_care) {
        if !care.contains(&line) {
            care.push(line);
        }
    }
    care
}

/// What to do, what was done, where it stands.
fn to_do(progress: &Progress, units: UnitSystem) -> Block {
    let rows = progress
        .progress
        .iter()
        .map(|drill| {
            let by: Vec<&str> = {
                let mut by: Vec<&str> = drill.done.iter().map(|line| line.by.as_str()).collect();
                by.sort_unstable();
                by.dedup();
                by
            };
            let by = drill.done.last().map_or_else(String::new, |last| {
                format!(" (by {}, last on {})", by.join(", "), day_of_year(last.day))
            });
            let measure = drill.measured.as_ref().map_or_else(String::new, |measured| {
                format!("{}: {}", say::goal(measured.goal), say::latest(measured, units))
            });
            Row {
                name: drill.drill.name.clone(),
                basis: Basis::Measured,
                cells: vec![
                    say::dose_cell(&drill.drill),
                    say::done(drill.done_times, drill.asked_times) + &by,
                    measure,
                ],
            }
        })
        .collect();
    Block::Table {
        key: "drills".into(),
        alt: "What to do of each drill, what was done so far, and its own measure".into(),
        columns: ["Drill", "To do", "Done so far", "Its measure"].map(str::to_owned).to_vec(),
        rows,
    }
}

/// Boxes to tick, then the measures that have a course.
fn charts(progress: &Progress, units: UnitSystem) -> Vec<Block> {
    let shown = &progress.shown;
    let days = shown.until.map_or(28, |until| until.days_since(shown.from) + 1).max(1);
    let details: Vec<(String, u32)> = progress
        .progress
        .iter()
        .map(|drill| {
            let Some(dose) = drill.drill.dose else { return (String::new(), 0) };
            let boxes = (dose.times_a_week() * days / 7).clamp(1, MOST_BOXES) as u32;
            (
                format!("{} x {}, {}", dose.sets(), dose.repetitions(), times_a_week(dose.times_a_week())),
                boxes,
            )
        })
        .collect();
    let rows: Vec<TickRow<'_>> = progress
        .progress
        .iter()
        .zip(&details)
        .filter(|(_, (_, boxes))| *boxes > 0)
        .map(|(drill, (detail, boxes))| TickRow {
            label: &drill.drill.name,
            detail,
            asked: *boxes,
            done: drill.done_times,
        })
        .collect();
    let ticks = Ticks {
        title: "Tick each time",
        subtitle: "One box for each time until the next lesson",
        rows: &rows,
    };
    let boxes = ticks_chart(&ticks, PHONE_WIDTH_MM).ok();
    let mut seen: Vec<Goal> = Vec::new();
    let courses = progress.progress.iter().filter_map(|drill| {
        let measured = drill.measured.as_ref().filter(|measured| measured.points.len() >= 2)?;
        if seen.contains(&measured.goal) {
            return None;
        }
        seen.push(measured.goal);
        course(drill, measured, units)
    });
    boxes
        .into_iter()
        .chain(courses)
        .enumerate()
        .map(|(n, scene)| Block::Chart { key: format!("chart.{n}"), scene })
        .collect()
}

/// A measure over its days.
fn course(drill: &DrillProgress, measured: &Measured, units: UnitSystem) -> Option<Scene> {
    let points = measured.points.get(measured.points.len().saturating_sub(MOST_POINTS)..)?;
    let labels: Vec<String> = points.iter().map(|point| day_of_year(point.day)).collect();
    let share =
        matches!(measured.goal, Goal::CentreRate | Goal::StartLine | Goal::FinishHeld | Goal::SpeedRatio);
    let (scale, unit) = match measured.goal {
        _ if share => (100.0, "%"),
        Goal::HeadSpeed => units.speed(1.0),
        _ => (1.0, "mm"),
    };
    let points: Vec<TrendPoint<'_>> = points
        .iter()
        .zip(&labels)
        .map(|(point, label)| TrendPoint {
            label,
            value: Some(point.value * scale),
            range: point.range.map(|(low, high)| (low * scale, high * scale)),
            count: point.count,
        })
        .collect();
    let bar = measured
        .bar
        .map_or_else(String::new, |bar| format!("; done above {} {unit}, surely", fixed(bar * scale, 0)));
    trend_chart(&Trend {
        title: &format!("{}: {}", drill.drill.name, say::goal(measured.goal).to_lowercase()),
        subtitle: &format!("{unit} day by day{}{bar}", say::upward(measured.goal)),
        unit,
        counted: say::counted_in(measured.goal),
        points: &points,
        band: None,
        // A ratio near one would be a flat line above an empty page.
        from_zero: measured.goal == Goal::Scatter || (share && measured.goal != Goal::SpeedRatio),
        caption: "",
        width_mm: PHONE_WIDTH_MM,
    })
    .ok()
}

/// A proposal.
pub fn proposal_page(student: &str, proposal: &Proposal) -> Page {
    let mut blocks = vec![text("head", Basis::Inferred, say::proposal(proposal))];
    let rows = proposal
        .drills
        .iter()
        .map(|drill| Row {
            name: texts::text(drill.drill).name.into(),
            basis: Basis::Measured,
            cells: vec![
                format!("{}, about {}", say::dose(drill.dose), count(drill.minutes as u64, "minute")),
                format!("{} ({})", say::fault(drill.fault), say::sure(drill.sure, drill.said)),
                say::why(drill.fault, drill.drill).into(),
            ],
        })
        .collect();
    blocks.push(Block::Table {
        key: "drills".into(),
        alt: "Proposed drills with doses, for which fault, and why".into(),
        columns: ["Drill", "Dose", "For", "Why (common practice)"].map(str::to_owned).to_vec(),
        rows,
    });
    Page { title: "Proposal".into(), subtitle: student.to_owned(), blocks }
}

/// Swings for speed.
pub fn speed_page(student: &str, summary: &SpeedSummary, units: UnitSystem) -> Page {
    let lines = say::speed(summary, units);
    let mut blocks = if lines.is_empty() {
        vec![text("none", Basis::Measured, "No swings for speed yet.")]
    } else {
        vec![Block::Items { key: "speed".into(), items: lines }]
    };
    blocks.extend(cautions("care", texts::SPEED_CARE.iter().map(ToString::to_string).collect()));
    Page { title: "Speed".into(), subtitle: student.to_owned(), blocks }
}
