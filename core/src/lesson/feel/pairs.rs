//! Guesses and marks as sums, from which every figure of feel is made.
//!
//! The rule: sums of groups add and subtract, so that leaving a session out
//! costs nothing. Start at [`Sums`].

/// A ball with a guess and the mark that was looked at after it, toward toe and crown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Where the student said it was, mm.
    pub guess_mm: [f64; 2],
    /// Where it was, mm.
    pub mark_mm: [f64; 2],
    /// Standard error of the mark's reading along each axis, mm.
    pub sigma_mm: f64,
}

/// Sums over pairs; index 0 toward the toe, 1 toward the crown.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Sums {
    n: f64,
    guess: [f64; 2],
    mark: [f64; 2],
    guess_guess: [f64; 2],
    mark_mark: [f64; 2],
    guess_mark: [f64; 2],
    error: f64,
}

/// Second moments about the means, of one axis.
struct Moments {
    /// Variance of the guesses.
    guess: f64,
    /// Variance of the marks as read.
    mark: f64,
    /// Covariance of both.
    both: f64,
    /// Mean variance of the readings.
    error: f64,
}

impl Moments {
    /// Variance of the true strikes; nothing where the readings explain it all.
    fn strike(&self) -> Option<f64> {
        Some(self.mark - self.error).filter(|v| *v > 1e-9)
    }
}

fn at(of: [f64; 2], axis: usize) -> f64 {
    of.get(axis).copied().unwrap_or(0.0)
}

impl Sums {
    pub fn of(pairs: &[Pair]) -> Self {
        let mut sums = Self::default();
        for pair in pairs {
            sums.n += 1.0;
            sums.error += pair.sigma_mm * pair.sigma_mm;
            for axis in [0, 1] {
                let (g, m) = (at(pair.guess_mm, axis), at(pair.mark_mm, axis));
                for (sum, value) in [
                    (&mut sums.guess, g),
                    (&mut sums.mark, m),
                    (&mut sums.guess_guess, g * g),
                    (&mut sums.mark_mark, m * m),
                    (&mut sums.guess_mark, g * m),
                ] {
                    if let Some(slot) = sum.get_mut(axis) {
                        *slot += value;
                    }
                }
            }
        }
        sums
    }

    /// These with others added (`sign` 1) or taken away (`sign` -1).
    pub fn with(&self, other: &Self, sign: f64) -> Self {
        let both = |a: [f64; 2], b: [f64; 2]| [at(a, 0) + sign * at(b, 0), at(a, 1) + sign * at(b, 1)];
        Self {
            n: self.n + sign * other.n,
            guess: both(self.guess, other.guess),
            mark: both(self.mark, other.mark),
            guess_guess: both(self.guess_guess, other.guess_guess),
            mark_mark: both(self.mark_mark, other.mark_mark),
            guess_mark: both(self.guess_mark, other.guess_mark),
            error: self.error + sign * other.error,
        }
    }

    pub fn count(&self) -> u32 {
        self.n as u32
    }

    fn moments(&self, axis: usize) -> Option<Moments> {
        if self.n < 3.0 {
            return None;
        }
        let (n, g, m) = (self.n, at(self.guess, axis), at(self.mark, axis));
        let about = |sum: f64, a: f64, b: f64| (sum - a * b / n) / (n - 1.0);
        Some(Moments {
            guess: about(at(self.guess_guess, axis), g, g).max(0.0),
            mark: about(at(self.mark_mark, axis), m, m).max(0.0),
            both: about(at(self.guess_mark, axis), g, m),
            error: self.error / n,
        })
    }

    /// Mean of guess less mark, mm.
    pub fn offset_mm(&self, axis: usize) -> Option<f64> {
        (self.n > 0.0).then(|| (at(self.guess, axis) - at(self.mark, axis)) / self.n)
    }

    /// Slope of guess on strike.
    pub fn slope(&self, axis: usize) -> Option<f64> {
        let moments = self.moments(axis)?;
        Some(moments.both / moments.strike()?)
    }

    /// Correlation of guess and strike.
    pub fn correlation(&self, axis: usize) -> Option<f64> {
        let moments = self.moments(axis)?;
        let (guess, strike) = (moments.guess, moments.strike()?);
        (guess > 1e-9).then(|| (moments.both / (guess * strike).sqrt()).clamp(-1.0, 1.0))
    }

    /// Mean square distance from guess to strike, mm2, the readings' share taken out.
    fn square_error_mm2(&self) -> Option<f64> {
        if self.n < 1.0 {
            return None;
        }
        let axis =
            |axis| at(self.guess_guess, axis) - 2.0 * at(self.guess_mark, axis) + at(self.mark_mark, axis);
        Some((axis(0) + axis(1) - 2.0 * self.error) / self.n)
    }

    /// Root mean square distance from guess to strike, mm.
    pub fn rms_error_mm(&self) -> Option<f64> {
        self.square_error_mm2().filter(|square| *square > 0.0).map(f64::sqrt)
    }

    /// That error over the one of always guessing the mean strike.
    pub fn relative_error(&self) -> Option<f64> {
        let constant = self.moments(0)?.strike()? + self.moments(1)?.strike()?;
        self.square_error_mm2().filter(|square| *square > 0.0).map(|square| (square / constant).sqrt())
    }

    /// The strike on one axis that a guess stands for and its standard error, both
    /// in mm, by least squares of mark on guess: reading error in what is predicted
    /// does not bend the slope, and is taken out of the error. Without a guess, the
    /// error at the middle of all guesses.
    ///
    /// The error is that of a new ball (Student's predictive distribution: n - 2
    /// degrees of freedom, its variance larger by (n - 2) / (n - 4)).
    pub fn mark_from(&self, axis: usize, guess: Option<f64>) -> (f64, f64) {
        let n = self.n;
        let Some(moments) = self.moments(axis).filter(|_| n > 4.5) else {
            return (guess.unwrap_or(0.0), super::as_error(f64::INFINITY));
        };
        let (mean_guess, mean_mark) = (at(self.guess, axis) / n, at(self.mark, axis) / n);
        let moved = guess.map_or(0.0, |guess| guess - mean_guess);
        // One who always guesses the same gives a slope of nothing.
        let slope = if moments.guess > 1e-9 { moments.both / moments.guess } else { 0.0 };
        let squares = (n - 1.0) * (moments.mark - slope * moments.both).max(0.0);
        let rest = (squares / (n - 2.0) - moments.error).max(0.0);
        let far = if moments.guess > 1e-9 { moved * moved / ((n - 1.0) * moments.guess) } else { 0.0 };
        let variance = rest * (1.0 + 1.0 / n + far) * (n - 2.0) / (n - 4.0);
        (mean_mark + slope * moved, super::as_error(variance.sqrt()))
    }
}
