//! New marks told from old ones on the same face, so that one coat of powder serves
//! several balls.
//!
//! The rule: each mark of the earlier picture can account for one mark of the later one,
//! the nearest first; what none accounts for is new. Start at [`accounted_for`].

/// A mark's place and standard error, mm: toward the toe, toward the crown, error.
pub type Placed = (f64, f64, f64);

/// Two readings of one mark lie closer than this even where both errors are small, mm:
/// handles are placed anew for each picture.
const SAME_MM: f64 = 3.0;

/// Which of the later marks are new.
pub fn are_new(earlier: &[Placed], now: &[Placed]) -> Vec<bool> {
    accounted_for(earlier, now).iter().map(Option::is_none).collect()
}

/// Of each later mark, which of the earlier ones it is, if any.
pub fn accounted_for(earlier: &[Placed], now: &[Placed]) -> Vec<Option<usize>> {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (n, (x, y, sigma)) in now.iter().enumerate() {
        for (e, (ex, ey, esigma)) in earlier.iter().enumerate() {
            let far = ((x - ex) * (x - ex) + (y - ey) * (y - ey)).sqrt();
            // Two errors of one mark: 99 of 100 lie within 3.03 of their joint size (Rayleigh).
            let most = (3.03 * (sigma * sigma + esigma * esigma).sqrt()).clamp(SAME_MM, 2.0 * SAME_MM);
            if far <= most {
                pairs.push((far, n, e));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut found = vec![None; now.len()];
    let mut spent = vec![false; earlier.len()];
    for (_, n, e) in pairs {
        if let (Some(found @ None), Some(spent @ false)) = (found.get_mut(n), spent.get_mut(e)) {
            (*found, *spent) = (Some(e), true);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_coat_serves_several_balls() {
        let first = [(-10.0, 4.0, 0.5)];
        let second = [(-10.6, 4.4, 0.6), (12.0, 0.0, 0.5)];
        assert_eq!(are_new(&[], &first), [true]);
        assert_eq!(are_new(&first, &second), [false, true]);
        // A second ball right beside the first: one of the two is new.
        let close = [(-10.2, 4.0, 0.5), (-7.5, 4.0, 0.5)];
        assert_eq!(are_new(&first, &close), [false, true]);
        assert_eq!(are_new(&second, &[]), Vec::<bool>::new());
    }
}
