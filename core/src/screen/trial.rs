//! A trial as a page: the next ball while it runs, the comparison when it is over.

use super::block::{Basis, Block, Page, Row};
use crate::lesson::trial::{Source, TrialResult};
use crate::model::UnitSystem;
use crate::words::trial as say;

/// A trial as a page, in the units that the student reads.
pub fn trial_page(result: &TrialResult, units: UnitSystem) -> Page {
    let standing = &result.standing;
    let text = |key: &str, basis, text| Block::Text { key: key.into(), basis, text };
    let headline = if result.withheld { Basis::Measured } else { Basis::Inferred };
    let mut blocks = vec![text("headline", headline, say::headline(units, result))];
    if result.withheld {
        blocks.push(text("withheld", Basis::Measured, say::WITHHELD.into()));
    }
    if let Some(seen) = &result.foresight {
        let basis = if seen.assumed { Basis::Assumed } else { Basis::Inferred };
        let told = say::foresight(units, standing.blocks, standing.balls_a_block, seen);
        blocks.push(text("foresight", basis, told));
    }
    if !result.withheld {
        if !result.measures.is_empty() {
            blocks.push(table(result, units));
        }
        let items = say::notes(result);
        if !items.is_empty() {
            blocks.push(Block::Items { key: "notes".into(), items });
        }
    }
    blocks.extend(
        say::cautions(standing.kind, standing.measure)
            .into_iter()
            .enumerate()
            .map(|(n, text)| Block::Caution { key: format!("caution.{n}"), text }),
    );
    Page { title: "Trial".into(), subtitle: say::subtitle(standing), blocks }
}

fn table(result: &TrialResult, units: UnitSystem) -> Block {
    let [first, second] = &result.standing.arms;
    let rows = result
        .measures
        .iter()
        .map(|found| {
            let mark = if found.judged_by { " (judged by)" } else { "" };
            let mean =
                |value: f64, balls: u32| format!("{} ({balls})", say::size(found.measure, units, value));
            Row {
                name: format!("{}{mark}", say::measure_name(found.measure)),
                basis: if found.source == Source::Read { Basis::Measured } else { Basis::Inferred },
                cells: vec![
                    mean(found.means[0], found.balls[0]),
                    mean(found.means[1], found.balls[1]),
                    say::difference_cell(units, found),
                ],
            }
        })
        .collect();
    Block::Table {
        key: "measures".into(),
        alt: format!("Means of both, with balls in brackets, and {second} less {first} with its 90 % range"),
        columns: vec![
            "Mean (balls)".into(),
            first.clone(),
            second.clone(),
            format!("{second} against {first}"),
        ],
        rows,
    }
}
