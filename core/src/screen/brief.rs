//! The brief as a page of blocks, in the order in which a coach thinks: what
//! changed, where yards and fairways go, the fix, the plan, the tee, cautions.
//! Details stand below (`brief_details`).
//!
//! The rule: what is said first is what the day's lesson turns on; each sentence
//! has its figure, its certainty and its count beside it. Start at [`brief_page`].

use super::block::{Basis, Block, Page, Row};
use super::brief_details::{details, face_of, trend_of};
use super::compare::{changed_blocks, foremost_season};
use super::what_if::{fix_blocks, shortfall_charts};
use crate::lesson::Brief;
use crate::words;
use crate::words::{brief as say, on_the_tee, plan_done, worth};

/// Two charts of this width stand side by side in a column of a sheet of paper.
pub(super) const HALF_MM: f64 = 62.0;

/// The brief as a page.
pub fn brief_page(brief: &Brief) -> Page {
    let mut blocks = Vec::new();
    changes(brief, &mut blocks);
    lost(brief, &mut blocks);
    fix(brief, &mut blocks);
    plan(brief, &mut blocks);
    if !brief.check_today.is_empty() {
        blocks.push(heading("tee", "To check on the tee today"));
        let items = brief.check_today.iter().map(on_the_tee::check).collect();
        blocks.push(Block::Items { key: "tee.items".into(), items });
    }
    blocks.push(Block::Caution { key: "caution".into(), text: say::CAUTION.into() });
    details(brief, &mut blocks);
    Page { title: brief.student.clone(), subtitle: say::subtitle(brief), blocks }
}

pub(super) fn heading(key: &str, text: &str) -> Block {
    Block::Heading { key: key.into(), text: text.into() }
}

pub(super) fn text(key: &str, basis: Basis, text: String) -> Block {
    Block::Text { key: key.into(), basis, text }
}

fn changes(brief: &Brief, blocks: &mut Vec<Block>) {
    match &brief.changed {
        Some(changed) => changed_blocks(changed, blocks),
        None => blocks.push(heading("changed", "Strikes")),
    }
    if let Some(span) = brief.latest() {
        let name = if brief.now.is_some() { "Now" } else { "Baseline" };
        let says = words::pattern::headline(&span.pattern);
        blocks.push(text("strikes.says", Basis::Inferred, format!("{name}: {says}")));
    }
    if let Some(scene) = face_of(brief, HALF_MM) {
        blocks.push(Block::Chart { key: "strikes.face".into(), scene });
    }
    // Beside the face: the season of looks, or the miss by session before there is one.
    if let Some(scene) = brief.changed.as_ref().and_then(|changed| foremost_season(changed, HALF_MM)) {
        blocks.push(Block::Chart { key: "changed.season".into(), scene });
    } else if let Some(scene) = trend_of(brief, HALF_MM) {
        blocks.push(Block::Chart { key: "strikes.trend".into(), scene });
    }
}

fn lost(brief: &Brief, blocks: &mut Vec<Block>) {
    let Some(found) = &brief.what_if else { return };
    blocks.push(heading("lost", "Where distance and fairways go"));
    blocks.push(text("lost.says", Basis::Inferred, worth::lost(found, brief.units)));
    blocks.push(text("lost.rests", Basis::Measured, worth::rests_on(found)));
    blocks.extend(shortfall_charts(&found.found, brief.units, HALF_MM));
}

fn fix(brief: &Brief, blocks: &mut Vec<Block>) {
    let Some(found) = &brief.what_if else { return };
    blocks.push(heading("fix", &worth::fix_heading(found)));
    fix_blocks(found, brief.units, blocks);
    blocks.push(text("fix.size", Basis::Assumed, worth::SIZE.into()));
}

fn plan(brief: &Brief, blocks: &mut Vec<Block>) {
    let Some(plan) = &brief.plan else { return };
    blocks.push(heading("practice", "Was the plan done, and did it work"));
    blocks.push(text("practice.aim", Basis::Measured, plan_done::aim(plan)));
    blocks.push(text("practice.done", Basis::Measured, plan_done::done(plan)));
    let effects = plan_done::effects(brief, plan).join(" ");
    if !effects.is_empty() {
        blocks.push(text("practice.worked", Basis::Inferred, effects));
    }
    if !plan.drills.is_empty() {
        let row = |drill: &crate::lesson::DrillDone| Row {
            name: drill.drill.clone(),
            basis: Basis::Measured,
            cells: vec![plan_done::dose(drill), plan_done::drill_done(drill)],
        };
        blocks.push(Block::Table {
            key: "practice.table".into(),
            alt: "What the plan asked for and what was logged of it".into(),
            columns: ["Drill", "Dose", "Done so far"].map(str::to_owned).to_vec(),
            rows: plan.drills.iter().map(row).collect(),
        });
    }
    for (n, conflict) in brief.conflicts.iter().enumerate() {
        blocks.push(Block::Caution { key: format!("practice.conflict.{n}"), text: say::conflict(conflict) });
    }
}
