//! Sentences of a trial: the next ball, what it could see, what came of it.
//!
//! The rule: no sentence of a difference without its range and its balls; what
//! was not judged by calls nothing. Start at [`next`] and [`headline`].

use super::number::{count, counted, day, fixed, percent};
use crate::flight::club::{LOCAL_RULE_LENGTH_M, LONGEST_CLUB_M, SHORTEST_CLUB_M};
use crate::lesson::trial::{Foresight, MeasureFound, Source, Standing, TrialResult};
use crate::model::units::INCH_IN_M;
use crate::model::{Measure, TrialKind, UnitSystem};

/// A size of a measure with its unit: `6.0 yd`, `3.1 mm`.
pub fn size(measure: Measure, units: UnitSystem, value: f64) -> String {
    let (value, unit) = match measure {
        Measure::Carry => units.distance(value),
        Measure::HeadSpeed => units.speed(value),
        Measure::Miss => (value, "mm"),
        Measure::StartSpread => (value, "°"),
    };
    let space = if unit == "°" { "" } else { " " };
    format!("{}{space}{unit}", fixed(value, 1))
}

/// What a measure is called at the head of a row.
pub fn measure_name(measure: Measure) -> &'static str {
    match measure {
        Measure::Carry => "Carry",
        Measure::Miss => "Strike from the target point",
        Measure::HeadSpeed => "Head speed",
        Measure::StartSpread => "Start from the middle one",
    }
}

/// What a measure is called in a sentence.
fn measured(measure: Measure) -> &'static str {
    match measure {
        Measure::Carry => "carry",
        Measure::Miss => "how far strikes lie from the target point",
        Measure::HeadSpeed => "head speed",
        Measure::StartSpread => "how far starts lie from the middle one",
    }
}

/// `3.1 mm less`, `5.0 m more`.
fn difference(measure: Measure, units: UnitSystem, value: f64) -> String {
    format!("{} {}", size(measure, units, value.abs()), if value < 0.0 { "less" } else { "more" })
}

/// `3.1 mm less (from 5.0 mm less to 1.2 mm less)`.
pub fn difference_cell(units: UnitSystem, found: &MeasureFound) -> String {
    let (measure, d) = (found.measure, &found.difference);
    let say = |value| difference(measure, units, value);
    match (d.low, d.high) {
        (Some(low), Some(high)) => format!("{} (from {} to {})", say(d.estimate), say(low), say(high)),
        _ => format!("{} (too few balls for a range)", say(d.estimate)),
    }
}

/// The line under the title.
pub fn subtitle(standing: &Standing) -> String {
    format!(
        "{} or {} · {} blocks of {} in random order · judged by {} · begun on {}",
        standing.arms[0],
        standing.arms[1],
        standing.blocks,
        count(standing.balls_a_block.into(), "ball"),
        measured(standing.measure),
        day(standing.day)
    )
}

/// Which ball is next and how to hit it.
pub fn next(standing: &Standing) -> String {
    let Some(next) = standing.next else {
        return match standing.ended {
            Some(on) => format!("The trial was ended on {}; {} were hit.", day(on), balls(standing)),
            None => format!("The trial is over: {} were hit.", balls(standing)),
        };
    };
    let name = standing.name(next.arm);
    format!(
        "Ball {} of {}, block {} of {}: {name}.",
        next.ball.get(),
        standing.balls,
        next.block,
        standing.blocks
    )
}

fn balls(standing: &Standing) -> String {
    format!("{} of {}", standing.hit, count(standing.balls.into(), "ball"))
}

/// What a trial could see.
pub fn foresight(units: UnitSystem, blocks: u16, balls: u16, seen: &Foresight) -> String {
    let sd = size(seen.measure, units, seen.ball_sd);
    let basis = if seen.assumed {
        format!("a spread of {sd} from ball to ball, which is assumed, as too few are logged")
    } else {
        format!("a spread of {sd} from ball to ball within a day, from {}", count(seen.balls.into(), "ball"))
    };
    format!(
        "With {blocks} blocks of {balls}, a true difference in {} of {} would be seen in four trials of five; a \
         smaller one may well be missed. That rests on {basis}.",
        measured(seen.measure),
        size(seen.measure, units, seen.seen_with_80_percent)
    )
}

/// Why nothing of the difference is told yet.
pub const WITHHELD: &str = "What differs is told when the last ball is hit: who looks earlier stops where luck looks \
     best. A ball that was lost or not read is hit again in the same way; one that can't be hit again is left out.";

/// What came of it, in one or two sentences.
pub fn headline(units: UnitSystem, result: &TrialResult) -> String {
    let standing = &result.standing;
    if result.withheld {
        return next(standing);
    }
    let Some(found) = result.measures.iter().find(|found| found.judged_by) else {
        return format!(
            "Nothing can be said: {} was not read of balls of both kinds in any block.",
            measured(standing.measure)
        );
    };
    let told = format!(
        "{} with {} than with {}, over {} in {}",
        difference_cell(units, found),
        standing.arms[1],
        standing.arms[0],
        count(u64::from(found.balls[0] + found.balls[1]), "ball"),
        counted(found.difference.blocks.into(), "block", "blocks"),
    );
    let measure = measure_name(found.measure);
    let chance =
        format!("Chance alone gives as much in {} of such trials.", percent(found.difference.p_value));
    match (result.better, standing.ended) {
        (Some(arm), _) => format!("{} is better. {measure}: {told}. {chance}", standing.name(arm)),
        (None, Some(_)) => format!("{measure}: {told}. The trial was ended early, so nothing is called."),
        (None, None) => format!(
            "No difference is proven, and none within the range is ruled out. {measure}: {told}. {chance}"
        ),
    }
}

/// What the figures rest on, a line each.
pub fn notes(result: &TrialResult) -> Vec<String> {
    let standing = &result.standing;
    let mut notes = Vec::new();
    if standing.left_out > 0 {
        notes.push(format!("{} left out.", counted(standing.left_out.into(), "ball was", "balls were")));
    }
    if standing.repeated > 0 {
        notes.push(format!(
            "{} hit more than once: the first of which the figure was read counts.",
            counted(standing.repeated.into(), "ball was", "balls were")
        ));
    }
    let alone: u32 = result.measures.iter().filter(|found| found.judged_by).map(|found| found.alone).sum();
    if alone > 0 {
        notes.push(format!(
            "{} not counted, as nothing in the same block could be compared with it.",
            counted(alone.into(), "ball is", "balls are")
        ));
    }
    if result.measures.iter().any(|found| found.source == Source::Computed) {
        notes.push(
            "Carry was not read of every ball, so all carries are computed from what else was read: \
             differences come out rather too small."
                .into(),
        );
    }
    if result.measures.len() > 1 {
        notes.push(format!(
            "The trial was set up to tell {}; the other rows are hints for a next trial and call nothing.",
            measured(standing.measure)
        ));
    }
    notes.extend(result.measures.iter().find(|found| found.judged_by).map(|found| {
        let orders = found.difference.orders;
        let which = if found.difference.exact { "all" } else { "drawn from all" };
        format!("Compared with {orders} orders in which the balls could have been hit ({which}); a range holds the truth 9 times in 10.")
    }));
    notes
}

/// What to be careful about with a trial of that kind.
pub fn cautions(kind: TrialKind, measure: Measure) -> Vec<String> {
    let mut cautions = vec![
        "Full swings: warm up first, nobody in front of or beside the swing, a rest after each block, stop on pain and \
         see a licensed professional. The rules of your range come first."
            .to_owned(),
    ];
    if matches!(kind, TrialKind::GrippedDown | TrialKind::Club | TrialKind::Other) {
        cautions.push(
            "Grip down first: it is undone at once. Only a club fitter cuts a club: swing weight and balance change \
             (about six swing-weight points an inch: common practice, no source), and a cut club stays cut."
                .into(),
        );
        let inches = |m: f64| fixed(m / INCH_IN_M, 0);
        cautions.push(format!(
            "Equipment Rules: a club is at least {} in long and a driver at most {} in; a committee may set {} in.",
            inches(SHORTEST_CLUB_M),
            inches(LONGEST_CLUB_M),
            inches(LOCAL_RULE_LENGTH_M)
        ));
    }
    if kind == TrialKind::GrippedDown {
        cautions.push(
            "Gripping down and a shorter club are not the same: the weight in the hands differs. The trial tells of \
             gripping down."
                .into(),
        );
    }
    if measure == Measure::Miss {
        cautions.push(
            "Powder spray: outdoors, away from faces, wiped off afterwards; in practice only (Rules of Golf 4.1a(3))."
                .into(),
        );
    }
    cautions
}
