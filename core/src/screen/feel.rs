//! A student's feel as a page.

use super::block::{Basis, Block, Page};
use crate::lesson::Feel;
use crate::words;

/// How well a student knows where they struck it.
pub fn feel_page(student: &str, feel: &Feel) -> Page {
    let blocks = words::feel::sentences(feel)
        .into_iter()
        .enumerate()
        .map(|(n, text)| {
            let assumed = !feel.felt_sigma_mm.own && text.contains("which is assumed");
            let basis = if assumed { Basis::Assumed } else { Basis::Inferred };
            Block::Text { key: format!("says.{n}"), basis, text }
        })
        .collect();
    let subtitle = format!("{student} · the guess before the look · ranges of 90 %");
    Page { title: "Feel".into(), subtitle, blocks }
}
