//! The difference between two arms by what the draw of the order could have given.
//!
//! Nothing is assumed of how balls vary, only that the order within each block
//! was drawn by lot. The statistic is the sum over blocks of the second arm's
//! values about their block's mean, divided so that it is the mean difference
//! (blocks weigh as `n1 n2 / (n1 + n2)`; alike where none is missing). Its
//! distribution is that over all orders that could have been drawn, each block by
//! itself: all of them where they are at most [`MOST_EXACT`], else [`DRAWN`] of
//! them drawn from a seed (R. A. Fisher, The Design of Experiments, 1935; M. D.
//! Ernst, Stat. Sci. 19, 676, 2004). A p-value of drawn orders counts the true
//! order too, so it is never 0 (Phipson and Smyth, Stat. Appl. Genet. Mol. Biol.
//! 9, 39, 2010).
//!
//! The interval holds every shift of the second arm that the same test would not
//! refuse (inverted randomisation test; P. H. Garthwaite, Biometrics 52, 1387,
//! 1996). An order that shares all but `k` balls with the true one is more extreme
//! than it from the shift on that is the difference of sums of the balls that
//! differ, over `k`; so the ends are two of these shifts, found by sorting. All
//! sources from memory.
//!
//! Start at [`randomisation`].

use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::lesson::chance::Chance;

/// As many orders are gone through one by one.
pub(super) const MOST_EXACT: u64 = 50_000;
/// Beyond that, so many are drawn.
pub(super) const DRAWN: u32 = 19_999;

/// A ball's value, and whether it was of the second arm.
pub type Value = (f64, bool);

/// What the test found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Randomised {
    /// Second arm less first.
    pub estimate: f64,
    /// Lower end of the interval; absent where no shift could be refused.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Two-sided p-value: twice the smaller side.
    pub p_value: f64,
    /// Orders that were gone through.
    pub orders: u64,
    /// Whether these are all there are; else they were drawn.
    pub exact: bool,
    /// Blocks with balls of both arms.
    pub blocks: u32,
}

/// One block's ways: of each, the sum of the values that count as second and how
/// many of them were first in truth.
struct Ways {
    sums: Vec<(f64, u32)>,
    /// Of the true one.
    truth: f64,
}

/// Tests and estimates the difference of two arms in blocks, with an interval of
/// that level. Nothing where no block has balls of both arms.
pub fn randomisation<B: AsRef<[Value]>>(blocks: &[B], level: f64, seed: &[u8]) -> Option<Randomised> {
    let whole: Vec<&[Value]> = blocks
        .iter()
        .map(AsRef::as_ref)
        .filter(|block| block.iter().any(|(_, second)| *second) && block.iter().any(|(_, second)| !second))
        .collect();
    if whole.is_empty() {
        return None;
    }
    let ways: Vec<Ways> = whole.iter().map(|block| ways(block)).collect();
    let weight: f64 = whole.iter().map(|block| weight(block)).sum();
    let truth: f64 = ways.iter().map(|ways| ways.truth).sum();
    let orders = ways.iter().fold(1_u64, |all, ways| all.saturating_mul(ways.sums.len() as u64));
    let exact = orders <= MOST_EXACT;
    let mut shifts = Shifts { truth, same: 0, from: Vec::new() };
    if exact {
        every(&ways, 0.0, 0, &mut shifts);
    } else {
        shifts.add(truth, 0);
        drawn(&ways, seed, &mut shifts);
    }
    Some(shifts.judge(level, truth / weight, exact, whole.len()))
}

fn weight(block: &[Value]) -> f64 {
    let second = block.iter().filter(|(_, second)| *second).count() as f64;
    second * (block.len() as f64 - second) / block.len() as f64
}

/// All choices of as many balls as were of the second arm.
fn ways(block: &[Value]) -> Ways {
    let mean = block.iter().map(|(v, _)| v).sum::<f64>() / block.len() as f64;
    let about: Vec<Value> = block.iter().map(|(v, second)| (v - mean, *second)).collect();
    let wanted = about.iter().filter(|(_, second)| *second).count();
    let mut sums = Vec::new();
    choose(&about, wanted, 0.0, 0, &mut sums);
    Ways { sums, truth: about.iter().filter(|(_, second)| *second).map(|(v, _)| v).sum() }
}

fn choose(rest: &[Value], wanted: usize, sum: f64, moved: u32, out: &mut Vec<(f64, u32)>) {
    if wanted == 0 {
        out.push((sum, moved));
        return;
    }
    let Some(((value, second), rest)) = rest.split_first().filter(|_| rest.len() >= wanted) else { return };
    choose(rest, wanted - 1, sum + value, moved + u32::from(!second), out);
    choose(rest, wanted, sum, moved, out);
}

fn every(ways: &[Ways], sum: f64, moved: u32, shifts: &mut Shifts) {
    let Some((first, rest)) = ways.split_first() else { return shifts.add(sum, moved) };
    for (value, more) in &first.sums {
        every(rest, sum + value, moved + more, shifts);
    }
}

fn drawn(ways: &[Ways], seed: &[u8], shifts: &mut Shifts) {
    let mut dice = Dice::new(seed);
    for _ in 0..DRAWN {
        let (mut sum, mut moved) = (0.0, 0);
        for ways in ways {
            if let Some((value, more)) = ways.sums.get(dice.below(ways.sums.len())) {
                sum += value;
                moved += more;
            }
        }
        shifts.add(sum, moved);
    }
}

/// For every order, the shift from which on it is more extreme than the true one.
struct Shifts {
    truth: f64,
    /// Orders that are the true one.
    same: u64,
    from: Vec<f64>,
}

impl Shifts {
    fn add(&mut self, sum: f64, moved: u32) {
        if moved == 0 {
            self.same += 1;
        } else {
            self.from.push((self.truth - sum) / f64::from(moved));
        }
    }

    fn judge(mut self, level: f64, estimate: f64, exact: bool, blocks: usize) -> Randomised {
        self.from.sort_unstable_by(f64::total_cmp);
        let orders = self.same + self.from.len() as u64;
        // Sums in another order differ in their last bits: equal ones count as equal.
        let large = self.from.iter().fold(0.0_f64, |large, shift| large.max(shift.abs()));
        let near = 1e-12 * large;
        let above = self.from.partition_point(|shift| *shift <= near) as u64;
        let below = (self.from.len() - self.from.partition_point(|shift| *shift < -near)) as u64;
        let side = |more: u64| (self.same + more) as f64 / orders as f64;
        // Orders that may lie beyond an end of the interval, the true one counted.
        let beyond = libm::floor(0.5 * (1.0 - level) * orders as f64 + 1e-9) as u64;
        let step = beyond.checked_sub(self.same).map(|step| step as usize);
        let last = self.from.len().checked_sub(1);
        Randomised {
            estimate,
            low: step.and_then(|step| self.from.get(step).copied()),
            high: step.zip(last).and_then(|(step, last)| self.from.get(last.checked_sub(step)?).copied()),
            p_value: (2.0 * side(above).min(side(below))).min(1.0),
            orders,
            exact,
            blocks: blocks as u32,
        }
    }
}

/// Numbers begun from SHA-256 of a seed.
struct Dice(Chance);

impl Dice {
    fn new(seed: &[u8]) -> Self {
        let digest = Sha256::digest(seed);
        Self(Chance::new(digest.iter().take(8).fold(0, |number, byte| number << 8 | u64::from(*byte))))
    }

    /// A number below `below`: the high half of a product (D. Lemire, ACM Trans.
    /// Model. Comput. Simul. 29, 3, 2019); with at most 252 ways its lean is below 2^-56.
    fn below(&mut self, below: usize) -> usize {
        ((u128::from(self.0.bits()) * below as u128) >> 64) as usize
    }
}
