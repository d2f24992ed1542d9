//! Swings for speed: how fast from either side, the ratio of the two, the trend.
//!
//! A day is one unit. The ratio of a day is that of its means, on the logarithm's
//! scale; of one day alone its interval rests on the swings.
//!
//! Start at [`SpeedSummary::of`].

use std::collections::BTreeMap;

use serde::Serialize;

use super::sure::{DayValue, Judged, moved};
use crate::dose::Papers;
use crate::face::quantile::t_two_sided;
use crate::model::{Day, SwingSide};

/// One side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SideSpeed {
    /// Swings.
    pub swings: u32,
    /// Days.
    pub days: u32,
    /// Mean over all swings, m/s.
    pub mean_mps: f64,
    /// The fastest, m/s.
    pub best_mps: f64,
}

/// A share with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratio {
    /// Other side over playing side.
    pub estimate: f64,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Days on which both sides were swung.
    pub days: u32,
}

/// All swings for speed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpeedSummary {
    /// From the playing side.
    pub playing: Option<SideSpeed>,
    /// From the other side.
    pub other: Option<SideSpeed>,
    /// The two-sided ratio.
    pub ratio: Option<Ratio>,
    /// Whether the playing side has become faster or slower since its first four
    /// days: mean less that of those, m/s, with the interval of all looks.
    pub trend: Judged,
    /// Mean of each day from the playing side, m/s, with its swings.
    pub by_day: Vec<(Day, f64, u32)>,
}

impl SpeedSummary {
    /// The summary of a student's swings.
    pub fn of(papers: &Papers) -> Self {
        let playing = by_day(papers, SwingSide::Playing);
        let other = by_day(papers, SwingSide::Other);
        let values: Vec<DayValue> = playing.values().map(|swings| day_value(swings)).collect();
        Self {
            playing: side(&playing),
            other: side(&other),
            ratio: ratio(&playing, &other),
            trend: moved(&values),
            by_day: playing.iter().map(|(day, swings)| (*day, mean(swings), swings.len() as u32)).collect(),
        }
    }
}

/// Head speeds of one side by day, m/s.
fn by_day(papers: &Papers, side: SwingSide) -> BTreeMap<Day, Vec<f64>> {
    let mut days: BTreeMap<Day, Vec<f64>> = BTreeMap::new();
    for swing in papers.swings.iter().filter(|swing| swing.value.side == side) {
        days.entry(swing.value.day).or_default().push(swing.value.head_speed.mps());
    }
    days
}

/// The ratio of each day on which both sides were swung: its logarithm.
pub(super) fn log_ratios(papers: &Papers) -> Vec<(Day, DayValue)> {
    let other = by_day(papers, SwingSide::Other);
    by_day(papers, SwingSide::Playing)
        .iter()
        .filter_map(|(day, playing)| {
            let (value, variance) = log_ratio(playing, other.get(day)?);
            Some((*day, DayValue { value, variance }))
        })
        .collect()
}

/// Mean head speed of each day from the playing side.
pub(super) fn day_speeds(papers: &Papers) -> Vec<(Day, DayValue, u32)> {
    by_day(papers, SwingSide::Playing)
        .iter()
        .map(|(day, swings)| (*day, day_value(swings), swings.len() as u32))
        .collect()
}

/// Logarithm of the ratio of two means and its variance, to first order.
fn log_ratio(playing: &[f64], other: &[f64]) -> (f64, f64) {
    let of = |swings: &[f64]| variance(swings) / (swings.len() as f64 * mean(swings) * mean(swings));
    (libm::log(mean(other) / mean(playing)), of(playing) + of(other))
}

fn day_value(swings: &[f64]) -> DayValue {
    DayValue { value: mean(swings), variance: variance(swings) / swings.len() as f64 }
}

fn side(days: &BTreeMap<Day, Vec<f64>>) -> Option<SideSpeed> {
    let all: Vec<f64> = days.values().flatten().copied().collect();
    (!all.is_empty()).then(|| SideSpeed {
        swings: all.len() as u32,
        days: days.len() as u32,
        mean_mps: mean(&all),
        best_mps: all.iter().copied().fold(0.0, f64::max),
    })
}

fn ratio(playing: &BTreeMap<Day, Vec<f64>>, other: &BTreeMap<Day, Vec<f64>>) -> Option<Ratio> {
    let days: Vec<(&Vec<f64>, &Vec<f64>)> =
        playing.iter().filter_map(|(day, swings)| Some((swings, other.get(day)?))).collect();
    let logs: Vec<f64> = days.iter().map(|(playing, other)| log_ratio(playing, other).0).collect();
    let count = days.len() as u32;
    let (middle, half) = match days.as_slice() {
        [] => return None,
        [(playing, other)] => {
            let (middle, variance) = log_ratio(playing, other);
            // The smaller side's degrees of freedom: never too sure.
            let dof = playing.len().min(other.len()) as f64 - 1.0;
            (middle, (dof >= 1.0).then(|| t_two_sided(0.95, dof) * variance.sqrt()))
        }
        _ => {
            let n = logs.len() as f64;
            (mean(&logs), Some(t_two_sided(0.95, n - 1.0) * (variance(&logs) / n).sqrt()))
        }
    };
    Some(Ratio {
        estimate: libm::exp(middle),
        low: half.map(|half| libm::exp(middle - half)),
        high: half.map(|half| libm::exp(middle + half)),
        days: count,
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sample variance; 0 of one value.
fn variance(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    squares / (values.len().max(2) as f64 - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ratio_of_two_days_has_the_interval_of_students_t_on_logarithms() {
        let day = |n| Day::parse(&format!("2026-05-0{n}")).unwrap();
        let playing = [(day(1), vec![40.0, 42.0]), (day(3), vec![41.0])].into();
        let other = [(day(1), vec![36.9]), (day(3), vec![36.08]), (day(4), vec![20.0])].into();
        let found = ratio(&playing, &other).unwrap();
        // By hand: logs of 0.9 and 0.88; t(0.975, 1) = 12.7062 (scipy.stats.t.ppf).
        let (a, b) = (libm::log(0.9), libm::log(0.88));
        let half = 12.7062 * (a - b) / 2.0;
        assert!((found.estimate - (0.9_f64 * 0.88).sqrt()).abs() < 1e-12, "{found:?}");
        assert!((found.high.unwrap() / found.estimate - libm::exp(half)).abs() < 1e-5);
        assert_eq!(found.days, 2);
    }

    #[test]
    fn one_swing_from_each_side_has_a_ratio_without_an_interval() {
        let day = Day::parse("2026-05-01").unwrap();
        let found = ratio(&[(day, vec![40.0])].into(), &[(day, vec![36.0])].into()).unwrap();
        assert_eq!((found.low, found.days), (None, 1));
        assert!((found.estimate - 0.9).abs() < 1e-12);
    }
}
