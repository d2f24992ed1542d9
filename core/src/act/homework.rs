//! Editing a plan and logging what was done: each as one transaction.
//!
//! The rule: an edit writes only what it changes, so that two people's edits of one
//! plan merge field by field; caps of speed work are not checked here, they apply when
//! the plan is read. Start at [`add_drill`], [`change_drill`], [`record_speed`].

use crate::book::{Book, BookError, Draft, OrRemoved};
use crate::model::{
    Day, Dose, Drill, Kind, Minter, Now, Order, Pain, Plan, PlannedDrill, RecordId, Refusal, Remark,
    SpeedLimits, SpeedSwing, StrandId,
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
        return Err(no_such(Kind::PLAN, plan, "begin one with `plan STUDENT propose` first"));
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

/// Changes a planned drill.
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
    book.write(strand, now, drafts)?;
    Ok(())
}

/// Changes a coach's own drill, or what a drill of the catalogue is called in a plan.
///
/// # Errors
/// A refusal where there is no such drill, or what the storage reports.
pub fn rewrite_drill(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    id: RecordId,
    drill: &Drill,
) -> Result<(), BookError> {
    if book.record::<Drill>(strand, id)?.is_none() {
        return Err(no_such(Kind::DRILL, id, "see `drills`"));
    }
    book.write(strand, now, [Draft::put(id, drill)])?;
    Ok(())
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

/// Sets a plan's last day and the coach's caps.
///
/// # Errors
/// A refusal where there is no such plan, or what the storage reports.
pub fn change_plan(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    id: RecordId,
    until: Option<Day>,
    speed: SpeedLimits,
) -> Result<(), BookError> {
    let Some(entry) = book.record::<Plan>(strand, id)? else {
        return Err(no_such(Kind::PLAN, id, "begin one with `plan STUDENT propose` first"));
    };
    let mut plan = entry.value;
    plan.until = until.or(plan.until);
    plan.speed = SpeedLimits {
        a_day: speed.a_day.or(plan.speed.a_day),
        a_week: speed.a_week.or(plan.speed.a_week),
        rest_days: speed.rest_days.or(plan.speed.rest_days),
    };
    book.write(strand, now, [Draft::put(id, &plan)])?;
    Ok(())
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
    found.map(|entry| entry.value).ok_or_else(|| no_such(Kind::PLANNED_DRILL, id, "see `plan STUDENT`"))
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
    let at = place.map_or(drills.len(), |place| place.saturating_sub(1).min(drills.len()));
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
