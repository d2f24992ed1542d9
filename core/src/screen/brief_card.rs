//! The brief on one screen of a phone: a few lines and two small drawings.
//!
//! The rule: it fits 360 x 640 CSS pixels without scrolling (a test draws it), and
//! says nothing that the page doesn't. Start at [`brief_card`].

use super::block::{Basis, Block, Page};
use super::brief::text;
use super::brief_details::face;
use super::what_if::lost_glance;
use crate::chart::{PHONE_WIDTH_MM, face_glance};
use crate::lesson::{Brief, Standing};
use crate::words::card::{About, lines};
use crate::words::number::{count, day};

/// Width of a drawing between the margins of a phone's screen, mm.
const DRAWING_MM: f64 = PHONE_WIDTH_MM - 8.0;

/// The brief on one screen.
pub fn brief_card(brief: &Brief) -> Page {
    let mut blocks: Vec<Block> = lines(brief)
        .into_iter()
        .map(|(about, line)| {
            let (key, basis) = match about {
                About::Changed => ("card.changed", Basis::Inferred),
                About::Lost => ("card.lost", Basis::Inferred),
                About::Fix => ("card.fix", fix_basis(brief)),
                About::Plan => ("card.plan", Basis::Measured),
                About::Tee => ("card.tee", Basis::Measured),
            };
            text(key, basis, line)
        })
        .collect();
    let title = if brief.now.is_some() { "Strikes now, baseline broken" } else { "Strikes at the baseline" };
    if let Some(scene) = brief.latest().and_then(|span| face(brief, span, title, DRAWING_MM, face_glance)) {
        blocks.push(Block::Chart { key: "card.face".into(), scene });
    }
    if let Some(scene) =
        brief.what_if.as_ref().and_then(|worth| lost_glance(&worth.found, brief.units, DRAWING_MM))
    {
        blocks.push(Block::Chart { key: "card.lost.parts".into(), scene });
    }
    let subtitle = format!(
        "{} in {} · {}",
        count(brief.balls.into(), "ball"),
        count(brief.sessions.into(), "session"),
        day(brief.as_of)
    );
    Page { title: brief.student.clone(), subtitle, blocks }
}

fn fix_basis(brief: &Brief) -> Basis {
    match brief.what_if.as_ref().map(|worth| worth.standing) {
        Some(Standing::Assumed) => Basis::Assumed,
        _ => Basis::Inferred,
    }
}
