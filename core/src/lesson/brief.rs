//! The brief: the one page to read before a lesson, as values.
//!
//! Its sentences are in `words::brief`, its blocks in `screen`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::changed::Changed;
use super::log::Log;
use super::spans::{Choice, SessionMarks, Span, marks_of, pattern_of, settings_of, spans};
use crate::book::Entry;
use crate::face::compare::CompareError;
use crate::face::{FaceError, Range, Settings};
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::model::{
    AuthorId, Club, Day, Hand, Kind, MarkRead, PlannedDrill, RecordId, UnitSystem, field_word, value_word,
};

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
    /// Plan fields that both sides wrote since they last met.
    pub conflicts: Vec<PlanConflict>,
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

/// A plan and what was done of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanDone {
    /// What it is after.
    pub aim: String,
    /// Its first day.
    pub from: Day,
    /// Its last day.
    pub until: Option<Day>,
    /// Its drills, in order.
    pub drills: Vec<DrillDone>,
}

/// One planned drill and what was done of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrillDone {
    /// The drill's name.
    pub drill: String,
    /// Sets a time.
    pub sets: i64,
    /// Repetitions a set.
    pub repetitions: i64,
    /// Times a week.
    pub times_a_week: i64,
    /// Times that the plan asked for so far.
    pub asked_times: u32,
    /// Times it was logged.
    pub done_times: u32,
    /// Repetitions logged in all.
    pub done_repetitions: i64,
}

/// A field of a planned drill that both sides wrote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanConflict {
    /// The drill.
    pub drill: String,
    /// The field.
    pub field: String,
    /// Who wrote what; the last one counts.
    pub values: Vec<WrittenValue>,
}

/// A value and who wrote it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WrittenValue {
    /// Whose device wrote it.
    pub by: String,
    /// The value, in words.
    pub value: String,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NoteLine {
    /// Its day.
    pub day: Day,
    /// What it says.
    pub text: String,
}

/// Something that the log can't tell yet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Unknown {
    /// No ball with a mark.
    NoMarks,
    /// Too few marks since the baseline to say anything.
    FewMarks {
        /// Marks there are.
        have: u32,
        /// How many more are worth hitting.
        more: u32,
    },
    /// Nothing after the baseline.
    NothingSinceBaseline,
    /// The coach has not set the baseline; the first sessions stand for it.
    BaselineAssumed {
        /// How many sessions.
        sessions: u32,
    },
    /// No head speed since the baseline.
    NoHeadSpeed,
    /// Nothing on where balls start since the baseline.
    NoStart,
    /// The size of the face is the default one.
    FaceSizeAssumed,
    /// Year of birth: speed work keeps to the limits for the young.
    BirthYear,
    /// Spin was read with powder on the face, and is not used.
    PowderedSpin {
        /// How many readings.
        readings: u32,
    },
    /// No plan was set.
    NoPlan,
    /// The plan has drills, and nothing of it was logged.
    NothingLogged,
    /// Records of a newer version.
    Unread {
        /// How many.
        records: u64,
    },
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
        let plan = plan_done(log, as_of);
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
            // Other students' logs would have to be read for their days to lend.
            changed: Changed::of(log, None)?,
            settings: settings_of(log),
            settings_chosen_by: if log.student.target.is_some() { Choice::Coach } else { Choice::Assumed },
            trend: trend(log).map_err(CompareError::Settings)?,
            conflicts: conflicts(log, names),
            unknown: Vec::new(),
            notes: notes(log),
            baseline,
            now,
            plan,
        };
        brief.unknown = unknown(&brief, log);
        Ok(brief)
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

/// The drills of a plan in their order, ties by identity.
fn drills_of(log: &Log, plan: RecordId) -> Vec<&Entry<PlannedDrill>> {
    let mut planned: Vec<&Entry<PlannedDrill>> =
        log.planned.iter().filter(|p| p.value.plan == plan).collect();
    planned.sort_by(|a, b| a.value.order.get().total_cmp(&b.value.order.get()).then(a.id.cmp(&b.id)));
    planned
}

fn drill_name(log: &Log, planned: &PlannedDrill) -> String {
    log.drills
        .get(&planned.drill)
        .map_or_else(|| "a drill that did not come yet".into(), |d| d.name.to_string())
}

fn plan_done(log: &Log, as_of: Day) -> Option<PlanDone> {
    let plan = log.plans.last()?;
    let last_day = plan.value.until.map_or(as_of, |until| until.min(as_of));
    let days = (last_day.days_since(plan.value.from) + 1).max(0);
    let drills = drills_of(log, plan.id)
        .into_iter()
        .map(|planned| {
            let done: Vec<_> = log.practice.iter().filter(|done| done.planned == planned.id).collect();
            let dose = planned.value.dose;
            DrillDone {
                drill: drill_name(log, &planned.value),
                sets: dose.sets(),
                repetitions: dose.repetitions(),
                times_a_week: dose.times_a_week(),
                // Whole times only: a started week asks for its share, rounded down.
                asked_times: (dose.times_a_week() * days / 7) as u32,
                done_times: done.len() as u32,
                done_repetitions: done.iter().map(|done| done.repetitions.get()).sum(),
            }
        })
        .collect();
    Some(PlanDone { aim: plan.value.aim.to_string(), from: plan.value.from, until: plan.value.until, drills })
}

fn conflicts(log: &Log, names: &BTreeMap<AuthorId, String>) -> Vec<PlanConflict> {
    let Some(plan) = log.plans.last() else { return Vec::new() };
    let who = |author: &AuthorId| names.get(author).cloned().unwrap_or_else(|| "another device".into());
    drills_of(log, plan.id)
        .into_iter()
        .flat_map(|planned| {
            planned.conflicts.iter().map(|conflict| PlanConflict {
                drill: drill_name(log, &planned.value),
                field: field_word(Kind::PLANNED_DRILL, conflict.field),
                values: conflict
                    .values
                    .iter()
                    .map(|(stamp, value)| WrittenValue { by: who(&stamp.author), value: value_word(value) })
                    .collect(),
            })
        })
        .collect()
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

fn unknown(brief: &Brief, log: &Log) -> Vec<Unknown> {
    let mut unknown = Vec::new();
    if brief.marked == 0 {
        unknown.push(Unknown::NoMarks);
    }
    match (&brief.baseline, &brief.now) {
        (Some(_), Some(now)) => {
            if let Some(more) = now.pattern.reading.more_balls {
                unknown.push(Unknown::FewMarks { have: now.pattern.count, more });
            }
        }
        (Some(_), None) => unknown.push(Unknown::NothingSinceBaseline),
        (None, _) => {}
    }
    if let Some(baseline) = brief.baseline.as_ref().filter(|b| b.chosen_by == Choice::Assumed) {
        unknown.push(Unknown::BaselineAssumed { sessions: baseline.sessions.len() as u32 });
    }
    if let Some(now) = &brief.now {
        let read = |wanted| now.figures.iter().any(|read| read.figure == wanted);
        if !read(super::Figure::HeadSpeedMps) {
            unknown.push(Unknown::NoHeadSpeed);
        }
        if !read(super::Figure::StartDeg) && now.tally.starts == 0 {
            unknown.push(Unknown::NoStart);
        }
    }
    match &brief.plan {
        None => unknown.push(Unknown::NoPlan),
        Some(plan) if plan.drills.iter().all(|drill| drill.done_times == 0) => {
            unknown.push(Unknown::NothingLogged);
        }
        Some(_) => {}
    }
    let powdered = log
        .visits
        .iter()
        .flat_map(|visit| visit.shots.iter().map(move |shot| (visit, shot)))
        .filter(|(visit, shot)| {
            let spin = shot.readings.backspin.is_some() || shot.readings.sidespin.is_some();
            spin && shot.powder.or(visit.session.powder) == Some(true)
        })
        .count() as u32;
    if powdered > 0 {
        unknown.push(Unknown::PowderedSpin { readings: powdered });
    }
    if brief.marked > 0 && !log.clubs.values().any(|club| club.face_mm().2) {
        unknown.push(Unknown::FaceSizeAssumed);
    }
    if log.student.birth_year.is_none() {
        unknown.push(Unknown::BirthYear);
    }
    if log.unread > 0 {
        unknown.push(Unknown::Unread { records: log.unread });
    }
    unknown
}
