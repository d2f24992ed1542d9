//! How landing points scatter: their middle and two ellipses about it.
//!
//! The invariant: figures are those of the points as given, in metres down and
//! right of the target line; nothing is said of fewer than [`FEWEST`] points,
//! because an ellipse of so few looks surer than it is. Start at [`scatter`].

use serde::{Deserialize, Serialize};

/// Fewest points that get ellipses: as many as a verdict on strikes takes.
pub const FEWEST: usize = 5;

/// Squared distance, in standard deviations, that holds 95 % of a normal
/// population in two dimensions: -2 ln 0.05 (chi-square with 2 degrees of
/// freedom, closed form; status D).
pub const CHI_SQUARE_95: f64 = 5.991_464_547_107_979;

/// An ellipse on the ground about the middle of the points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Oval {
    /// Longer half axis, m.
    pub semi_major_m: f64,
    /// Shorter half axis, m.
    pub semi_minor_m: f64,
    /// Direction of the longer axis, deg from the target line to the right.
    pub right_deg: f64,
}

/// Middle and scatter of landing points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Scatter {
    /// How many points it rests on.
    pub count: usize,
    /// Mean carry, m.
    pub carry_m: f64,
    /// Mean distance right of the target line, m.
    pub lateral_m: f64,
    /// Standard deviation of carry, divisor n - 1, m.
    pub carry_sd_m: f64,
    /// Standard deviation across, divisor n - 1, m.
    pub lateral_sd_m: f64,
    /// The 1-sigma ellipse: 39 % of a normal population.
    pub one_sigma: Oval,
    /// The ellipse that holds 95 % of a normal population.
    pub oval95: Oval,
}

/// Scatter of points (carry, lateral), m; none for fewer than [`FEWEST`] or
/// where a number is none.
pub fn scatter(points: &[[f64; 2]]) -> Option<Scatter> {
    if points.len() < FEWEST || points.iter().flatten().any(|x| !x.is_finite()) {
        return None;
    }
    let n = points.len() as f64;
    let (mut carry, mut lateral) = (0.0, 0.0);
    for [x, z] in points {
        carry += x;
        lateral += z;
    }
    let (carry_m, lateral_m) = (carry / n, lateral / n);
    let (mut xx, mut xz, mut zz) = (0.0, 0.0, 0.0);
    for [x, z] in points {
        let (dx, dz) = (x - carry_m, z - lateral_m);
        xx += dx * dx;
        xz += dx * dz;
        zz += dz * dz;
    }
    let dof = n - 1.0;
    let (xx, xz, zz) = (xx / dof, xz / dof, zz / dof);
    let half = 0.5 * (xx - zz);
    let major = 0.5 * (xx + zz) + (half * half + xz * xz).sqrt();
    // By the determinant, not by a difference of nearly equal numbers; what is
    // only rounding is no width.
    let determinant = xx * zz - xz * xz;
    let minor = if determinant > 1e-14 * xx * zz { determinant / major } else { 0.0 };
    let right_deg = 0.5 * libm::atan2(2.0 * xz, xx - zz) * (180.0 / core::f64::consts::PI) + 0.0;
    let oval =
        |q: f64| Oval { semi_major_m: (q * major).sqrt(), semi_minor_m: (q * minor).sqrt(), right_deg };
    Some(Scatter {
        count: points.len(),
        carry_m,
        lateral_m,
        carry_sd_m: xx.sqrt(),
        lateral_sd_m: zz.sqrt(),
        one_sigma: oval(1.0),
        oval95: oval(CHI_SQUARE_95),
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::Variety;
    use super::*;

    fn near_normal(variety: &mut Variety) -> f64 {
        (0..12).map(|_| variety.next(-0.5, 0.5)).sum()
    }

    fn inside(oval: &Oval, dx: f64, dz: f64) -> bool {
        let (s, c) = oval.right_deg.to_radians().sin_cos();
        let (along, across) = (dx * c + dz * s, dz * c - dx * s);
        (along / oval.semi_major_m).powi(2) + (across / oval.semi_minor_m).powi(2) <= 1.0
    }

    #[test]
    fn the_ellipses_hold_the_shares_that_they_are_named_for() {
        let mut variety = Variety::new(31);
        let points: Vec<[f64; 2]> = (0..20_000)
            .map(|_| {
                let (a, b) = (near_normal(&mut variety), near_normal(&mut variety));
                [200.0 + 9.0 * a, 4.0 + 6.0 * a + 11.0 * b]
            })
            .collect();
        let found = scatter(&points).unwrap();
        let share = |oval: &Oval| {
            let held = points.iter().filter(|p| inside(oval, p[0] - found.carry_m, p[1] - found.lateral_m));
            held.count() as f64 / points.len() as f64
        };
        // 1 - exp(-1/2) and 0.95 for a normal population; status D.
        assert!((share(&found.one_sigma) - 0.3935).abs() < 0.012, "{}", share(&found.one_sigma));
        assert!((share(&found.oval95) - 0.95).abs() < 0.006, "{}", share(&found.oval95));
        assert!((found.carry_sd_m - 9.0).abs() < 0.2 && (found.lateral_sd_m - 157.0_f64.sqrt()).abs() < 0.3);
    }

    #[test]
    fn balls_that_go_right_as_they_go_far_lean_the_ellipse_to_the_right() {
        let line: Vec<[f64; 2]> = (0..6).map(|i| [200.0 + f64::from(i), f64::from(i)]).collect();
        let found = scatter(&line).unwrap();
        assert!((found.one_sigma.right_deg - 45.0).abs() < 1e-9, "{found:?}");
        assert!(found.one_sigma.semi_minor_m < 1e-9 && found.one_sigma.semi_major_m > 2.0);
    }

    #[test]
    fn too_few_balls_or_a_number_that_is_none_give_no_ellipse() {
        assert!(scatter(&[[200.0, 1.0]; 4]).is_none());
        assert!(scatter(&[[200.0, 1.0]; 5]).is_some(), "the same ball five times has a middle");
        assert!(scatter(&[[f64::NAN, 1.0]; 9]).is_none());
    }
}
