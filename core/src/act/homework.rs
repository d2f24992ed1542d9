//! Editing a plan and logging what was done: each as one transaction.
//!
//! The rule: an edit writes only what it changes, so that two people's edits of one
//! plan merge field by field; caps of speed work are not checked here, they apply when
//! the plan is read. Start at [`add_drill`], [`edit_plan`], [`record_speed`].

use std::ops::RangeBounds;

use crate::book::{Book, BookError, Draft, OrRemoved, StudentEntry};
use crate::dose::{Caps, Papers, ShownDrill};
use crate::model::{
    Count, Day, Dose, Drill, Kind, Minter, Name, Now, Order, Pain, Plan, PlannedDrill, Practice, RecordId,
    Refusal, Remark, Role, SpeedLimits, SpeedSwing, StrandId,
};

use super::plan::NewDrill;

/// What is to change of a planned drill; what is absent stays.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DrillChange {
    /// Sets a time.
    pub sets: Option<i64>,
    /// Repetitions a set.
    pub repetitions: Option<i64>,
    /// Times a week.
    pub times_a_week: Option<i64>,
    /// The note; `Some(None)` takes it away.
    pub note: Option<Option<Remark>>,
    /// Its place from 1 among the drills of the plan.
    pub place: Option<usize>,
    /// What the drill itself says, as a whole.
    pub text: Option<Drill>,
}

/// An edit of a plan and of one of its drills, as one.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Edit {
    /// Of the plan itself.
    pub plan: PlanChange,
    /// Of one of its drills.
    pub drill: Option<(RecordId, DrillChange)>,
}

impl Edit {
    /// Whether nothing is to change.
    pub fn is_empty(&self) -> bool {
        let drill = self.drill.as_ref().is_none_or(|(_, change)| *change == DrillChange::default());
        drill && self.plan == PlanChange::default()
    }
}

/// Adds a drill at the end of a plan, or at a place from 1, and answers its record.
///
/// # Errors
/// A refusal where there is no such plan, or what the storage reports.
pub fn add_drill(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    plan: RecordId,
    new: NewDrill,
    place: Option<usize>,
) -> Result<RecordId, BookError> {
    if book.record::<Plan>(strand, plan)?.is_none() {
        return Err(no_such(Kind::PLAN, plan, "begin one first"));
    }
    let mut minter = Minter::new(now);
    let (order, mut drafts) = room(book, strand, plan, place, None)?;
    let (drill, id) = (minter.record(), minter.record());
    drafts.push(Draft::put(drill, &new.drill));
    drafts.push(Draft::put(
        id,
        &PlannedDrill { plan, drill, dose: new.dose, order, note: new.note, since: Some(now.at.local_day()) },
    ));
    book.write(strand, now, drafts)?;
    Ok(id)
}

/// Changes a planned drill and, where `change` says so, the drill itself.
///
/// # Errors
/// A refusal where there is no such drill or a dose is out of its range, or what the
/// storage reports.
pub fn change_drill(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    id: RecordId,
    change: DrillChange,
) -> Result<(), BookError> {
    let drafts = drafts_of_drill(book, strand, id, change)?;
    book.write(strand, now, drafts)?;
    Ok(())
}

fn drafts_of_drill(
    book: &Book,
    strand: StrandId,
    id: RecordId,
    change: DrillChange,
) -> Result<Vec<Draft>, BookError> {
    let mut planned = planned(book, strand, id)?;
    let dose = planned.dose;
    planned.dose = Dose::new(
        change.sets.unwrap_or(dose.sets()),
        change.repetitions.unwrap_or(dose.repetitions()),
        change.times_a_week.unwrap_or(dose.times_a_week()),
    )?;
    if let Some(note) = change.note {
        planned.note = note;
    }
    let mut drafts = Vec::new();
    if let Some(place) = change.place {
        (planned.order, drafts) = room(book, strand, planned.plan, Some(place), Some(id))?;
    }
    drafts.push(Draft::put(id, &planned));
    if let Some(text) = &change.text {
        if book.record::<Drill>(strand, planned.drill)?.is_none() {
            return Err(no_such(Kind::DRILL, planned.drill, "see the plan"));
        }
        drafts.push(Draft::put(planned.drill, text));
    }
    Ok(drafts)
}

/// Takes a drill out of its plan. What was done of it stays.
///
/// # Errors
/// A refusal where there is no such drill, or what the storage reports.
pub fn drop_drill(book: &mut Book, strand: StrandId, now: Now, id: RecordId) -> Result<(), BookError> {
    planned(book, strand, id)?;
    book.write(strand, now, [Draft::remove(Kind::PLANNED_DRILL, id)])?;
    Ok(())
}

/// What is to change of a plan itself; what is absent stays.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlanChange {
    /// What it is after.
    pub aim: Option<Name>,
    /// Its last day.
    pub until: Option<Day>,
    /// The coach's caps.
    pub speed: SpeedLimits,
}

/// Edits a plan, and one of its drills, all of it or nothing.
///
/// # Errors
/// A refusal where there is no such plan or drill, a dose is out of its range, the plan
/// would end before it begins, or a student would raise a cap, which is the coach's; or
/// what the storage reports.
pub fn edit_plan(
    book: &mut Book,
    student: &StudentEntry,
    now: Now,
    id: RecordId,
    edit: Edit,
) -> Result<(), BookError> {
    let mut drafts = Vec::new();
    if edit.plan != PlanChange::default() {
        drafts.push(draft_of_plan(book, student, now, id, edit.plan)?);
    }
    if let Some((drill, change)) = edit.drill {
        drafts.extend(drafts_of_drill(book, student.strand, drill, change)?);
    }
    book.write(student.strand, now, drafts)?;
    Ok(())
}

fn draft_of_plan(
    book: &Book,
    student: &StudentEntry,
    now: Now,
    id: RecordId,
    change: PlanChange,
) -> Result<Draft, BookError> {
    let strand = student.strand;
    let Some(entry) = book.record::<Plan>(strand, id)? else {
        return Err(no_such(Kind::PLAN, id, "begin one first"));
    };
    let PlanChange { aim, until, speed } = change;
    if book.owner().role == Role::Student {
        let papers = Papers::read(book, student)?;
        let caps = Caps::of(&papers, Some(&entry), now.at.local_day()).limits;
        may_lower("full-speed swings a day", speed.a_day, ..=caps.a_day)?;
        may_lower("full-speed swings in seven days", speed.a_week, ..=caps.a_week)?;
        may_lower("days of rest", speed.rest_days, caps.rest_days..)?;
    }
    let mut plan = entry.value;
    if let Some(until) = until.filter(|until| *until < plan.from) {
        let allowed = format!("{} or later", plan.from);
        return Err(Refusal::new("until", until.to_string(), allowed, "a plan ends after it begins").into());
    }
    plan.aim = aim.unwrap_or(plan.aim);
    plan.until = until.or(plan.until);
    plan.speed = SpeedLimits {
        a_day: speed.a_day.or(plan.speed.a_day),
        a_week: speed.a_week.or(plan.speed.a_week),
        rest_days: speed.rest_days.or(plan.speed.rest_days),
    };
    Ok(Draft::put(id, &plan))
}

/// A student may be stricter with themselves than the caps, not less strict.
fn may_lower(field: &str, said: Option<Count>, strict: impl RangeBounds<i64>) -> Result<(), Refusal> {
    let Some(said) = said.map(Count::get).filter(|said| !strict.contains(said)) else { return Ok(()) };
    let reason = "the caps are the coach's to raise; you may only be stricter";
    Err(Refusal::new(field, said.to_string(), "the cap that holds, or a stricter one", reason))
}

/// What was done of a drill, as it is told afterwards; what is absent follows from the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The day.
    pub day: Day,
    /// Sets.
    pub sets: Count,
    /// Repetitions over all sets; those of the plan's sets where not told.
    pub repetitions: Option<Count>,
    /// Tries that were good.
    pub good: Option<Count>,
    /// Of how many; the repetitions where not told.
    pub tries: Option<Count>,
    /// The session whose balls were hit in it.
    pub session: Option<RecordId>,
    /// How it went.
    pub note: Option<Remark>,
}

/// Logs what was done of a drill of a plan, and answers it.
///
/// # Errors
/// A refusal for more good tries than tries, or nothing done; or what the storage reports.
pub fn log_told(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    drill: &ShownDrill,
    told: Told,
) -> Result<Practice, BookError> {
    let a_set = drill.dose.unwrap_or(drill.asked).repetitions();
    let repetitions = match told.repetitions {
        Some(repetitions) => repetitions,
        None => Count::new(told.sets.get().saturating_mul(a_set))?,
    };
    let tries = told.tries.or(told.good.map(|_| repetitions));
    if let Some((good, tries)) = told.good.zip(tries).filter(|(good, tries)| good > tries) {
        let allowed = format!("at most {} (the tries)", tries.get());
        return Err(
            Refusal::new("good", good.get().to_string(), allowed, "good ones are among the tries").into()
        );
    }
    let practice = Practice {
        note: told.note,
        good: told.good,
        tries,
        session: told.session,
        ..Practice::of(drill.planned, told.day, told.sets, repetitions)
    };
    if !practice.was_done() {
        let allowed = "at least one set or repetition";
        return Err(Refusal::new("sets", "0", allowed, "what was not done needs no log").into());
    }
    super::log_practice(book, strand, now, &practice)?;
    Ok(practice)
}

/// Logs swings for speed.
///
/// # Errors
/// What the storage reports.
pub fn record_speed(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    swings: &[SpeedSwing],
) -> Result<(), BookError> {
    let mut minter = Minter::new(now);
    book.write(strand, now, swings.iter().map(|swing| Draft::put(minter.record(), swing)))?;
    Ok(())
}

/// Reports pain: speed work stops.
///
/// # Errors
/// What the storage reports.
pub fn report_pain(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    note: Option<Remark>,
) -> Result<RecordId, BookError> {
    let id = Minter::new(now).record();
    book.write(strand, now, [Draft::put(id, &Pain { day: now.at.local_day(), note, cleared: None })])?;
    Ok(id)
}

/// A licensed professional allows full swings again: all open reports are cleared.
/// Answers how many.
///
/// # Errors
/// What the storage reports.
pub fn clear_pain(book: &mut Book, strand: StrandId, now: Now, from: Day) -> Result<usize, BookError> {
    let open: Vec<Draft> = book
        .records::<Pain>(strand)?
        .into_iter()
        .filter(|pain| pain.value.cleared.is_none() || !pain.conflicts.is_empty())
        .map(|pain| Draft::put(pain.id, &Pain { cleared: Some(from), ..pain.value }))
        .collect();
    let count = open.len();
    book.write(strand, now, open)?;
    Ok(count)
}

fn planned(book: &Book, strand: StrandId, id: RecordId) -> Result<PlannedDrill, BookError> {
    let found = book.record::<PlannedDrill>(strand, id)?;
    found.map(|entry| entry.value).ok_or_else(|| no_such(Kind::PLANNED_DRILL, id, "see the plan"))
}

fn no_such(kind: Kind, id: RecordId, hint: &str) -> BookError {
    Refusal::new(kind.word(), id.to_string(), format!("one of this student's, {hint}"), "there is none such")
        .into()
}

/// Room at a place from 1 among a plan's drills, the end where none is named. Where two
/// neighbours lie too close for another between them, the list is numbered anew, and
/// these drafts come too.
fn room(
    book: &Book,
    strand: StrandId,
    plan: RecordId,
    place: Option<usize>,
    moved: Option<RecordId>,
) -> Result<(Order, Vec<Draft>), BookError> {
    let mut drills: Vec<(RecordId, PlannedDrill)> = book
        .records_and_removed::<PlannedDrill>(strand)?
        .into_iter()
        .map(|OrRemoved { entry, .. }| (entry.id, entry.value))
        .filter(|(id, drill)| drill.plan == plan && Some(*id) != moved)
        .collect();
    drills.sort_by(|(a_id, a), (b_id, b)| a.order.get().total_cmp(&b.order.get()).then(a_id.cmp(b_id)));
    let first = |place: usize| {
        place.checked_sub(1).ok_or_else(|| Refusal::new("place", "0", "1 or more", "places count from 1"))
    };
    let at = place.map(first).transpose()?.map_or(drills.len(), |place| place.min(drills.len()));
    let order = |n: usize| drills.get(n).map(|(_, drill)| drill.order);
    let before = at.checked_sub(1).and_then(order);
    if let Some(order) = Order::between(before, order(at)) {
        return Ok((order, Vec::new()));
    }
    let mut drafts = Vec::with_capacity(drills.len());
    for (n, (id, drill)) in drills.iter().enumerate() {
        let place = if n < at { n as f64 + 1.0 } else { n as f64 + 2.0 };
        drafts.push(Draft::put(*id, &PlannedDrill { order: Order::new(place)?, ..drill.clone() }));
    }
    Ok((Order::new(at as f64 + 1.0)?, drafts))
}
