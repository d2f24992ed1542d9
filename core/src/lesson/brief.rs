//! The brief: the one page to read before a lesson, as values.
//!
//! Its sentences are in `words::brief`, its blocks in `screen`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::changed::Changed;
use super::feel::{Feel, FeltSigma};
use super::log::Log;
use super::on_the_tee::{Check, checks};
use super::plan_done::{DrillConflict, PlanDone, conflicts};
use super::spans::{Choice, SessionMarks, Span, marks_of, pattern_of, settings_of, spans};
use super::unknown::{Unknown, unknown};
use super::worth::Worth;
use crate::face::compare::CompareError;
use crate::face::{FaceError, Range, Settings};
use crate::flight::FlightError;
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::model::{AuthorId, Club, Day, Hand, MarkRead, UnitSystem};

/// A season of sessions twice a week fits a trend; older ones are left out.
pub const MOST_IN_TREND: usize = 60;

/// What the coach reads before a lesson.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Brief {
    /// The student's name.
    pub student: String,
    /// The hand they play from.
    pub hand: Hand,
    /// What they read distances and speeds in.
    pub units: UnitSystem,
    /// The coaches in the record.
    pub coaches: Vec<String>,
    /// The day it is read.
    pub as_of: Day,
    /// The day of the first session.
    pub since: Option<Day>,
    /// The day of the last session.
    pub last: Option<Day>,
    /// Sessions in all.
    pub sessions: u32,
    /// Balls in all.
    pub balls: u32,
    /// Balls with a mark that was looked at.
    pub marked: u32,
    /// Balls whose strike was only felt: not in any pattern.
    pub felt: u32,
    /// Marks beyond this club's face: in the pattern, not in flight.
    pub off_face: u32,
    /// Width and height of the face of the club used last, mm; the default's
    /// where that club doesn't say.
    pub face_mm: (f64, f64),
    /// What changed since the baseline, over all later sessions, and is it real.
    pub changed: Option<Changed>,
    /// Where yards and fairways go and which fix is worth most; absent where nobody
    /// asked ([`Brief::with_worth`]) or nothing was read.
    pub what_if: Option<Worth>,
    /// What marks are judged by.
    pub settings: Settings,
    /// Whether the coach set that, or it is the default.
    pub settings_chosen_by: Choice,
    /// The sessions that progress is measured from.
    pub baseline: Option<Span>,
    /// The latest sessions.
    pub now: Option<Span>,
    /// The miss of each session with enough marks, by day; the latest
    /// [`MOST_IN_TREND`] of them.
    pub trend: Vec<TrendPoint>,
    /// What the latest plan asked for and what was done.
    pub plan: Option<PlanDone>,
    /// What to check on the tee today, the most pressing first.
    pub check_today: Vec<Check>,
    /// What felt strikes of this student are worth.
    pub feel: FeltSigma,
    /// Plan fields that both sides wrote since they last met.
    pub conflicts: Vec<DrillConflict>,
    /// What is not known yet, most important first.
    pub unknown: Vec<Unknown>,
    /// The latest notes, newest first.
    pub notes: Vec<NoteLine>,
}

/// The miss of one session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendPoint {
    /// The session's day.
    pub day: Day,
    /// Marks.
    pub count: u32,
    /// Root mean square distance from the target point, mm.
    pub miss_mm: f64,
    /// Its 95 % interval.
    pub interval: Option<Range>,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NoteLine {
    /// Its day.
    pub day: Day,
    /// What it says.
    pub text: String,
}

impl Brief {
    /// The brief of a student's log, read on a day. `names` says whose devices wrote what.
    ///
    /// # Errors
    /// [`CompareError`] if a mark can't be one: the model lets none such in.
    pub fn of(log: &Log, names: &BTreeMap<AuthorId, String>, as_of: Day) -> Result<Self, CompareError> {
        let (baseline, now) = spans(log).map_err(CompareError::Settings)?;
        let shots = || log.visits.iter().flat_map(|visit| &visit.shots);
        let marks: Vec<_> = log.visits.iter().flat_map(|visit| marks_of(log, visit)).collect();
        // Other students' logs would have to be read for their days to lend.
        let changed = Changed::of(log, None)?;
        let feel = Feel::of(log);
        let shown = crate::dose::read(&log.papers, names, as_of);
        let pattern = baseline.as_ref().map(|b| &b.pattern);
        let plan =
            shown.as_ref().map(|shown| PlanDone::of(&log.papers, shown, pattern, changed.as_ref(), &feel));
        let mut brief = Self {
            student: log.student.name.to_string(),
            hand: log.student.hand,
            units: log.student.units,
            coaches: log.coaches.iter().map(|coach| coach.name.to_string()).collect(),
            as_of,
            since: log.visits.first().map(|visit| visit.session.day),
            last: log.visits.last().map(|visit| visit.session.day),
            sessions: log.visits.len() as u32,
            balls: shots().count() as u32,
            marked: marks.len() as u32,
            felt: shots().filter(|s| s.mark.is_some_and(|m| m.read == MarkRead::Felt)).count() as u32,
            off_face: marks.iter().filter(|mark| !mark.on_face).count() as u32,
            face_mm: face_mm(log),
            changed,
            what_if: None,
            check_today: Vec::new(),
            feel: feel.felt_sigma_mm,
            settings: settings_of(log),
            settings_chosen_by: if log.student.target.is_some() { Choice::Coach } else { Choice::Assumed },
            trend: trend(log).map_err(CompareError::Settings)?,
            conflicts: shown.as_ref().map(conflicts).unwrap_or_default(),
            unknown: Vec::new(),
            notes: notes(log),
            baseline,
            now,
            plan,
        };
        brief.unknown = unknown(&brief, log);
        brief.check_today = checks(&brief);
        Ok(brief)
    }

    /// The same brief with what its misses cost, as [`Worth::of`] answered. What it
    /// could not work out is among what is not known; the rest of the brief stands.
    #[must_use]
    pub fn with_worth(mut self, worth: Result<Option<Worth>, FlightError>) -> Self {
        match worth {
            Ok(worth) => self.what_if = worth,
            Err(error) => self.unknown.push(Unknown::NoWorth { problem: error.to_string() }),
        }
        self.check_today = checks(&self);
        self
    }

    /// The sessions that speak of now: the latest ones, or the baseline's before
    /// there are later ones.
    pub fn latest(&self) -> Option<&Span> {
        self.now.as_ref().or(self.baseline.as_ref())
    }
}

/// The face of the club that was used last.
fn face_mm(log: &Log) -> (f64, f64) {
    let used = log.visits.iter().rev().find_map(|visit| {
        let club = visit.shots.iter().rev().find_map(|shot| visit.club_of(shot))?;
        log.clubs.get(&club)
    });
    let (width, height, _) =
        used.map_or((DEFAULT_FACE_WIDTH_MM, DEFAULT_FACE_HEIGHT_MM, false), Club::face_mm);
    (width, height)
}

fn trend(log: &Log) -> Result<Vec<TrendPoint>, FaceError> {
    const FEWEST: usize = 3;
    let settings = settings_of(log);
    let mut points = Vec::new();
    for visit in log.visits.iter().rev() {
        let marks = marks_of(log, visit);
        if marks.len() < FEWEST {
            continue;
        }
        let session = SessionMarks { name: visit.session.name.to_string(), day: visit.session.day, marks };
        let pattern = pattern_of(&[session], &settings)?;
        points.extend(pattern.rms_miss_mm.map(|miss_mm| TrendPoint {
            day: visit.session.day,
            count: pattern.count,
            miss_mm,
            interval: pattern.intervals.rms_miss_mm,
        }));
        if points.len() == MOST_IN_TREND {
            break;
        }
    }
    points.reverse();
    Ok(points)
}

fn notes(log: &Log) -> Vec<NoteLine> {
    const MOST: usize = 3;
    let mut notes: Vec<_> =
        log.notes.iter().map(|n| NoteLine { day: n.day, text: n.text.to_string() }).collect();
    // Stable: of one day, the one logged last comes first.
    notes.reverse();
    notes.sort_by_key(|note| std::cmp::Reverse(note.day));
    notes.truncate(MOST);
    notes
}
