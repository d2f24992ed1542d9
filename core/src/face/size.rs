//! How many balls it takes to see a change: textbook sample sizes.
//!
//! Independent balls, two-sided at 5 %, power 80 % (Cohen, *Statistical Power
//! Analysis for the Behavioral Sciences*, 2nd ed. 1988, chapters 2 and 8 for the
//! method; from memory). Balls of one day are alike, so these are the fewest.
//! Start at [`balls_for_shift`].

use super::quantile::{f_cdf, f_quantile, t_two_sided};

const LEVEL: f64 = 0.95;
const POWER: f64 = 0.80;
/// Beyond this a change is too small for anybody to hit for.
const MOST: u32 = 5_000;

/// Balls on each side, before and after, to see the middle of a pattern move by
/// `shift_sd` standard deviations (two-sample t test). `None` for no shift, or
/// one that takes more than 5,000.
pub fn balls_for_shift(shift_sd: f64) -> Option<u32> {
    (shift_sd.is_finite() && shift_sd != 0.0).then_some(())?;
    fewest(|n| {
        let dof = 2.0 * n - 2.0;
        let critical = t_two_sided(LEVEL, dof);
        let ncp = shift_sd.abs() * (n / 2.0).sqrt();
        1.0 - noncentral_t_cdf(critical, dof, ncp) + noncentral_t_cdf(-critical, dof, ncp)
    })
}

/// Balls on each side to see a pattern's standard deviation become `ratio` of
/// what it was (F test of two variances). `None` for no change, or one that
/// takes more than 5,000.
pub fn balls_for_ratio(ratio: f64) -> Option<u32> {
    (ratio.is_finite() && ratio > 0.0 && (ratio - 1.0).abs() > f64::EPSILON).then_some(())?;
    // The test is symmetric: half as wide is as plain as twice as wide.
    let squared = (ratio * ratio).max(1.0 / (ratio * ratio));
    fewest(|n| {
        let dof = n - 1.0;
        let (low, high) = (f_quantile(0.5 - LEVEL / 2.0, dof, dof), f_quantile(0.5 + LEVEL / 2.0, dof, dof));
        1.0 - f_cdf(high / squared, dof, dof) + f_cdf(low / squared, dof, dof)
    })
}

/// The fewest balls whose power reaches the wanted one; power grows with balls.
fn fewest(power: impl Fn(f64) -> f64) -> Option<u32> {
    let enough = |n: u32| power(f64::from(n)) >= POWER;
    let (mut low, mut high) = (1_u32, 2_u32);
    while !enough(high) {
        (low, high) = (high, high * 2);
        if low > MOST {
            return None;
        }
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if enough(middle) { high = middle } else { low = middle }
    }
    (high <= MOST).then_some(high)
}

/// Distribution of Student's t with a noncentrality: the mean of
/// `Phi(t s - ncp)` over s, where `dof s^2` is chi-square (its definition),
/// by Simpson's rule over twelve standard deviations of s.
fn noncentral_t_cdf(t: f64, dof: f64, ncp: f64) -> f64 {
    const STEPS: u32 = 400;
    let half = 6.0 / (2.0 * dof).sqrt();
    let (low, high) = ((1.0 - half).max(1e-9), 1.0 + half);
    let step = (high - low) / f64::from(STEPS);
    let log_scale = core::f64::consts::LN_2 + dof / 2.0 * libm::log(dof / 2.0) - libm::lgamma(dof / 2.0);
    let (mut sum, mut mass) = (0.0, 0.0);
    for i in 0..=STEPS {
        let s = low + f64::from(i) * step;
        let weight = if i == 0 || i == STEPS {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        };
        let density = weight * libm::exp(log_scale + (dof - 1.0) * libm::log(s) - dof * s * s / 2.0);
        sum += density * 0.5 * libm::erfc(-(t * s - ncp) * core::f64::consts::FRAC_1_SQRT_2);
        mass += density;
    }
    sum / mass
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sample_sizes_are_the_textbooks_to_the_integer() {
        // scipy: nct and f, two-sided alpha 0.05, power 0.80 (D).
        for (shift, balls) in [(0.3, 176), (0.5, 64), (0.8, 26), (1.0, 17), (1.5, 9)] {
            assert_eq!(balls_for_shift(shift), Some(balls), "shift {shift}");
            assert_eq!(balls_for_shift(-shift), Some(balls), "shift -{shift}");
        }
        for (ratio, balls) in [(0.8, 160), (0.75, 97), (0.7, 64), (0.6, 33), (0.5, 19)] {
            assert_eq!(balls_for_ratio(ratio), Some(balls), "ratio {ratio}");
        }
    }

    #[test]
    fn no_change_and_what_is_no_number_take_no_count() {
        for none in [0.0, f64::NAN, f64::INFINITY, 1e-6] {
            assert_eq!(balls_for_shift(none), None, "{none}");
        }
        for none in [1.0, 0.0, -1.0, f64::NAN, 0.999_9] {
            assert_eq!(balls_for_ratio(none), None, "{none}");
        }
    }
}
