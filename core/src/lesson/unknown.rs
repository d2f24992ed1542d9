//! What the log can't tell yet, most important first.
//!
//! The rule: each says what to do about it where something can be done. Start at
//! [`Unknown`].

use serde::Serialize;

use super::brief::Brief;
use super::figure::Figure;
use super::log::Log;
use super::spans::Choice;

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
    /// What the misses cost, and which fix is worth most, could not be worked out.
    NoWorth {
        /// What was wrong.
        problem: String,
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

/// What a brief and the log behind it can't tell.
pub(super) fn unknown(brief: &Brief, log: &Log) -> Vec<Unknown> {
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
        if !read(Figure::HeadSpeedMps) {
            unknown.push(Unknown::NoHeadSpeed);
        }
        if !read(Figure::StartDeg) && now.tally.starts == 0 {
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
