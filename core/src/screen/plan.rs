//! The plan, the day's drills, a proposal, a drill and swings for speed as pages.
//!
//! The plan's page is complete on paper: what to do, how, boxes to tick, cautions.
//! Start at [`plan_page`].

use super::block::{Basis, Block, Page, Row};
use crate::chart::{PHONE_WIDTH_MM, Scene, TickRow, Ticks, Trend, TrendPoint, ticks_chart, trend_chart};
use crate::model::{Drill, Effort, Goal, Purpose, StockDrill, UnitSystem};
use crate::plan::{
    DrillProgress, Measured, Progress, Proposal, Shown, ShownDrill, SpeedSummary, Today, catalogue, stock,
};
use crate::words::drill as texts;
use crate::words::number::{count, day, day_of_year, fixed, times_a_week};
use crate::words::plan as say;

/// Boxes of a row at most: twelve weeks of daily practice and some.
const MOST_BOXES: i64 = 90;
/// The latest points of a measure that are drawn.
const MOST_POINTS: usize = 24;

fn heading(key: &str, text: &str) -> Block {
    Block::Heading { key: key.into(), text: text.into() }
}

fn text(key: &str, basis: Basis, text: impl Into<String>) -> Block {
    Block::Text { key: key.into(), basis, text: text.into() }
}

fn cautions(key: &str, lines: Vec<String>) -> impl Iterator<Item = Block> {
    let key = key.to_owned();
    lines.into_iter().enumerate().map(move |(n, text)| Block::Caution { key: format!("{key}.{n}"), text })
}

/// A plan with what came of it. `drills` are the drills' own records, for the texts of
/// drills that are not ours.
pub fn plan_page(student: &str, units: UnitSystem, progress: &Progress, drills: &[Drill]) -> Page {
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
    blocks.extend(charts(progress, units));
    let begun = progress.progress.iter().filter(|drill| drill.asked_times > 0 || drill.done_times > 0);
    let next: Vec<String> = begun.map(say::decision).collect();
    if !next.is_empty() {
        blocks.push(heading("next", "What next"));
        blocks.push(Block::Items { key: "next.items".into(), items: next });
    }
    blocks.extend(progress.progress.iter().filter(|drill| drill.drill.dose.is_some()).flat_map(|drill| {
        let own = drills.iter().find(|own| own.name.as_str() == drill.drill.name);
        how_to(&drill.drill, own)
    }));
    if shown.drills.iter().any(|drill| drill.dose.is_some()) {
        blocks.push(heading("warm-up", "Before any full swing"));
        blocks.push(text("warm-up.steps", Basis::Measured, texts::WARM_UP.join(" ")));
    }
    blocks.push(Block::Caution { key: "care".into(), text: care_of(shown).join(" ") });
    Page { title: "Plan".into(), subtitle: say::subtitle(student, shown), blocks }
}

/// All cautions of a plan's drills, each once.
fn care_of(shown: &Shown) -> Vec<&'static str> {
    let both = shown.drills.iter().any(|drill| drill.two_sided).then_some(texts::BOTH_SIDES_CARE);
    let full_speed = shown.drills.iter().any(|drill| drill.effort == Effort::FullSpeed);
    let speed = texts::SPEED_CARE.iter().copied().filter(|_| full_speed);
    let own = shown.drills.iter().filter_map(|drill| drill.stock).flat_map(texts::cautions);
    let mut care = Vec::new();
    for line in std::iter::once(texts::BALL_CARE).chain(both).chain(own).chain(speed) {
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
            let by = if by.is_empty() { String::new() } else { format!(" (by {})", by.join(", ")) };
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
        points: &points,
        band: None,
        from_zero: share || measured.goal == Goal::Scatter,
        caption: "",
        width_mm: PHONE_WIDTH_MM,
    })
    .ok()
}

/// How to do a drill: our own words for ours, the coach's for theirs.
fn how_to(drill: &ShownDrill, own: Option<&Drill>) -> Vec<Block> {
    let key = |part: &str| format!("how.{}.{part}", drill.planned.0);
    let mut blocks = vec![heading(&key("name"), &drill.name)];
    if let Some(ours) = drill.stock.map(texts::text) {
        blocks.push(text(
            &key("what"),
            Basis::Measured,
            format!("{} You need: {}", ours.what, ours.equipment),
        ));
        blocks.push(Block::Items {
            key: key("steps"),
            items: ours.steps.iter().map(ToString::to_string).collect(),
        });
        blocks.push(text(&key("log"), Basis::Measured, format!("Write down: {}", ours.log)));
    } else if let Some(own) = own {
        blocks.extend(theirs(own, &key));
    }
    blocks
        .extend(drill.note.as_ref().map(|note| text(&key("note"), Basis::Measured, format!("Note: {note}"))));
    blocks
}

/// A coach's own drill.
fn theirs(own: &Drill, key: &dyn Fn(&str) -> String) -> Vec<Block> {
    let mut blocks = Vec::new();
    blocks.extend(own.how.as_ref().map(|how| Block::Markup { key: key("how"), text: how.to_string() }));
    for (part, head, of) in [("equipment", "You need", &own.equipment), ("log", "Write down", &own.log)] {
        blocks.extend(of.as_ref().map(|of| text(&key(part), Basis::Measured, format!("{head}: {of}"))));
    }
    blocks.extend(own.care.as_ref().map(|care| Block::Caution { key: key("care"), text: care.to_string() }));
    blocks
}

/// What to do on a day.
pub fn today_page(student: &str, now: &Today, stop: bool, drills: &[Drill]) -> Page {
    let mut blocks = Vec::new();
    if stop {
        blocks.push(Block::Caution { key: "stop".into(), text: say::PAIN.into() });
    }
    if now.outside_plan {
        blocks.push(text(
            "outside",
            Basis::Measured,
            "The plan has not begun yet, or has ended: ask for the next one.",
        ));
    }
    if now.warm_up {
        blocks.push(heading("warm-up", "1. Warm up"));
        blocks.push(Block::Items {
            key: "warm-up.steps".into(),
            items: texts::WARM_UP.iter().map(ToString::to_string).collect(),
        });
        blocks.push(text("warm-up.why", Basis::Measured, texts::WARM_UP_WHY));
    }
    blocks.extend(say::today_speed(now).map(|line| text("speed", Basis::Measured, line)));
    let shift = usize::from(now.warm_up) + 1;
    let (to_do, rest): (Vec<_>, Vec<_>) = now.drills.iter().partition(|item| item.sets_left > 0);
    for (n, item) in to_do.iter().enumerate() {
        let mut how = how_to(&item.drill, drills.iter().find(|own| own.name.as_str() == item.drill.name));
        if let Some(Block::Heading { text, .. }) = how.first_mut() {
            *text = format!("{}. {text}", n + shift);
        }
        how.insert(1, text(&format!("now.{}", item.drill.planned.0), Basis::Measured, say::now(item)));
        blocks.extend(how);
        let care = item.drill.stock.map(texts::cautions).unwrap_or_default();
        blocks.extend(cautions(
            &format!("care.{}", item.drill.planned.0),
            care.into_iter().map(str::to_owned).collect(),
        ));
    }
    if to_do.is_empty() {
        blocks.push(text("nothing", Basis::Measured, "Nothing more to do today."));
    }
    if !rest.is_empty() {
        blocks.push(heading("rest", "Not now"));
        let items = rest.iter().map(|item| format!("{}: {}.", item.drill.name, say::now(item))).collect();
        blocks.push(Block::Items { key: "rest.items".into(), items });
    }
    Page { title: "Today".into(), subtitle: format!("{student} · {}", day(now.day)), blocks }
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

/// All drills: ours, then the coach's own.
pub fn drills_page(own: &[Drill]) -> Page {
    let ours = catalogue::ALL.iter().map(|stock| Row {
        name: texts::text(stock.drill).name.into(),
        basis: Basis::Measured,
        cells: vec![stock.purpose.word().into(), range(stock), texts::exit(stock.drill)],
    });
    let theirs = own.iter().map(|drill| Row {
        name: drill.name.to_string(),
        basis: Basis::Measured,
        cells: vec![
            drill.purpose.map_or_else(String::new, |purpose| purpose.word().into()),
            "your own".into(),
            drill
                .goal
                .map_or_else(String::new, |goal| format!("Judged by: {}.", say::goal(goal).to_lowercase())),
        ],
    });
    let table = Block::Table {
        key: "drills".into(),
        alt: "Drills, what each is for, how much of it, and when it is done with".into(),
        columns: ["Drill", "For", "Usual, and from least to most", "Exit"].map(str::to_owned).to_vec(),
        rows: ours.chain(theirs).collect(),
    };
    let note = text(
        "evidence",
        Basis::Assumed,
        "All of these are common practice: no study of one of them was found.",
    );
    Page { title: "Drills".into(), subtitle: "Our catalogue and your own".into(), blocks: vec![table, note] }
}

fn range(stock: &catalogue::Stock) -> String {
    let [sets, repetitions, times] = [stock.sets, stock.repetitions, stock.times];
    let span =
        |[low, _, high]: [i64; 3]| if low == high { low.to_string() } else { format!("{low} to {high}") };
    format!(
        "{} x {}, {} ({} x {}, {} a week)",
        sets[1],
        repetitions[1],
        times_a_week(times[1]),
        span(sets),
        span(repetitions),
        span(times)
    )
}

/// One drill of the catalogue in full.
pub fn drill_page(drill: StockDrill) -> Page {
    let (words, data) = (texts::text(drill), stock(drill));
    let mut blocks = vec![
        text("what", Basis::Measured, words.what),
        Block::Items { key: "steps".into(), items: words.steps.iter().map(ToString::to_string).collect() },
        text("equipment", Basis::Measured, format!("You need: {}", words.equipment)),
        text("log", Basis::Measured, format!("Write down: {}", words.log)),
        text("dose", Basis::Assumed, format!("How much: {}.", range(data))),
        text("exit", Basis::Measured, texts::exit(drill)),
        text("evidence", Basis::Assumed, texts::COMMON_PRACTICE),
    ];
    blocks.extend(cautions("care", texts::cautions(drill).into_iter().map(str::to_owned).collect()));
    Page {
        title: words.name.into(),
        subtitle: format!("{} · {}", data.purpose.word(), data.effort.word()),
        blocks,
    }
}

/// A drill of one's own in full.
pub fn own_drill_page(drill: &Drill) -> Page {
    let effort = drill.effort.map(Effort::word);
    let said: Vec<&str> = drill.purpose.map(Purpose::word).into_iter().chain(effort).collect();
    Page {
        title: drill.name.to_string(),
        subtitle: said.join(" · "),
        blocks: theirs(drill, &|part| part.to_owned()),
    }
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
