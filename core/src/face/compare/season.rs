//! The looks of a season: what was called, when, and where the edge lay.
//!
//! Invariant: a call is never taken back, and the interval of a look leaves "no
//! change" out exactly where that look calls.
//!
//! Where to start: [`season`], then [`Season::changes`]; [`Look`] for the chart of a
//! season.

use serde::Serialize;

use super::boundary::{scale, shape};
use super::contrast::{Contrast, contrast};
use super::known::KnownShifts;
use super::units::{Quantity, Session};
use super::{ALPHA, Change, PARTS, whole};
use crate::face::quantile::t_two_sided;

/// One quantity at one look.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Seen {
    /// Best guess from the later sessions so far; absent without a baseline.
    pub estimate: Option<f64>,
    /// Lower end of the interval that holds at all looks at once; absent while
    /// nothing may be called.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// An estimate below this is called at this look.
    pub edge_low: Option<f64>,
    /// An estimate above this is called at this look.
    pub edge_high: Option<f64>,
    /// Whether it was called first at this look. It may be so inside the edges:
    /// another quantity's call frees its allowance, with which earlier looks are
    /// judged anew.
    pub called: bool,
}

/// One look: all later sessions up to one of them, against the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Look {
    /// The later session, counted from 1.
    pub session: u32,
    /// Its balls.
    pub balls: u32,
    /// The middle toward the toe, mm; 0 is no change.
    pub toe: Seen,
    /// The middle toward the crown, mm; 0 is no change.
    pub high_axis: Seen,
    /// Scatter as a multiple; 1 is no change.
    pub scatter: Seen,
    /// Centre rate as a difference of fractions; 0 is no change.
    pub centre_rate: Seen,
}

/// A look before anything is turned into an interval.
struct Glance {
    place: u32,
    balls: u32,
    contrasts: [Option<Contrast>; 4],
    /// Share of alpha that each had after this look's calls.
    alpha: [f64; 4],
}

/// Where a season of looks has come to, in the order of [`Quantity::ALL`].
#[derive(Default)]
pub(super) struct Season {
    baseline: u32,
    called: [Option<u32>; 4],
    /// Share of alpha at which each was called, or would be at the next look.
    alpha: [f64; 4],
    /// Least p-value of the looks so far, as a multiple of the look's shape.
    least: [Option<f64>; 4],
    glances: Vec<Glance>,
}

/// Goes through the looks in order.
pub(super) fn season(base: &[&Session], after: &[(u32, Session)], known: Option<&KnownShifts>) -> Season {
    let m = whole(base.len());
    let mut season = Season { baseline: m, alpha: PARTS.map(|part| part * ALPHA), ..Season::default() };
    let mut now: Vec<&Session> = Vec::with_capacity(after.len());
    for (place, session) in after {
        now.push(session);
        let shape = shape(m, whole(now.len()));
        let all: Vec<&Session> = base.iter().chain(&now).copied().collect();
        let mut contrasts = [None; 4];
        for ((quantity, last), least) in Quantity::ALL.iter().zip(&mut contrasts).zip(&mut season.least) {
            let (before, after) = (quantity.units(base, &all), quantity.units(&now, &all));
            *last = contrast(&before, &after, quantity.prior(&all, known));
            let Some(c) = last else { continue };
            if shape > 0.0 {
                let p = c.p() / shape;
                *least = Some(least.map_or(p, |before| before.min(p)));
            }
        }
        season.holm(m, *place);
        let alpha = season.alpha;
        season.glances.push(Glance { place: *place, balls: session.balls, contrasts, alpha });
    }
    season
}

impl Season {
    /// Calls what can be called now, each call freeing its share for the rest.
    /// A raised share also judges the looks before this one: the least p-value
    /// against its boundary is valid at whatever look it is read.
    fn holm(&mut self, m: u32, place: u32) {
        loop {
            let open = |(called, part): (&Option<u32>, &f64)| if called.is_none() { *part } else { 0.0 };
            let left: f64 = self.called.iter().zip(&PARTS).map(open).sum();
            let mut new = false;
            for (((called, alpha), part), least) in
                self.called.iter_mut().zip(&mut self.alpha).zip(&PARTS).zip(&self.least)
            {
                if called.is_some() {
                    continue;
                }
                *alpha = ALPHA * part / left;
                if least.is_some_and(|p| p < scale(m, *alpha)) {
                    *called = Some(place);
                    new = true;
                }
            }
            if !new {
                return;
            }
        }
    }

    /// The look at which anything was called first.
    pub fn first_called_at(&self) -> Option<u32> {
        self.called.iter().flatten().min().copied()
    }

    /// Degrees of freedom that the prior gives at the last look, in the order of
    /// [`Quantity::ALL`].
    pub fn prior_dof(&self) -> [f64; 4] {
        let last = self.glances.last();
        last.map_or([0.0; 4], |glance| glance.contrasts.map(|c| c.map_or(0.0, |c| c.prior_dof)))
    }

    /// The four quantities at the last look.
    pub fn changes(&self) -> [Change; 4] {
        let mut changes = [Change::default(); 4];
        for (index, change) in changes.iter_mut().enumerate() {
            let called = self.called.get(index).copied().flatten();
            let seen = self.seen(self.glances.len(), index);
            *change = Change {
                estimate: seen.estimate,
                low: seen.low,
                high: seen.high,
                called: called.is_some(),
                first_called_at: called,
            };
        }
        changes
    }

    /// Every look with its intervals and edges.
    pub fn looks(&self) -> Vec<Look> {
        (1..)
            .zip(&self.glances)
            .map(|(k, glance)| {
                let seen = |index| self.seen(k, index);
                let [toe, high_axis, scatter, centre] = [seen(0), seen(1), seen(2), seen(3)];
                Look {
                    session: glance.place,
                    balls: glance.balls,
                    toe,
                    high_axis,
                    scatter: scatter.map(ratio),
                    centre_rate: centre.map(share),
                }
            })
            .collect()
    }

    /// One quantity at look `k`, counted from 1.
    fn seen(&self, k: usize, index: usize) -> Seen {
        let Some(glance) = k.checked_sub(1).and_then(|k| self.glances.get(k)) else {
            return Seen::default();
        };
        let called = self.called.get(index).copied().flatten() == Some(glance.place);
        let (Some(Some(c)), Some(alpha)) = (glance.contrasts.get(index), glance.alpha.get(index)) else {
            return Seen { called, ..Seen::default() };
        };
        let level = scale(self.baseline, *alpha) * shape(self.baseline, whole(k));
        let reach = (level > 0.0).then(|| t_two_sided(1.0 - level, c.all_dof()) * c.standard_error);
        Seen {
            estimate: Some(c.estimate),
            low: reach.map(|r| c.estimate - r),
            high: reach.map(|r| c.estimate + r),
            edge_low: reach.map(|r| -r),
            edge_high: reach,
            called,
        }
    }
}

/// From the logarithm to a multiple, within e^-20 to e^20, so that no interval
/// runs to infinity.
pub(super) fn ratio(ln: f64) -> f64 {
    libm::exp(ln.clamp(-20.0, 20.0))
}

/// A difference of shares.
pub(super) fn share(difference: f64) -> f64 {
    difference.clamp(-1.0, 1.0)
}

impl Seen {
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self {
            estimate: self.estimate.map(&f),
            low: self.low.map(&f),
            high: self.high.map(&f),
            edge_low: self.edge_low.map(&f),
            edge_high: self.edge_high.map(&f),
            called: self.called,
        }
    }
}
