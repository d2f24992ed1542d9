//! Has the pattern changed since the baseline, and is that real?
//!
//! Three questions, asked anew after every later session: has the bias moved (by
//! axis and jointly), has the scatter changed, has the centre rate changed. A
//! call says yes. However often one looks, the chance that a season holds any
//! call where nothing changed is at most 5 %.
//!
//! # Method
//! 1. *A session is one unit* (`units`): its middle along each axis, the
//!    logarithm of its mean distance between two balls, its centre rate. Balls of
//!    one session may be as alike as they like.
//! 2. *A look* compares all later sessions so far with the baseline by a pooled
//!    Student t on those values (`contrast`), weighted by balls as far as the
//!    data say that balls matter.
//! 3. *A boundary over the looks* (`boundary`) in the manner of group sequential
//!    tests with alpha spending (Lan and DeMets, Biometrika 70, 659, 1983), tabled
//!    by simulation for the t of few sessions and a shared baseline.
//! 4. *Four quantities share 4.76 %*: toe 33, high 33, scatter 29, centre rate 5
//!    parts of a hundred. What is called passes its share on to the rest
//!    (weighted Holm, Scand. J. Statist. 6, 65, 1979; with looks: Maurer and
//!    Bretz, Stat. Biopharm. Res. 5, 311, 2013).
//! 5. *Intervals* are repeated confidence intervals (Jennison and Turnbull, J. R.
//!    Statist. Soc. B 51, 305, 1989): they hold at all looks at once, and leave
//!    "no change" out exactly where this look would call.
//!
//! Figures of the simulation study are in `core/decisions/003-comparison.md`.
//!
//! Invariant: never NaN; what can't be known is absent. A call is never taken
//! back by later looks. Nothing is called below three degrees of freedom (four
//! baseline sessions and one later, or three and two).
//!
//! Where to start: [`compare`], [`Comparison`].

mod advice;
mod boundary;
mod contrast;
mod known;
mod season;
#[cfg(test)]
mod tests;
mod units;

use serde::Serialize;

use super::{FaceError, Settings, Strike, check};
pub(crate) use contrast::{Contrast, Unit as Value, contrast};
use season::{ratio, season, share};
pub(crate) use units::Prior;
use units::Session;

pub use advice::{Advice, Aim, Basis, Outlook};
pub use boundary::LAST_LOOK;
pub use known::{KnownShifts, UsedShifts};
pub use season::{Look, Seen};
pub use units::FEWEST_BALLS;

/// Season-wide chance of any false call that the boundary is set for; the rest
/// of 5 % is for what the boundary's assumptions leave out.
const ALPHA: f64 = 0.0476;

/// Parts of [`ALPHA`] in the order of [`Quantity::ALL`].
const PARTS: [f64; 4] = [0.365, 0.365, 0.23, 0.04];

/// One figure now against the baseline.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Change {
    /// Best guess, from all later sessions together; absent without sessions on
    /// both sides.
    pub estimate: Option<f64>,
    /// Lower end of the interval that holds at all looks at once (at least 95 %);
    /// absent while there are too few sessions.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Whether a change has been called at this look or before.
    pub called: bool,
    /// The later session, counted from 1, after which it was called first.
    pub first_called_at: Option<u32>,
}

/// The bias: jointly and by axis.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct BiasChange {
    /// How far the middle has moved, mm, in whatever direction (so never below
    /// 0). Called where an axis is; the interval is that of the nearest and
    /// farthest point of the box of both axes' intervals.
    #[serde(flatten)]
    pub joint: Change,
    /// Later less baseline toward the toe, mm.
    pub toe: Change,
    /// Later less baseline toward the crown, mm.
    pub high_axis: Change,
}

/// Which side a session is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Before the change.
    Baseline,
    /// After it.
    Later,
}

/// A session that was left out because it has too few balls.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Which side.
    pub side: Side,
    /// Which session of that side, counted from 1.
    pub session: u32,
    /// Its balls.
    pub balls: u32,
    /// Balls that it lacks.
    pub more_balls: u32,
}

/// All of the comparison.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The middle of the marks, mm.
    pub bias: BiasChange,
    /// Scatter now as a multiple of the baseline's (mean distance between two
    /// balls of a session, readings' error taken out): 1 is no change, 0.7 is
    /// 30 % tighter.
    pub scatter: Change,
    /// Centre rate now less the baseline's, as a fraction.
    pub centre_rate: Change,
    /// Whether anything was called.
    pub any_called: bool,
    /// The later session after which anything was called first, counted from 1.
    pub first_called_at: Option<u32>,
    /// Whether the baseline is long enough for what the coach wants to see.
    pub baseline_enough: bool,
    /// What to do about it.
    pub advice: Advice,
    /// Baseline sessions that count.
    pub baseline_sessions: u32,
    /// Baseline balls that count.
    pub baseline_balls: u32,
    /// Later sessions that count.
    pub later_sessions: u32,
    /// Later balls that count.
    pub later_balls: u32,
    /// Sessions with too few balls.
    pub left_out: Vec<LeftOut>,
    /// What other students' days lent to the standard errors of the bias; absent
    /// where only this student's own sessions count.
    pub known_shifts: Option<UsedShifts>,
}

/// Why sessions can't be compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CompareError {
    /// A mark or setting is not allowed.
    #[error("{} session {session}: {source}", match side { Side::Baseline => "baseline", Side::Later => "later" })]
    Session {
        /// Which side.
        side: Side,
        /// Which session of that side, counted from 1.
        session: usize,
        /// What is wrong.
        source: FaceError,
    },
    /// A setting is not allowed.
    #[error(transparent)]
    Settings(FaceError),
    /// The aim is not a distance.
    #[error("the shift to be seen is {0}; it must be a number above 0 and up to 250 mm")]
    Aim(f64),
}

/// Compares later sessions, each of them a look, with the baseline.
///
/// Sessions of fewer than [`FEWEST_BALLS`] balls are no look and no baseline; they
/// are listed in [`Comparison::left_out`]. Any number of sessions, 0 included, is
/// fine. The baseline must be fixed before the later sessions are seen, and club,
/// ball and powder must be the same on both sides: neither can be checked here.
///
/// # Errors
/// [`CompareError`] if a mark, a setting or the aim is not a number or out of its
/// range.
pub fn compare<B: AsRef<[Strike]>, L: AsRef<[Strike]>>(
    baseline: &[B],
    later: &[L],
    settings: &Settings,
    aim: &Aim,
) -> Result<Comparison, CompareError> {
    Ok(run(baseline, later, settings, aim)?.0)
}

/// The same with every look on the way, for a chart of the season.
///
/// # Errors
/// As [`compare`].
pub fn follow<B: AsRef<[Strike]>, L: AsRef<[Strike]>>(
    baseline: &[B],
    later: &[L],
    settings: &Settings,
    aim: &Aim,
) -> Result<(Comparison, Vec<Look>), CompareError> {
    let (comparison, season) = run(baseline, later, settings, aim)?;
    Ok((comparison, season.looks()))
}

fn run<B: AsRef<[Strike]>, L: AsRef<[Strike]>>(
    baseline: &[B],
    later: &[L],
    settings: &Settings,
    aim: &Aim,
) -> Result<(Comparison, season::Season), CompareError> {
    check(&[], settings).map_err(CompareError::Settings)?;
    if !(aim.shift_mm > 0.0 && aim.shift_mm <= super::MAX_MM) {
        return Err(CompareError::Aim(aim.shift_mm));
    }
    let mut left_out = Vec::new();
    let before = summaries(baseline, Side::Baseline, settings, &mut left_out)?;
    let after = summaries(later, Side::Later, settings, &mut left_out)?;
    let base: Vec<&Session> = before.iter().map(|(_, s)| s).collect();
    let now: Vec<&Session> = after.iter().map(|(_, s)| s).collect();

    let known = aim.others.filter(KnownShifts::is_sound);
    let season = season(&base, &after, known.as_ref());
    let [toe, high_axis, scatter, centre_rate] = season.changes();
    let first_called_at = season.first_called_at();
    let [counted_toe, counted_high, ..] = season.prior_dof();
    let advice = advice::advise(&base, &now, aim);
    let balls = |sessions: &[&Session]| sessions.iter().fold(0_u32, |sum, s| sum.saturating_add(s.balls));
    let comparison = Comparison {
        bias: BiasChange { joint: joint(&toe, &high_axis), toe, high_axis },
        scatter: scatter.map(ratio),
        centre_rate: centre_rate.map(share),
        any_called: first_called_at.is_some(),
        first_called_at,
        baseline_enough: advice.enough(),
        advice,
        baseline_sessions: whole(base.len()),
        baseline_balls: balls(&base),
        later_sessions: whole(now.len()),
        later_balls: balls(&now),
        left_out,
        known_shifts: known.map(|known| UsedShifts { known, counted_toe, counted_high }),
    };
    Ok((comparison, season))
}

fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// Sessions that count, each with its place from 1.
fn summaries<S: AsRef<[Strike]>>(
    sessions: &[S],
    side: Side,
    settings: &Settings,
    left_out: &mut Vec<LeftOut>,
) -> Result<Vec<(u32, Session)>, CompareError> {
    let mut kept = Vec::with_capacity(sessions.len());
    for (index, session) in sessions.iter().enumerate() {
        let strikes = session.as_ref();
        check(strikes, settings).map_err(|source| CompareError::Session {
            side,
            session: index + 1,
            source,
        })?;
        let place = whole(index).saturating_add(1);
        if let Some(summary) = Session::of(strikes, settings) {
            kept.push((place, summary));
        } else {
            let balls = whole(strikes.len());
            left_out.push(LeftOut { side, session: place, balls, more_balls: FEWEST_BALLS - balls });
        }
    }
    Ok(kept)
}

impl Change {
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { estimate: self.estimate.map(&f), low: self.low.map(&f), high: self.high.map(&f), ..self }
    }
}

/// The distance moved, from the two axes.
fn joint(toe: &Change, high: &Change) -> Change {
    let length = |x: f64, y: f64| (x * x + y * y).sqrt();
    // Nearest and farthest value of an interval from 0.
    let near = |low: f64, high: f64| low.max(-high).max(0.0);
    let far = |low: f64, high: f64| low.abs().max(high.abs());
    let both = |f: &dyn Fn(f64, f64) -> f64| Some(length(f(toe.low?, toe.high?), f(high.low?, high.high?)));
    let first_called_at = [toe.first_called_at, high.first_called_at].into_iter().flatten().min();
    Change {
        estimate: toe.estimate.zip(high.estimate).map(|(x, y)| length(x, y)),
        low: both(&near),
        high: both(&far),
        called: first_called_at.is_some(),
        first_called_at,
    }
}
