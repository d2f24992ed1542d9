//! Drills as pages: all of them, one in full, and how to do one of a plan.
//!
//! Our own words for ours, the coach's for theirs. Start at [`drill_page`] and [`how_to`].

use std::collections::BTreeMap;

use super::block::{Basis, Block, Page, Row};
use crate::model::{Drill, Effort, Purpose, RecordId, StockDrill};
use crate::plan::{ShownDrill, catalogue, stock};
use crate::words::drill as texts;
use crate::words::number::times_a_week;
use crate::words::plan as say;

/// Drills' own records.
pub type Records = BTreeMap<RecordId, Drill>;

pub(super) fn heading(key: &str, text: &str) -> Block {
    Block::Heading { key: key.into(), text: text.into() }
}

pub(super) fn text(key: &str, basis: Basis, text: impl Into<String>) -> Block {
    Block::Text { key: key.into(), basis, text: text.into() }
}

pub(super) fn cautions(key: &str, lines: Vec<String>) -> impl Iterator<Item = Block> {
    let key = key.to_owned();
    lines.into_iter().enumerate().map(move |(n, text)| Block::Caution { key: format!("{key}.{n}"), text })
}

/// The general cautions of a planned drill; those that somebody wrote stand with its text.
pub(super) fn general_care(drill: &ShownDrill) -> Vec<&'static str> {
    texts::care(drill.stock, drill.effort, drill.two_sided)
}

/// How to do a drill of a plan, and when it is done with.
pub(super) fn how_to(drill: &ShownDrill, own: Option<&Drill>) -> Vec<Block> {
    let key = |part: &str| format!("how.{}.{part}", drill.planned.0);
    let mut blocks = vec![heading(&key("name"), &drill.name)];
    if let Some(ours) = drill.stock.map(texts::text) {
        let needed = format!("{} {}", ours.what, texts::labelled("You need", ours.equipment));
        blocks.push(text(&key("what"), Basis::Measured, needed));
        blocks.push(Block::Steps {
            key: key("steps"),
            items: ours.steps.iter().map(ToString::to_string).collect(),
        });
        blocks.push(text(&key("log"), Basis::Measured, texts::labelled("Write down", ours.log)));
    } else if let Some(own) = own {
        blocks.extend(theirs(own, &key));
    }
    let exit = own.and_then(catalogue::goal_of);
    blocks.extend(exit.map(|(goal, exit)| text(&key("exit"), Basis::Measured, texts::exit_of(goal, exit))));
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
        Block::Steps { key: "steps".into(), items: words.steps.iter().map(ToString::to_string).collect() },
        text("equipment", Basis::Measured, texts::labelled("You need", words.equipment)),
        text("log", Basis::Measured, texts::labelled("Write down", words.log)),
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
    let mut blocks = theirs(drill, &|part| part.to_owned());
    let exit = catalogue::goal_of(drill).map(|(goal, exit)| texts::exit_of(goal, exit));
    blocks.extend(exit.map(|exit| text("exit", Basis::Measured, exit)));
    let full = drill.effort == Some(Effort::FullSpeed) || drill.purpose == Some(Purpose::Speed);
    let effort = if full { Effort::FullSpeed } else { drill.effort.unwrap_or(Effort::Normal) };
    let care = texts::care(None, effort, drill.two_sided);
    blocks.extend(cautions("general", care.into_iter().map(str::to_owned).collect()));
    Page { title: drill.name.to_string(), subtitle: said.join(" · "), blocks }
}
