//! How sure a season of looks is: one value a day, looked at after every day.
//!
//! A day is one unit, however alike its balls are. The evidence is the Bayes factor of
//! Student's t against "no difference", with a normal prior of variance 4 on the
//! difference in standard deviations of a day (Gönen, Johnson, Lu, Westfall, Am. Stat. 59, 252,
//! 2005). For normal days it is a test martingale whatever the spread of the days is
//! (Pérez-Ortiz, Lardy, de Heide, Grünwald, Ann. Stat. 52, 1410, 2024), so by Ville's
//! inequality it ever reaches 20 with a chance of 1 in 20 at most if there is no
//! difference: one may look as often as one wants. Both cited from memory; the figures
//! are checked against scipy, the season-wide chance by simulation in the tests.
//!
//! Start at [`above`] and [`moved`].

use serde::Serialize;

use crate::face::quantile::t_two_sided;

/// What the evidence has to reach for a difference either way: a false call in 1 of 20
/// seasons at most.
const ENOUGH: f64 = 20.0;
/// What it has to reach for "above": half as much, as "below" is not asked, and where
/// there is no difference either way comes up as often.
const ENOUGH_ONE_WAY: f64 = 10.0;
/// Days on one side below which nothing is called, and how far apart starts lie.
pub const FEWEST_DAYS: usize = 3;
/// Days that later ones are compared with.
pub const FIRST_DAYS: usize = 4;
/// Prior variance of a difference, in variances of a day.
const PRIOR: f64 = 4.0;

/// One day's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayValue {
    /// The value.
    pub value: f64,
    /// Variance that it has from its few tries alone; days can't differ by less.
    pub variance: f64,
}

impl DayValue {
    /// Ends of a 95 % interval by the day's tries alone, on the scale that `back` turns
    /// to: Student's t. None where a day's tries don't say how they differ.
    pub fn range(&self, dof: f64, back: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
        if dof < 1.0 || self.variance <= 0.0 {
            return None;
        }
        let reach = t_two_sided(0.95, dof) * self.variance.sqrt();
        Some((back(self.value - reach), back(self.value + reach)))
    }
}

/// What many looks come to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Judged {
    /// Best guess of the difference.
    pub estimate: Option<f64>,
    /// Lower end of the interval that holds at all looks at once: 95 %, or for
    /// [`above`] 95 % downward.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// A difference was called, at this look or before: upward or not.
    pub called_up: Option<bool>,
    /// The day, counted from 1, after which it was called.
    pub called_at: Option<u32>,
    /// Days that count.
    pub days: u32,
}

/// Are the days' values above `bar`? Called after the first day at which it is sure.
pub fn above(days: &[DayValue], bar: f64) -> Judged {
    let looks = (1..=days.len()).filter_map(|n| days.get(..n));
    follow(looks, ENOUGH_ONE_WAY, |seen, from| {
        let seen = seen.get(from..).unwrap_or_default();
        let count = seen.len() as f64;
        let mean = mean(seen);
        let spread = spread(&[(seen, mean)], count - 1.0);
        Contrast { estimate: mean - bar, spread, count, dof: count - 1.0 }
    })
}

/// Have the days after the first [`FIRST_DAYS`] moved from these?
pub fn moved(days: &[DayValue]) -> Judged {
    let (first, later) = days.split_at(FIRST_DAYS.min(days.len()));
    let looks = (1..=later.len()).filter_map(|n| later.get(..n));
    let judged = follow(looks, ENOUGH, |seen, from| {
        let seen = seen.get(from..).unwrap_or_default();
        let (before, after) = (first.len() as f64, seen.len() as f64);
        let (mean_before, mean_after) = (mean(first), mean(seen));
        let dof = before + after - 2.0;
        let spread = spread(&[(first, mean_before), (seen, mean_after)], dof);
        Contrast { estimate: mean_after - mean_before, spread, count: before * after / (before + after), dof }
    });
    // Days count from the first one of all, the first four among them.
    let called_at = judged.called_at.map(|at| at + first.len() as u32);
    Judged { days: days.len() as u32, called_at, ..judged }
}

/// A difference with the standard deviation of one day, how many days' worth of
/// evidence there are, and degrees of freedom.
#[derive(Debug, Clone, Copy)]
struct Contrast {
    estimate: f64,
    spread: f64,
    count: f64,
    dof: f64,
}

impl Contrast {
    fn error(&self) -> f64 {
        self.spread / self.count.sqrt()
    }

    fn evidence(&self) -> f64 {
        if self.error() > 0.0 { evidence(self.estimate / self.error(), self.count, self.dof) } else { 0.0 }
    }
}

/// Look after look. One who gets better is seen sooner in the latest days alone, so days
/// are also judged from every third day on. Each such start has a share of the 5 % of
/// its own: the k-th, from 0, one of (k + 1)(k + 2), which together make one.
fn follow<'a>(
    looks: impl Iterator<Item = &'a [DayValue]>,
    whole: f64,
    contrast: impl Fn(&[DayValue], usize) -> Contrast,
) -> Judged {
    let mut judged = Judged::default();
    for seen in looks {
        judged.days = seen.len() as u32;
        let starts = (0..seen.len()).step_by(FEWEST_DAYS).enumerate().map(|(k, from)| {
            let enough = whole * (k as f64 + 1.0) * (k as f64 + 2.0);
            (contrast(seen, from), enough)
        });
        let ready = starts.filter(|(found, _)| found.dof >= FEWEST_DAYS as f64 - 1.0);
        let best = ready.max_by(|(a, a_enough), (b, b_enough)| {
            (a.evidence() / a_enough).total_cmp(&(b.evidence() / b_enough))
        });
        let Some((found, enough)) = best else {
            judged.estimate = Some(contrast(seen, 0).estimate);
            continue;
        };
        judged.estimate = Some(found.estimate);
        let half = critical_t(enough, found.count, found.dof).map(|t| t * found.error());
        (judged.low, judged.high) =
            (half.map(|half| found.estimate - half), half.map(|half| found.estimate + half));
        if judged.called_up.is_none() && found.evidence() >= enough {
            judged.called_up = Some(found.estimate > 0.0);
            judged.called_at = Some(judged.days);
        }
    }
    judged
}

/// The Bayes factor for a difference: `w^(-1/2) ((1 + t²/v) / (1 + t²/(v w)))^((v + 1)/2)`
/// with `w = 1 + 4 n`, `n` days' worth of evidence and `v` degrees of freedom.
pub fn evidence(t: f64, count: f64, dof: f64) -> f64 {
    let wide = 1.0 + PRIOR * count;
    let log = 0.5 * (dof + 1.0) * (libm::log1p(t * t / dof) - libm::log1p(t * t / (dof * wide)));
    libm::exp(log) / wide.sqrt()
}

/// The t at which the evidence is enough; none where no t would do.
fn critical_t(enough: f64, count: f64, dof: f64) -> Option<f64> {
    let wide = 1.0 + PRIOR * count;
    let k = libm::exp(2.0 / (dof + 1.0) * libm::log(enough * wide.sqrt()));
    (k < wide).then(|| (dof * (k - 1.0) / (1.0 - k / wide)).sqrt())
}

fn mean(days: &[DayValue]) -> f64 {
    days.iter().map(|day| day.value).sum::<f64>() / days.len() as f64
}

/// Pooled standard deviation of a day, no smaller than its tries alone make it.
fn spread(groups: &[(&[DayValue], f64)], dof: f64) -> f64 {
    let squares: f64 = groups
        .iter()
        .map(|(days, mean)| days.iter().map(|day| (day.value - mean) * (day.value - mean)).sum::<f64>())
        .sum();
    let days: usize = groups.iter().map(|(days, _)| days.len()).sum();
    let least: f64 = groups.iter().flat_map(|(days, _)| days.iter()).map(|day| day.variance).sum();
    let least = least / days as f64;
    let found = if dof > 0.0 { squares / dof } else { 0.0 };
    found.max(least).sqrt()
}

/// A share on the scale on which its days spread alike: `2 asin(sqrt(.))` of the share
/// with 3/8 added to hits and misses (Anscombe, Biometrika 35, 246, 1948; from
/// memory), whose variance is 1 / (tries + 1/2).
pub fn share_value(good: i64, tries: i64) -> Option<DayValue> {
    if tries < 1 || !(0..=tries).contains(&good) {
        return None;
    }
    let share = (good as f64 + 0.375) / (tries as f64 + 0.75);
    Some(DayValue { value: on_scale(share), variance: 1.0 / (tries as f64 + 0.5) })
}

/// A share on the scale of [`share_value`].
pub fn on_scale(share: f64) -> f64 {
    2.0 * libm::asin(share.clamp(0.0, 1.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dice::Dice;

    #[test]
    fn the_evidence_is_the_integral_over_noncentral_t_that_scipy_gives() {
        // scipy 1.17: quad(lambda d: norm.pdf(d, 0, 2) * nct.pdf(t, v, d * sqrt(n))) / t.pdf(t, v).
        for (t, n, v, expected) in REFERENCE {
            let found = evidence(t, n, v);
            assert!((found / expected - 1.0).abs() < 1e-6, "{t} {n} {v}: {found} against {expected}");
        }
    }

    #[test]
    fn the_interval_leaves_no_difference_out_exactly_where_it_is_called() {
        for (n, v) in [(3.0, 2.0), (8.0, 7.0), (2.1, 5.0)] {
            let Some(t) = critical_t(ENOUGH, n, v) else { continue };
            assert!((evidence(t, n, v) - ENOUGH).abs() < 1e-9);
        }
        // Three days alone can't be sure of anything, however clear they look.
        let days = [0.9, 0.9, 0.91].map(|value| DayValue { value, variance: 0.0 });
        assert_eq!(above(&days, 0.5).called_up, None);
    }

    /// Share of seasons of forty looks with a call upward; `day_sd` on the share's own scale.
    fn called(p: f64, day_sd: f64, tries: i64, seed: u64) -> f64 {
        const SEASONS: usize = 400;
        let mut dice = Dice::new(seed);
        let hits = (0..SEASONS).filter(|_| {
            let days: Vec<DayValue> = (0..40)
                .filter_map(|_| {
                    let of_day = (p + day_sd * dice.normal()).clamp(0.0, 1.0);
                    let good = (0..tries).filter(|_| dice.uniform() < of_day).count() as i64;
                    share_value(good, tries)
                })
                .collect();
            above(&days, on_scale(0.6)).called_up == Some(true)
        });
        hits.count() as f64 / SEASONS as f64
    }

    #[test]
    fn a_season_of_forty_looks_calls_one_at_the_bar_in_under_five_of_a_hundred() {
        for (day_sd, tries, seed) in [(0.0, 10, 1), (0.1, 10, 2), (0.0, 24, 3), (0.15, 24, 4), (0.1, 5, 5)] {
            let found = called(0.6, day_sd, tries, seed);
            assert!(found < 0.05, "{day_sd} {tries}: {found}");
        }
        // One who is well past the bar is seen.
        assert!(called(0.8, 0.1, 20, 6) > 0.95);
    }

    #[test]
    fn a_season_of_looks_at_a_speed_that_stays_calls_a_move_in_under_five_of_a_hundred() {
        const SEASONS: usize = 800;
        let mut dice = Dice::new(7);
        let mut season = |gain: f64| {
            let value =
                |n: usize, dice: &mut Dice| 40.0 + dice.normal() + if n < FIRST_DAYS { 0.0 } else { gain };
            let days: Vec<DayValue> =
                (0..30).map(|n| DayValue { value: value(n, &mut dice), variance: 0.01 }).collect();
            moved(&days).called_up
        };
        let none = (0..SEASONS).filter(|_| season(0.0).is_some()).count() as f64 / SEASONS as f64;
        let some = (0..SEASONS).filter(|_| season(3.0) == Some(true)).count() as f64 / SEASONS as f64;
        assert!(none < 0.05 && some > 0.8, "{none} {some}");
    }

    /// `(t, n, v, evidence)`.
    const REFERENCE: [(f64, f64, f64, f64); 4] = [
        (2.0, 4.0, 3.0, 1.135_387_433_434_5),
        (4.6, 7.0, 6.0, 24.523_380_707_146),
        (-3.2, 2.5, 8.0, 7.496_954_956_552_3),
        (6.0, 12.0, 11.0, 589.737_194_777_5),
    ];
}
