//! `list`: students and people.

use std::path::Path;

use chalkface_core::book::{Book, StudentEntry, Summary};
use chalkface_core::words;
use serde_json::{Value, json};

use crate::error::DeskError;
use crate::output::print;

pub fn run(path: &Path, json: bool) -> Result<(), DeskError> {
    let book = Book::open(path)?;
    let students = summaries(&book)?;
    let people = book.people()?;
    let value = json!({
        "owner": { "name": book.owner().name, "role": book.owner().role },
        "students": students.iter().map(student_json).collect::<Vec<Value>>(),
        "people": people.iter().map(|p| json!({ "name": p.name, "role": p.role, "heard_from": p.id.is_some() })).collect::<Vec<Value>>(),
    });
    print(json, &value, || {
        let mut text = format!("Book of {} ({})\n", book.owner().name, book.owner().role.word());
        text += &table(&students);
        if !people.is_empty() {
            text += "\nExchanges files with\n";
        }
        for person in &people {
            let role = person.role.map_or("not heard from yet", |role| role.word());
            text += &format!("  {} ({role})\n", person.name);
        }
        text
    })
}

/// `student list`.
pub fn students(book: &Book, json: bool) -> Result<(), DeskError> {
    let students = summaries(book)?;
    let value = json!({ "students": students.iter().map(student_json).collect::<Vec<Value>>() });
    print(json, &value, || table(&students))
}

fn summaries(book: &Book) -> Result<Vec<(StudentEntry, Summary)>, DeskError> {
    let mut all = Vec::new();
    for student in book.students()? {
        let summary = book.summary(student.strand)?;
        all.push((student, summary));
    }
    Ok(all)
}

fn student_json((entry, summary): &(StudentEntry, Summary)) -> Value {
    let student = &entry.student.value;
    json!({
        "name": student.name, "hand": student.hand, "strand": entry.strand,
        "sessions": summary.sessions, "shots": summary.shots, "changes": summary.changes,
    })
}

fn table(students: &[(StudentEntry, Summary)]) -> String {
    if students.is_empty() {
        return "No students yet; add one with `student add`.\n".into();
    }
    let mut text = String::from("Students\n");
    for (entry, summary) in students {
        let student = &entry.student.value;
        text += &format!(
            "  {} ({}-handed): {} in {}  {}\n",
            student.name,
            student.hand.word(),
            words::number::count(summary.shots, "ball"),
            words::number::count(summary.sessions, "session"),
            entry.strand
        );
    }
    text
}
