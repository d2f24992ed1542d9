//! Small symmetric systems by Cholesky's method, in a fixed order of sums.
//!
//! Start at [`cholesky`].
#![allow(clippy::indexing_slicing, reason = "loops run to the arrays' own fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

/// A vector of fixed size.
pub(crate) type Vector<const N: usize> = [f64; N];
/// A square matrix of fixed size.
pub(crate) type Matrix<const N: usize> = [[f64; N]; N];

/// The lower triangular factor of a positive definite matrix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Factor<const N: usize>(Matrix<N>);

/// The factor L of A = L L^T; nothing where A isn't positive definite.
pub(crate) fn cholesky<const N: usize>(a: &Matrix<N>) -> Option<Factor<N>> {
    let mut l = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..=i {
            let mut sum = a[i][j];
            for k in 0..j {
                sum -= l[i][k] * l[j][k];
            }
            if i != j {
                l[i][j] = sum / l[j][j];
            } else if sum > 0.0 {
                l[i][i] = sum.sqrt();
            } else {
                return None;
            }
        }
    }
    Some(Factor(l))
}

impl<const N: usize> Factor<N> {
    /// The vector that the matrix turns into `b`.
    pub fn solve(&self, b: &Vector<N>) -> Vector<N> {
        self.backward(&self.forward(b))
    }

    /// The vector that L turns into `b`.
    pub fn forward(&self, b: &Vector<N>) -> Vector<N> {
        let l = &self.0;
        let mut x = *b;
        for i in 0..N {
            for k in 0..i {
                x[i] -= l[i][k] * x[k];
            }
            x[i] /= l[i][i];
        }
        x
    }

    /// The vector that L^T turns into `b`: of independent normal numbers, one whose
    /// covariance is the matrix's inverse.
    pub fn backward(&self, b: &Vector<N>) -> Vector<N> {
        let l = &self.0;
        let mut x = *b;
        for i in (0..N).rev() {
            for k in i + 1..N {
                x[i] -= l[k][i] * x[k];
            }
            x[i] /= l[i][i];
        }
        x
    }

    /// Row `i` of L.
    pub fn row(&self, i: usize) -> Vector<N> {
        self.0[i]
    }

    /// L times a vector.
    pub fn times(&self, z: &Vector<N>) -> Vector<N> {
        let mut out = [0.0; N];
        for i in 0..N {
            for k in 0..=i {
                out[i] += self.0[i][k] * z[k];
            }
        }
        out
    }

    /// The inverse of the matrix.
    pub fn inverse(&self) -> Matrix<N> {
        let mut out = [[0.0; N]; N];
        for (i, row) in out.iter_mut().enumerate() {
            let mut unit = [0.0; N];
            unit[i] = 1.0;
            *row = self.solve(&unit);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_times_its_inverse_is_one_and_an_indefinite_one_is_refused() {
        let a = [[4.0, 1.0, 0.5], [1.0, 3.0, -0.2], [0.5, -0.2, 2.0]];
        let inverse = cholesky(&a).unwrap().inverse();
        for i in 0..3 {
            for j in 0..3 {
                let sum: f64 = (0..3).map(|k| a[i][k] * inverse[k][j]).sum();
                assert!((sum - f64::from(u8::from(i == j))).abs() < 1e-14);
            }
        }
        assert!(cholesky(&[[1.0, 2.0], [2.0, 1.0]]).is_none());
        assert!(cholesky(&[[f64::NAN, 0.0], [0.0, 1.0]]).is_none());
    }
}
