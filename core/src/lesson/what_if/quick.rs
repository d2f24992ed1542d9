//! A quick stand-in for impact and flight about one student's drives: carry and
//! side as second-degree polynomials of the seven numbers.
//!
//! The rule: it gives only how far a figure could be off, never the figure: those
//! come from the full physics. Start at [`Quick::fit`].
#![allow(clippy::indexing_slicing, reason = "loops run to the arrays' own fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::super::student_model::Swing;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::flight::solve::cholesky;

/// Terms of a second-degree polynomial of seven numbers.
const TERMS: usize = 1 + N + N * (N + 1) / 2;

/// Carry and side as polynomials.
#[derive(Debug, Clone)]
pub(crate) struct Quick {
    middle: [f64; N],
    width: [f64; N],
    /// Constant, slopes, then bends row by row of the lower triangle, for carry and side.
    terms: [[f64; 2]; TERMS],
}

/// Sums of a least squares fit, one drive at a time.
#[derive(Debug, Clone)]
pub(crate) struct Fitting {
    middle: [f64; N],
    width: [f64; N],
    left: [[f64; TERMS]; TERMS],
    right: [[f64; 2]; TERMS],
}

impl Fitting {
    pub fn about(swing: &Swing) -> Self {
        Self { middle: swing.mean, width: swing.sd, left: [[0.0; TERMS]; TERMS], right: [[0.0; 2]; TERMS] }
    }

    pub fn add(&mut self, drive: &[f64; N], landing: [f64; 2]) {
        let basis = basis(drive, &self.middle, &self.width);
        for i in 0..TERMS {
            for j in 0..=i {
                self.left[i][j] += basis[i] * basis[j];
            }
            for (sum, value) in self.right[i].iter_mut().zip(landing) {
                *sum += basis[i] * value;
            }
        }
    }

    /// The polynomials; nothing where no drive was added.
    pub fn fitted(mut self) -> Option<Quick> {
        for i in 0..TERMS {
            for j in 0..i {
                self.left[j][i] = self.left[i][j];
            }
            // Numbers that never move leave their terms at 0.
            self.left[i][i] += 1e-6;
        }
        let factor = cholesky(&self.left)?;
        let solved = [0, 1].map(|of| factor.solve(&core::array::from_fn(|i| self.right[i][of])));
        let terms = core::array::from_fn(|i| [solved[0][i], solved[1][i]]);
        Some(Quick { middle: self.middle, width: self.width, terms })
    }
}

impl Quick {
    /// Carry and side of a drive, m.
    pub fn landing(&self, drive: &[f64; N]) -> [f64; 2] {
        let u: [f64; N] = core::array::from_fn(|i| (drive[i] - self.middle[i]) / self.width[i]);
        let [mut carry, mut side] = self.terms[0];
        let mut bend = 1 + N;
        for i in 0..N {
            let [mut c, mut s] = self.terms[1 + i];
            for j in 0..=i {
                let [dc, ds] = self.terms[bend];
                c += dc * u[j];
                s += ds * u[j];
                bend += 1;
            }
            carry += c * u[i];
            side += s * u[i];
        }
        [carry, side]
    }
}

fn basis(drive: &[f64; N], middle: &[f64; N], width: &[f64; N]) -> [f64; TERMS] {
    let u: [f64; N] = core::array::from_fn(|i| (drive[i] - middle[i]) / width[i]);
    let mut out = [1.0; TERMS];
    out[1..=N].copy_from_slice(&u);
    let mut next = 1 + N;
    for i in 0..N {
        for j in 0..=i {
            out[next] = u[i] * u[j];
            next += 1;
        }
    }
    out
}
