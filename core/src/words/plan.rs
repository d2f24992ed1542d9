//! Sentences of a plan: doses, what was held back, today, progress, speed.
//!
//! The rule: what is held back always says why; nothing is called met without its
//! certainty. Start at [`dose`], [`held`], [`decision`].

use super::number::{count, counted, day, fixed, percent, speed as speed_word, times_a_week};
use crate::model::{Dose, Goal, StockDrill, UnitSystem};
use crate::plan::caps::Limits;
use crate::plan::{
    Caps, Decision, DrillProgress, Fault, Held, Measured, PlanConflict, Proposal, Reason, Shown, ShownDrill,
    SpeedSummary, Why,
};

/// `3 x 8, twice a week`.
pub fn dose(dose: Dose) -> String {
    format!("{} x {}, {}", dose.sets(), dose.repetitions(), times_a_week(dose.times_a_week()))
}

/// What is to be done of a drill, with what was asked where that is more.
pub fn dose_cell(drill: &ShownDrill) -> String {
    match drill.dose {
        Some(to_do) if to_do == drill.asked => dose(to_do),
        Some(to_do) => format!("{} (asked: {})", dose(to_do), dose(drill.asked)),
        None => format!("nothing now (asked: {})", dose(drill.asked)),
    }
}

/// Why less is to be done than asked.
pub fn held(why: Held) -> &'static str {
    match why {
        Held::Pain => "held back because pain was reported",
        Held::Day => "held back by the cap of full-speed swings for one day",
        Held::Week => "held back by the cap of full-speed swings for seven days",
        Held::Rest => "held back for rest days between days of speed work",
        Held::NotCome => "held back until the drill itself has come with a later file",
        Held::Dropped => "taken out of the plan; shown because it was done",
        Held::EarlierPlan => "of another plan; shown because it was done since this one began",
    }
}

/// One line a drill of which something was held back.
pub fn held_line(name: &str, held_back: &[Held]) -> Option<String> {
    let why: Vec<&str> = held_back.iter().map(|why| held(*why)).collect();
    (!why.is_empty()).then(|| format!("{name}: {}.", why.join(", ")))
}

/// What stops speed work.
pub const PAIN: &str = "Pain was reported: no speed work. See a licensed professional, and go on only when they allow \
     full swings.";

/// The caps that hold, and for whom.
pub fn caps(caps: &Caps) -> String {
    let why: Vec<&str> = caps
        .why
        .iter()
        .map(|why| match why {
            Why::Adult => "the usual for adults",
            Why::Under16 => "lower, as the student may be under 16",
            Why::Over60 => "lower, as the student may be over 60",
            Why::UnknownAge => "lower, as the year of birth is not known",
            Why::AfterPain => "lower after pain",
            Why::Coach => "changed by the coach",
        })
        .collect();
    let over = if caps.coach_over_ceiling {
        format!(" The coach asked for more; the ceiling is {}.", limits(caps.ceiling))
    } else {
        String::new()
    };
    format!("Full-speed swings: at most {} ({}).{over}", limits(caps.limits), why.join("; "))
}

fn limits(limits: Limits) -> String {
    format!(
        "{} a day and {} in seven days, with {} between",
        limits.a_day,
        limits.a_week,
        counted(limits.rest_days as u64, "day of rest", "days of rest")
    )
}

/// A field that both sides wrote.
pub fn conflict(name: &str, conflict: &PlanConflict) -> String {
    let values: Vec<String> = conflict.values.iter().map(|v| format!("{} ({})", v.value, v.by)).collect();
    format!(
        "{name}, {}: both of you changed it: {}. {} until one of you sets it again.",
        conflict.field,
        values.join(", "),
        if conflict.strictest { "The stricter one counts".to_owned() } else { last_counts(conflict) }
    )
}

fn last_counts(conflict: &PlanConflict) -> String {
    let last = conflict.values.last().map_or("the last one", |value| value.value.as_str());
    format!("{last} counts")
}

/// A drill that one took out and the other wrote to later.
pub fn revived(name: &str) -> String {
    format!(
        "{name}: one of you took it out of the plan, and the other changed it after that. It stays until it is taken out again."
    )
}

/// The line under a plan's title.
pub fn subtitle(student: &str, shown: &Shown) -> String {
    let until = shown.until.map_or_else(String::new, |until| format!(" to {}", day(until)));
    format!("{student} · {} · from {}{until} · read on {}", shown.aim, day(shown.from), day(shown.day))
}

/// What a measure is called.
pub fn goal(goal: Goal) -> &'static str {
    match goal {
        Goal::CentreRate => "Centred strikes",
        Goal::MiddleHeight | Goal::MiddleWidth => "Middle of the strikes, from the target point",
        Goal::Scatter => "Spread of the strikes",
        Goal::StartLine => "Balls that start on line",
        Goal::FinishHeld => "Finishes held",
        Goal::Feel => "Guess against mark",
        Goal::SpeedRatio => "Other side's speed against your own side's",
        Goal::HeadSpeed => "Head speed",
    }
}

/// A value of a measure with its unit.
pub fn value(of: Goal, units: UnitSystem, value: f64) -> String {
    match of {
        Goal::CentreRate | Goal::StartLine | Goal::FinishHeld | Goal::SpeedRatio => percent(value),
        Goal::MiddleHeight => sided(value, "high", "low"),
        Goal::MiddleWidth => sided(value, "toward the toe", "toward the heel"),
        Goal::Scatter | Goal::Feel => format!("{} mm", fixed(value, 1)),
        Goal::HeadSpeed => speed_word(units, value),
    }
}

fn sided(mm: f64, plus: &str, minus: &str) -> String {
    format!("{} mm {}", fixed(mm.abs(), 1), if mm < 0.0 { minus } else { plus })
}

/// Which way up is on a measure's chart, where that isn't plain.
pub const fn upward(goal: Goal) -> &'static str {
    match goal {
        Goal::MiddleHeight => ", below 0 is low on the face",
        Goal::MiddleWidth => ", below 0 is toward the heel",
        _ => "",
    }
}

/// What a measure's days are counted in: of one, and of several.
pub const fn counted_in(goal: Goal) -> [&'static str; 2] {
    match goal {
        Goal::CentreRate | Goal::MiddleHeight | Goal::MiddleWidth | Goal::Scatter => ["mark", "marks"],
        Goal::StartLine | Goal::FinishHeld => ["ball", "balls"],
        Goal::Feel => ["pair", "pairs"],
        Goal::SpeedRatio | Goal::HeadSpeed => ["swing", "swings"],
    }
}

/// `62 % (41 to 80) on 4 May, 16 marks; 5 days so far`: the latest value of a measure.
pub fn latest(measured: &Measured, units: UnitSystem) -> String {
    match measured.points.last() {
        None => "not measured yet".into(),
        Some(point) => {
            let [one, many] = counted_in(measured.goal);
            let range = point.range.map_or_else(String::new, |(low, high)| {
                let of = |end: f64| value(measured.goal, units, end);
                format!(" ({} to {})", of(low), of(high))
            });
            format!(
                "{}{range} on {}, {}; {} so far",
                value(measured.goal, units, point.value),
                super::number::day_of_year(point.day),
                counted(point.count.into(), one, many),
                count(measured.points.len() as u64, "day")
            )
        }
    }
}

/// `3 of 8 times`, or without what was asked where nothing was yet.
pub fn done(done: u32, asked: u32) -> String {
    match (done, asked) {
        (0, 0) => "not yet".into(),
        (done, 0) => count(done.into(), "time"),
        (done, asked) => format!("{done} of {}", count(asked.into(), "time")),
    }
}

/// What to do with a drill and why.
pub fn decision(drill: &DrillProgress) -> String {
    let name = &drill.drill.name;
    let done = match (drill.done_times, drill.asked_times) {
        (0, 0) => "not done yet".into(),
        (times, asked) => format!("done {} so far", done(times, asked)),
    };
    let why = match drill.reason {
        Reason::ExitMet => "its exit is met (at most 1 of 20 seasons says so wrongly)".into(),
        Reason::Better => "it is surely better than at first, and not there yet".into(),
        Reason::Worse => "it is surely worse than at first".into(),
        Reason::Leaning => format!("{done}, and it leans the right way, not surely yet"),
        Reason::NoChange => format!("{done}, and no change has been shown"),
        Reason::NotDone => format!("{done}: too little to tell; fewer or shorter drills may get done"),
        Reason::TooEarly => format!("{done}: too early to tell"),
        Reason::NotMeasured => format!("{done}, and nothing was measured yet"),
        Reason::Pain => "pain was reported, so speed work is stopped".into(),
        Reason::OtherPlan => "it is of another plan, and was done all the same".into(),
        Reason::Dropped => "it was taken out of the plan, and done all the same".into(),
    };
    match drill.decision {
        Decision::StepUp => {
            let next = drill.next_dose.map_or_else(String::new, |next| format!(", to {}", dose(next)));
            format!("{name}: step up{next}; {why}.")
        }
        Decision::Hold => format!("{name}: hold; {why}."),
        Decision::Change => {
            let instead = drill.instead.map_or_else(
                || "take another drill".to_owned(),
                |drill| format!("change to {}", drill.word()),
            );
            format!("{name}: {instead}; {why}.")
        }
    }
}

/// A range of a gain in speed that is wider than this says nothing to anybody, m/s.
const WIDEST_TOLD_MPS: f64 = 10.0;

/// What swings for speed say, a line each.
pub fn speed(summary: &SpeedSummary, units: UnitSystem) -> Vec<String> {
    let mut lines = Vec::new();
    for (side, of) in [("Your own side", summary.playing), ("The other side", summary.other)] {
        lines.extend(of.map(|of| {
            format!(
                "{side}: {} on average, {} at best, {} on {}.",
                speed_word(units, of.mean_mps),
                speed_word(units, of.best_mps),
                count(of.swings.into(), "swing"),
                count(of.days.into(), "day")
            )
        }));
    }
    lines.extend(summary.ratio.map(|ratio| {
        let range = match (ratio.low, ratio.high) {
            (Some(low), Some(high)) => format!("{} to {}, 95 %", percent(low), percent(high)),
            _ => "too few swings for a range".into(),
        };
        format!(
            "The other side has {} of your own side's speed ({range}; {}).",
            percent(ratio.estimate),
            count(ratio.days.into(), "day")
        )
    }));
    let trend = &summary.trend;
    if let Some(gain) = trend.estimate {
        let sure = trend.called_at.map_or_else(String::new, |day| format!(", first sure after day {day}"));
        let called = match trend.called_up {
            Some(true) => format!("Surely faster than on the first four days{sure}"),
            Some(false) => format!("Surely slower than on the first four days{sure}"),
            None => "No change of speed has been shown".to_owned(),
        };
        let end = |by: f64| {
            format!("{} {}", speed_word(units, by.abs()), if by < 0.0 { "slower" } else { "faster" })
        };
        let range = match trend.low.zip(trend.high) {
            Some((low, high)) if high - low < WIDEST_TOLD_MPS => {
                format!(" ({} to {}, however often one looks)", end(low), end(high))
            }
            _ => " (too few days for a range)".into(),
        };
        let more = end(gain);
        lines.push(format!("{called}: {more} on average{range}, over {}.", count(trend.days.into(), "day")));
    }
    lines
}

/// The head of a proposal.
pub fn proposal(proposal: &Proposal) -> String {
    let mut text = format!(
        "{} for {} until the next lesson, about {} a session.",
        count(proposal.drills.len() as u64, "drill"),
        count(proposal.free.days as u64, "day"),
        count(proposal.minutes as u64, "minute")
    );
    if proposal.too_long {
        text += &format!(
            " That is longer than the {} there are, with the smallest amounts.",
            count(proposal.free.minutes as u64, "minute")
        );
    }
    if proposal.speed_left_out {
        text += " Speed work is left out because pain was reported.";
    }
    text
}

/// What a fault is called.
pub fn fault(fault: Fault) -> &'static str {
    match fault {
        Fault::High => "strikes too high",
        Fault::Low => "strikes too low",
        Fault::Toe => "strikes toward the toe",
        Fault::Heel => "strikes toward the heel",
        Fault::Scatter => "strikes too far apart",
        Fault::Speed => "more head speed",
        Fault::Face => "balls that start off line",
        Fault::Feel => "strikes that are not felt",
    }
}

/// Why a drill goes at a fault: common practice, no source.
pub fn why(fault: Fault, drill: StockDrill) -> &'static str {
    match (fault, drill) {
        (Fault::High, StockDrill::TeeLadder) => "A lower tee brings high strikes down.",
        (_, StockDrill::TeeLadder) => "A low strike asks for a higher tee before it asks for another swing.",
        (Fault::Toe, StockDrill::DistanceLadder) => "A toe strike asks for less distance from the ball.",
        (_, StockDrill::DistanceLadder) => "A heel strike asks for more distance from the ball.",
        (Fault::Feel, StockDrill::TargetDot) => "Dot and mark side by side train the eye and the feel.",
        (_, StockDrill::TargetDot) => "A dot at the target point tends to pull the next strike to it.",
        (_, StockDrill::HeldFinish) => "Poor balance scatters strikes, and a held finish shows balance.",
        (_, StockDrill::GrippedDown) => "A shorter grip tightens the strikes at some cost in speed.",
        (_, StockDrill::FeetTogether) => "With the feet together only a balanced swing finds the ball.",
        (_, StockDrill::TwoSided) => "Fast players tend to be fast from both sides.",
        (_, StockDrill::LateSwish) => "Speed should peak past the ball, not before it.",
        (_, StockDrill::SlowHand) => "The back of the lead hand shows where the face points.",
        (_, StockDrill::FlatPaddle) => "A flat paddle makes the face easy to feel.",
        (_, StockDrill::StartGate) => "Where the face points decides most of where the ball starts.",
        (_, StockDrill::CallStrike) => "A guess before the look trains the feel of the strike.",
    }
}

/// Why a drill was chosen, as a note of the plan: it says that it is common practice.
pub fn note(fault: Fault, drill: StockDrill) -> String {
    format!("Common practice: {}", why(fault, drill))
}

/// How sure the log is of what a drill is for.
pub fn sure(sure: bool, said: bool) -> &'static str {
    match (said, sure) {
        (true, _) => "the coach says so",
        (false, true) => "the log is sure of it",
        (false, false) => "the log suggests it, and is not sure",
    }
}
