//! Where a student's yards and fairways go, and the one fix worth most now.
//!
//! The rule: a fix is only called worth most where balls stand behind it. Where it
//! rests on what is taken for granted, or where others are as good, that is what
//! is said, with what to read next. Start at [`Worth::of`].

use serde::Serialize;

use super::gather::{Gathering, LeftOut, club_in_use, gather_log};
use super::log::Log;
use super::seen::{face_of, hand_of};
use super::spans::{settings_of, split};
use super::student_model::Assumed;
use super::what_if::{Change, Fix, Want, WhatIf, what_if};
use crate::flight::law::AirLaw;
use crate::flight::{Conditions, FiveConstantLaw, Flier, FlightError, Setting};
use crate::model::Day;

/// Drives of each swing for a brief: gains lie within 0.1 m of carry and half a
/// fairway in a hundred of those from 300,000 drives, as all swings share their
/// chances (measured with the demo's students); the ranges are wider than that.
pub const DRIVES_FOR_A_BRIEF: usize = 4_000;
/// With fewer balls, or one session, no fix is called worth most (assumed: a
/// standard deviation of 20 balls is known to a sixth).
pub const FEWEST_BALLS: u32 = 20;
/// Sessions that it takes.
pub const FEWEST_SESSIONS: u32 = 2;
/// No more than so many of the latest sessions speak of the swing as it is now
/// (assumed: two a week for six weeks).
pub const MOST_SESSIONS: usize = 12;
/// A fix that comes first in so many of the swings that fit is called (assumed).
pub const SURE_ENOUGH: f64 = 0.7;
/// A fix that comes first more rarely than this doesn't ask for readings (assumed).
const COULD_BE_FIRST: f64 = 0.1;

/// How firmly the first of the fixes stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// It comes first in most swings that fit the balls.
    Clear,
    /// Others may be as good.
    Close,
    /// It changes something that was not read.
    Assumed,
    /// Too few balls or sessions.
    FewBalls,
    /// None gains anything.
    Nothing,
}

/// Where yards and fairways go, and what is worth fixing first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worth {
    /// Today, what is lost, and the fixes by rank.
    #[serde(flatten)]
    pub found: WhatIf,
    /// The first of the days whose balls it rests on: the latest sessions since the
    /// baseline, or all there are where these are too few.
    pub from: Option<Day>,
    /// Balls of these days that are not in it.
    pub left_out: LeftOut,
    /// How firmly the first fix stands.
    pub standing: Standing,
    /// Numbers of the swing that could decide which fix comes first and that rest
    /// on less than one ball: they are assumed, and worth reading next.
    pub read_next: Vec<&'static str>,
}

impl Worth {
    /// What the balls of a log's latest sessions with the club in use say, in still
    /// standard air. Nothing where nothing was read or no swing explains it.
    ///
    /// # Errors
    /// [`FlightError`] for a club that none can be.
    pub fn of(log: &Log, drives: usize) -> Result<Option<Self>, FlightError> {
        let flier = Flier::new(&FiveConstantLaw::ODS_FIT, &Conditions::default())?;
        match Self::asked(&recent(log), &flier, &Want { drives, ..want_of(log) }) {
            Ok(found) => Ok(Some(found)),
            Err(FlightError::NothingReadOfAny | FlightError::NoFit) => Ok(None),
            Err(other) => Err(other),
        }
    }

    /// What all balls of a log with the club in use say to a question, in some air.
    ///
    /// # Errors
    /// [`FlightError::NothingReadOfAny`] without a reading, and as [`what_if`].
    pub fn asked<L: AirLaw>(log: &Log, flier: &Flier<L>, want: &Want) -> Result<Self, FlightError> {
        let (head, _) = club_in_use(log).any()?;
        let hand = hand_of(log.student.hand);
        let mut balls = Gathering::new(&head, hand, flier);
        gather_log(&mut balls, log)?;
        let (model, left_out) = balls.model(&Assumed::default())?;
        let setting = Setting { head: &head, hand, face: face_of(None), flier };
        let found = what_if(&model, &setting, want)?;
        Ok(Self::new(found, left_out, log.visits.first().map(|v| v.session.day)))
    }

    /// How firmly an answer stands.
    pub fn new(found: WhatIf, left_out: LeftOut, from: Option<Day>) -> Self {
        let could_be_first = |fix: &&Fix| fix.rank == 1 || fix.best_chance >= COULD_BE_FIRST;
        let mut read_next: Vec<&'static str> = Vec::new();
        for change in found.fixes.iter().filter(could_be_first).flat_map(|fix| &fix.gain.change) {
            if is_assumed(&found, change) && !read_next.contains(&change.quantity) {
                read_next.push(change.quantity);
            }
        }
        let standing = match found.fixes.first() {
            None => Standing::Nothing,
            Some(first) if first.gain.score <= 0.0 => Standing::Nothing,
            _ if found.model.balls < FEWEST_BALLS || found.model.sessions < FEWEST_SESSIONS => {
                Standing::FewBalls
            }
            Some(first) if first.gain.change.iter().any(|change| is_assumed(&found, change)) => {
                Standing::Assumed
            }
            Some(first) if first.best_chance >= SURE_ENOUGH => Standing::Clear,
            Some(_) => Standing::Close,
        };
        Self { found, from, left_out, standing, read_next }
    }

    /// How many exactly read balls the readings of a number are worth.
    pub fn balls_behind(&self, quantity: &str) -> f64 {
        balls_behind(&self.found, quantity)
    }
}

/// What is asked of a student where nobody says more: strikes on their target point.
pub fn want_of(log: &Log) -> Want {
    let settings = settings_of(log);
    Want { target_mm: [settings.target_toe_mm, settings.target_high_mm], ..Want::default() }
}

/// The log with only the sessions that speak of the swing as it is now: a student
/// who has changed is not judged by what they did before.
fn recent(log: &Log) -> Log {
    let (baseline, ..) = split(log);
    let until = baseline.last().map(|visit| visit.session.day);
    let later = log.visits.iter().filter(|visit| until.is_none_or(|until| visit.session.day > until)).count();
    let cut = log.visits.len() - later.min(MOST_SESSIONS);
    let latest = log.visits.get(cut..).unwrap_or_default();
    let balls: usize = latest.iter().map(|visit| visit.shots.len()).sum();
    let few = latest.len() < FEWEST_SESSIONS as usize || balls < FEWEST_BALLS as usize;
    let most = log.visits.get(log.visits.len().saturating_sub(MOST_SESSIONS)..).unwrap_or_default();
    Log { visits: if few { most } else { latest }.to_vec(), ..log.without_visits() }
}

fn balls_behind(found: &WhatIf, quantity: &str) -> f64 {
    let each = found.model.quantities.iter().zip(found.model.worth);
    each.filter(|(name, _)| **name == quantity).map(|(_, worth)| worth).sum()
}

/// Whether a change is of a number that no ball stands behind.
fn is_assumed(found: &WhatIf, change: &Change) -> bool {
    let moves = (change.to - change.from).abs() > 1e-9;
    moves && balls_behind(found, change.quantity) < 1.0
}
