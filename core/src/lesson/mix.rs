//! What was hit with: club, ball, powder; and where that differs between the
//! baseline and later, so that it is asked about before a change is called the
//! student's.
//!
//! Invariant: what was not said counts for neither side; nothing is asked where a
//! side says nothing.
//!
//! Where to start: [`asks`].

use std::collections::BTreeMap;

use serde::Serialize;

use crate::model::Ball;

/// Asked about where something makes at least this share of one side's balls ...
const MUCH: f64 = 0.2;
/// ... and at most this share of the other's. Both are assumptions: a few balls of
/// another kind don't move a session's middle by much.
const LITTLE: f64 = 0.05;

/// What one ball was hit with; absent where nobody said.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mix {
    /// What the player calls the club.
    pub club: Option<String>,
    /// The kind of ball.
    pub ball: Option<Ball>,
    /// Whether the face was powdered.
    pub powder: Option<bool>,
}

/// What may differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Thing {
    /// The club.
    Club,
    /// The kind of ball.
    Ball,
    /// Whether the face was powdered.
    Powder,
}

/// Something to ask before a change is called the student's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ask {
    /// What differs.
    pub what: Thing,
    /// What it was at the baseline, the most frequent first.
    pub before: Vec<String>,
    /// What it is later, the most frequent first.
    pub now: Vec<String>,
    /// The first later session in which it was otherwise, counted from 1.
    pub since: u32,
    /// What that session is called.
    pub since_label: String,
}

impl Thing {
    const ALL: [Self; 3] = [Self::Club, Self::Ball, Self::Powder];

    /// A ball's value in words, lower case, so that two spellings of a club are one.
    fn of(self, mix: &Mix) -> Option<String> {
        match self {
            Self::Club => mix.club.as_ref().map(|name| name.trim().to_lowercase()),
            Self::Ball => mix.ball.map(|ball| ball.word().to_owned()),
            Self::Powder => mix.powder.map(|on| if on { "powdered" } else { "dry" }.to_owned()),
        }
    }

    /// How many balls have which value.
    fn counts<'a>(self, balls: impl Iterator<Item = &'a Mix>) -> BTreeMap<String, u32> {
        let mut counts = BTreeMap::new();
        for value in balls.filter_map(|mix| self.of(mix)) {
            *counts.entry(value).or_insert(0) += 1;
        }
        counts
    }
}

/// Values, the most frequent first.
fn by_count(counts: &BTreeMap<String, u32>) -> Vec<String> {
    let mut values: Vec<(&String, &u32)> = counts.iter().collect();
    values.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
    values.into_iter().map(|(value, _)| value.clone()).collect()
}

/// Share of a value among the balls whose value is known.
fn share(counts: &BTreeMap<String, u32>, value: &str) -> f64 {
    let all: u32 = counts.values().sum();
    f64::from(counts.get(value).copied().unwrap_or(0)) / f64::from(all.max(1))
}

/// What to ask: what differs between the baseline's balls and those of later
/// sessions, each with its name.
pub fn asks(before: &[Mix], later: &[(String, Vec<Mix>)]) -> Vec<Ask> {
    Thing::ALL
        .into_iter()
        .filter_map(|what| {
            let base = what.counts(before.iter());
            let now = what.counts(later.iter().flat_map(|(_, balls)| balls));
            if base.is_empty() || now.is_empty() {
                return None;
            }
            let other = |value: &&String| {
                let (was, is) = (share(&base, value), share(&now, value));
                (was >= MUCH && is <= LITTLE) || (is >= MUCH && was <= LITTLE)
            };
            base.keys().chain(now.keys()).find(other)?;
            let differs = |balls: &Vec<Mix>| {
                let here = what.counts(balls.iter());
                !here.is_empty()
                    && base.keys().chain(here.keys()).any(|value| {
                        let (was, is) = (share(&base, value), share(&here, value));
                        (was >= MUCH && is <= LITTLE) || (is >= MUCH && was <= LITTLE)
                    })
            };
            let since = later.iter().position(|(_, balls)| differs(balls)).unwrap_or(0);
            Some(Ask {
                what,
                before: by_count(&base),
                now: by_count(&now),
                since: u32::try_from(since).unwrap_or(u32::MAX).saturating_add(1),
                since_label: later.get(since).map(|(label, _)| label.clone()).unwrap_or_default(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ball(ball: Option<Ball>) -> Mix {
        Mix { ball, ..Mix::default() }
    }

    #[test]
    fn another_ball_since_a_session_is_asked_about_with_its_name() {
        let course = vec![ball(Some(Ball::Course)); 12];
        let range = vec![ball(Some(Ball::Range)); 12];
        let later = [("one".to_owned(), course.clone()), ("two".to_owned(), range)];
        let found = asks(&course, &later);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].what, found[0].since, found[0].since_label.as_str()), (Thing::Ball, 2, "two"));
        assert_eq!(
            (found[0].before.join(" "), found[0].now.join(" ")),
            ("course".into(), "course range".into())
        );
    }

    #[test]
    fn what_nobody_said_and_a_single_stray_ball_are_not_asked_about() {
        let course = vec![ball(Some(Ball::Course)); 40];
        let mut stray = course.clone();
        stray.push(ball(Some(Ball::Foam)));
        assert_eq!(asks(&course, &[("a".into(), stray)]), []);
        assert_eq!(asks(&course, &[("a".into(), vec![ball(None); 12])]), []);
        assert_eq!(asks(&[], &[("a".into(), course)]), []);
    }

    #[test]
    fn clubs_are_told_apart_by_name_and_powder_by_yes_or_no() {
        let hit = |club: &str, powder| Mix { club: Some(club.into()), powder: Some(powder), ball: None };
        let base = vec![hit("Old driver", true); 10];
        let found = asks(&base, &[("a".into(), vec![hit("old Driver ", true); 10])]);
        assert_eq!(found, []);
        let found = asks(&base, &[("a".into(), vec![hit("new one", false); 10])]);
        assert_eq!(found.iter().map(|a| a.what).collect::<Vec<_>>(), [Thing::Club, Thing::Powder]);
        assert_eq!(found[1].now, ["dry"]);
    }
}
