//! Is the baseline long enough, and what would more of it buy?
//!
//! Invariant: defined for any number of sessions, 0 included; what the answer
//! rests on (these sessions, other students, an assumption) is part of it.
//!
//! Where to start: [`Aim`], [`Advice`].

use serde::Serialize;

use super::boundary::interpolate;
use super::contrast::spread;
use super::known::KnownShifts;
use super::units::{Quantity, Session, ball_variance};
use crate::face::Settings;

/// No advice to hit more baseline sessions than this.
const MOST_SESSIONS: u32 = 30;

/// No advice to hit more balls a session than this.
const MOST_BALLS: u32 = 60;

/// Balls a session where nothing is known yet.
const USUAL_BALLS: u32 = 12;

/// Standard deviation of a session's middle where nothing is known, mm: a 3 mm
/// day-to-day shift, and balls of 10 mm, 12 a session. An assumption; no
/// published spread was found.
const ASSUMED_SESSION_SD_MM: f64 = 4.2;

/// Standard deviation of a ball along an axis where nothing is known, mm. An
/// assumption, as above.
const ASSUMED_BALL_SD_MM: f64 = 10.0;

/// Fewest degrees of freedom for a session spread of the student's own.
const FEWEST_DOF: u32 = 3;

/// Shift of one axis, in standard deviations of a session's middle, that is called
/// in 80 % of seasons of 20 looks, by baseline sessions: by simulation,
/// 40,000 seasons a point, with the share of alpha that an axis gets
/// (`tests/python/make_boundary.py`).
const SEEN: [(f64, f64); 13] = [
    (1.0, 3.928),
    (2.0, 2.803),
    (3.0, 2.316),
    (4.0, 2.024),
    (5.0, 1.834),
    (6.0, 1.691),
    (8.0, 1.500),
    (10.0, 1.384),
    (14.0, 1.232),
    (20.0, 1.103),
    (30.0, 0.997),
    (60.0, 0.879),
    (400.0, 0.762),
];

/// What the coach wants to be able to see.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Aim {
    /// Shift of the bias along one axis that should be called in 80 % of seasons,
    /// mm; above 0.
    pub shift_mm: f64,
    /// What the coach's other students show of how days shift the middle. The
    /// advice uses it while this student's own sessions are too few, and the bias'
    /// standard errors lean on it; [`Comparison::known_shifts`] says so.
    ///
    /// [`Comparison::known_shifts`]: super::Comparison::known_shifts
    pub others: Option<KnownShifts>,
}

impl Aim {
    /// Twice the tolerance: the smallest shift that takes a pattern from one side
    /// of what is not worth acting on to the other.
    pub fn of(settings: &Settings) -> Self {
        Self { shift_mm: 2.0 * settings.tolerance_mm, others: None }
    }
}

/// What the session spread in an [`Outlook`] rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// This student's sessions.
    ThisStudent,
    /// The coach's other students: an assumption about this one.
    OtherStudents,
    /// An assumption with no source.
    Assumed,
}

/// What a baseline can show.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Outlook {
    /// Baseline sessions that count.
    pub baseline_sessions: u32,
    /// Standard deviation of a session's middle along the wider axis, mm.
    pub session_sd_mm: f64,
    /// What that rests on.
    pub basis: Basis,
    /// What the coach wants to see, mm.
    pub wanted_mm: f64,
    /// Smallest shift along one axis that 80 % of seasons of 20 looks would call,
    /// mm; absent without a baseline.
    pub sees_mm: Option<f64>,
    /// The same with one more baseline session, mm: what it would buy.
    pub one_more_sees_mm: f64,
}

/// What to do about the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Advice {
    /// No session counts as baseline yet.
    HitABaseline {
        /// Sessions that would do; absent if more than 30 would be needed.
        more_sessions: Option<u32>,
        /// Balls in each.
        balls_a_session: u32,
        /// What it would show.
        outlook: Outlook,
    },
    /// Too short for what the coach wants to see.
    Lengthen {
        /// Further sessions before the change that would do; absent if more than
        /// 30 sessions would be needed.
        more_sessions: Option<u32>,
        /// Further balls in every session from now on that would do instead;
        /// absent if days differ too much for balls to help, or more than 60 a
        /// session would be needed.
        more_balls_a_session: Option<u32>,
        /// What it shows as it is.
        outlook: Outlook,
    },
    /// Long enough.
    Enough {
        /// What it shows.
        outlook: Outlook,
    },
}

impl Advice {
    /// Whether the baseline is long enough for the aim.
    pub fn enough(&self) -> bool {
        matches!(self, Self::Enough { .. })
    }

    /// What the baseline can show.
    pub fn outlook(&self) -> &Outlook {
        match self {
            Self::HitABaseline { outlook, .. }
            | Self::Lengthen { outlook, .. }
            | Self::Enough { outlook } => outlook,
        }
    }
}

/// Shift that is seen with `m` sessions, in session standard deviations.
fn seen(m: u32) -> f64 {
    let points = SEEN.iter().map(|(m, d)| (libm::log(*m), libm::log(*d)));
    libm::exp(interpolate(points, libm::log(f64::from(m.max(1)))))
}

/// Judges a baseline.
pub(super) fn advise(baseline: &[&Session], later: &[&Session], aim: &Aim) -> Advice {
    let m = u32::try_from(baseline.len()).unwrap_or(u32::MAX);
    let (session_sd_mm, basis) = session_sd(baseline, later, aim);
    let outlook = Outlook {
        baseline_sessions: m,
        session_sd_mm,
        basis,
        wanted_mm: aim.shift_mm,
        sees_mm: (m > 0).then(|| seen(m) * session_sd_mm),
        one_more_sees_mm: seen(m.saturating_add(1)) * session_sd_mm,
    };
    let does = |sessions: u32, sd_mm: f64| seen(sessions) * sd_mm <= aim.shift_mm;
    let more_sessions = (1..=MOST_SESSIONS.saturating_sub(m)).find(|more| does(m + more, session_sd_mm));
    if m == 0 {
        return Advice::HitABaseline { more_sessions, balls_a_session: USUAL_BALLS, outlook };
    }
    if does(m, session_sd_mm) {
        return Advice::Enough { outlook };
    }
    let all: Vec<&Session> = baseline.iter().chain(later).copied().collect();
    let balls = all.iter().map(|s| f64::from(s.balls)).sum::<f64>() / all.len() as f64;
    let balls = libm::round(balls) as u32;
    let ball_mm2 = ball_variance(Quantity::Toe, &all).max(ball_variance(Quantity::High, &all));
    let days_mm2 = (session_sd_mm * session_sd_mm - ball_mm2 / f64::from(balls.max(1))).max(0.0);
    let more_balls_a_session = (balls..=MOST_BALLS)
        .find(|n| does(m, (days_mm2 + ball_mm2 / f64::from((*n).max(1))).sqrt()))
        .map(|n| n - balls)
        .filter(|more| *more > 0);
    Advice::Lengthen { more_sessions, more_balls_a_session, outlook }
}

/// Variance that the balls of one session leave in its middle, mm2.
fn balls_mm2(baseline: &[&Session], later: &[&Session]) -> f64 {
    let all: Vec<&Session> = baseline.iter().chain(later).copied().collect();
    if all.is_empty() {
        return ASSUMED_BALL_SD_MM * ASSUMED_BALL_SD_MM / f64::from(USUAL_BALLS);
    }
    let balls = all.iter().map(|s| f64::from(s.balls)).sum::<f64>() / all.len() as f64;
    ball_variance(Quantity::Toe, &all).max(ball_variance(Quantity::High, &all)) / balls
}

/// Standard deviation of a session's middle along the wider axis, mm.
fn session_sd(baseline: &[&Session], later: &[&Session], aim: &Aim) -> (f64, Basis) {
    let own = |quantity: Quantity| {
        let all: Vec<&Session> = baseline.iter().chain(later).copied().collect();
        let (base, now) = (quantity.units(baseline, &all), quantity.units(later, &all));
        let (variance, dof) = spread([&base, &now]);
        (dof >= FEWEST_DOF).then_some(variance)
    };
    match (own(Quantity::Toe), own(Quantity::High)) {
        (Some(toe), Some(high)) => (toe.max(high).sqrt(), Basis::ThisStudent),
        _ => match aim.others.filter(KnownShifts::is_sound) {
            Some(known) => {
                let days_mm2 = known.toe_mm2.max(known.high_mm2);
                ((days_mm2 + balls_mm2(baseline, later)).sqrt(), Basis::OtherStudents)
            }
            None => (ASSUMED_SESSION_SD_MM, Basis::Assumed),
        },
    }
}
