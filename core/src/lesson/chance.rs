//! Chance from a fixed seed, and points that fill a space evenly.
//!
//! The rule: nothing here knows the clock or the device; the same seed gives the
//! same numbers everywhere. Start at [`Chance`] for independent numbers, [`even`]
//! for points of a drive after the other, [`stratified`] for few points in many dimensions.

/// A stream of numbers from a seed: the mixing function of Steele, Lea and Flood
/// (SplitMix, OOPSLA 2014) over a counter.
#[derive(Debug, Clone)]
pub(crate) struct Chance(u64);

impl Chance {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A number above 0 and below 1, all 2^52 of them alike.
    pub fn uniform(&mut self) -> f64 {
        unit(self.bits())
    }

    /// 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
}

/// Middle of one of 2^52 equal parts of 0 to 1.
fn unit(bits: u64) -> f64 {
    ((bits >> 12) as f64 + 0.5) / 4_503_599_627_370_496.0
}

/// Fractions of the square roots of 2, 3, 5, 7, 11, 13 and 17, in 2^-64.
const ROOTS: [u64; 7] = [
    0x6A09_E667_F3BC_C908,
    0xBB67_AE85_84CA_A73B,
    0x3C6E_F372_FE94_F82B,
    0xA54F_F53A_5F1D_36F1,
    0x510E_527F_ADE6_82D1,
    0x9B05_688C_2B3E_6C1F,
    0x1F83_D9AB_FB41_BD6B,
];

/// The n-th point of a sequence that fills the unit cube of seven dimensions
/// more evenly than chance: multiples of square roots of primes (Richtmyer, Los
/// Alamos report LA-1342, 1951; status M). Averages over it settle several times
/// faster than over independent points.
pub(crate) fn even(n: u64) -> [f64; 7] {
    ROOTS.map(|root| unit(root.wrapping_mul(n + 1).wrapping_add(1 << 63)))
}

/// Points of the unit cube of `D` dimensions: each coordinate falls once into each
/// of `count` equal parts, in an order of its own (Latin hypercube: McKay, Beckman
/// and Conover, Technometrics 21, 239, 1979; status M). Quantiles of what is nearly
/// a sum over the coordinates settle several times faster than over independent points.
pub(crate) fn stratified<const D: usize>(count: usize, chance: &mut Chance) -> Vec<[f64; D]> {
    let mut points = vec![[0.0; D]; count];
    let mut order: Vec<usize> = (0..count).collect();
    for coordinate in 0..D {
        // Fisher and Yates; one in 2^58 or so off even, which no quantile shows.
        for last in (1..count).rev() {
            order.swap(last, (chance.bits() % (last as u64 + 1)) as usize);
        }
        for (point, part) in points.iter_mut().zip(&order) {
            if let Some(value) = point.get_mut(coordinate) {
                *value = (*part as f64 + chance.uniform()) / count as f64;
            }
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_roots_are_roots_of_primes() {
        for (root, prime) in ROOTS.into_iter().zip([2.0_f64, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0]) {
            let fraction = prime.sqrt().fract();
            assert!((root as f64 / 18_446_744_073_709_551_616.0 - fraction).abs() < 1e-15);
        }
    }

    #[test]
    fn stratified_points_fall_once_into_each_part_and_go_their_own_ways() {
        let points = stratified::<3>(200, &mut Chance::new(1));
        for coordinate in 0..3 {
            let mut parts: Vec<usize> = points.iter().map(|p| (p[coordinate] * 200.0) as usize).collect();
            parts.sort_unstable();
            assert_eq!(parts, (0..200).collect::<Vec<_>>());
        }
        let together: f64 = points.iter().map(|p| (p[0] - 0.5) * (p[1] - 0.5)).sum();
        // Four standard errors of a sum of products of independent coordinates.
        assert!(together.abs() < 4.0 * 200.0_f64.sqrt() / 12.0, "{together}");
    }

    #[test]
    fn even_points_average_a_curve_better_than_chance_does() {
        let curve = |p: [f64; 7]| p.iter().map(|x| x * x).sum::<f64>();
        let n = 4_000;
        let even_mean = (0..n).map(|i| curve(even(i))).sum::<f64>() / n as f64;
        let mut chance = Chance::new(7);
        let mean = (0..n).map(|_| curve([0; 7].map(|_| chance.uniform()))).sum::<f64>() / n as f64;
        let right = 7.0 / 3.0;
        assert!((even_mean - right).abs() < 0.002, "{even_mean}");
        assert!((mean - right).abs() < 0.05 && (mean - right).abs() > (even_mean - right).abs(), "{mean}");
    }
}
