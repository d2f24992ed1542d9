//! What taking in a file has brought, in sentences.

use std::collections::BTreeMap;

use super::number::{count, counted};
use crate::book::{FieldConflict, Receipt};
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
        lines.push(format!("  {}: {}; {agrees}.", strand.student, count(strand.taken, "change")));
        if strand.missing > 0 {
            lines.push(format!(
                "  {} did not come yet: take in the earlier file too.",
                count(strand.missing, "earlier change")
            ));
        }
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
