//! What each ball of a trial counts as, by measure.
//!
//! The rule: one trial is judged by values of one kind. Carries that were read
//! and carries that were computed are never mixed. Start at [`values_of`].

use serde::Serialize;

use crate::lesson::fits::{FitOfShot, computed_carry_m};
use crate::lesson::log::Log;
use crate::lesson::spans::settings_of;
use crate::model::{MarkRead, Measure, Shot};

/// Where values come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Read or looked at.
    Read,
    /// Computed from what else was read: differences are drawn toward 0 by the
    /// assumed first guess.
    Computed,
}

/// The values of some shots (visit, shot), in that order; `arm` says which arm the
/// shot at a place in `shots` is of.
pub(super) fn values_of(
    log: &Log,
    fits: &[FitOfShot],
    measure: Measure,
    shots: &[(usize, usize)],
    arm: &dyn Fn(usize) -> usize,
) -> (Vec<Option<f64>>, Source) {
    let shot = |at: &(usize, usize)| log.visits.get(at.0)?.shots.get(at.1);
    let each = |value: &dyn Fn(&Shot) -> Option<f64>| -> Vec<Option<f64>> {
        shots.iter().map(|at| shot(at).and_then(value)).collect()
    };
    match measure {
        Measure::Carry => carries(log, fits, shots, each(&|shot| Some(shot.readings.carry?.value.m()))),
        Measure::Miss => {
            let settings = settings_of(log);
            let miss = |shot: &Shot| {
                let mark = shot.mark.filter(|mark| mark.read != MarkRead::Felt)?;
                let toe = mark.toe_mm.mm() - settings.target_toe_mm;
                let high = mark.high_mm.mm() - settings.target_high_mm;
                Some((toe * toe + high * high).sqrt())
            };
            (each(&miss), Source::Read)
        }
        Measure::HeadSpeed => (each(&|shot| Some(shot.readings.head_speed?.value.mps())), Source::Read),
        Measure::StartSpread => {
            let starts = each(&|shot| Some(shot.readings.start?.value.deg()));
            (from_middle(&starts, arm), Source::Read)
        }
    }
}

/// Carries as read where they were read of as many balls as they can be computed of.
fn carries(
    log: &Log,
    fits: &[FitOfShot],
    shots: &[(usize, usize)],
    read: Vec<Option<f64>>,
) -> (Vec<Option<f64>>, Source) {
    let count = |values: &[Option<f64>]| values.iter().flatten().count();
    if count(&read) == shots.len() {
        return (read, Source::Read);
    }
    let computed: Vec<Option<f64>> = shots
        .iter()
        .map(|at| {
            let fit =
                fits.binary_search_by_key(at, |of| (of.visit, of.shot)).ok().and_then(|n| fits.get(n))?;
            // Where nothing of speed was read, a computed carry is the first guess.
            let r = &log.visits.get(at.0)?.shots.get(at.1)?.readings;
            (r.head_speed.is_some() || r.ball_speed.is_some()).then(|| computed_carry_m(log, fit).ok())?
        })
        .collect();
    if count(&computed) > count(&read) { (computed, Source::Computed) } else { (read, Source::Read) }
}

/// Distances from the middle start of the same arm (M. B. Brown and A. B. Forsythe,
/// J. Am. Stat. Assoc. 69, 364, 1974; from memory): a spread as a mean of balls.
/// The middle is that arm's own, so the test of it is approximate, not exact.
fn from_middle(starts: &[Option<f64>], arm: &dyn Fn(usize) -> usize) -> Vec<Option<f64>> {
    let middle = |of: usize| {
        let mut own: Vec<f64> = starts
            .iter()
            .enumerate()
            .filter(|(n, _)| arm(*n) == of)
            .filter_map(|(_, start)| *start)
            .collect();
        own.sort_unstable_by(f64::total_cmp);
        let half = own.len() / 2;
        let (upper, lower) = (own.get(half).copied(), own.get(own.len().saturating_sub(1) / 2).copied());
        0.5 * (upper.unwrap_or(0.0) + lower.unwrap_or(0.0))
    };
    let middles = [middle(0), middle(1)];
    starts
        .iter()
        .enumerate()
        .map(|(n, start)| start.map(|start| (start - middles.get(arm(n)).copied().unwrap_or(0.0)).abs()))
        .collect()
}
