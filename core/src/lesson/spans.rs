//! Which sessions are the baseline and which are "now", and their marks.

use serde::Serialize;

use super::figure::{Figure, FigureMean, Mean, Tally};
use super::log::{Log, Visit};
use crate::face::{FaceError, Pattern, Settings, Strike, pattern};
use crate::model::{Day, MarkRead, Refusal, Shot, Student, Target};

/// Sessions in a baseline that nobody has set, and in "now" (assumed: enough
/// days to see how one day differs from the next).
pub const SESSIONS_IN_A_SPAN: usize = 3;

/// Who chose the sessions of a span.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Choice {
    /// The coach.
    Coach,
    /// Nobody: the first or the last sessions with marks.
    Assumed,
}

/// A strike mark as it goes into a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mark {
    /// Toward the toe from the face centre.
    pub toe_mm: f64,
    /// Toward the crown from the face centre.
    pub high_mm: f64,
    /// Standard error of the reading along each axis.
    pub sigma_mm: f64,
    /// Whether it lies on this club's face.
    pub on_face: bool,
}

impl Mark {
    /// The mark as a strike.
    pub fn strike(&self) -> Strike {
        Strike { toe_mm: self.toe_mm, high_mm: self.high_mm, sigma_mm: self.sigma_mm }
    }
}

/// The marks of one session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SessionMarks {
    /// What the session is called.
    pub name: String,
    /// Its day.
    pub day: Day,
    /// Its marks; felt strikes are not among them.
    pub marks: Vec<Mark>,
}

/// Some sessions taken together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Span {
    /// Who chose them.
    pub chosen_by: Choice,
    /// The first session's day.
    pub from: Day,
    /// The last session's day.
    pub until: Day,
    /// Balls, with or without a mark.
    pub balls: u32,
    /// Their marks, session by session.
    pub sessions: Vec<SessionMarks>,
    /// The pattern of all their marks.
    pub pattern: Pattern,
    /// Means of what was read.
    pub figures: Vec<FigureMean>,
    /// What was judged by eye.
    pub tally: Tally,
}

/// The marks of a session that a pattern can rest on: looked at, not felt, of balls hit as in play.
pub(super) fn marks_of(log: &Log, visit: &Visit) -> Vec<Mark> {
    visit
        .shots
        .iter()
        .filter_map(|shot| {
            let mark = shot.mark.filter(|mark| mark.read != MarkRead::Felt && log.is_as_in_play(shot))?;
            let club = visit.club_of(shot).and_then(|id| log.clubs.get(&id));
            Some(Mark {
                toe_mm: mark.toe_mm.mm(),
                high_mm: mark.high_mm.mm(),
                sigma_mm: mark.sigma_mm.mm(),
                on_face: mark.is_on_face_of(club),
            })
        })
        .collect()
}

/// A student's target point; the default where the coach has set none.
///
/// # Errors
/// None in practice: the default is a target that the model allows.
pub fn target_of(student: &Student) -> Result<Target, Refusal> {
    let default = Settings::default();
    match student.target {
        Some(target) => Ok(target),
        None => Target::new(default.target_toe_mm, default.target_high_mm, default.centre_radius_mm),
    }
}

/// What the coach judges this student's marks by.
pub(super) fn settings_of(log: &Log) -> Settings {
    log.student.target.map_or_else(Settings::default, |target| Settings {
        target_toe_mm: target.toe_mm.mm(),
        target_high_mm: target.high_mm.mm(),
        centre_radius_mm: target.radius_mm.mm(),
        ..Settings::default()
    })
}

/// The pattern of some sessions' marks.
pub(super) fn pattern_of(sessions: &[SessionMarks], settings: &Settings) -> Result<Pattern, FaceError> {
    let strikes: Vec<Strike> = sessions.iter().flat_map(|session| &session.marks).map(Mark::strike).collect();
    pattern(&strikes, settings)
}

/// The sessions with marks: those of the baseline, all later ones, and who chose.
pub(super) fn split(log: &Log) -> (Vec<&Visit>, Vec<&Visit>, Choice) {
    let mut first: Vec<&Visit> = log.visits.iter().filter(|visit| !marks_of(log, visit).is_empty()).collect();
    let (in_baseline, chosen_by) = match log.student.baseline_until {
        Some(until) => (first.iter().filter(|v| v.session.day <= until).count(), Choice::Coach),
        None => (first.len().min(SESSIONS_IN_A_SPAN), Choice::Assumed),
    };
    let later = first.split_off(in_baseline.min(first.len()));
    (first, later, chosen_by)
}

/// Baseline and now. `None` where there are no sessions for it.
///
/// # Errors
/// [`FaceError`] if a mark can't be one: the model lets none such in.
pub fn spans(log: &Log) -> Result<(Option<Span>, Option<Span>), FaceError> {
    let (first, later, chosen_by) = split(log);
    let latest = later.get(later.len().saturating_sub(SESSIONS_IN_A_SPAN)..).unwrap_or_default();
    Ok((span(log, &first, chosen_by)?, span(log, latest, Choice::Assumed)?))
}

fn span(log: &Log, visits: &[&Visit], chosen_by: Choice) -> Result<Option<Span>, FaceError> {
    let (Some(first), Some(last)) = (visits.first(), visits.last()) else { return Ok(None) };
    let sessions: Vec<SessionMarks> = visits
        .iter()
        .map(|visit| SessionMarks {
            name: visit.session.name.to_string(),
            day: visit.session.day,
            marks: marks_of(log, visit),
        })
        .collect();
    // What was read and judged counts from every session of these days, the
    // ones without marks too.
    let (from, until) = (first.session.day, last.session.day);
    let shots: Vec<&Shot> = log
        .visits
        .iter()
        .filter(|visit| (from..=until).contains(&visit.session.day))
        .flat_map(|visit| &visit.shots)
        .filter(|shot| log.is_as_in_play(shot))
        .collect();
    let figures = Figure::ALL
        .into_iter()
        .filter_map(|figure| {
            let values: Vec<f64> = shots.iter().filter_map(|shot| figure.of(shot)).collect();
            Some(FigureMean { figure, mean: Mean::of(&values)? })
        })
        .collect();
    Ok(Some(Span {
        chosen_by,
        from,
        until,
        balls: shots.len() as u32,
        pattern: pattern_of(&sessions, &settings_of(log))?,
        sessions,
        figures,
        tally: Tally::of(&shots),
    }))
}
