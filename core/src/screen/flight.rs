//! One flight as a page: its figures in both systems of units, what was taken
//! for granted, what is out of bounds, and how far to trust it.

use super::block::{Basis, Block, Page, Row};
use crate::flight::Figures;
use crate::words::flight as say;

/// What a page about one flight says beside its figures.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Beside {
    /// What was given, in one line.
    pub given: String,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What is out of bounds.
    pub warnings: Vec<String>,
}

/// One flight as a page.
pub fn flight_page(figures: &Figures, beside: &Beside) -> Page {
    let rows = say::figures(figures)
        .into_iter()
        .map(|told| Row {
            name: told.name.into(),
            basis: if told.assumed { Basis::Assumed } else { Basis::Inferred },
            cells: vec![told.metric, told.imperial],
        })
        .collect();
    let mut blocks = vec![Block::Table {
        key: "figures".into(),
        alt: "The flight's figures, metric and imperial".into(),
        columns: ["Figure", "Metric", "Imperial"].map(str::to_owned).to_vec(),
        rows,
    }];
    let text = |key: &str, basis| {
        let key = key.to_owned();
        move |(n, text): (usize, &String)| Block::Text {
            key: format!("{key}.{n}"),
            basis,
            text: text.clone(),
        }
    };
    blocks.extend(
        beside
            .warnings
            .iter()
            .enumerate()
            .map(|(n, warning)| Block::Caution { key: format!("warning.{n}"), text: warning.clone() }),
    );
    blocks.push(Block::Heading { key: "trust".into(), text: "How far to trust it".into() });
    blocks.extend(say::trust(figures).iter().enumerate().map(text("trust", Basis::Inferred)));
    blocks.extend(beside.assumed.iter().enumerate().map(text("assumed", Basis::Assumed)));
    Page { title: "Flight".into(), subtitle: beside.given.clone(), blocks }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Conditions, FiveConstantLaw, Flier, Launch};

    #[test]
    fn a_page_shows_warnings_and_assumptions_as_what_they_are() {
        let law = FiveConstantLaw::ODS_FIT;
        let launch = Launch {
            ball_speed_mps: 66.1,
            launch_deg: 10.3,
            start_deg: 0.0,
            backspin_rpm: 2487.0,
            sidespin_rpm: 0.0,
            rifle_rpm: 0.0,
        };
        let flight = Flier::new(&law, &Conditions::default()).unwrap().fly(&launch).unwrap();
        let beside = Beside {
            given: "given".into(),
            assumed: vec!["a dry face".into()],
            warnings: vec!["too long".into()],
        };
        let page = flight_page(&Figures::of_flight(&launch, &flight), &beside);
        let cautions = page.blocks.iter().filter(|b| matches!(b, Block::Caution { .. })).count();
        let assumed = page
            .blocks
            .iter()
            .filter(|b| matches!(b, Block::Text { basis: Basis::Assumed, text, .. } if text == "a dry face"))
            .count();
        assert_eq!((cautions, assumed), (1, 1));
        let Some(Block::Table { rows, .. }) = page.blocks.first() else { panic!("no table") };
        assert!(rows.iter().any(|r| r.name == "Run on level turf" && r.basis == Basis::Assumed));
        assert!(!rows.iter().any(|r| r.name.starts_with("Band")), "no impact, no band");
    }
}
