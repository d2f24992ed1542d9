//! What to do now, and a drill while it is being done.
//!
//! Nothing ticks here: what is left of a rest is told for the moment of the page. Start
//! at [`today_page`].

use super::block::{Basis, Block, Page};
use super::drill::{Records, cautions, general_care, heading, how_to, text};
use crate::model::Moment;
use crate::plan::{Today, TodayDrill};
use crate::words::drill as texts;
use crate::words::number::day;
use crate::words::plan as say;
use crate::words::today as now_say;

/// What to do on a day, at a moment of it.
pub fn today_page(student: &str, now: &Today, stop: bool, at: Moment, drills: &Records) -> Page {
    let mut blocks = Vec::new();
    if stop {
        blocks.push(Block::Caution { key: "stop".into(), text: say::PAIN.into() });
    }
    if now.outside_plan {
        blocks.push(text("outside", Basis::Measured, now_say::OUTSIDE));
    }
    if now.warm_up {
        blocks.push(heading("warm-up", "1. Warm up"));
        blocks.push(Block::Items {
            key: "warm-up.steps".into(),
            items: texts::WARM_UP.iter().map(ToString::to_string).collect(),
        });
        blocks.push(text("warm-up.why", Basis::Measured, texts::WARM_UP_WHY));
    }
    blocks.extend(now_say::speed(now).map(|line| text("speed", Basis::Measured, line)));
    let shift = usize::from(now.warm_up) + 1;
    let (to_do, rest): (Vec<_>, Vec<_>) =
        now.drills.iter().partition(|item| item.repetitions_left() > 0 || item.going.is_some());
    let mut said: Vec<String> = Vec::new();
    for (n, item) in to_do.iter().enumerate() {
        let mut how = doing(item, at, drills);
        // What to be careful about is read once, where it first matters.
        how.retain(|block| match block {
            Block::Caution { text, .. } if said.contains(text) => false,
            Block::Caution { text, .. } => {
                said.push(text.clone());
                true
            }
            _ => true,
        });
        if let Some(Block::Heading { text, .. }) = how.first_mut() {
            *text = format!("{}. {text}", n + shift);
        }
        blocks.extend(how);
    }
    if to_do.is_empty() {
        blocks.push(text("nothing", Basis::Measured, "Nothing more to do today."));
    }
    if !rest.is_empty() {
        blocks.push(heading("rest", "Not now"));
        let items = rest.iter().map(|item| format!("{}: {}.", item.drill.name, now_say::now(item))).collect();
        blocks.push(Block::Items { key: "rest.items".into(), items });
    }
    Page { title: "Today".into(), subtitle: format!("{student} · {}", day(now.day)), blocks }
}

/// One drill while it is being done.
pub fn doing_page(item: &TodayDrill, at: Moment, drills: &Records) -> Page {
    let mut blocks = doing(item, at, drills);
    blocks.remove(0);
    Page { title: item.drill.name.clone(), subtitle: day(at.local_day()), blocks }
}

/// A drill with what to do of it now, where the student is in it, and its cautions.
fn doing(item: &TodayDrill, at: Moment, drills: &Records) -> Vec<Block> {
    let key = |part: &str| format!("{part}.{}", item.drill.planned.0);
    let mut blocks = how_to(&item.drill, drills.get(&item.drill.drill));
    if let Some(going) = &item.going {
        for block in &mut blocks {
            if let Block::Steps { items, .. } = block {
                now_say::mark_steps(items, going);
            }
        }
        let lines = now_say::going(item, going, at);
        blocks.insert(1, Block::Items { key: key("going"), items: lines });
    }
    blocks.insert(1, text(&key("now"), Basis::Measured, format!("{}.", now_say::now(item))));
    let care = general_care(&item.drill).into_iter().map(str::to_owned).collect();
    blocks.extend(cautions(&key("care"), care));
    blocks
}
