//! Symmetric systems of any size by Cholesky's method, in a fixed order of sums.
//!
//! Start at [`Symmetric`]: collect normal equations, then solve or invert.
#![allow(clippy::indexing_slicing, reason = "loops run to the matrices' own size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

/// Normal equations of a least-squares problem: A and b of A x = b.
#[derive(Debug, Clone)]
pub(super) struct Symmetric {
    n: usize,
    a: Vec<f64>,
    /// The right side.
    pub b: Vec<f64>,
}

impl Symmetric {
    /// All zero.
    pub fn new(n: usize) -> Self {
        Self { n, a: vec![0.0; n * n], b: vec![0.0; n] }
    }

    /// Adds one residual with its slopes and weight: what x has to explain.
    pub fn add(&mut self, slopes: &[f64], residual: f64, weight: f64) {
        for (i, si) in slopes.iter().enumerate().take(self.n) {
            let w = weight * si;
            self.b[i] += w * residual;
            for (j, sj) in slopes.iter().enumerate().take(i + 1) {
                self.a[i * self.n + j] += w * sj;
            }
        }
    }

    /// Adds to one place of the diagonal and of the right side: a prior.
    pub fn pull(&mut self, i: usize, weight: f64, toward: f64) {
        self.a[i * self.n + i] += weight;
        self.b[i] += weight * toward;
    }

    /// The solution with the diagonal multiplied by 1 + `damping`; nothing where A isn't
    /// positive definite.
    pub fn solve(&self, damping: f64) -> Option<Vec<f64>> {
        self.factor(damping).map(|l| back(&l, self.n, &self.b))
    }

    /// The inverse of A, row by row.
    pub fn inverse(&self) -> Option<Vec<f64>> {
        let l = self.factor(0.0)?;
        let mut out = Vec::with_capacity(self.n * self.n);
        for i in 0..self.n {
            let mut unit = vec![0.0; self.n];
            unit[i] = 1.0;
            out.extend(back(&l, self.n, &unit));
        }
        Some(out)
    }

    fn factor(&self, damping: f64) -> Option<Vec<f64>> {
        let n = self.n;
        let mut l = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let mut sum = self.a[i * n + j];
                if i == j {
                    sum += sum * damping + 1e-300;
                }
                for k in 0..j {
                    sum -= l[i * n + k] * l[j * n + k];
                }
                if i != j {
                    l[i * n + j] = sum / l[j * n + j];
                } else if sum > 0.0 && sum.is_finite() {
                    l[i * n + i] = sum.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(l)
    }
}

fn back(l: &[f64], n: usize, b: &[f64]) -> Vec<f64> {
    let mut x = b.to_vec();
    for i in 0..n {
        for k in 0..i {
            x[i] -= l[i * n + k] * x[k];
        }
        x[i] /= l[i * n + i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            x[i] -= l[k * n + i] * x[k];
        }
        x[i] /= l[i * n + i];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_points_is_found_and_its_variance_is_the_textbooks() {
        // y = 2 + 3 x at x = 0, 1, 2, 3: exact; the variance of the slope is 1 / sum (x - mean)^2.
        let mut sums = Symmetric::new(2);
        for x in [0.0, 1.0, 2.0, 3.0] {
            sums.add(&[1.0, x], 2.0 + 3.0 * x, 1.0);
        }
        let found = sums.solve(0.0).unwrap();
        assert!((found[0] - 2.0).abs() < 1e-12 && (found[1] - 3.0).abs() < 1e-12);
        assert!((sums.inverse().unwrap()[3] - 1.0 / 5.0).abs() < 1e-12);
    }

    #[test]
    fn what_has_no_solution_has_none() {
        assert!(Symmetric::new(2).solve(0.0).is_none_or(|x| x.iter().all(|v| v.is_finite())));
        let mut sums = Symmetric::new(1);
        sums.add(&[f64::NAN], 1.0, 1.0);
        assert_eq!(sums.solve(0.0), None);
    }
}
