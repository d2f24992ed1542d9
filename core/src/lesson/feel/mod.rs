//! The guess before the look: how well a student knows where they struck it.
//!
//! A pair is one ball with a guess and a mark that was then looked at. The rules:
//! always guessing the middle must not look like skill, so errors stand beside
//! those of the best constant guess, and beside how far the guess follows the
//! mark; the mark's own reading error is taken out; nothing is called better on
//! too little, however often one looks (`trend`).
//!
//! Intervals are 90 %, by leaving one session out at a time, or one ball where
//! there are few sessions (`sure`). Start at [`Feel::of`]; [`felt_error`] and
//! [`mark_from_felt`] for what a felt strike is worth.

mod pairs;
mod sure;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_coverage;
mod trend;

use serde::Serialize;

use super::log::Log;
use crate::model::quantity::MarkSigma;
use crate::model::{MarkRead, Shot};

pub use pairs::Pair;
pub use sure::{Interval, Unit};
pub use trend::{FeelTrend, FeelTurn, Third};

use pairs::Sums;
use sure::Groups;

/// Fewer pairs than this say nothing of what a felt strike is worth (assumed:
/// with ten degrees of freedom an error is known to about a quarter).
pub const FEWEST_PAIRS: u32 = 12;
/// And they have to come from as many sessions.
pub const FEWEST_SESSIONS: u32 = 2;

/// One axis of a student's feel.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct FeelAxis {
    /// Mean of guess less mark, mm: toward toe or crown positive.
    pub offset_mm: Option<Interval>,
    /// How much the guess moves for each mm that the strike moves: 0 for one who
    /// always guesses the same, 1 for one who feels all of it. The reading error of
    /// the marks is taken out (W. A. Fuller, Measurement Error Models, 1987,
    /// section 1.2; from memory).
    pub slope: Option<Interval>,
    /// Correlation of guess and strike, the same error taken out; absent where
    /// either never varies.
    pub correlation: Option<Interval>,
}

/// What felt strikes of this student are worth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FeltSigma {
    /// Standard error toward the toe, mm.
    pub toe_mm: f64,
    /// Standard error toward the crown, mm.
    pub high_mm: f64,
    /// Whether it is this student's own; else it is the assumed one of every felt strike.
    pub own: bool,
    /// The pairs it rests on, or would.
    pub pairs: u32,
    /// How many more pairs it takes to be this student's own.
    pub more_pairs: u32,
}

/// A felt strike as a mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FeltMark {
    /// Most likely strike toward the toe, mm.
    pub toe_mm: f64,
    /// Most likely strike toward the crown, mm.
    pub high_mm: f64,
    /// Its standard error toward the toe, mm.
    pub sigma_toe_mm: f64,
    /// Its standard error toward the crown, mm.
    pub sigma_high_mm: f64,
    /// Whether this student's own pairs stand behind it.
    pub own: bool,
}

/// Whether the guesses tell more than one and the same guess would.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Knows {
    /// Better than the best constant guess, and the guess moves with the strike on
    /// one axis at least; the intervals say so.
    Yes,
    /// Worse than the best constant guess, surely.
    No,
    /// Not settled.
    Open,
}

/// How well a student knows where they struck it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Feel {
    /// Balls with a guess and a mark that was looked at.
    pub pairs: u32,
    /// Sessions that they come from.
    pub sessions: u32,
    /// Toward the toe.
    pub toe: FeelAxis,
    /// Toward the crown.
    pub high: FeelAxis,
    /// Root mean square distance from guess to strike, mm, reading error taken out.
    pub rms_error_mm: Option<Interval>,
    /// That error as a multiple of the error of always guessing the student's own
    /// average strike: 1 is no better than that.
    pub relative_error: Option<Interval>,
    /// What the relative error says.
    pub knows: Knows,
    /// What was left out in turn for the intervals: sessions, as balls of one day
    /// are alike, or single balls where sessions are too few for that.
    pub intervals_by: Unit,
    /// What felt strikes are worth.
    pub felt_sigma_mm: FeltSigma,
    /// Whether it is getting better.
    pub trend: FeelTrend,
    /// Sums over all pairs, for [`mark_from_felt`].
    #[serde(skip)]
    all: Sums,
}

impl Feel {
    /// The feel of a student, from all pairs of their log.
    pub fn of(log: &Log) -> Self {
        let sessions: Vec<Vec<Pair>> =
            log.visits.iter().map(|visit| visit.shots.iter().filter_map(pair_of).collect()).collect();
        Self::from_sessions(&sessions)
    }

    /// The feel that sessions of pairs show, in the order of their days.
    pub fn from_sessions<S: AsRef<[Pair]>>(sessions: &[S]) -> Self {
        let groups = Groups::of(sessions);
        let all = groups.total();
        let pairs = all.count();
        let mut feel = Self {
            pairs,
            sessions: groups.sessions,
            toe: axis(&groups, 0),
            high: axis(&groups, 1),
            rms_error_mm: groups.above_zero(Sums::rms_error_mm),
            relative_error: groups.above_zero(Sums::relative_error),
            knows: Knows::Open,
            intervals_by: groups.unit,
            felt_sigma_mm: default_error(pairs, groups.sessions),
            trend: FeelTrend::of(sessions),
            all,
        };
        if let Some(Interval { low: Some(low), high: Some(high), .. }) = feel.relative_error {
            // At a constant guess of just the middle the relative error hardly
            // varies, and its interval is too narrow: the slope has to say so too.
            let moves = |axis: &FeelAxis| axis.slope.is_some_and(|s| s.low.is_some_and(|low| low > 0.0));
            let follows = moves(&feel.toe) || moves(&feel.high);
            feel.knows = if high < 1.0 && follows {
                Knows::Yes
            } else if low > 1.0 {
                Knows::No
            } else {
                Knows::Open
            };
        }
        if pairs >= FEWEST_PAIRS && groups.sessions >= FEWEST_SESSIONS {
            let error = |axis| feel.all.mark_from(axis, None).1;
            feel.felt_sigma_mm =
                FeltSigma { toe_mm: error(0), high_mm: error(1), own: true, pairs, more_pairs: 0 };
        }
        feel
    }

    /// The strike that a felt one stands for, corrected by this student's own
    /// regression of mark on guess where there are pairs enough; else as felt,
    /// with the assumed error of every felt strike.
    pub fn mark_from_felt(&self, toe_mm: f64, high_mm: f64) -> FeltMark {
        let FeltSigma { toe_mm: sigma_toe_mm, high_mm: sigma_high_mm, own, .. } = self.felt_sigma_mm;
        if !own {
            return FeltMark { toe_mm, high_mm, sigma_toe_mm, sigma_high_mm, own };
        }
        let (toe_mm, sigma_toe_mm) = self.all.mark_from(0, Some(toe_mm));
        let (high_mm, sigma_high_mm) = self.all.mark_from(1, Some(high_mm));
        FeltMark { toe_mm, high_mm, sigma_toe_mm, sigma_high_mm, own }
    }
}

/// The standard errors, toward toe and crown in mm, of a felt strike of this student.
pub fn felt_error(feel: &Feel) -> (f64, f64) {
    (feel.felt_sigma_mm.toe_mm, feel.felt_sigma_mm.high_mm)
}

/// As [`Feel::mark_from_felt`].
pub fn mark_from_felt(feel: &Feel, toe_mm: f64, high_mm: f64) -> FeltMark {
    feel.mark_from_felt(toe_mm, high_mm)
}

fn axis(groups: &Groups, axis: usize) -> FeelAxis {
    FeelAxis {
        offset_mm: groups.plain(|sums| sums.offset_mm(axis)),
        slope: groups.plain(|sums| sums.slope(axis)),
        correlation: groups.correlation(|sums| sums.correlation(axis)),
    }
}

fn default_error(pairs: u32, sessions: u32) -> FeltSigma {
    let sigma = MarkRead::Felt.assumed_sigma_mm();
    let more = FEWEST_PAIRS.saturating_sub(pairs).max(u32::from(sessions < FEWEST_SESSIONS));
    FeltSigma { toe_mm: sigma, high_mm: sigma, own: false, pairs, more_pairs: more }
}

/// A shot's guess and mark, where it has both and the mark was looked at.
fn pair_of(shot: &Shot) -> Option<Pair> {
    let mark = shot.mark.filter(|mark| mark.read != MarkRead::Felt)?;
    let guess = shot.guess?;
    Some(Pair {
        guess_mm: [guess.toe_mm.mm(), guess.high_mm.mm()],
        mark_mm: [mark.toe_mm.mm(), mark.high_mm.mm()],
        sigma_mm: mark.sigma_mm.mm(),
    })
}

/// The range that a standard error of a mark may have, mm: at least half a
/// dimple's width or so, at most what the model allows.
fn as_error(sigma_mm: f64) -> f64 {
    sigma_mm.clamp(1.0, MarkSigma::RANGE.high)
}
