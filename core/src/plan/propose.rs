//! Two or three drills for what is wrong, in doses for the days and the time there are.
//!
//! The rules are data ([`RULES`]); the coach edits everything that comes of them, and
//! caps of full-speed work apply when the plan is read. Start at [`propose`].

use serde::Serialize;

use super::diagnosis::{Fault, Found};
use crate::dose::{Caps, Stock, stock, within};
use crate::model::{Dose, Effort, StockDrill};

/// Which drills go at a fault, the first choice first. Why each does is in
/// `words::plan::why`: common practice, no source.
pub const RULES: [(Fault, &[StockDrill]); 8] = [
    (Fault::High, &[StockDrill::TargetDot, StockDrill::TeeLadder]),
    (Fault::Low, &[StockDrill::TeeLadder, StockDrill::TargetDot]),
    (Fault::Toe, &[StockDrill::DistanceLadder, StockDrill::TargetDot]),
    (Fault::Heel, &[StockDrill::DistanceLadder, StockDrill::TargetDot]),
    (Fault::Scatter, &[StockDrill::HeldFinish, StockDrill::GrippedDown, StockDrill::FeetTogether]),
    (Fault::Speed, &[StockDrill::TwoSided, StockDrill::LateSwish]),
    (Fault::Face, &[StockDrill::StartGate, StockDrill::SlowHand, StockDrill::FlatPaddle]),
    (Fault::Feel, &[StockDrill::CallStrike, StockDrill::TargetDot]),
];

/// Most drills of a proposal: who gets more does none (common practice, no source).
const MOST: usize = 3;
/// Days to the next lesson below which two drills are enough.
const SHORT_DAYS: i64 = 7;

/// The time that a student has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Free {
    /// Days until the next lesson.
    pub days: i64,
    /// Practice sessions a week.
    pub sessions_a_week: i64,
    /// Minutes each.
    pub minutes: i64,
}

/// One proposed drill.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Proposed {
    /// The drill.
    pub drill: StockDrill,
    /// For which fault.
    pub fault: Fault,
    /// Whether the log is sure of that fault.
    pub sure: bool,
    /// Whether the coach said it.
    pub said: bool,
    /// How much of it.
    pub dose: Dose,
    /// About how long it takes at one time, minutes.
    pub minutes: i64,
}

/// What is proposed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Proposal {
    /// The time that was told.
    pub free: Free,
    /// The drills, in the order in which to do them.
    pub drills: Vec<Proposed>,
    /// About how long one session takes with all of them, minutes.
    pub minutes: i64,
    /// It takes longer than the time that was told, with the smallest doses.
    pub too_long: bool,
    /// Speed work was left out because pain is reported.
    pub speed_left_out: bool,
}

/// Proposes drills for faults, the first one first.
pub fn propose(found: &[Found], caps: &Caps, free: Free) -> Proposal {
    let most = if free.days < SHORT_DAYS { MOST - 1 } else { MOST };
    let stopped = caps.stopped_by_pain;
    let allowed = |drill: StockDrill| !(stopped && stock(drill).effort == Effort::FullSpeed);
    let speed_left_out = stopped && found.iter().any(|found| found.fault == Fault::Speed);
    let mut chosen: Vec<(StockDrill, Found)> = Vec::new();
    // First choices of every fault, then second choices: so the first fault gets the
    // drill that is left over.
    for choice in 0..MOST {
        for found in found {
            let drill = rule(found.fault).get(choice).copied().filter(|drill| allowed(*drill));
            let Some(drill) = drill.filter(|drill| chosen.iter().all(|(known, _)| known != drill)) else {
                continue;
            };
            if chosen.len() < most {
                chosen.push((drill, *found));
            }
        }
        if chosen.len() >= 2 {
            break;
        }
    }
    let mut doses: Vec<[i64; 3]> = chosen.iter().map(|(drill, _)| usual(stock(*drill), caps, free)).collect();
    let stocks: Vec<&Stock> = chosen.iter().map(|(drill, _)| stock(*drill)).collect();
    let length = |doses: &[[i64; 3]]| {
        stocks
            .iter()
            .zip(doses)
            .map(|(stock, [sets, repetitions, _])| stock.minutes(*sets, *repetitions))
            .sum()
    };
    while length(&doses) > free.minutes && shorten(&stocks, &mut doses) {}
    let minutes: i64 = length(&doses);
    let drills = chosen
        .iter()
        .zip(&doses)
        .filter_map(|((drill, found), [sets, repetitions, times])| {
            Some(Proposed {
                drill: *drill,
                fault: found.fault,
                sure: found.sure,
                said: found.said,
                dose: Dose::new(*sets, *repetitions, *times).ok()?,
                minutes: stock(*drill).minutes(*sets, *repetitions),
            })
        })
        .collect();
    Proposal { free, drills, minutes, too_long: minutes > free.minutes, speed_left_out }
}

/// The drills that go at a fault.
pub fn rule(fault: Fault) -> &'static [StockDrill] {
    RULES.iter().find(|(of, _)| *of == fault).map_or(&[], |(_, drills)| drills)
}

/// The usual dose, within the caps and the sessions that there are.
fn usual(stock: &Stock, caps: &Caps, free: Free) -> [i64; 3] {
    let [_, mut sets, _] = stock.sets;
    let [_, mut repetitions, _] = stock.repetitions;
    let [_, times, _] = stock.times;
    let mut times = times.min(free.sessions_a_week).max(1);
    if stock.effort == Effort::FullSpeed {
        let limits = caps.limits;
        (sets, repetitions) = within(sets, repetitions, limits.a_day.min(limits.a_week), stock.two_sided);
        (sets, repetitions) = (sets.max(1), repetitions.max(1));
        times = times.min(limits.days_a_week()).min((limits.a_week / (sets * repetitions)).max(1));
    }
    [sets, repetitions, times]
}

/// Takes a set from the drill that has most above its fewest, the last such one; then
/// repetitions. Answers whether anything could be taken.
fn shorten(stocks: &[&Stock], doses: &mut [[i64; 3]]) -> bool {
    let spare = |which: fn(&Stock) -> i64, at: usize, doses: &[[i64; 3]]| {
        let left =
            stocks.iter().zip(doses).map(|(stock, dose)| dose.get(at).map_or(0, |has| has - which(stock)));
        let most = left.enumerate().max_by_key(|(_, left)| *left);
        most.filter(|(_, left)| *left > 0).map(|(place, _)| place)
    };
    if let Some([sets, ..]) = spare(|stock| stock.sets[0], 0, doses).and_then(|place| doses.get_mut(place)) {
        *sets -= 1;
        return true;
    }
    let place = spare(|stock| stock.repetitions[0], 1, doses);
    let Some((place, [_, repetitions, _])) = place.and_then(|place| Some((place, doses.get_mut(place)?)))
    else {
        return false;
    };
    let both = stocks.get(place).is_some_and(|stock| stock.two_sided);
    *repetitions -= if both && *repetitions > 2 { 2 } else { 1 };
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dose::{day, papers_of};

    #[test]
    fn a_proposal_has_two_or_three_drills_that_fit_the_time_and_the_caps() {
        let papers = papers_of(&[]);
        let caps = Caps::of(&papers, None, day(0));
        for (_, first) in Fault::ALL {
            for (_, second) in Fault::ALL {
                for minutes in [10, 20, 30, 60] {
                    let found = [*first, *second].map(|fault| Found { fault, sure: true, said: false });
                    let free = Free { days: 14, sessions_a_week: 2, minutes };
                    let proposal = propose(&found, &caps, free);
                    assert!((2..=3).contains(&proposal.drills.len()), "{first:?} {second:?} {proposal:?}");
                    assert!(proposal.minutes <= minutes || proposal.too_long);
                    assert!(proposal.drills.iter().all(|drill| drill.dose.times_a_week() <= 2));
                    if minutes >= 30 {
                        assert!(!proposal.too_long, "{proposal:?}");
                    }
                }
            }
        }
        let mut hurt = caps;
        hurt.stopped_by_pain = true;
        let speed = [Found { fault: Fault::Speed, sure: false, said: true }];
        let proposal = propose(&speed, &hurt, Free { days: 14, sessions_a_week: 3, minutes: 30 });
        assert!(proposal.drills.is_empty() && proposal.speed_left_out);
    }
}
