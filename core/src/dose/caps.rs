//! Caps of full-speed efforts: data with their reasons, and which of them hold.
//!
//! The rule: where anything is unknown or two people wrote different things, the
//! lower cap holds. A coach's cap may be lower than the usual one, and higher only up
//! to the ceiling. No published dose of overspeed swinging was found, so all figures
//! are common practice without a source, kept low.

use serde::Serialize;

use super::papers::Papers;
use crate::book::Entry;
use crate::model::fields::FieldNo;
use crate::model::{Day, Pain, Plan, Value};

/// Caps of full-speed efforts: swings as fast as one can, from either side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Limits {
    /// Efforts a day at most.
    pub a_day: i64,
    /// Efforts in any seven days at most.
    pub a_week: i64,
    /// Days without any between two days of them, at least.
    pub rest_days: i64,
}

impl Limits {
    /// Days of speed work that fit into seven, whichever day they begin.
    pub fn days_a_week(self) -> i64 {
        (7 / (self.rest_days + 1)).max(1)
    }

    /// What both allow.
    fn both(self, other: Self) -> Self {
        Self {
            a_day: self.a_day.min(other.a_day),
            a_week: self.a_week.min(other.a_week),
            rest_days: self.rest_days.max(other.rest_days),
        }
    }
}

/// Whom a row of [`RULES`] is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Nothing special is known.
    Adult,
    /// May be under 16.
    Under16,
    /// May be over 60.
    Over60,
    /// Year of birth not told.
    UnknownAge,
    /// Pain was reported and cleared not long ago.
    AfterPain,
    /// The coach set it.
    Coach,
}

/// A row of the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Rule {
    /// For whom.
    pub why: Why,
    /// What holds where the coach says nothing.
    pub usual: Limits,
    /// What a coach may raise it to.
    pub ceiling: Limits,
}

const fn rule(why: Why, usual: [i64; 3], ceiling: [i64; 3]) -> Rule {
    const fn limits([a_day, a_week, rest_days]: [i64; 3]) -> Limits {
        Limits { a_day, a_week, rest_days }
    }
    Rule { why, usual: limits(usual), ceiling: limits(ceiling) }
}

/// The caps: efforts a day, efforts a week, rest days between. Common practice, no source.
pub const RULES: [Rule; 5] = [
    rule(Why::Adult, [24, 60, 1], [36, 90, 1]),
    rule(Why::Under16, [12, 24, 2], [18, 36, 1]),
    rule(Why::Over60, [12, 24, 2], [18, 36, 1]),
    // Counts as the lowest of all.
    rule(Why::UnknownAge, [12, 24, 2], [18, 36, 1]),
    rule(Why::AfterPain, [6, 12, 2], [12, 24, 2]),
];

/// Days after an all-clear in which the caps after pain hold (assumed).
pub const DAYS_AFTER_PAIN: i64 = 28;

/// The caps that hold for a student on a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caps {
    /// The caps.
    #[serde(flatten)]
    pub limits: Limits,
    /// Why these: whom the student counts as, and whether the coach changed them.
    pub why: Vec<Why>,
    /// What the coach may raise them to.
    pub ceiling: Limits,
    /// Whether the coach asked for more than the ceiling allows.
    pub coach_over_ceiling: bool,
    /// Pain is reported and not cleared: no speed work at all.
    pub stopped_by_pain: bool,
}

impl Caps {
    /// The caps for a student, under one of their plans, on a day.
    pub fn of(papers: &Papers, plan: Option<&Entry<Plan>>, day: Day) -> Self {
        let mut why = whys(papers, day);
        let rules = || RULES.iter().filter(|rule| why.contains(&rule.why));
        let lowest = |of: fn(&Rule) -> Limits| rules().map(of).reduce(Limits::both);
        // Every student is somebody: there is always a row.
        let usual = lowest(|rule| rule.usual).unwrap_or(RULES[4].usual);
        let ceiling = lowest(|rule| rule.ceiling).unwrap_or(RULES[4].ceiling);
        let asked = plan.map_or(usual, |plan| coachs(plan, usual));
        let limits = asked.both(ceiling);
        if limits != usual {
            why.push(Why::Coach);
        }
        Self {
            limits,
            why,
            ceiling,
            coach_over_ceiling: asked != limits,
            stopped_by_pain: papers.pains.iter().any(|pain| is_open(pain, day)),
        }
    }
}

/// Whom the student counts as.
fn whys(papers: &Papers, day: Day) -> Vec<Why> {
    let mut why = Vec::new();
    if papers.birth_years.is_empty() {
        why.push(Why::UnknownAge);
    }
    for born in &papers.birth_years {
        // Only the year is known: the birthday may be to come, or past.
        let oldest = i64::from(day.parts().0) - born;
        if oldest <= 16 {
            why.push(Why::Under16);
        }
        if oldest > 60 {
            why.push(Why::Over60);
        }
    }
    if papers.pains.iter().any(|pain| is_recent(pain, day)) {
        why.push(Why::AfterPain);
    }
    if why.is_empty() {
        why.push(Why::Adult);
    }
    why.sort_unstable();
    why.dedup();
    why
}

/// Whether a report of pain stops speed work: until an all-clear on which everybody
/// agrees, and also where the clock has not come to its day yet.
fn is_open(pain: &Entry<Pain>, day: Day) -> bool {
    let disputed = pain.conflicts.iter().any(|conflict| conflict.field == Pain::CLEARED);
    disputed || pain.value.cleared.is_none_or(|cleared| cleared > day)
}

fn is_recent(pain: &Entry<Pain>, day: Day) -> bool {
    pain.value.cleared.is_some_and(|cleared| day.days_since(cleared) < DAYS_AFTER_PAIN)
}

/// What the coach says, the lower where two said different things.
fn coachs(plan: &Entry<Plan>, usual: Limits) -> Limits {
    let said = |field: FieldNo, value: Option<i64>| {
        let disputed = plan.conflicts.iter().filter(move |conflict| conflict.field == field);
        let others = disputed.flat_map(|conflict| &conflict.values).filter_map(|(_, value)| match value {
            Value::Number(n) => Some(*n as i64),
            _ => None,
        });
        value.into_iter().chain(others).collect::<Vec<i64>>()
    };
    let speed = plan.value.speed;
    let a_day = said(Plan::A_DAY, speed.a_day.map(crate::model::Count::get));
    let a_week = said(Plan::A_WEEK, speed.a_week.map(crate::model::Count::get));
    let rest = said(Plan::REST_DAYS, speed.rest_days.map(crate::model::Count::get));
    // Where one side took a cap away and the other set one, the usual counts too.
    let cleared = |field| {
        plan.conflicts
            .iter()
            .any(|c| c.field == field && c.values.iter().any(|(_, value)| *value == Value::Null))
    };
    let least = |field, values: Vec<i64>, usual: i64| {
        let least = values.into_iter().min();
        least.map_or(usual, |least| if cleared(field) { least.min(usual) } else { least })
    };
    let most = rest.into_iter().max();
    Limits {
        a_day: least(Plan::A_DAY, a_day, usual.a_day),
        a_week: least(Plan::A_WEEK, a_week, usual.a_week),
        rest_days: most.map_or(usual.rest_days, |most| {
            if cleared(Plan::REST_DAYS) { most.max(usual.rest_days) } else { most }
        }),
    }
}
