//! Is a student's feel getting better? The first third of the sessions against
//! the last third.
//!
//! A session is one unit, however alike its balls are. Its two values take out
//! the day's offset and the middle of its strikes, by distances between balls:
//! `e`, the mean over all pairs of balls of |difference of guesses - difference
//! of marks|, the readings' share taken out; and `e / s`, where `s` is the same of
//! the marks alone. One who always guesses the middle has `e / s` = 1, whatever
//! their strikes do, and `e` falls when strikes get tighter; so better is called
//! only if both fell, and worse only if both rose (an intersection-union test: R.
//! L. Berger, Technometrics 24, 295, 1982; from memory).
//!
//! One may look after every session. Thirds grow with every third session, from
//! nine on; a look's two-sided level is [`level`], found by simulation so that a
//! whole season of looks calls a change that isn't there in under 5 %.
//!
//! Start at [`FeelTrend::of`].

use serde::Serialize;

use super::pairs::Pair;
use super::sure::Interval;
use crate::face::compare::{Contrast, Prior, Value, contrast};
use crate::face::quantile::t_two_sided;

/// A session with fewer pairs than this is left out: its values say too little.
pub const FEWEST_IN_A_SESSION: usize = 4;
/// Sessions in each third below which nothing is called.
const FEWEST_IN_A_THIRD: usize = 3;
/// Variance of the logarithm of a mean pair distance times the balls less one,
/// for round normal patterns: as in the comparison of strike patterns.
const LN_SPREAD: f64 = 0.27;
/// No distance counts as smaller, mm: guesses are not finer than this.
const LEAST_MM: f64 = 1.0;

/// Which way feel has turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FeelTurn {
    /// Closer guesses, and closer than tighter strikes alone would make them.
    Better,
    /// The opposite.
    Worse,
}

/// One third of the sessions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Third {
    /// Its sessions.
    pub sessions: u32,
    /// Its pairs.
    pub pairs: u32,
    /// Guess against mark within a session, as a distance between balls, mm:
    /// geometric mean over sessions.
    pub error_mm: f64,
    /// The same over the spread of the strikes: 1 for one who always guesses the same.
    pub relative_error: f64,
}

/// Whether a student's feel is getting better.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FeelTrend {
    /// Sessions with enough pairs.
    pub sessions: u32,
    /// The first third of them.
    pub first: Option<Third>,
    /// The last third.
    pub last: Option<Third>,
    /// The error now as a multiple of that at first, with the interval of this look alone, 90 %.
    pub error_ratio: Option<Interval>,
    /// The same of the relative error.
    pub relative_ratio: Option<Interval>,
    /// What was called, at this look or before.
    pub called: Option<FeelTurn>,
    /// The session, of those with enough pairs, after which it was called.
    pub called_at: Option<u32>,
    /// Sessions that are missing before anything could be called.
    pub more_sessions: u32,
}

/// A session's values, as logarithms.
struct Seen {
    pairs: usize,
    error: f64,
    relative: f64,
}

impl FeelTrend {
    /// The trend over sessions in the order of their days.
    pub fn of<S: AsRef<[Pair]>>(sessions: &[S]) -> Self {
        let seen: Vec<Seen> = sessions.iter().filter_map(|pairs| seen(pairs.as_ref())).collect();
        let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let mut trend = Self {
            sessions: whole(seen.len()),
            first: None,
            last: None,
            error_ratio: None,
            relative_ratio: None,
            called: None,
            called_at: None,
            more_sessions: whole((3 * FEWEST_IN_A_THIRD).saturating_sub(seen.len())),
        };
        for third in FEWEST_IN_A_THIRD..=seen.len() / 3 {
            let (Some(first), Some(last)) = (seen.get(..third), seen.get(2 * third..3 * third)) else {
                break;
            };
            let of =
                |value: fn(&Seen) -> f64| contrast(&units(first, value), &units(last, value), Prior::NONE);
            let (Some(error), Some(relative)) = (of(|s| s.error), of(|s| s.relative)) else { break };
            let sure = error.p().max(relative.p()) < level(third);
            let turn = match (error.estimate < 0.0, relative.estimate < 0.0) {
                (true, true) => Some(FeelTurn::Better),
                (false, false) => Some(FeelTurn::Worse),
                _ => None,
            };
            if let (None, true, Some(turn)) = (trend.called, sure, turn) {
                trend.called = Some(turn);
                trend.called_at = Some(whole(3 * third));
            }
            trend.first = Some(third_of(first));
            trend.last = Some(third_of(last));
            trend.error_ratio = Some(ratio(&error));
            trend.relative_ratio = Some(ratio(&relative));
        }
        trend
    }
}

/// Two-sided level of the look with so many sessions in each third.
///
/// Simulated in 200,000 seasons of up to 60 sessions with one unknown variance:
/// 3.8 % of seasons without a change call one by the 21st session, 4.8 % by the
/// 60th. Looks past that call nothing.
fn level(third: usize) -> f64 {
    match third {
        0..FEWEST_IN_A_THIRD => 0.0,
        FEWEST_IN_A_THIRD..=7 => 0.013_8 * (third as f64 - 1.0) / 6.0,
        8..=20 => 0.001_5,
        _ => 0.0,
    }
}

fn units(sessions: &[Seen], value: fn(&Seen) -> f64) -> Vec<Value> {
    sessions.iter().map(|s| Value { value: value(s), within: LN_SPREAD / (s.pairs as f64 - 1.0) }).collect()
}

fn ratio(of: &Contrast) -> Interval {
    let half = t_two_sided(super::sure::LEVEL, of.all_dof()) * of.standard_error;
    // Within e^-20 to e^20, so that no interval runs to infinity.
    let back = |v: f64| libm::exp(v.clamp(-20.0, 20.0));
    Interval {
        estimate: back(of.estimate),
        low: Some(back(of.estimate - half)),
        high: Some(back(of.estimate + half)),
    }
}

fn third_of(sessions: &[Seen]) -> Third {
    let n = sessions.len() as f64;
    let mean = |value: fn(&Seen) -> f64| libm::exp(sessions.iter().map(value).sum::<f64>() / n);
    Third {
        sessions: sessions.len() as u32,
        pairs: sessions.iter().map(|s| s.pairs as u32).sum(),
        error_mm: mean(|s| s.error),
        relative_error: mean(|s| s.relative),
    }
}

fn seen(pairs: &[Pair]) -> Option<Seen> {
    if pairs.len() < FEWEST_IN_A_SESSION {
        return None;
    }
    let n = pairs.len() as f64;
    let reading_mm2 = pairs.iter().map(|p| p.sigma_mm * p.sigma_mm).sum::<f64>() / n;
    let (mut errors, mut spreads) = (0.0, 0.0);
    for (i, a) in pairs.iter().enumerate() {
        for b in pairs.iter().skip(i + 1) {
            let [mx, my] = less(a.mark_mm, b.mark_mm);
            let [gx, gy] = less(a.guess_mm, b.guess_mm);
            errors += length([gx - mx, gy - my]);
            spreads += length([mx, my]);
        }
    }
    let count = 0.5 * n * (n - 1.0);
    // For round normal errors the square of the mean distance between two is pi
    // times the variance along one axis: so the readings' share is taken out.
    let ln = |distance: f64| {
        let squared = distance * distance - core::f64::consts::PI * reading_mm2;
        0.5 * libm::log(squared.max(LEAST_MM * LEAST_MM))
    };
    let (error, spread) = (ln(errors / count), ln(spreads / count));
    Some(Seen { pairs: pairs.len(), error, relative: error - spread })
}

fn less([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> [f64; 2] {
    [ax - bx, ay - by]
}

fn length([x, y]: [f64; 2]) -> f64 {
    (x * x + y * y).sqrt()
}
