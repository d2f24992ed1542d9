//! Setting a plan and logging what was done of it.

use crate::book::{Book, BookError, Draft};
use crate::model::{
    Dose, Drill, Kind, Minter, Now, Order, Plan, PlannedDrill, Practice, RecordId, Refusal, Remark, StrandId,
};

/// A drill for a new plan.
#[derive(Debug, Clone, PartialEq)]
pub struct NewDrill {
    /// The drill.
    pub drill: Drill,
    /// How much of it.
    pub dose: Dose,
    /// What the coach adds.
    pub note: Option<Remark>,
}

/// Begins a plan with its drills, in the given order, and answers the planned
/// drills' identities in that order.
///
/// # Errors
/// What the storage reports.
pub fn begin_plan(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    plan: &Plan,
    drills: Vec<NewDrill>,
) -> Result<Vec<RecordId>, BookError> {
    let mut minter = Minter::new(now);
    let of = minter.record();
    let mut drafts = vec![Draft::put(of, plan)];
    let mut made = Vec::with_capacity(drills.len());
    for (place, new) in drills.into_iter().enumerate() {
        let drill = minter.record();
        drafts.push(Draft::put(drill, &new.drill));
        let planned = PlannedDrill {
            plan: of,
            drill,
            dose: new.dose,
            order: Order::new(place as f64 + 1.0)?,
            note: new.note,
            since: None,
        };
        let id = minter.record();
        drafts.push(Draft::put(id, &planned));
        made.push(id);
    }
    book.write(strand, now, drafts)?;
    Ok(made)
}

/// Logs what was done of a planned drill.
///
/// # Errors
/// A refusal if there is no such planned drill, or what the storage reports.
pub fn log_practice(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    practice: &Practice,
) -> Result<RecordId, BookError> {
    if book.record::<PlannedDrill>(strand, practice.planned)?.is_none() {
        return Err(Refusal::new(
            Kind::PLANNED_DRILL.word(),
            practice.planned.to_string(),
            "a drill of one of this student's plans",
            "what was done is counted against what was planned",
        )
        .into());
    }
    let id = Minter::new(now).record();
    book.write(strand, now, [Draft::put(id, practice)])?;
    Ok(id)
}
