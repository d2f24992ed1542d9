//! Reading a plan: what it asks, what is to be done of that, and what was held back.
//!
//! The rule: the sums of full-speed efforts that are shown to do, over all drills of
//! the plan, are within the caps for a day and for seven days, however the plan came
//! to ask for more. In the plan's order, earlier drills keep what they ask first.

use std::collections::BTreeMap;

use serde::Serialize;

use super::caps::Caps;
use super::papers::{Papers, is_full_speed, is_two_sided};
use crate::book::{Conflict, Entry};
use crate::model::{
    AuthorId, Day, Dose, Drill, Effort, Kind, Order, Plan, PlannedDrill, Purpose, RecordId, StockDrill,
    Value, field_word, value_word,
};

/// A plan as it is to be done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// The plan.
    pub plan: RecordId,
    /// What it is after.
    pub aim: String,
    /// Its first day.
    pub from: Day,
    /// Its last day.
    pub until: Option<Day>,
    /// The day it is read.
    pub day: Day,
    /// The caps that hold.
    pub caps: Caps,
    /// Speed work is stopped.
    pub stop: Option<Stop>,
    /// Its drills in order.
    pub drills: Vec<ShownDrill>,
    /// Days of speed work a week, with the caps' rest days between them.
    pub speed_days_a_week: i64,
    /// Fields of the plan itself that both sides wrote since they last met.
    pub conflicts: Vec<PlanConflict>,
}

/// Why speed work is stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// Pain was reported and not cleared by a licensed professional.
    Pain,
}

/// One drill of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShownDrill {
    /// The planned drill.
    pub planned: RecordId,
    /// The drill.
    pub drill: RecordId,
    /// Its name.
    pub name: String,
    /// The drill of the catalogue that it is.
    pub stock: Option<StockDrill>,
    /// What it is for.
    pub purpose: Option<Purpose>,
    /// How hard its swings are: full speed if anything says so.
    pub effort: Effort,
    /// Whether swings are made from both sides.
    pub two_sided: bool,
    /// What the plan asks.
    pub asked: Dose,
    /// The day from which it is asked for.
    pub since: Day,
    /// What is to be done of that; nothing where all of it is held back.
    pub dose: Option<Dose>,
    /// Why less is to be done than asked.
    pub held: Vec<Held>,
    /// What coach or student added.
    pub note: Option<String>,
    /// Somebody took it out of the plan, or it is of another plan; it is shown because it
    /// was done.
    pub dropped: bool,
    /// Somebody took it out, and somebody else wrote to it later.
    pub revived: bool,
    /// Fields that both sides wrote since they last met.
    pub conflicts: Vec<PlanConflict>,
}

impl ShownDrill {
    /// Full-speed efforts at one time, as shown to do.
    pub fn efforts_a_time(&self) -> i64 {
        let full = self.effort == Effort::FullSpeed;
        self.dose.filter(|_| full).map_or(0, |dose| dose.sets() * dose.repetitions())
    }

    /// Full-speed efforts a week, as shown to do.
    pub fn efforts_a_week(&self) -> i64 {
        self.efforts_a_time() * self.dose.map_or(0, Dose::times_a_week)
    }
}

/// Why less of a drill is shown to do than the plan asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Held {
    /// Pain was reported.
    Pain,
    /// The cap for a day.
    Day,
    /// The cap for seven days.
    Week,
    /// Rest days between days of speed work.
    Rest,
    /// The drill's own record has not come yet: nobody here knows what it is.
    NotCome,
    /// It was taken out of the plan.
    Dropped,
    /// It is of another plan, and was done while this one holds.
    EarlierPlan,
}

/// A field that both sides wrote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanConflict {
    /// The field.
    pub field: String,
    /// Who wrote what; the last one counts where not the strictest does.
    pub values: Vec<WrittenValue>,
    /// Whether the strictest counts, as with caps.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub strictest: bool,
}

/// A value and who wrote it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WrittenValue {
    /// Whose device wrote it.
    pub by: String,
    /// The value, in words.
    pub value: String,
}

impl PlanConflict {
    /// A field that several devices wrote; `names` says whose they are.
    fn of(kind: Kind, conflict: &Conflict, names: &BTreeMap<AuthorId, String>) -> Self {
        let who = |author: &AuthorId| names.get(author).cloned().unwrap_or_else(|| "another device".into());
        let written = conflict.values.iter();
        Self {
            field: field_word(kind, conflict.field),
            values: written
                .map(|(stamp, value)| WrittenValue {
                    by: who(&stamp.author),
                    value: value_word(kind, conflict.field, value),
                })
                .collect(),
            strictest: kind == Kind::PLAN && Plan::CAPS.contains(&conflict.field),
        }
    }
}

/// The plan in force on a day. `names` says whose devices wrote what.
pub fn read(papers: &Papers, names: &BTreeMap<AuthorId, String>, day: Day) -> Option<Shown> {
    let plan = papers.plan_on(day)?;
    let caps = Caps::of(papers, Some(plan), day);
    let drills: Vec<ShownDrill> = papers
        .drills_of(plan.id)
        .into_iter()
        .filter(|assigned| !assigned.removed || papers.was_done(assigned.entry.id))
        .map(|assigned| {
            let held = assigned.removed.then_some(Held::Dropped);
            shown(papers, names, &assigned.entry, held, plan.value.from)
        })
        .chain(of_other_plans(papers, names, plan, day))
        .collect();
    let mut shown = Shown {
        plan: plan.id,
        aim: plan.value.aim.to_string(),
        from: plan.value.from,
        until: plan.value.until,
        day,
        stop: caps.stopped_by_pain.then_some(Stop::Pain),
        caps,
        drills,
        speed_days_a_week: 0,
        conflicts: conflicts(Kind::PLAN, plan, names),
    };
    hold_back(&mut shown);
    Some(shown)
}

/// Drills of other plans that somebody did since this one holds: who didn't know of the
/// new plan yet, or whose own plan began with it, sees what they did all the same.
fn of_other_plans(
    papers: &Papers,
    names: &BTreeMap<AuthorId, String>,
    plan: &Entry<Plan>,
    day: Day,
) -> Vec<ShownDrill> {
    // On its first day they may have been done before it was made.
    let since = |on: Day| on > plan.value.from && on <= day;
    papers
        .planned
        .iter()
        .map(|assigned| &assigned.entry)
        .filter(|entry| entry.value.plan != plan.id)
        .filter(|entry| papers.done_of(entry.id).any(|done| done.value.was_done() && since(done.value.day)))
        .map(|entry| shown(papers, names, entry, Some(Held::EarlierPlan), plan.value.from))
        .collect()
}

fn shown(
    papers: &Papers,
    names: &BTreeMap<AuthorId, String>,
    planned: &Entry<PlannedDrill>,
    out: Option<Held>,
    from: Day,
) -> ShownDrill {
    let drill = papers.drill_of(&planned.value);
    let said = drill.map(|drill| &drill.value);
    let mut held = Vec::from_iter(out);
    if drill.is_none() {
        held.push(Held::NotCome);
    }
    let mut conflicts_of = conflicts(Kind::PLANNED_DRILL, planned, names);
    for (told, conflict) in conflicts_of.iter_mut().zip(&planned.conflicts) {
        if conflict.field == PlannedDrill::ORDER {
            name_places(papers, planned, conflict, told);
        }
    }
    conflicts_of.extend(drill.map(|drill| conflicts(Kind::DRILL, drill, names)).unwrap_or_default());
    ShownDrill {
        planned: planned.id,
        drill: planned.value.drill,
        name: said.map_or_else(|| "a drill that did not come yet".into(), |drill| drill.name.to_string()),
        stock: said.and_then(|drill| drill.stock),
        purpose: said.and_then(|drill| drill.purpose),
        effort: effort_of(drill),
        two_sided: said.is_some_and(is_two_sided),
        asked: planned.value.dose,
        since: planned.value.since.map_or(from, |since| since.max(from)),
        dose: held.is_empty().then_some(planned.value.dose),
        held,
        note: planned.value.note.as_ref().map(ToString::to_string),
        dropped: out.is_some(),
        revived: planned.revived,
        conflicts: conflicts_of,
    }
}

/// A place is told as people count, from 1; what is stored only sorts.
fn name_places(papers: &Papers, planned: &Entry<PlannedDrill>, conflict: &Conflict, told: &mut PlanConflict) {
    let others: Vec<Order> = papers
        .drills_of(planned.value.plan)
        .into_iter()
        .filter(|other| !other.removed && other.entry.id != planned.id)
        .map(|other| other.entry.value.order)
        .collect();
    for (told, (_, value)) in told.values.iter_mut().zip(&conflict.values) {
        if let Value::Number(order) = value {
            let before = others.iter().filter(|other| other.get() < *order).count();
            told.value = (before + 1).to_string();
        }
    }
}

/// How hard a drill's swings are; one that isn't known counts as full speed.
fn effort_of(drill: Option<&Entry<Drill>>) -> Effort {
    let Some(drill) = drill else { return Effort::FullSpeed };
    if is_full_speed(drill) {
        return Effort::FullSpeed;
    }
    let stock = drill.value.stock.map(|drill| super::stock(drill).effort);
    stock.or(drill.value.effort).unwrap_or(Effort::Normal)
}

/// Applies the caps, in the plan's order.
fn hold_back(shown: &mut Shown) {
    let limits = shown.caps.limits;
    let mut left_a_day = limits.a_day;
    let mut left_a_week = limits.a_week;
    let mut days = 0;
    for drill in &mut shown.drills {
        let Some(asked) = drill.dose.filter(|_| drill.effort == Effort::FullSpeed) else { continue };
        if shown.caps.stopped_by_pain {
            drill.dose = None;
            drill.held.push(Held::Pain);
            continue;
        }
        let mut times = asked.times_a_week();
        if times > limits.days_a_week() {
            times = limits.days_a_week();
            drill.held.push(Held::Rest);
        }
        let (mut sets, mut repetitions) =
            within(asked.sets(), asked.repetitions(), left_a_day, drill.two_sided);
        if sets * repetitions < asked.sets() * asked.repetitions() {
            drill.held.push(Held::Day);
        }
        let mut each = sets * repetitions;
        if each * times > left_a_week {
            drill.held.push(Held::Week);
            // Fewer times first; where not even one fits, less of it.
            times = if each > 0 { (left_a_week / each).max(1) } else { 1 };
            if each > left_a_week {
                (sets, repetitions) = within(sets, repetitions, left_a_week, drill.two_sided);
                each = sets * repetitions;
            }
        }
        drill.dose = (each > 0).then(|| Dose::new(sets, repetitions, times).ok()).flatten();
        left_a_day -= drill.efforts_a_time();
        left_a_week -= drill.efforts_a_week();
        days = days.max(drill.dose.map_or(0, Dose::times_a_week));
    }
    shown.speed_days_a_week = days;
}

/// As many whole sets as fit, else one shorter set; both sides get the same.
pub fn within(sets: i64, repetitions: i64, most: i64, two_sided: bool) -> (i64, i64) {
    let fair = |repetitions: i64| if two_sided { repetitions - repetitions % 2 } else { repetitions };
    let repetitions = if two_sided && repetitions < 2 { 0 } else { fair(repetitions) };
    if repetitions == 0 || most <= 0 || sets <= 0 {
        return (0, 0);
    }
    match sets.min(most / repetitions) {
        0 => match fair(most.min(repetitions)) {
            0 => (0, 0),
            fewer => (1, fewer),
        },
        whole => (whole, repetitions),
    }
}

fn conflicts<R>(kind: Kind, of: &Entry<R>, names: &BTreeMap<AuthorId, String>) -> Vec<PlanConflict> {
    of.conflicts.iter().map(|conflict| PlanConflict::of(kind, conflict, names)).collect()
}
