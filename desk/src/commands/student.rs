//! `student add`, `student change`, `student list`.

use std::path::Path;

use chalkface_core::act::{NewStudent, add_student};
use chalkface_core::book::{Book, Draft};
use chalkface_core::model::{BirthYear, Guardian, RecordId, Target};
use serde_json::json;

use crate::cli::StudentCommand;
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;

pub fn run(path: &Path, keys: &Keys, json: bool, command: StudentCommand) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    match command {
        StudentCommand::Add { name, hand, units, birth_year } => {
            let birth_year = birth_year.map(BirthYear::new).transpose()?;
            let new = NewStudent { name, hand, units: units.into(), birth_year };
            let added = add_student(&mut book, clock::now()?, new)?;
            let student = &added.student.value;
            print(json, &json!({ "strand": added.strand, "student": student }), || {
                format!("{}, {}-handed, is in the book.", student.name, student.hand.word())
            })
        }
        StudentCommand::Change {
            student,
            target,
            radius,
            baseline_until,
            units,
            birth_year,
            guardian_agrees,
            guardian_refuses,
        } => {
            let entry = book.student(&student)?;
            for (name, agrees) in [(guardian_agrees, true), (guardian_refuses, false)] {
                let Some(name) = name else { continue };
                let guardian = Guardian { agrees, day: clock::today()?, name: Some(name) };
                book.set_guardian(&keys.read()?, &entry, &guardian, clock::now()?)?;
            }
            let mut changed = entry.student.value.clone();
            if target.is_some() || radius.is_some() {
                let before = chalkface_core::lesson::target_of(&changed)?;
                let (toe, high) = target.unwrap_or((before.toe_mm.mm(), before.high_mm.mm()));
                changed.target = Some(Target::new(toe, high, radius.unwrap_or(before.radius_mm.mm()))?);
            }
            changed.baseline_until = baseline_until.or(changed.baseline_until);
            changed.birth_year = birth_year.map(BirthYear::new).transpose()?.or(changed.birth_year);
            changed.units = units.map_or(changed.units, Into::into);
            let written =
                book.write(entry.strand, clock::now()?, [Draft::put(RecordId(entry.strand.0), &changed)])?;
            print(
                json,
                &json!({
                    "strand": entry.strand, "student": changed, "changes": written,
                    "guardian": book.guardian(entry.strand)?,
                }),
                || {
                    if written == 0 && book.guardian(entry.strand).ok().flatten().is_none() {
                        "Nothing to change.".into()
                    } else {
                        format!("{} is changed.", changed.name)
                    }
                },
            )
        }
        StudentCommand::List => super::list::students(&book, json),
    }
}
