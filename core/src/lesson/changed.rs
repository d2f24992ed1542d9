//! What changed since the baseline, and is it real: the comparison over all later
//! sessions, with what has to be asked first.
//!
//! Invariant: a call that may come from another club, ball or powder is not called
//! the student's; figures are shown all the same.
//!
//! Where to start: [`Changed::between`]; [`Changed::of`] for a student's log,
//! [`lots`] for the rows of a file.

use serde::Serialize;

use super::log::{Log, Visit};
use super::mix::{Ask, Mix, asks};
use super::spans::{Choice, marks_of, settings_of, split};
use crate::face::compare::{Aim, CompareError, Comparison, KnownShifts, LAST_LOOK, Look, follow};
use crate::face::{FaceError, Pattern, Settings, Strike, pattern};
use crate::model::{Day, MarkRead};
use crate::table::Row;

/// The balls of one session that are compared.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lot {
    /// What the session is called.
    pub label: String,
    /// Its day, where it is known.
    pub day: Option<Day>,
    /// Its strikes.
    pub strikes: Vec<Strike>,
    /// What each was hit with.
    pub mixes: Vec<Mix>,
}

impl AsRef<[Strike]> for Lot {
    fn as_ref(&self) -> &[Strike] {
        &self.strikes
    }
}

/// What the comparison comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// No session, or none with enough balls, on one side.
    NothingToCompare,
    /// Too few sessions for any call.
    TooEarly,
    /// Nothing was called, and too many sessions came since the baseline for any call.
    TooLate,
    /// Something is called, or may be hidden, and club, ball or powder differ too.
    AskFirst,
    /// Something has changed.
    Changed,
    /// No change has been shown; that is no proof of none.
    NotShown,
}

/// A look with the name of its session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NamedLook {
    /// What the session is called.
    pub label: String,
    /// Its day, where it is known.
    pub day: Option<Day>,
    /// The look.
    #[serde(flatten)]
    pub look: Look,
}

/// What changed since the baseline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Changed {
    /// What it comes to.
    pub verdict: Verdict,
    /// The figures.
    #[serde(flatten)]
    pub comparison: Comparison,
    /// What to ask before a change is called the student's.
    pub asks: Vec<Ask>,
    /// Every look on the way, in order.
    pub looks: Vec<NamedLook>,
    /// Who chose the baseline; absent where two files did.
    pub baseline_chosen_by: Option<Choice>,
    /// What marks are judged by.
    pub settings: Settings,
}

impl Changed {
    /// Compares later sessions with those of the baseline.
    ///
    /// # Errors
    /// [`CompareError`] if a mark, a setting or the aim is not allowed.
    pub fn between(
        baseline: &[Lot],
        later: &[Lot],
        settings: &Settings,
        aim: &Aim,
    ) -> Result<Self, CompareError> {
        let (comparison, looks) = follow(baseline, later, settings, aim)?;
        let before: Vec<Mix> = baseline.iter().flat_map(|lot| lot.mixes.iter().cloned()).collect();
        let now: Vec<(String, Vec<Mix>)> =
            later.iter().map(|lot| (lot.label.clone(), lot.mixes.clone())).collect();
        let asks = asks(&before, &now);
        let looks = looks
            .into_iter()
            .map(|look| {
                let lot = later.get((look.session as usize).saturating_sub(1));
                NamedLook {
                    label: lot.map(|lot| lot.label.clone()).unwrap_or_default(),
                    day: lot.and_then(|lot| lot.day),
                    look,
                }
            })
            .collect();
        Ok(Self {
            verdict: verdict(&comparison, &asks),
            comparison,
            asks,
            looks,
            baseline_chosen_by: None,
            settings: *settings,
        })
    }

    /// The same from a student's log: all sessions with marks after the baseline,
    /// not only the latest. Nothing without a session with marks. `others` is what
    /// [`days_of`] other students showed, if their days are to lend.
    ///
    /// # Errors
    /// As [`Self::between`]; the model lets no such mark in.
    pub fn of(log: &Log, others: Option<KnownShifts>) -> Result<Option<Self>, CompareError> {
        let (first, later, chosen_by) = split(log);
        if first.is_empty() {
            return Ok(None);
        }
        let settings = settings_of(log);
        let aim = Aim { others, ..Aim::of(&settings) };
        let changed = Self::between(&lots_of(log, &first), &lots_of(log, &later), &settings, &aim)?;
        Ok(Some(Self { baseline_chosen_by: Some(chosen_by), ..changed }))
    }

    /// Whether a change may be called the student's.
    pub fn is_called(&self) -> bool {
        self.verdict == Verdict::Changed
    }
}

fn verdict(c: &Comparison, asks: &[Ask]) -> Verdict {
    if c.baseline_sessions == 0 || c.later_sessions == 0 {
        Verdict::NothingToCompare
    } else if !asks.is_empty() {
        Verdict::AskFirst
    } else if c.any_called {
        Verdict::Changed
    } else if c.later_sessions > LAST_LOOK {
        Verdict::TooLate
    } else if c.bias.toe.low.is_none() {
        Verdict::TooEarly
    } else {
        Verdict::NotShown
    }
}

/// The pattern of all strikes of some sessions together, for a drawing.
///
/// # Errors
/// [`FaceError`] if a mark or setting is not allowed.
pub fn pattern_of_lots(lots: &[Lot], settings: &Settings) -> Result<Pattern, FaceError> {
    let strikes: Vec<Strike> = lots.iter().flat_map(|lot| &lot.strikes).copied().collect();
    pattern(&strikes, settings)
}

/// How days differ with some students, from the sessions of their baselines: times in
/// which nothing was changed. Nothing without a student of two such sessions.
///
/// # Errors
/// [`FaceError`] if a mark can't be one: the model lets none such in.
pub fn days_of(students: &[&Log]) -> Result<Option<KnownShifts>, FaceError> {
    let baselines: Vec<Vec<Lot>> = students.iter().map(|log| lots_of(log, &split(log).0)).collect();
    KnownShifts::of(&baselines, &Settings::default())
}

fn lots_of(log: &Log, visits: &[&Visit]) -> Vec<Lot> {
    visits.iter().map(|visit| lot(log, visit)).collect()
}

fn lot(log: &Log, visit: &Visit) -> Lot {
    // In the order and with the choice of `marks_of`.
    let mixes = visit
        .shots
        .iter()
        .filter(|shot| shot.mark.is_some_and(|mark| mark.read != MarkRead::Felt) && log.is_as_in_play(shot))
        .map(|shot| Mix {
            club: visit.club_of(shot).and_then(|id| log.clubs.get(&id)).map(|club| club.name.to_string()),
            ball: visit.session.ball,
            powder: shot.powder.or(visit.session.powder),
        })
        .collect();
    Lot {
        label: visit.session.name.to_string(),
        day: Some(visit.session.day),
        strikes: marks_of(log, visit).iter().map(super::Mark::strike).collect(),
        mixes,
    }
}

/// What a file's rows hold for a comparison.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lots {
    /// Sessions in the order in which they first appear.
    pub lots: Vec<Lot>,
    /// Strikes that were only felt, and left out.
    pub felt: u64,
    /// Rows without a mark.
    pub bare: u64,
}

/// Why rows can't be compared.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LotsError {
    /// A ball whose session is not said.
    #[error(
        "line {line}: no session; each row needs one, as balls of one session are alike and count together. \
         Write the same label, such as a day, on all rows of one visit"
    )]
    NoSession {
        /// The line in the file.
        line: u64,
    },
    /// Nothing to compare.
    #[error("no row has a strike mark that was looked at{}; fill toe_mm and high_mm", match felt {
        0 => String::new(),
        1 => " (1 strike was only felt)".to_owned(),
        n => format!(" ({n} strikes were only felt)"),
    })]
    NoMarks {
        /// Strikes that were only felt.
        felt: u64,
    },
}

/// The rows of a file as sessions, by label, in the order in which they first
/// appear. A mark without an error of its own counts as exact where
/// `sigma_given` is false.
///
/// # Errors
/// [`LotsError`] if a row has no session or no row has a mark that was looked at.
pub fn lots(rows: &[Row], sigma_given: bool) -> Result<Lots, LotsError> {
    let mut found = Lots::default();
    let mut places = std::collections::BTreeMap::new();
    for row in rows {
        let Some(session) = &row.session else { return Err(LotsError::NoSession { line: row.line }) };
        let next = found.lots.len();
        let place = *places.entry((session.clone(), row.day)).or_insert(next);
        if place == next {
            found.lots.push(Lot { label: session.to_string(), day: row.day, ..Lot::default() });
        }
        let Some(mark) = row.mark else {
            found.bare += 1;
            continue;
        };
        if mark.read == MarkRead::Felt {
            found.felt += 1;
            continue;
        }
        if let Some(lot) = found.lots.get_mut(place) {
            lot.strikes.push(Strike {
                toe_mm: mark.toe_mm.mm(),
                high_mm: mark.high_mm.mm(),
                sigma_mm: if sigma_given { mark.sigma_mm.mm() } else { 0.0 },
            });
            lot.mixes.push(Mix {
                club: row.club.as_ref().map(ToString::to_string),
                ball: row.ball,
                powder: row.powder,
            });
        }
    }
    if found.lots.iter().all(|lot| lot.strikes.is_empty()) {
        return Err(LotsError::NoMarks { felt: found.felt });
    }
    Ok(found)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::table::{Options, read};

    fn rows(csv: &str) -> Vec<Row> {
        read(csv.as_bytes(), &Options::default()).unwrap().rows
    }

    #[test]
    fn rows_become_sessions_in_the_order_in_which_they_first_appear() {
        let rows = rows(
            "session,toe_mm,high_mm,read,ball\nb,1,2,photo,range\na,3,4,tap,course\nb,5,6,photo,range\nb,7,8,felt,\na,,,,\n",
        );
        let found = lots(&rows, false).unwrap();
        let labels: Vec<_> = found.lots.iter().map(|lot| (lot.label.as_str(), lot.strikes.len())).collect();
        assert_eq!(labels, [("b", 2), ("a", 1)]);
        assert_eq!((found.felt, found.bare), (1, 1));
        assert!(found.lots.iter().flat_map(|lot| &lot.strikes).all(|strike| strike.sigma_mm == 0.0));
        assert_eq!(found.lots[0].mixes.len(), 2);
    }

    #[test]
    fn a_row_without_a_session_and_a_file_without_marks_say_so() {
        let error = lots(&rows("session,toe_mm,high_mm\na,1,2\n,3,4\n"), false).unwrap_err();
        assert_eq!(error, LotsError::NoSession { line: 3 });
        let error = lots(&rows("session,toe_mm,high_mm,read\na,1,2,felt\n"), true).unwrap_err();
        assert!(error.to_string().contains("1 strike was only felt"), "{error}");
    }
}
