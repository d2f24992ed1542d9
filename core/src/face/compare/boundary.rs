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
//! shape = (I_k / I_20)^3,  I_k = 1/(1/m + 1/k)
//! ```
//!
//! 0 while `m + k - 2 < 3`: early looks, of which little can be known, spend little
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
pub const LAST_LOOK: u32 = 120;

/// A look past the season may call at this part of the season's last level. By
/// simulation (50,000 seasons a row of the table) looks 21 to 120 then spend a
/// twentieth of alpha or less with up to 60 baseline sessions.
const PAST_SEASON: f64 = 0.02;

/// Fewest degrees of freedom at which anything is called.
pub(super) const FEWEST_DOF: u32 = 3;

/// Season-wide chances of the columns of [`SCALE`].
const ALPHA: [f64; 5] = [0.05, 0.02, 0.01, 0.005, 0.002];

/// `scale(m, alpha)`: quantiles of the least `p / shape` over 20 looks in 1,000,000
/// simulated seasons, made by `tests/python/make_boundary.py`; standard error
/// 0.5 % in the first column and 2.3 % in the last.
const SCALE: [(f64, [f64; 5]); 13] = [
    (1.0, [1.8732e-2, 6.0896e-3, 2.6732e-3, 1.1665e-3, 4.1522e-4]),
    (2.0, [2.0338e-2, 6.7934e-3, 3.0290e-3, 1.3836e-3, 4.9344e-4]),
    (3.0, [2.1911e-2, 7.3999e-3, 3.2958e-3, 1.5142e-3, 5.2634e-4]),
    (4.0, [2.3609e-2, 8.2164e-3, 3.6829e-3, 1.6863e-3, 5.9753e-4]),
    (5.0, [2.4613e-2, 8.7069e-3, 3.9872e-3, 1.8149e-3, 6.4330e-4]),
    (6.0, [2.5781e-2, 9.0567e-3, 4.1743e-3, 1.9181e-3, 6.9340e-4]),
    (8.0, [2.6829e-2, 9.5518e-3, 4.3798e-3, 2.0547e-3, 7.5359e-4]),
    (10.0, [2.7354e-2, 9.8700e-3, 4.5667e-3, 2.1323e-3, 7.7933e-4]),
    (14.0, [2.8254e-2, 1.0205e-2, 4.7338e-3, 2.2358e-3, 8.3224e-4]),
    (20.0, [2.9209e-2, 1.0616e-2, 4.9807e-3, 2.3515e-3, 8.8011e-4]),
    (30.0, [3.0093e-2, 1.1097e-2, 5.1461e-3, 2.4433e-3, 8.9133e-4]),
    (60.0, [3.1197e-2, 1.1518e-2, 5.4468e-3, 2.6115e-3, 9.9911e-4]),
    (400.0, [3.2207e-2, 1.1792e-2, 5.6051e-3, 2.6606e-3, 1.0248e-3]),
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
/// `m` baseline sessions; 0 where nothing may be called.
pub(super) fn shape(m: u32, k: u32) -> f64 {
    if m == 0 || k == 0 || k > LAST_LOOK || m.saturating_add(k) < FEWEST_DOF + 2 {
        return 0.0;
    }
    if k > SEASON {
        return PAST_SEASON;
    }
    let spread = |k: u32| 1.0 / f64::from(m) + 1.0 / f64::from(k);
    let part = spread(SEASON) / spread(k);
    part * part * part
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

    fn level(m: u32, alpha: f64, k: u32) -> f64 {
        scale(m, alpha) * shape(m, k)
    }

    #[test]
    fn levels_rise_with_alpha_and_through_the_season_and_stop_at_the_last_look() {
        for m in [1, 2, 3, 7, 45, 5000] {
            let mut last = 0.0;
            for alpha in [0.002, 0.004, 0.015, 0.02, 0.05] {
                let now = level(m, alpha, SEASON);
                assert!(now > last && now < alpha, "{m} {alpha}");
                last = now;
            }
            let season: Vec<f64> = (1..=SEASON).map(|k| level(m, 0.02, k)).collect();
            assert!(season.windows(2).all(|w| w[0] <= w[1]));
            assert!(level(m, 0.02, SEASON + 1) < 0.1 * level(m, 0.02, SEASON));
            assert_eq!(level(m, 0.02, LAST_LOOK + 1), 0.0);
        }
    }

    #[test]
    fn nothing_is_called_below_three_degrees_of_freedom_or_without_a_baseline() {
        assert_eq!(level(0, 0.05, 20), 0.0);
        assert_eq!(level(1, 0.05, 3), 0.0);
        assert_eq!(level(4, 0.05, 0), 0.0);
        assert!(level(1, 0.05, 4) > 0.0 && level(4, 0.05, 1) > 0.0);
    }

    #[test]
    fn the_table_is_hit_at_its_own_points() {
        assert!((level(10, 0.01, 20) - 4.5667e-3).abs() < 1e-15);
        assert!((level(4, 0.05, 20) - 2.3609e-2).abs() < 1e-14);
    }
}
