//! Adding a student, and with them the strand that is about them.

use crate::book::{Book, BookError, Draft, StudentEntry};
use crate::model::{
    BirthYear, Hand, Minter, Name, Now, RecordId, Refusal, Role, StrandId, Student, UnitSystem,
};

/// What is told of a new student.
#[derive(Debug, Clone, PartialEq)]
pub struct NewStudent {
    /// Their name.
    pub name: Name,
    /// The hand they play from.
    pub hand: Hand,
    /// What they read distances and speeds in.
    pub units: UnitSystem,
    /// Year of birth, where told.
    pub birth_year: Option<BirthYear>,
}

/// Adds a student. In a student's own book that is its owner, once.
///
/// # Errors
/// A refusal if the name is taken or the book already has its student, or what
/// the storage reports.
pub fn add_student(book: &mut Book, now: Now, new: NewStudent) -> Result<StudentEntry, BookError> {
    let known = book.students()?;
    let own = book.owner().role == Role::Student;
    if let (true, Some(first)) = (own, known.first()) {
        return Err(Refusal::new(
            "student",
            new.name.as_str(),
            format!("only {}", first.student.value.name),
            "a student's book is about one student; a coach's book holds many",
        )
        .into());
    }
    let low = new.name.as_str().to_lowercase();
    if known.iter().any(|s| s.student.value.name.as_str().to_lowercase() == low) {
        return Err(Refusal::new(
            "student",
            new.name.as_str(),
            "a name that nobody else in the book has",
            "students are called by their names",
        )
        .into());
    }
    let strand = StrandId(Minter::new(now).mint());
    let mut student = Student::new(new.name, new.hand);
    student.units = new.units;
    student.birth_year = new.birth_year;
    student.person = own.then(|| book.owner().person);
    book.write(strand, now, [Draft::put(RecordId(strand.0), &student)])?;
    book.student(&strand.to_string())
}
