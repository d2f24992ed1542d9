//! What would help most, as a page.

use super::block::{Basis, Block, Page, Row};
use crate::chart::{
    Landing, LandingSet, Length, PHONE_WIDTH_MM, PartBar, PartsOfWhole, Scene, landing_chart, parts_chart,
    parts_glance,
};
use crate::lesson::what_if::Ranged;
use crate::lesson::{Parts, Standing, StudentModel, WhatIf, Worth};
use crate::model::UnitSystem;
use crate::words;
use crate::words::number::fixed;
use crate::words::what_if as say;

/// What would help most, as a page.
pub fn what_if_page(title: &str, worth: &Worth, units: UnitSystem) -> Page {
    let found = &worth.found;
    let mut blocks = vec![heading("most", &words::worth::fix_heading(worth))];
    fix_blocks(worth, units, &mut blocks);
    blocks.push(text("rests", Basis::Measured, say::rests_on(&found.model, &worth.left_out)));
    blocks.push(fixes_table(found, units));
    blocks.push(heading("lost", "Where distance and fairways go"));
    blocks.extend(shortfall_charts(found, units, PHONE_WIDTH_MM));
    blocks.push(text("lost.rule", Basis::Assumed, say::SPLIT.into()));
    blocks.push(heading("today", "Today"));
    blocks.extend(
        landings(found, units, PHONE_WIDTH_MM)
            .map(|scene| Block::Chart { key: "today.landings".into(), scene }),
    );
    blocks.push(today_table(found, units));
    blocks.push(swing_table(&found.model));
    if !found.combinations.is_empty() {
        blocks.push(heading("together", "Two at once, not ranked"));
        blocks.push(together_table(found, units));
    }
    blocks.push(heading("assumed", "Taken for granted"));
    let assumed = say::assumed(&found.want);
    blocks.push(Block::Items { key: "assumed.items".into(), items: assumed });
    blocks.push(Block::Caution { key: "caution".into(), text: say::CAUTION.into() });
    Page {
        title: title.into(),
        subtitle: format!("What would help most, {}", say::care(found.want.care)),
        blocks,
    }
}

/// The fix worth most as far as it can be called, the next one, and what to read to be sure.
pub(super) fn fix_blocks(worth: &Worth, units: UnitSystem, blocks: &mut Vec<Block>) {
    // What stands on nothing that was read is an assumption, however it was computed.
    let basis = if worth.standing == Standing::Assumed { Basis::Assumed } else { Basis::Inferred };
    let found = &worth.found;
    blocks.extend(words::worth::not_settled(worth).map(|said| text("fix.open", Basis::Measured, said)));
    blocks.push(text("fix.most", basis, say::most(found, units)));
    blocks.extend(say::runner_up(found, units).map(|said| text("fix.next", basis, said)));
    blocks.extend(words::worth::read_next(worth).map(|said| text("fix.read", Basis::Assumed, said)));
}

fn heading(key: &str, text: &str) -> Block {
    Block::Heading { key: key.into(), text: text.into() }
}

fn text(key: &str, basis: Basis, text: String) -> Block {
    Block::Text { key: key.into(), basis, text }
}

fn table(key: &str, alt: &str, columns: &[&str], rows: Vec<Row>) -> Block {
    let columns = columns.iter().map(|&column| column.to_owned()).collect();
    Block::Table { key: key.into(), alt: alt.into(), columns, rows }
}

fn fixes_table(found: &WhatIf, units: UnitSystem) -> Block {
    let rows = found
        .fixes
        .iter()
        .map(|fix| Row {
            name: format!("{}. {}", fix.rank, say::fix(fix.name)),
            basis: Basis::Inferred,
            cells: vec![
                say::changes(&fix.gain.change, units),
                say::carry_gain(fix.gain.carry_gain_m, units),
                say::share_change(fix.gain.fairway_gain),
                say::share_change(fix.gain.trouble_change),
            ],
        })
        .collect();
    let columns = ["Fix", "What changes (assumed size)", "Carry", "Fairways in 100", "In trouble in 100"];
    table("fixes", "Fixes by rank, with what each changes and 90 % ranges", &columns, rows)
}

fn together_table(found: &WhatIf, units: UnitSystem) -> Block {
    let rows = found
        .combinations
        .iter()
        .map(|both| Row {
            name: capitalised(&say::fixes(&both.names)),
            basis: Basis::Inferred,
            cells: vec![
                say::carry_gain(both.gain.carry_gain_m, units),
                say::share_change(both.gain.fairway_gain),
                say::share_change(both.gain.trouble_change),
            ],
        })
        .collect();
    let columns = ["Together", "Carry", "Fairways in 100", "In trouble in 100"];
    table("together.table", "Pairs of fixes with 90 % ranges", &columns, rows)
}

fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn today_table(found: &WhatIf, units: UnitSystem) -> Block {
    let today = &found.today;
    let row = |name: &str, cell: String| Row { name: name.into(), basis: Basis::Inferred, cells: vec![cell] };
    let rows = vec![
        row("Carry, mean", say::distance(today.carry_m, units)),
        row("Spread across, standard deviation", say::distance(today.spread_m, units)),
        row("On the fairway", say::share(today.fairway_rate)),
        row("In trouble", say::share(today.trouble_rate)),
    ];
    table("today.table", "Today's drives with 90 % ranges", &["Today", "90 % range in brackets"], rows)
}

/// The swing behind it; a number that rests on less than one ball is assumed.
fn swing_table(model: &StudentModel) -> Block {
    let each = model.quantities.iter().zip(model.mean.iter().zip(&model.mean_sigma));
    let rows = each
        .zip(model.sd.iter().zip(&model.sd_sigma).zip(&model.worth))
        .map(|((name, (mean, mean_sigma)), ((sd, sd_sigma), worth))| {
            let (name, unit) = say::quantity(name);
            let cell = |value: f64, error: f64| format!("{} ± {} {unit}", fixed(value, 1), fixed(error, 1));
            let basis = if *worth < 1.0 { Basis::Assumed } else { Basis::Inferred };
            Row { name: name.into(), basis, cells: vec![cell(*mean, *mean_sigma), cell(*sd, *sd_sigma)] }
        })
        .collect();
    let columns = ["The swing behind it", "Mean", "Ball to ball"];
    table("swing", "The swing behind it: means and standard deviations with standard errors", &columns, rows)
}

/// Two charts: carry and fairways lost to each cause.
pub(super) fn shortfall_charts(found: &WhatIf, units: UnitSystem, width_mm: f64) -> Vec<Block> {
    let (_, unit) = units.distance(0.0);
    let in_hundred = |parts: &Parts<Ranged>| {
        let of =
            |r: Ranged| Ranged { estimate: 100.0 * r.estimate, low: 100.0 * r.low, high: 100.0 * r.high };
        Parts {
            contact: of(parts.contact),
            speed: of(parts.speed),
            face: of(parts.face),
            whole: of(parts.whole),
        }
    };
    let of = |r: Ranged| Ranged {
        estimate: units.distance(r.estimate).0,
        low: units.distance(r.low).0,
        high: units.distance(r.high).0,
    };
    let carry = &found.shortfall.carry_m;
    let carry = Parts {
        contact: of(carry.contact),
        speed: of(carry.speed),
        face: of(carry.face),
        whole: of(carry.whole),
    };
    let fairways = in_hundred(&found.shortfall.fairway_rate);
    [
        ("lost.carry", "Carry lost", format!("{unit}, with 90 % ranges"), carry, format!(" {unit}")),
        ("lost.fairways", "Fairways lost", "of 100 drives, with 90 % ranges".into(), fairways, String::new()),
    ]
    .into_iter()
    .filter_map(|(key, title, subtitle, parts, unit)| {
        let scene = shortfall_chart(title, &subtitle, &parts, &unit, width_mm)?;
        Some(Block::Chart { key: key.into(), scene })
    })
    .collect()
}

fn shortfall_chart(
    title: &str,
    subtitle: &str,
    parts: &Parts<Ranged>,
    unit: &str,
    width_mm: f64,
) -> Option<Scene> {
    let figure = |r: Ranged| format!("{}{unit}", fixed(r.estimate, 1).replace('-', "−"));
    let named = [
        ("to contact", parts.contact),
        ("to speed", parts.speed),
        ("to the face", parts.face),
        ("in all", parts.whole),
    ]
    .map(|(label, part)| (label, part, figure(part)));
    let bars: Vec<PartBar<'_>> = named
        .iter()
        .map(|(label, part, figure)| PartBar {
            label,
            value: part.estimate,
            range: (part.low, part.high),
            figure,
        })
        .collect();
    parts_chart(&PartsOfWhole { title, subtitle, bars: &bars, caption: "", width_mm }).ok()
}

/// Carry lost to each cause, at a glance.
pub(super) fn lost_glance(found: &WhatIf, units: UnitSystem, width_mm: f64) -> Option<Scene> {
    let carry = &found.shortfall.carry_m;
    let parts = [("to contact", carry.contact), ("to speed", carry.speed), ("to the face", carry.face)];
    let figures = parts.map(|(_, part)| say::lost(part, units));
    let bars: Vec<PartBar<'_>> = parts
        .iter()
        .zip(&figures)
        .map(|((label, part), figure)| PartBar {
            label,
            value: part.estimate,
            range: (part.low, part.high),
            figure,
        })
        .collect();
    let title = "Carry lost";
    parts_glance(&PartsOfWhole { title, subtitle: "", bars: &bars, caption: "", width_mm }).ok()
}

/// Where some of today's drives come down.
pub(super) fn landings(found: &WhatIf, units: UnitSystem, width_mm: f64) -> Option<Scene> {
    landing_chart(&Landing {
        title: "Where today's drives come down",
        unit: match units {
            UnitSystem::Metric => Length::Metres,
            UnitSystem::Imperial => Length::Yards,
        },
        sets: &[LandingSet { label: "Computed drives", balls: &found.landings }],
        scatter: crate::flight::scatter(&found.landings).map(|s| crate::chart::LandingScatter {
            carry_m: s.carry_m,
            lateral_m: s.lateral_m,
            one_sigma: oval(s.one_sigma),
            oval95: oval(s.oval95),
        }),
        fairway_m: Some(found.want.fairway_m),
        caption: "",
        width_mm,
    })
    .ok()
}

fn oval(oval: crate::flight::Oval) -> crate::chart::LandingOval {
    crate::chart::LandingOval {
        semi_major_m: oval.semi_major_m,
        semi_minor_m: oval.semi_minor_m,
        right_deg: oval.right_deg,
    }
}
