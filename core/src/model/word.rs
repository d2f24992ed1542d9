//! What fields and their values are called when a person has to choose
//! between two of them.

use super::drill::{Effort, Goal, Purpose};
use super::fields::{FieldNo, Value};
use super::person::Hand;
use super::record::{Kind, REMOVED};
use super::session::Place;
use super::time::Day;

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
        (Kind::SESSION | Kind::PRACTICE | Kind::STRIKE_PHOTO | Kind::GUARDIAN, 2)
        | (Kind::NOTE | Kind::PAIN, 1) => "day",
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
        (Kind::PRACTICE, 10) => "end of the drill",
        (Kind::PRACTICE, 11) => "step",
        (Kind::PRACTICE, 12) => "repetitions of the set",
        (Kind::NOTE, 2) => "text",
        (Kind::GUARDIAN, 1) => "agrees",
        (Kind::GUARDIAN, 3) => "guardian",
        (Kind::STRIKE_PHOTO, 3) => "marks",
        (Kind::STRIKE_PHOTO, 4) => "small picture",
        (Kind::TRIAL, 9) => "day on which it was ended",
        (Kind::TRIAL, 1001..) => return format!("trial ball {} left out", field - 1000),
        _ => return format!("{} field {field}", kind.word()),
    };
    word.to_owned()
}

/// A field's value as a person reads it: a day as a day, a number that stands for a
/// word as that word.
pub fn value_word(kind: Kind, field: FieldNo, value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.into(),
        Value::Number(n) => coded_word(kind, field, *n as i64).unwrap_or_else(|| n.to_string()),
        Value::Text(text) => text.clone(),
        Value::Id(_) | Value::Bytes(_) | Value::Opaque(_) => "something else".into(),
    }
}

/// What a number stands for, where it is none to be read as one.
fn coded_word(kind: Kind, field: FieldNo, code: i64) -> Option<String> {
    let day = || Day::from_number(code).ok().map(|day| day.to_string());
    let word = match (kind, field) {
        (Kind::STUDENT | Kind::TRIAL, 9)
        | (Kind::SESSION | Kind::PRACTICE | Kind::PLAN | Kind::STRIKE_PHOTO, 2)
        | (Kind::NOTE | Kind::PAIN, 1)
        | (Kind::PAIN | Kind::PLAN, 3)
        | (Kind::PLANNED_DRILL, 8) => return day(),
        (Kind::STUDENT, 2) => Hand::from_code(code)?.word(),
        (Kind::SESSION, 3) => Place::from_code(code)?.word(),
        (Kind::DRILL, 2) => Purpose::from_code(code)?.word(),
        (Kind::DRILL, 5) => Effort::from_code(code)?.word(),
        (Kind::DRILL, 10) => Goal::from_code(code)?.word(),
        _ => return None,
    };
    Some(word.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_without_a_word_is_told_by_kind_and_number() {
        assert_eq!(field_word(Kind::PLANNED_DRILL, 4), "repetitions a set");
        assert_eq!(field_word(Kind(900), 3), "record of a newer version field 3");
    }

    #[test]
    fn a_day_and_a_coded_word_are_read_as_such_and_a_count_as_a_number() {
        let day = Day::parse("2026-05-21").unwrap();
        let word = |kind, field, n: i64| value_word(kind, field, &Value::Number(n as f64));
        assert_eq!(word(Kind::PLAN, 3, day.number()), "2026-05-21");
        assert_eq!(word(Kind::DRILL, 5, 3), "full speed");
        assert_eq!(word(Kind::PLANNED_DRILL, 3, 3), "3");
        // A word of a newer version.
        assert_eq!(word(Kind::DRILL, 5, 77), "77");
    }
}
