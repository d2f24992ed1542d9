//! How small a look's p-value must be, so that a whole season of looks calls a
//! change that isn't there with a set chance only.
//!
//! The pooled t of look k, seen through its two-sided p-value, has a joint
//! distribution over the looks that depends on nothing but the number of baseline
//! sessions m: not on means, variances or shifts. So a boundary can be tabled. A
//! look's level is
//!
//! ```text
//! level(m, alpha, k) = scale(m, alpha) * shape(m, k),   k = 1..20
//! shape = (I_k d_k) / (I_20 d_20),  I_k = 1/(1/m + 1/k),  d_k = m + k - 2
//! ```
//!
//! 0 while `d_k < 3`: early looks, of which little can be known, spend little
//! (the idea of Lan and DeMets, Biometrika 70, 659, 1983; a power of the
//! information as in Kim and DeMets, Biometrika 74, 149, 1987). The shared
//! baseline is in the simulation, so the dependence of the looks is too. Looks 21
//! to 120 together may spend a twentieth of alpha more; looks past 120 call
//! nothing.
//!
//! Invariant: levels rise with alpha and are between 0 and 1.
//!
//! Where to start: [`scale`] and [`shape`].

/// Looks of a season that the boundary is made for.
pub(super) const SEASON: u32 = 20;

/// No look past this one calls anything.
pub(super) const LAST_LOOK: u32 = 120;

/// A look past the season may call at this part of the season's last level. In
/// simulation (60,000 seasons) 0.40 was allowed with one baseline session and
/// 0.05 with sixty.
const PAST_SEASON: f64 = 0.05;

/// Fewest degrees of freedom at which anything is called.
pub(super) const FEWEST_DOF: u32 = 3;

/// Season-wide chances of the columns of [`SCALE`].
const ALPHA: [f64; 5] = [0.05, 0.02, 0.01, 0.005, 0.002];

/// `scale(m, alpha)`: quantiles of the least `p / shape` over 20 looks in 400,000
/// simulated seasons (160,000 in the last row), standard error 0.7 % in the first
/// column and 3.5 % in the last.
const SCALE: [(f64, [f64; 5]); 13] = [
    (1.0, [3.0562e-2, 1.0369e-2, 4.6594e-3, 2.0903e-3, 7.5824e-4]),
    (2.0, [2.8962e-2, 9.8540e-3, 4.4350e-3, 1.9887e-3, 7.0132e-4]),
    (3.0, [2.7277e-2, 9.2160e-3, 4.1951e-3, 1.9470e-3, 7.2756e-4]),
    (4.0, [2.6929e-2, 9.3818e-3, 4.2305e-3, 1.9367e-3, 7.2864e-4]),
    (5.0, [2.6140e-2, 9.1570e-3, 4.1131e-3, 1.9130e-3, 6.6979e-4]),
    (6.0, [2.5656e-2, 9.0884e-3, 4.1067e-3, 1.8963e-3, 7.2604e-4]),
    (8.0, [2.4828e-2, 8.6893e-3, 3.9907e-3, 1.8596e-3, 6.8060e-4]),
    (10.0, [2.3854e-2, 8.4290e-3, 3.8240e-3, 1.7803e-3, 6.7261e-4]),
    (14.0, [2.2863e-2, 8.0311e-3, 3.7074e-3, 1.7154e-3, 5.9941e-4]),
    (20.0, [2.1641e-2, 7.7122e-3, 3.6001e-3, 1.6289e-3, 6.1262e-4]),
    (30.0, [2.0672e-2, 7.3726e-3, 3.3531e-3, 1.6035e-3, 5.9781e-4]),
    (60.0, [1.9418e-2, 6.8930e-3, 3.2400e-3, 1.5476e-3, 5.6632e-4]),
    (400.0, [1.8082e-2, 6.4536e-3, 3.0153e-3, 1.4668e-3, 5.5222e-4]),
];

/// Straight line through a table of points with rising `x`, level beyond its ends.
pub(super) fn interpolate(points: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    for (px, py) in points {
        if x <= px {
            return match before {
                Some((bx, by)) => by + (py - by) * (x - bx) / (px - bx),
                None => py,
            };
        }
        before = Some((px, py));
    }
    before.map_or(0.0, |(_, y)| y)
}

/// Part of the season's last level that look `k` (counted from 1) may use, with
/// `m` baseline sessions; 0 where nothing may be called. Degrees of freedom from
/// a prior count in it, but not toward the fewest.
pub(super) fn shape(m: u32, k: u32, prior_dof: f64) -> f64 {
    if m == 0 || k == 0 || k > LAST_LOOK || m.saturating_add(k) < FEWEST_DOF + 2 {
        return 0.0;
    }
    let weight = |k: u32| {
        let (m, k) = (f64::from(m), f64::from(k));
        (m + k - 2.0 + prior_dof) / (1.0 / m + 1.0 / k)
    };
    if k > SEASON { PAST_SEASON } else { weight(k) / weight(SEASON) }
}

/// Two-sided p-value, as a multiple of the look's [`shape`], below which a look
/// calls a change, with `m` baseline sessions and a season-wide chance of `alpha`
/// (0.002 to 0.05; taken as the nearer end beyond).
pub(super) fn scale(m: u32, alpha: f64) -> f64 {
    let ln_m = libm::log(f64::from(m.max(1)));
    let column = |index: usize| {
        interpolate(
            SCALE.iter().map(|(m, row)| (libm::log(*m), row.get(index).copied().unwrap_or(0.0))),
            ln_m,
        )
    };
    // From the smallest alpha up, straight in logarithms.
    let points = ALPHA.iter().enumerate().rev().map(|(i, a)| (libm::log(*a), libm::log(column(i))));
    libm::exp(interpolate(points, libm::log(alpha)))
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::*;

    fn level(m: u32, alpha: f64, k: u32, prior_dof: f64) -> f64 {
        scale(m, alpha) * shape(m, k, prior_dof)
    }

    #[test]
    fn levels_rise_with_alpha_and_through_the_season_and_stop_at_the_last_look() {
        for m in [1, 2, 3, 7, 45, 5000] {
            let mut last = 0.0;
            for alpha in [0.002, 0.004, 0.015, 0.02, 0.05] {
                let now = level(m, alpha, SEASON, 0.0);
                assert!(now > last && now < alpha, "{m} {alpha}");
                last = now;
            }
            let season: Vec<f64> = (1..=SEASON).map(|k| level(m, 0.02, k, 0.0)).collect();
            assert!(season.windows(2).all(|w| w[0] <= w[1]));
            assert!(level(m, 0.02, SEASON + 1, 0.0) < 0.1 * level(m, 0.02, SEASON, 0.0));
            assert_eq!(level(m, 0.02, LAST_LOOK + 1, 0.0), 0.0);
        }
    }

    #[test]
    fn nothing_is_called_below_three_degrees_of_freedom_or_without_a_baseline() {
        assert_eq!(level(0, 0.05, 20, 0.0), 0.0);
        assert_eq!(level(1, 0.05, 3, 0.0), 0.0);
        assert_eq!(level(4, 0.05, 0, 0.0), 0.0);
        assert!(level(1, 0.05, 4, 0.0) > 0.0 && level(4, 0.05, 1, 0.0) > 0.0);
    }

    #[test]
    fn the_table_is_hit_at_its_own_points() {
        assert!((level(10, 0.01, 20, 0.0) - 3.8240e-3).abs() < 1e-15);
        assert!((level(4, 0.05, 20, 0.0) - 2.6929e-2).abs() < 1e-14);
    }
}
