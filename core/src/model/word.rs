//! What fields and their values are called when a person has to choose
//! between two of them.

use super::fields::{FieldNo, Value};
use super::record::{Kind, REMOVED};

/// The field of a record in plain words.
pub fn field_word(kind: Kind, field: FieldNo) -> String {
    let word = match (kind, field) {
        (_, REMOVED) => "removed",
        (Kind::STUDENT | Kind::COACH | Kind::CLUB | Kind::SESSION | Kind::DRILL, 1) => "name",
        (Kind::STUDENT, 2) => "hand",
        (Kind::STUDENT, 3) => "units",
        (Kind::STUDENT, 4) => "birth year",
        (Kind::STUDENT, 6) => "target toward the toe",
        (Kind::STUDENT, 7) => "target toward the crown",
        (Kind::STUDENT, 8) => "centre radius",
        (Kind::STUDENT, 9) => "end of the baseline",
        (Kind::SESSION | Kind::PRACTICE, 2) | (Kind::NOTE | Kind::PAIN, 1) => "day",
        (Kind::SESSION, 3) => "place",
        (Kind::SHOT, 10) => "strike toward the toe",
        (Kind::SHOT, 11) => "strike toward the crown",
        (Kind::SHOT, 4) => "finish held",
        (Kind::SHOT, 14) => "guess toward the toe",
        (Kind::SHOT, 15) => "guess toward the crown",
        (Kind::SHOT, 6) => "trial ball",
        (Kind::DRILL, 2) => "purpose",
        (Kind::DRILL, 3) => "how to do it",
        (Kind::DRILL, 5) => "effort",
        (Kind::DRILL, 6) => "two-sided",
        (Kind::DRILL, 7) => "equipment",
        (Kind::DRILL, 8) => "what to log",
        (Kind::DRILL, 9) => "cautions",
        (Kind::DRILL, 10) => "goal",
        (Kind::PAIN, 3) => "day of the all-clear",
        (Kind::PLAN, 1) => "aim",
        (Kind::PLAN, 2) | (Kind::PLANNED_DRILL, 8) => "first day",
        (Kind::PLAN, 3) => "last day",
        (Kind::PLAN, 4) => "full-speed efforts a day",
        (Kind::PLAN, 5) => "full-speed efforts a week",
        (Kind::PLAN, 6) => "rest days",
        (Kind::PLANNED_DRILL, 3) => "sets",
        (Kind::PLANNED_DRILL, 4) => "repetitions a set",
        (Kind::PLANNED_DRILL, 5) => "times a week",
        (Kind::PLANNED_DRILL, 6) => "place in the plan",
        (Kind::PLANNED_DRILL, 7) | (Kind::PRACTICE, 5) | (Kind::PAIN, 2) => "note",
        (Kind::PRACTICE, 3) => "sets done",
        (Kind::PRACTICE, 4) => "repetitions done",
        (Kind::PRACTICE, 6) => "good tries",
        (Kind::PRACTICE, 7) => "tries",
        (Kind::NOTE, 2) => "text",
        (Kind::TRIAL, 9) => "day on which it was ended",
        (Kind::TRIAL, 1001..) => return format!("trial ball {} left out", field - 1000),
        _ => return format!("{} field {field}", kind.word()),
    };
    word.to_owned()
}

/// A field's value as a person reads it.
pub fn value_word(value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.into(),
        Value::Number(n) => n.to_string(),
        Value::Text(text) => text.clone(),
        Value::Id(_) | Value::Bytes(_) | Value::Opaque(_) => "something else".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_without_a_word_is_told_by_kind_and_number() {
        assert_eq!(field_word(Kind::PLANNED_DRILL, 4), "repetitions a set");
        assert_eq!(field_word(Kind(900), 3), "record of a newer version field 3");
    }
}
