//! The difference between two groups of sessions, with its Student t.
//!
//! A session's value varies by a between-session part and by a part that falls
//! with its balls: `v_i = s^2 ((1 - f) + f w_i / w)`, where `w_i` is what the
//! balls alone give and `w` its mean. The share `f` comes from the data, `s^2`
//! from the weighted residuals of both groups with m + k - 2 degrees of freedom.
//! With equal balls it is the pooled two-sample t test of the session values.
//!
//! Invariant: `s^2` is never below `w`: alike balls make a session's value less
//! sure, never surer, so a few sessions that agree by luck don't count as proof.
//!
//! Where to start: [`contrast`].

use super::units::Prior;
use crate::face::quantile::beta_cdf;

/// One session's value and the variance that its number of balls alone gives it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unit {
    pub value: f64,
    pub within: f64,
}

/// Later less baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Contrast {
    pub estimate: f64,
    pub standard_error: f64,
    /// Degrees of freedom of the sessions; 0 when there is no standard error.
    pub dof: u32,
    /// Further degrees of freedom that the prior gives.
    pub prior_dof: f64,
}

impl Contrast {
    /// Degrees of freedom of the t.
    pub fn all_dof(&self) -> f64 {
        f64::from(self.dof) + self.prior_dof
    }

    /// Two-sided p-value of no difference, for one look; 1 without degrees of
    /// freedom.
    pub fn p(&self) -> f64 {
        if self.dof == 0 || self.standard_error <= 0.0 {
            return 1.0;
        }
        let (t, dof) = (self.estimate / self.standard_error, self.all_dof());
        beta_cdf(dof / (dof + t * t), 0.5 * dof, 0.5)
    }
}

/// Sum of squares of the values about their weighted mean, and that mean.
fn about_mean(units: &[Unit], weight: impl Fn(&Unit) -> f64) -> (f64, f64, f64) {
    let (mut sum, mut total) = (0.0, 0.0);
    for unit in units {
        sum += weight(unit) * unit.value;
        total += weight(unit);
    }
    let mean = sum / total;
    let squares = units.iter().map(|u| weight(u) * (u.value - mean) * (u.value - mean)).sum();
    (mean, total, squares)
}

/// Compares two groups; nothing if one of them is empty.
pub(crate) fn contrast(baseline: &[Unit], later: &[Unit], prior: Prior) -> Option<Contrast> {
    if baseline.is_empty() || later.is_empty() {
        return None;
    }
    let count = baseline.len() + later.len();
    let dof = u32::try_from(count - 2).unwrap_or(u32::MAX);
    let within = baseline.iter().chain(later).map(|u| u.within).sum::<f64>() / count as f64;
    let residual = |weight: &dyn Fn(&Unit) -> f64| {
        let (base, now) = (about_mean(baseline, weight), about_mean(later, weight));
        (now.0 - base.0, 1.0 / base.1 + 1.0 / now.1, (base.2 + now.2) / f64::from(dof.max(1)))
    };
    let (_, _, plain) = residual(&|_| 1.0);
    let share = if plain > within { within / plain } else { 1.0 };
    let (estimate, parts, variance) = residual(&|u| 1.0 / ((1.0 - share) + share * u.within / within));
    // The prior as that many further sessions (Smyth, Stat. Appl. Genet. Mol. Biol.
    // 3, 3, 2004, with a set weight). Sessions that differ more than it says make
    // it count less.
    let own = f64::from(dof.max(1));
    let (seen, known) = (variance.max(prior.floor * within), prior.factor * within + prior.beyond);
    let agreement = (known / seen).min(1.0);
    let prior_dof = prior.dof * (0..prior.doubt).fold(1.0, |product, _| product * agreement);
    let variance = (own * seen + prior_dof * known) / (own + prior_dof);
    Some(Contrast { estimate, standard_error: (variance * parts).sqrt(), dof, prior_dof })
}

/// Variance of one session's value about its group's mean, and its degrees of
/// freedom; never below what the balls alone give.
pub(super) fn spread(groups: [&[Unit]; 2]) -> (f64, u32) {
    let (mut squares, mut dof, mut within, mut count) = (0.0, 0, 0.0, 0.0_f64);
    for group in groups.into_iter().filter(|g| !g.is_empty()) {
        squares += about_mean(group, |_| 1.0).2;
        dof += u32::try_from(group.len() - 1).unwrap_or(u32::MAX);
        within += group.iter().map(|u| u.within).sum::<f64>();
        count += group.len() as f64;
    }
    let variance = squares / f64::from(dof.max(1));
    (variance.max(within / count.max(1.0)), dof)
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::*;

    fn units(values: &[f64], within: f64) -> Vec<Unit> {
        values.iter().map(|&value| Unit { value, within }).collect()
    }

    #[test]
    fn with_equal_balls_it_is_the_pooled_two_sample_t_test() {
        // scipy.stats.ttest_ind([7, 9, 5, 12, 8], [1, 4, 2, 6]):
        // t = 3.02874317, p = 0.01914852 (equal variances).
        let base = units(&[1.0, 4.0, 2.0, 6.0], 0.01);
        let now = units(&[7.0, 9.0, 5.0, 12.0, 8.0], 0.01);
        let c = contrast(&base, &now, Prior::NONE).unwrap();
        assert_eq!(c.dof, 7);
        assert!((c.estimate - 4.95).abs() < 1e-12);
        assert!((c.estimate / c.standard_error - 3.028_743_171_4).abs() < 1e-6);
        assert!((c.p() - 0.019_148_523_5).abs() < 1e-6);
    }

    #[test]
    fn sessions_that_agree_by_luck_are_no_surer_than_their_balls_allow() {
        let c = contrast(&units(&[3.0; 4], 8.0), &units(&[4.0; 3], 8.0), Prior::NONE).unwrap();
        assert!((c.standard_error - (8.0_f64 * (1.0 / 4.0 + 1.0 / 3.0)).sqrt()).abs() < 1e-12);
        assert!(c.p() > 0.3);
    }

    #[test]
    fn a_session_of_few_balls_weighs_less_when_days_are_alike() {
        let mut base = units(&[0.0, 0.1, -0.1, 0.0], 1.0);
        base.push(Unit { value: 10.0, within: 9.0 });
        let c = contrast(&base, &units(&[0.0; 3], 1.0), Prior::NONE).unwrap();
        let plain = -2.0;
        assert!(c.estimate > plain && c.estimate < 0.0);
    }

    #[test]
    fn one_session_a_side_gives_a_difference_and_no_proof() {
        let c = contrast(&units(&[1.0], 2.0), &units(&[4.0], 2.0), Prior::NONE).unwrap();
        assert_eq!((c.estimate, c.dof), (3.0, 0));
        assert_eq!(c.p(), 1.0);
        assert_eq!(contrast(&[], &units(&[4.0], 2.0), Prior::NONE), None);
    }
}
