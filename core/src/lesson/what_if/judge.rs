//! From outcomes of many drives to figures with intervals, and fixes by rank.
//!
//! The rule: a figure comes from the full physics; the quick stand-in only says how
//! far it could be off. Start at [`Judged`].

use super::drives::Outcome;
use super::fixes::Plan;
use super::{Care, Fix, Gain, Ranged, Today};
use crate::lesson::shortfall::{self, Shortfall};

/// All outcomes: by the full physics, and by the quick stand-in for the swing as
/// learned and for the swings it might be.
pub(super) struct Judged<'a> {
    pub full: &'a [Outcome],
    pub central: &'a [Outcome],
    pub might_be: &'a [Vec<Outcome>],
    pub base_of_fewer: Outcome,
    pub singles: usize,
}

fn of(outcomes: &[Outcome], scenario: usize) -> Outcome {
    outcomes.get(scenario).copied().unwrap_or_default()
}

impl Judged<'_> {
    /// A figure's value by the full physics, with an interval as wide as the quick
    /// stand-in says.
    fn ranged(&self, estimate: f64, figure: impl Fn(&[Outcome]) -> f64) -> Ranged {
        let middle = figure(self.central);
        let mut off: Vec<f64> = self.might_be.iter().map(|outcomes| figure(outcomes) - middle).collect();
        off.sort_by(f64::total_cmp);
        let at = |share: f64| off.get((share * off.len() as f64) as usize).copied().unwrap_or(0.0);
        Ranged { estimate, low: estimate + at(0.05).min(0.0), high: estimate + at(0.95).max(0.0) }
    }

    fn rate(ranged: Ranged) -> Ranged {
        Ranged { low: ranged.low.max(0.0), high: ranged.high.min(1.0), ..ranged }
    }

    pub fn today(&self) -> Today {
        let now = of(self.full, 0);
        Today {
            carry_m: self.ranged(now.carry_m, |o| of(o, 0).carry_m),
            spread_m: self.ranged(now.spread_m, |o| of(o, 0).spread_m),
            fairway_rate: Self::rate(self.ranged(now.fairway, |o| of(o, 0).fairway)),
            trouble_rate: Self::rate(self.ranged(now.trouble, |o| of(o, 0).trouble)),
        }
    }

    pub fn gain(&self, scenario: usize, plan: &Plan, care: Care) -> Gain {
        let base = if scenario <= self.singles { of(self.full, 0) } else { self.base_of_fewer };
        let then = of(self.full, scenario);
        let difference = |figure: fn(&Outcome) -> f64| {
            self.ranged(figure(&then) - figure(&base), |o| figure(&of(o, scenario)) - figure(&of(o, 0)))
        };
        let [fairway_chance, trouble_chance] = then.chance;
        let (carry_gain_m, fairway_gain) =
            (difference(|o| o.carry_m), difference(|o| o.fairway).wider(fairway_chance));
        Gain {
            change: plan.change.clone(),
            carry_gain_m,
            spread_change_m: difference(|o| o.spread_m),
            fairway_gain,
            trouble_change: difference(|o| o.trouble).wider(trouble_chance),
            score: care.score(carry_gain_m.estimate, fairway_gain.estimate),
        }
    }

    pub fn ranked(&self, singles: &[Plan], care: Care) -> Vec<Fix> {
        let best = self.best_chances(singles.len(), care);
        let mut fixes: Vec<Fix> = singles
            .iter()
            .enumerate()
            .zip(best)
            .filter_map(|((i, plan), best_chance)| {
                Some(Fix {
                    name: *plan.names.first()?,
                    gain: self.gain(1 + i, plan, care),
                    best_chance,
                    rank: 0,
                })
            })
            .collect();
        // Stable: equal scores keep the order of the list.
        fixes.sort_by(|a, b| b.gain.score.total_cmp(&a.gain.score));
        for (rank, fix) in (1..).zip(&mut fixes) {
            fix.rank = rank;
        }
        fixes
    }

    /// How often each fix has the best score, over the swings that it might be.
    fn best_chances(&self, count: usize, care: Care) -> Vec<f64> {
        let mut best = vec![0.0; count];
        let scores = |outcomes: &[Outcome]| -> Vec<f64> {
            let base = of(outcomes, 0);
            (1..=count)
                .map(|i| {
                    let then = of(outcomes, i);
                    care.score(then.carry_m - base.carry_m, then.fairway - base.fairway)
                })
                .collect()
        };
        let full = scores(self.full);
        let central = scores(self.central);
        for outcomes in self.might_be {
            let scored = scores(outcomes).into_iter().zip(&full).zip(&central).map(|((s, f), c)| f + s - c);
            let top = scored.enumerate().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(i, _)| i);
            best.iter_mut().skip(top).take(1).for_each(|best| *best += 1.0 / self.might_be.len() as f64);
        }
        best
    }

    pub fn shortfall(&self, first: usize) -> Shortfall {
        let values = |outcomes: &[Outcome], base: Outcome, figure: fn(&Outcome) -> f64| {
            shortfall::split(&core::array::from_fn(|set| match set {
                0 => figure(&base),
                _ => figure(&of(outcomes, first + set - 1)),
            }))
        };
        let parts = |figure: fn(&Outcome) -> f64| {
            let full = values(self.full, self.base_of_fewer, figure);
            full.map(|name, value| {
                self.ranged(value, |outcomes| name.of(&values(outcomes, of(outcomes, 0), figure)))
            })
        };
        Shortfall { carry_m: parts(|o| o.carry_m), fairway_rate: parts(|o| o.fairway) }
    }
}
