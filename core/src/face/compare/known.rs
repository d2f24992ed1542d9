//! What the coach's other students show of how days shift the middle.
//!
//! It stands for this student's own days while these are few: as a variance with
//! a weight in degrees of freedom (Smyth, Stat. Appl. Genet. Mol. Biol. 3, 3,
//! 2004). Students differ, so it never counts as more than [`MOST_DOF`], and the
//! more this student's days differ beyond it, the less it counts.
//!
//! Invariant: the result of a comparison that uses it names it
//! (`Comparison::known_shifts`), and without it nothing of it is in any figure.
//!
//! Where to start: [`KnownShifts::of`].

use serde::Serialize;

use super::units::{Quantity, Session, ball_variance};
use crate::face::{FaceError, Settings, Strike, check};

/// Most degrees of freedom that other students' days count as. By simulation: at
/// 6 a student whose days shift by far more than the others' keeps the limit on
/// false calls, at 12 no more (`core/decisions/003-comparison.md`).
pub(super) const MOST_DOF: f64 = 6.0;

/// How days shift the middle of other students' patterns.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KnownShifts {
    /// Variance of a day's shift toward the toe, balls' own share taken out, mm2.
    pub toe_mm2: f64,
    /// The same toward the crown, mm2.
    pub high_mm2: f64,
    /// Degrees of freedom: sessions less one, over all students.
    pub dof: u32,
    /// Students that count: those with two sessions or more.
    pub students: u32,
}

impl KnownShifts {
    /// Pools the days of other students. Each student's sessions must be of a time
    /// in which nothing was changed, such as their baseline: a change would count
    /// as days that differ. Nothing without a student of two sessions.
    ///
    /// # Errors
    /// [`FaceError`] if a mark or setting is not a number or out of its range.
    pub fn of<P, S>(students: &[P], settings: &Settings) -> Result<Option<Self>, FaceError>
    where
        P: AsRef<[S]>,
        S: AsRef<[Strike]>,
    {
        let mut known = Self { toe_mm2: 0.0, high_mm2: 0.0, dof: 0, students: 0 };
        for student in students {
            let mut sessions = Vec::new();
            for strikes in student.as_ref() {
                check(strikes.as_ref(), settings)?;
                sessions.extend(Session::of(strikes.as_ref(), settings));
            }
            let sessions: Vec<&Session> = sessions.iter().collect();
            let Some(dof) = sessions.len().checked_sub(1).filter(|dof| *dof > 0) else { continue };
            known.toe_mm2 += days(Quantity::Toe, &sessions, dof);
            known.high_mm2 += days(Quantity::High, &sessions, dof);
            known.dof = known.dof.saturating_add(u32::try_from(dof).unwrap_or(u32::MAX));
            known.students = known.students.saturating_add(1);
        }
        if known.dof == 0 {
            return Ok(None);
        }
        // A sum of squares less what balls explain may fall below 0; the sum over all
        // students is cut, not each one's, so that luck evens out first.
        let each = |sum: f64| (sum / f64::from(known.dof)).max(0.0);
        Ok(Some(Self { toe_mm2: each(known.toe_mm2), high_mm2: each(known.high_mm2), ..known }))
    }

    /// Variance of a day's shift along an axis, mm2.
    pub(super) fn days_mm2(&self, quantity: Quantity) -> f64 {
        if quantity == Quantity::High { self.high_mm2 } else { self.toe_mm2 }
    }

    /// Degrees of freedom that it may count as.
    pub(super) fn counts_as(&self) -> f64 {
        f64::from(self.dof).min(MOST_DOF)
    }

    /// Whether its figures are ones.
    pub(super) fn is_sound(&self) -> bool {
        let sound = |v: f64| v.is_finite() && v >= 0.0;
        sound(self.toe_mm2) && sound(self.high_mm2) && self.dof > 0
    }
}

/// A student's sum of squares of days about their mean, less what balls explain.
fn days(quantity: Quantity, sessions: &[&Session], dof: usize) -> f64 {
    let units = quantity.units(sessions, sessions);
    let count = units.len() as f64;
    let mean = units.iter().map(|u| u.value).sum::<f64>() / count;
    let squares: f64 = units.iter().map(|u| (u.value - mean) * (u.value - mean)).sum();
    let ball = ball_variance(quantity, sessions);
    let balls = sessions.iter().map(|s| ball / f64::from(s.balls)).sum::<f64>() / count;
    squares - balls * dof as f64
}

/// Known shifts as a comparison used them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct UsedShifts {
    /// What was known.
    #[serde(flatten)]
    pub known: KnownShifts,
    /// Degrees of freedom that it counted as at the last look, toward the toe.
    pub counted_toe: f64,
    /// The same toward the crown.
    pub counted_high: f64,
}
