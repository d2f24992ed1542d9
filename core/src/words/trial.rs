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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::trial::{NextBall, Randomised};
    use crate::model::{Arm, BallNo, Day, RecordId};

    fn result(p_value: f64, estimate: f64) -> TrialResult {
        let standing = Standing {
            id: RecordId(uuid::Uuid::from_u128(1)),
            day: Day::parse("2026-05-04").unwrap(),
            kind: TrialKind::TeeHeight,
            arms: ["tee 40 mm".into(), "tee 30 mm".into()],
            measure: Measure::Miss,
            blocks: 6,
            balls_a_block: 4,
            balls: 24,
            hit: 24,
            left_out: 0,
            repeated: 0,
            ended: None,
            next: None,
        };
        let difference = Randomised {
            estimate,
            low: Some(estimate - 2.0),
            high: Some(estimate + 2.0),
            p_value,
            orders: 46_656,
            exact: true,
            blocks: 6,
        };
        let found = MeasureFound {
            measure: Measure::Miss,
            judged_by: true,
            source: Source::Read,
            balls: [12, 12],
            alone: 0,
            means: [9.0, 9.0 + estimate],
            difference,
        };
        TrialResult { standing, withheld: false, measures: vec![found], better: None, foresight: None }
    }

    #[test]
    fn what_is_called_is_named_with_its_range_and_what_is_not_is_not_denied() {
        let mut called = result(0.004, -3.0);
        called.better = Some(Arm::Second);
        assert_eq!(
            headline(UnitSystem::Metric, &called),
            "tee 30 mm is better. Strike from the target point: 3.0 mm less (from 5.0 mm less to 1.0 mm less) with \
             tee 30 mm than with tee 40 mm, over 24 balls in 6 blocks. Chance alone gives as much in under 1 % of such \
             trials."
        );
        let open = headline(UnitSystem::Metric, &result(0.4, 0.5));
        assert!(
            open.starts_with("No difference is proven, and none within the range is ruled out."),
            "{open}"
        );
        assert!(open.contains("0.5 mm more (from 1.5 mm less to 2.5 mm more)"), "{open}");
        let mut ended = result(0.004, -3.0);
        ended.standing.ended = Some(Day::parse("2026-05-04").unwrap());
        assert!(headline(UnitSystem::Metric, &ended).ends_with("ended early, so nothing is called."));
    }

    #[test]
    fn the_next_ball_is_told_by_number_block_and_name_and_units_are_the_players() {
        let mut open = result(1.0, 0.0);
        open.withheld = true;
        open.standing.next = Some(NextBall { ball: BallNo::new(6).unwrap(), block: 2, arm: Arm::First });
        assert_eq!(headline(UnitSystem::Metric, &open), "Ball 6 of 24, block 2 of 6: tee 40 mm.");
        assert_eq!(size(Measure::Carry, UnitSystem::Imperial, 9.144), "10.0 yd");
        assert_eq!(size(Measure::StartSpread, UnitSystem::Imperial, 1.25), "1.2°");
    }

    #[test]
    fn a_trial_with_a_grip_or_a_club_says_that_cutting_is_a_fitters_work_and_a_tee_does_not() {
        let all = |kind| cautions(kind, Measure::Carry).join(" ");
        for kind in [TrialKind::GrippedDown, TrialKind::Club, TrialKind::Other] {
            let said = all(kind);
            assert!(
                said.contains("club fitter") && said.contains("48 in") && said.contains("46 in"),
                "{said}"
            );
        }
        assert!(!all(TrialKind::TeeHeight).contains("fitter"));
        assert!(all(TrialKind::TeeHeight).contains("stop on pain"));
        assert!(cautions(TrialKind::TeeHeight, Measure::Miss).join(" ").contains("4.1a(3)"));
    }
}
