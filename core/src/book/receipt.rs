//! What is told of a file that was taken in. Start at [`Receipt`].

use serde::Serialize;

use crate::model::{Kind, RecordId, StrandId};
use crate::sync::Conflict;

/// What was taken in.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// Who sent it.
    pub from: String,
    /// Changes that are new in this book.
    pub taken: u64,
    /// Changes that it had already.
    pub already_had: u64,
    /// Changes that were kept out, and why.
    pub refused: Vec<RefusedChange>,
    /// Fields that both sides wrote since they last met.
    pub conflicts: Vec<FieldConflict>,
    /// Strand by strand.
    pub strands: Vec<StrandReceipt>,
    /// Records that are gone because somebody who may erased them; all of a student counts each.
    pub erased: u64,
    /// The book turned out to be an old copy of itself: it goes on under a new number.
    pub came_back: bool,
}

/// What was taken in of one strand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StrandReceipt {
    /// The strand.
    pub strand: StrandId,
    /// The student's name.
    pub student: String,
    /// Changes that are new in this book.
    pub taken: u64,
    /// Earlier changes that did not come yet: another file has them.
    pub missing: u64,
    /// Whether this book now holds all that the sender holds.
    pub complete: bool,
    /// Whether both books' records are the same now; `None` where one holds
    /// changes that the other lacks.
    pub agrees: Option<bool>,
}

/// Changes kept out for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RefusedChange {
    /// How many.
    pub changes: u64,
    /// Why.
    pub reason: String,
}

/// A field that both sides wrote, with every value that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldConflict {
    /// The strand.
    pub strand: StrandId,
    /// The kind of record.
    pub kind: Kind,
    /// The record.
    pub record: RecordId,
    /// The field and its values.
    pub conflict: Conflict,
}
