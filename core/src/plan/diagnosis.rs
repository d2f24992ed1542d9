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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dice::Dice;
    use crate::dose::day;
    use crate::lesson::Visit;
    use crate::model::{
        Hand, MarkRead, Name, RecordId, Session, Shot, StartByEye, StrandId, StrikeMark, Student,
    };
    use uuid::Uuid;

    /// Two days of balls around a middle from the target point, with starts by eye.
    fn log(toe: f64, high: f64, spread: f64, start: Option<StartByEye>) -> Log {
        let mut dice = Dice::new(5);
        let visit = |n: u8, dice: &mut Dice| {
            let id = RecordId(Uuid::from_bytes([n; 16]));
            let shot = |dice: &mut Dice| Shot {
                mark: Some(
                    StrikeMark::new(
                        toe + spread * dice.normal(),
                        6.0 + high + spread * dice.normal(),
                        None,
                        MarkRead::Tap,
                    )
                    .unwrap(),
                ),
                start_by_eye: start,
                ..Shot::of(id)
            };
            let shots: Vec<Shot> = (0..15).map(|_| shot(dice)).collect();
            let name = Name::new("s").unwrap();
            let session =
                Session { name, day: day(i64::from(n)), place: None, ball: None, powder: None, club: None };
            Visit { id, session, shot_ids: vec![id; shots.len()], shots }
        };
        let visits = vec![visit(1, &mut dice), visit(2, &mut dice)];
        Log {
            off_on_purpose: std::collections::BTreeSet::new(),
            strand: StrandId(Uuid::from_bytes([9; 16])),
            student: Student::new(Name::new("Ina").unwrap(), Hand::Left),
            visits,
            clubs: [].into(),
            coaches: vec![],
            papers: crate::dose::Papers::default(),
            trials: vec![],
            notes: vec![],
            unread: 0,
        }
    }

    fn faults(log: &Log, fixes: &[FixName]) -> Vec<Fault> {
        faults_of(log, fixes).into_iter().map(|found| found.fault).collect()
    }

    #[test]
    fn each_side_and_the_spread_are_told_apart() {
        assert_eq!(faults(&log(0.0, -14.0, 4.0, None), &[]), [Fault::Low]);
        assert_eq!(faults(&log(0.0, 10.0, 4.0, None), &[]), [Fault::High]);
        assert_eq!(faults(&log(14.0, 0.0, 4.0, None), &[]), [Fault::Toe]);
        assert_eq!(faults(&log(-14.0, 0.0, 4.0, None), &[]), [Fault::Heel]);
        assert_eq!(faults(&log(0.0, -4.0, 11.0, None), &[])[0], Fault::Scatter);
        assert_eq!(faults(&log(0.0, 0.0, 3.0, None), &[]), []);
    }

    #[test]
    fn balls_that_start_off_line_ask_for_the_face_and_straight_ones_do_not() {
        let found = faults_of(&log(0.0, 0.0, 3.0, Some(StartByEye::Left)), &[]);
        assert_eq!(found, [Found { fault: Fault::Face, sure: true, said: false }]);
        assert_eq!(faults(&log(0.0, 0.0, 3.0, Some(StartByEye::Straight)), &[]), []);
    }

    #[test]
    fn the_what_ifs_ranking_leads_and_speed_is_only_its_word() {
        let log = log(0.0, -14.0, 4.0, Some(StartByEye::Left));
        assert_eq!(faults(&log, &[]), [Fault::Low, Fault::Face]);
        assert_eq!(faults(&log, &[FixName::SquareFace, FixName::TeeHigher]), [Fault::Face, Fault::Low]);
        assert_eq!(
            faults(&log, &[FixName::AddSpeed, FixName::SquareFace]),
            [Fault::Speed, Fault::Face, Fault::Low]
        );
    }
}
