//! What taking in a file has brought, in sentences.

use std::collections::BTreeMap;

use super::number::{count, counted};
use crate::book::{FieldConflict, Receipt, Taken};
use crate::model::{AuthorId, Kind, Plan, field_word, value_word};

/// Whose device is whose, by name.
pub type Names = BTreeMap<AuthorId, String>;

/// A receipt as text, one thing a line.
pub fn receipt(receipt: &Receipt, names: &Names) -> String {
    let mut lines = vec![format!(
        "From {}: {} taken in, {} already here.",
        receipt.from,
        counted(receipt.taken, "new change", "new changes"),
        counted(receipt.already_had, "change was", "changes were"),
    )];
    for strand in &receipt.strands {
        let agrees = match strand.agrees {
            Some(true) => "both books now hold the same",
            Some(false) => "the books differ: ask for a file with everything (send --all)",
            None if strand.complete => "this book holds changes that they don't have yet",
            None => "not all that they hold came in",
        };
        // Of who was erased no name is left, and nothing to compare.
        if receipt.erased > 0 && strand.missing == 0 && strand.student == strand.strand.to_string() {
            lines.push("  A student was erased: only the word of it is left.".into());
            continue;
        }
        lines.push(format!("  {}: {}; {agrees}.", strand.student, count(strand.taken, "change")));
        if strand.missing > 0 {
            lines.push(format!(
                "  {} did not come yet: take in the earlier file too.",
                count(strand.missing, "earlier change")
            ));
        }
    }
    if receipt.erased > 0 {
        lines.push(format!(
            "  {} erased here too, as somebody asked who may.",
            counted(receipt.erased, "record is", "records are")
        ));
    }
    if receipt.came_back {
        lines.push(
            "  This book was an old copy: what it had written since came back with this file. It goes on under a new number.".into(),
        );
    }
    for conflict in &receipt.conflicts {
        let shown: Vec<String> =
            values(conflict, names).into_iter().map(|(by, v)| format!("{v} ({by})")).collect();
        lines.push(format!(
            "  Both changed the {} of a {}: {}. {} counts until somebody sets it again.",
            field_word(conflict.kind, conflict.conflict.field),
            conflict.kind.word(),
            shown.join(", "),
            if Plan::CAPS.contains(&conflict.conflict.field) && conflict.kind == Kind::PLAN {
                "The stricter one"
            } else {
                "The last one"
            }
        ));
    }
    for refused in &receipt.refused {
        lines.push(format!("  Kept out {}: {}.", count(refused.changes, "change"), refused.reason));
    }
    lines.join("\n")
}

/// What an erasure has done.
pub fn erased(taken: &Taken) -> String {
    if taken.records == 0 {
        return "Nothing to erase: it is gone already.".into();
    }
    let mut said = format!(
        "{} erased here. Others erase it when they take in your next file; send it to all who had it.",
        counted(taken.records, "record is", "records are")
    );
    if !taken.scrubbed {
        said.push_str(" Another program has the book open: traces go from the file when it is opened next.");
    }
    said.push_str(" What was exported, printed or backed up before still has it.");
    said
}

/// What the erasure of a student has done, and who is to be told.
pub fn erased_student(tell: &[String]) -> String {
    let tell = if tell.is_empty() {
        "Nobody had a file of it from here.".to_owned()
    } else {
        format!("Tell everybody who had it: {}.", tell.join(", "))
    };
    format!(
        "All of it is erased here; only the word that it was is left. {tell} What was exported, printed or backed up before still has it."
    )
}

/// What an export holds.
pub fn exported(changes: u64, tables: usize) -> String {
    let mut said = Vec::new();
    if changes > 0 {
        said.push(format!(
            "{} written, to be taken in again with import.",
            counted(changes, "change is", "changes are")
        ));
    }
    if tables > 0 {
        said.push(format!(
            "{} written, for reading only.",
            counted(tables as u64, "table or picture is", "tables and pictures are")
        ));
    }
    said.push("Whoever has an export can read it.".into());
    said.join(" ")
}

/// What giving a student up has done.
pub const GIVEN_UP: &str = "The student is given up on this device: nothing of theirs is here any more, and no file brings it back. Others keep what they hold.";

/// The values of a conflict and who wrote each, earliest first.
pub fn values(conflict: &FieldConflict, names: &Names) -> Vec<(String, String)> {
    conflict
        .conflict
        .values
        .iter()
        .map(|(stamp, value)| {
            (who(stamp.author, names), value_word(conflict.kind, conflict.conflict.field, value))
        })
        .collect()
}

/// Whose device it is, as far as known.
pub fn who(author: AuthorId, names: &Names) -> String {
    names.get(&author).cloned().unwrap_or_else(|| "another device".into())
}
