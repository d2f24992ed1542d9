//! How sure a learned covariance is, and covariances that it might be instead.
//!
//! The rule: readings tell spreads apart only as far as they differ in what they
//! say of each number: a start by eye tells of face and path together, so neither
//! spread is as sure as if that were read alone. Near the learned covariance
//! C = L L^T every other one is L exp(S) L^T with a symmetric S; the balls'
//! information about S gives its spread. Start at [`Told`], then [`Spreads`].
#![allow(clippy::indexing_slicing, reason = "loops run to the arrays' own fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::Assumed;
use super::learn::product;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::solve::{Factor, Matrix, Vector, cholesky};

/// Numbers in a symmetric matrix.
pub(super) const PAIRS: usize = N * (N + 1) / 2;
/// Places of a symmetric matrix, row by row of its lower triangle.
const PLACES: [(usize, usize); PAIRS] = places();
/// Terms of the series of exp; of what is below 1/4 the first left out is below 1e-11.
const TERMS: u32 = 8;

const fn places() -> [(usize, usize); PAIRS] {
    let mut places = [(0, 0); PAIRS];
    let (mut next, mut i) = (0, 0);
    while i < N {
        let mut j = 0;
        while j <= i {
            places[next] = (i, j);
            next += 1;
            j += 1;
        }
        i += 1;
    }
    places
}

/// What balls say of a covariance, as they are looked at one by one.
#[derive(Debug, Clone)]
pub(super) struct Told {
    factor: Factor<N>,
    sums: Box<Matrix<PAIRS>>,
}

impl Told {
    /// Nothing yet of the covariance with this factor.
    pub fn nothing(factor: &Factor<N>) -> Self {
        Self { factor: *factor, sums: Box::new([[0.0; PAIRS]; PAIRS]) }
    }

    /// One more ball, whose readings leave `open` open of the covariance.
    pub fn add(&mut self, open: &Matrix<N>) {
        let half: Matrix<N> = core::array::from_fn(|i| self.factor.forward(&open[i]));
        let known: Matrix<N> = core::array::from_fn(|i| {
            let across = self.factor.forward(&core::array::from_fn(|j| half[j][i]));
            core::array::from_fn(|j| f64::from(u8::from(i == j)) - across[j])
        });
        for (a, (i, j)) in PLACES.into_iter().enumerate() {
            for (b, (k, l)) in PLACES.into_iter().enumerate().take(a + 1) {
                self.sums[a][b] += known[j][k] * known[l][i] + known[j][l] * known[k][i];
            }
        }
    }

    /// How sure the covariance is after all of them. The mean was learned from them
    /// too; what was assumed counts as balls read in full.
    ///
    /// With K what a ball tells, as a share of a covariance of 1, the information
    /// about S in the directions A and B is half the trace of K A K B (normal law;
    /// Magnus and Neudecker, Matrix Differential Calculus, 1988; status M).
    pub fn spreads(&self, balls: f64, assumed: &Assumed) -> Option<Spreads> {
        let (weight, apart) = (assumed.ball_weight, assumed.apart_weight.max(assumed.ball_weight));
        // Directions of length 1 have both mirrored places, or one on the diagonal.
        let length = |(i, j): (usize, usize)| if i == j { core::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
        let left = ((balls - 1.0) / balls.max(1.0)).max(0.0);
        let information: Matrix<PAIRS> = core::array::from_fn(|a| {
            core::array::from_fn(|b| {
                let sum = self.sums[a.max(b)][a.min(b)];
                let (i, j) = PLACES[a];
                let assumed = if a != b {
                    0.0
                } else if i == j {
                    weight
                } else {
                    apart
                };
                0.5 * (left * length(PLACES[a]) * length(PLACES[b]) * sum + assumed)
            })
        });
        let information = Box::new(cholesky(&information)?);
        let dof: Vector<N> = core::array::from_fn(|k| 2.0 / self.of_log(k, &information));
        // What exp(S) adds to a number's variance on average comes from its places
        // beside the diagonal; what is left is the skew of a variance that balls told.
        let mut middle = dof.map(|dof| (1.0 - weight / dof).max(0.0) / dof);
        for (a, (i, j)) in PLACES.into_iter().enumerate().filter(|(_, (i, j))| i != j) {
            let mut unit = [0.0; PAIRS];
            unit[a] = 1.0;
            let variance: f64 = information.forward(&unit).iter().map(|x| x * x).sum();
            middle[i] -= 0.25 * variance;
            middle[j] -= 0.25 * variance;
        }
        Some(Spreads { dof, middle, information })
    }

    /// Variance of the logarithm of the k-th number's variance.
    fn of_log(&self, k: usize, information: &Factor<PAIRS>) -> f64 {
        let row = self.factor.row(k);
        let square: f64 = row.iter().map(|x| x * x).sum();
        let slope = PLACES.map(|(i, j)| {
            let both = row[i] * row[j] / square;
            if i == j { both } else { core::f64::consts::SQRT_2 * both }
        });
        information.forward(&slope).iter().map(|x| x * x).sum()
    }
}

/// How sure a covariance is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spreads {
    /// Degrees of freedom of each number's spread: how many balls, read exactly,
    /// would tell it as well.
    pub dof: Vector<N>,
    /// Middle of S on its diagonal.
    middle: Vector<N>,
    information: Box<Factor<PAIRS>>,
}

impl Spreads {
    /// A covariance that the one with this factor may be, from independent normal
    /// numbers. `wider` is how many times less sure each number's spread is than
    /// balls alone make it.
    pub fn draw(&self, covariance: &Factor<N>, normal: &Vector<PAIRS>, wider: &Vector<N>) -> Matrix<N> {
        let off = self.information.backward(normal);
        let mut half = [[0.0; N]; N];
        for ((i, j), off) in PLACES.into_iter().zip(off) {
            let off = 0.5 * off * (wider[i] * wider[j]).sqrt();
            if i == j {
                half[i][i] = off + 0.5 * self.middle[i] * wider[i] * wider[i];
            } else {
                half[i][j] = off * core::f64::consts::FRAC_1_SQRT_2;
                half[j][i] = half[i][j];
            }
        }
        let grown = exp(&half);
        // L exp(S/2), column by column: what is symmetric has its columns as rows.
        let columns = grown.map(|column| covariance.times(&column));
        core::array::from_fn(|a| core::array::from_fn(|b| columns.iter().map(|c| c[a] * c[b]).sum()))
    }
}

/// The exponential of a symmetric matrix: its series, of a part so small that few
/// terms do, squared again.
fn exp(matrix: &Matrix<N>) -> Matrix<N> {
    let most = matrix.iter().map(|row| row.iter().map(|x| x.abs()).sum::<f64>()).fold(0.0, f64::max);
    let mut squarings = 0;
    let mut part = 1.0;
    while most * part > 0.25 && squarings < 60 {
        part *= 0.5;
        squarings += 1;
    }
    let small = matrix.map(|row| row.map(|x| x * part));
    let one: Matrix<N> = core::array::from_fn(|i| core::array::from_fn(|j| f64::from(u8::from(i == j))));
    let mut sum = one;
    for term in (1..=TERMS).rev() {
        sum = product(&small, &sum);
        for i in 0..N {
            for j in 0..N {
                sum[i][j] = one[i][j] + sum[i][j] / f64::from(term);
            }
        }
    }
    for _ in 0..squarings {
        sum = product(&sum, &sum);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::normal::normal_quantile;
    use crate::lesson::chance::{Chance, stratified};

    fn covariance() -> Matrix<N> {
        let sd = [1.2, 1.3, 2.0, 1.8, 1.5, 8.0, 6.0];
        core::array::from_fn(|i| {
            core::array::from_fn(|j| sd[i] * sd[j] * 0.6_f64.powi((i as i32 - j as i32).abs()))
        })
    }

    fn told(open: &Matrix<N>, balls: u32) -> Spreads {
        let mut told = Told::nothing(&cholesky(&covariance()).unwrap());
        (0..balls).for_each(|_| told.add(open));
        let assumed = Assumed { apart_weight: 2.0, ..Assumed::default() };
        told.spreads(f64::from(balls), &assumed).unwrap()
    }

    #[test]
    fn that_numbers_are_believed_to_go_their_own_ways_makes_no_spread_surer_where_they_do() {
        let alone: Matrix<N> =
            core::array::from_fn(|i| core::array::from_fn(|j| f64::from(u8::from(i == j))));
        let told = Told::nothing(&cholesky(&alone).unwrap());
        let spreads = told.spreads(10.0, &Assumed::default()).unwrap();
        assert!(spreads.dof.iter().all(|dof| (dof - 2.0).abs() < 1e-9), "{:?}", spreads.dof);
    }

    #[test]
    fn balls_read_in_full_count_in_full_and_balls_of_which_nothing_is_read_not_at_all() {
        let full = told(&[[0.0; N]; N], 41);
        assert!(full.dof.iter().all(|dof| (dof - 42.0).abs() < 1e-9), "{:?}", full.dof);
        let none = told(&covariance(), 41);
        assert!(none.dof.iter().all(|dof| (dof - 2.0).abs() < 1e-9), "{:?}", none.dof);
    }

    #[test]
    fn a_sum_that_is_read_tells_less_of_either_than_each_read_alone_would() {
        let c = covariance();
        // Numbers 2 and 3 are read together only: what is left open by Bayes' rule.
        let toward: Vector<N> = core::array::from_fn(|i| c[i][2] + c[i][3]);
        let variance = toward[2] + toward[3];
        let open =
            core::array::from_fn(|i| core::array::from_fn(|j| c[i][j] - toward[i] * toward[j] / variance));
        let together = told(&open, 200).dof;
        // If only the one number's own part counted, as its own share squared.
        let known = toward[2] * toward[2] / (variance * c[2][2]);
        assert!(known > 0.7 && together[2] < 0.5 * 200.0 * known * known, "{together:?} {known}");
        assert!(together[2] > 2.0);
    }

    #[test]
    fn drawn_covariances_have_the_middle_and_the_spread_of_what_so_many_balls_tell() {
        let c = covariance();
        let factor = cholesky(&c).unwrap();
        let spreads = told(&[[0.0; N]; N], 41);
        let draws: Vec<Matrix<N>> = stratified::<PAIRS>(4_000, &mut Chance::new(3))
            .iter()
            .map(|u| spreads.draw(&factor, &u.map(normal_quantile), &[1.0; N]))
            .collect();
        for k in 0..N {
            let logs: Vec<f64> = draws.iter().map(|d| libm::log(d[k][k] / c[k][k])).collect();
            let mean = logs.iter().sum::<f64>() / 4_000.0;
            let sd = (logs.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 4_000.0).sqrt();
            // Of 42 degrees of freedom: middle 1/42, less what two assumed balls stand for.
            assert!((mean - 40.0 / 42.0 / 42.0).abs() < 0.01, "{k} {mean}");
            assert!((sd - (2.0_f64 / 42.0).sqrt()).abs() < 0.01, "{k} {sd}");
            assert!(draws.iter().all(|d| cholesky(d).is_some()));
        }
    }

    #[test]
    fn the_exponential_of_a_turn_and_of_a_diagonal_is_known() {
        let mut both = [[0.0; N]; N];
        (both[0][1], both[1][0], both[2][2]) = (1.5, 1.5, -4.0);
        let grown = exp(&both);
        for (value, right) in [
            (grown[0][0], 1.5_f64.cosh()),
            (grown[0][1], 1.5_f64.sinh()),
            (grown[2][2], (-4.0_f64).exp()),
            (grown[3][3], 1.0),
            (grown[0][2], 0.0),
        ] {
            assert!((value - right).abs() < 1e-10 * right.abs().max(1.0), "{value} {right}");
        }
    }
}
