//! What is wrong, from the log: the faults that a drill can be chosen for.
//!
//! The rule: what the log doesn't show is not in the list; what it can't be sure of
//! says so. Where the what-if has ranked fixes, its order leads. Start at [`faults_of`].

use serde::Serialize;

use crate::face::{Direction, Verdict, clopper_pearson};
use crate::lesson::feel::Knows;
use crate::lesson::what_if::FixName;
use crate::lesson::{Feel, Figure, Log, Span, spans};
use crate::model::record::coded;

coded!(
    /// What a drill can be chosen for.
    Fault, "fault" {
        /// The middle of the strikes lies too high.
        High = 1 "high",
        /// Too low.
        Low = 2 "low",
        /// Too far toward the toe.
        Toe = 3 "toe",
        /// Too far toward the heel.
        Heel = 4 "heel",
        /// The strikes lie too far apart.
        Scatter = 5 "scatter",
        /// The head is slow.
        Speed = 6 "speed",
        /// Balls start off line.
        Face = 7 "face",
        /// The strike is not felt.
        Feel = 8 "feel",
    }
);

/// A fault and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Found {
    /// Which.
    pub fault: Fault,
    /// Whether the interval behind it says so.
    pub sure: bool,
    /// Said by the coach, not found in the log.
    pub said: bool,
}

/// Balls whose start was judged, below which nothing is said of the face.
const FEWEST_STARTS: u32 = 12;
/// A mean start further off than this is worth a drill, degrees (assumed).
const START_OFF_DEG: f64 = 2.0;

/// The faults that a log shows, the most worthwhile first. `fixes` is the what-if's
/// ranking, empty where it was not asked.
pub fn faults_of(log: &Log, fixes: &[FixName]) -> Vec<Found> {
    let mut found = Vec::new();
    // The model lets no mark in that a pattern refuses.
    if let Some(span) = spans(log).ok().and_then(|(baseline, now)| now.or(baseline)) {
        found.extend(of_strikes(&span));
        found.extend(of_starts(&span));
    }
    if Feel::of(log).knows == Knows::No {
        found.push(Found { fault: Fault::Feel, sure: true, said: false });
    }
    if fixes.first() == Some(&FixName::AddSpeed) {
        found.push(Found { fault: Fault::Speed, sure: false, said: false });
    }
    let rank = |fault: Fault| fixes.iter().position(|fix| cures(*fix, fault)).unwrap_or(fixes.len());
    // Stable: what no fix ranks keeps the order above.
    found.sort_by_key(|found| rank(found.fault));
    found
}

fn of_strikes(span: &Span) -> Vec<Found> {
    let reading = &span.pattern.reading;
    let lean = reading.leans.iter().map(|lean| Found {
        fault: match lean.direction {
            Direction::High => Fault::High,
            Direction::Low => Fault::Low,
            Direction::Toe => Fault::Toe,
            Direction::Heel => Fault::Heel,
        },
        sure: lean.range.is_some_and(|range| range.excludes_zero()),
        said: false,
    });
    let scatter = Found { fault: Fault::Scatter, sure: reading.sure, said: false };
    match reading.verdict {
        Verdict::TooFew | Verdict::Centred => Vec::new(),
        Verdict::Biased | Verdict::Unsettled => lean.collect(),
        Verdict::Scattered => vec![scatter],
        // The scatter makes as much of the miss or more.
        Verdict::BiasedAndScattered => std::iter::once(scatter).chain(lean).collect(),
    }
}

fn of_starts(span: &Span) -> Option<Found> {
    let read = span.figures.iter().find(|read| read.figure == Figure::StartDeg).map(|read| read.mean);
    let face = |sure| Some(Found { fault: Fault::Face, sure, said: false });
    if let Some(mean) = read.filter(|mean| mean.count >= FEWEST_STARTS && mean.mean.abs() >= START_OFF_DEG) {
        return face(mean.low.is_some_and(|low| low > 0.0) || mean.high.is_some_and(|high| high < 0.0));
    }
    let tally = span.tally;
    let worst = tally.left.max(tally.right);
    let share = clopper_pearson(worst, tally.starts).filter(|_| tally.starts >= FEWEST_STARTS)?;
    if share.estimate > 0.5 { face(share.low > 0.5) } else { None }
}

/// Whether a fix of the what-if goes at a fault.
fn cures(fix: FixName, fault: Fault) -> bool {
    match fix {
        FixName::CentreStrike => matches!(fault, Fault::High | Fault::Low | Fault::Toe | Fault::Heel),
        FixName::TightenStrike | FixName::GripDown => fault == Fault::Scatter,
        FixName::AddSpeed => fault == Fault::Speed,
        FixName::SteadyFaceToPath | FixName::SquareFace => fault == Fault::Face,
        FixName::TeeHigher => fault == Fault::Low,
        FixName::TeeLower => fault == Fault::High,
    }
}
