//! Erasing: what belongs together goes together.
//!
//! The rule that must hold: with a visit go its balls, pictures and swings, with a
//! ball what was noted about it: nothing is left that only makes sense with what was
//! erased. Start at [`erase`]; all of a student is [`Book::erase_student`], giving
//! one up on this device [`Book::give_up`].

use std::collections::BTreeSet;

use crate::book::{Book, BookError, DeviceKeys, StudentEntry, Taken};
use crate::model::{Kind, Note, Now, RecordId, SpeedSwing, StrikePhoto};

/// What is to be erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Erase {
    /// A ball, with the notes about it.
    Ball(RecordId),
    /// A visit, with its balls, pictures, swings for speed, and notes about them.
    Session(RecordId),
    /// A picture of the face; the balls that were read of it stay.
    Picture(RecordId),
    /// A note.
    Note(RecordId),
    /// Any other record, by itself.
    Record(Kind, RecordId),
}

/// Erases from this book, and from every other that hears of it, in one transaction.
///
/// # Errors
/// As [`Book::erase`]; then nothing was erased.
pub fn erase(
    book: &mut Book,
    keys: &DeviceKeys,
    student: &StudentEntry,
    now: Now,
    what: &[Erase],
) -> Result<Taken, BookError> {
    let mut all = BTreeSet::new();
    for what in what {
        match *what {
            Erase::Ball(id) => {
                all.insert((Kind::SHOT, id));
            }
            Erase::Session(id) => {
                all.insert((Kind::SESSION, id));
                all.extend(
                    book.shots_of(student.strand, id)?.into_iter().map(|shot| (Kind::SHOT, shot.entry.id)),
                );
                let pictures = book.records_and_removed::<StrikePhoto>(student.strand)?.into_iter();
                all.extend(
                    pictures
                        .filter(|kept| kept.entry.value.session == Some(id))
                        .map(|kept| (Kind::STRIKE_PHOTO, kept.entry.id)),
                );
                let swings = book.records_and_removed::<SpeedSwing>(student.strand)?.into_iter();
                all.extend(
                    swings
                        .filter(|kept| kept.entry.value.session == Some(id))
                        .map(|kept| (Kind::SPEED_SWING, kept.entry.id)),
                );
            }
            Erase::Picture(id) => {
                all.insert((Kind::STRIKE_PHOTO, id));
            }
            Erase::Note(id) => {
                all.insert((Kind::NOTE, id));
            }
            Erase::Record(kind, id) => {
                all.insert((kind, id));
            }
        }
    }
    let about: BTreeSet<RecordId> = all
        .iter()
        .filter(|(kind, _)| [Kind::SHOT, Kind::SESSION].contains(kind))
        .map(|(_, id)| *id)
        .collect();
    let notes = book.records_and_removed::<Note>(student.strand)?.into_iter();
    all.extend(
        notes
            .filter(|kept| kept.entry.value.about.is_some_and(|of| about.contains(&of)))
            .map(|kept| (Kind::NOTE, kept.entry.id)),
    );
    let all: Vec<_> = all.into_iter().collect();
    book.erase(keys, student, &all, now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::act::{NewStudent, add_student};
    use crate::book::{Draft, testing};
    use crate::model::{Day, Hand, Minter, Moment, Name, Remark, Role, Session, Shot, UnitSystem};

    fn now(n: u8) -> Now {
        Now {
            at: Moment { utc_ms: 1_777_000_000_000 + 1_000 * i64::from(n), offset_min: 60 },
            entropy: [n; 16],
        }
    }

    #[test]
    fn with_a_visit_go_its_balls_and_pictures_and_what_was_noted_about_them() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.book");
        let mut book = Book::create(&path, Name::new("Ina").unwrap(), Role::Student, now(1)).unwrap();
        let (keys, root) = (testing::keys(&book), testing::root(&book));
        book.begin_identity(&keys, &root, now(1)).unwrap();
        let new = NewStudent {
            name: Name::new("Ina").unwrap(),
            hand: Hand::Right,
            units: UnitSystem::Metric,
            birth_year: None,
        };
        let student = add_student(&mut book, now(2), new).unwrap();
        let day = Day::parse("2026-05-04").unwrap();
        let mut minter = Minter::new(now(3));
        let visit = |name: &str| Session {
            name: Name::new(name).unwrap(),
            day,
            place: None,
            ball: None,
            powder: None,
            club: None,
        };
        let (gone, stays) = (minter.record(), minter.record());
        let (ball, other) = (minter.record(), minter.record());
        let noted = |about| Note { day, text: Remark::new("said of it").unwrap(), about };
        let picture = |session| StrikePhoto { session, day, marks: Vec::new(), thumbnail: vec![7; 300] };
        let drafts = [
            Draft::put(gone, &visit("Monday")),
            Draft::put(stays, &visit("Tuesday")),
            Draft::put(ball, &Shot::of(gone)),
            Draft::put(other, &Shot::of(stays)),
            Draft::put(minter.record(), &noted(Some(ball))),
            Draft::put(minter.record(), &noted(Some(gone))),
            Draft::put(minter.record(), &noted(Some(other))),
            Draft::put(minter.record(), &noted(None)),
            Draft::put(minter.record(), &picture(Some(gone))),
            Draft::put(minter.record(), &picture(Some(stays))),
        ];
        book.write(student.strand, now(3), drafts).unwrap();
        book.write(student.strand, now(4), [Draft::remove(Kind::SHOT, ball)]).unwrap();
        let taken = erase(&mut book, &keys, &student, now(5), &[Erase::Session(gone)]).unwrap();
        assert_eq!((taken.records, taken.changes, taken.scrubbed), (5, 6, true));
        let left = |book: &Book, kind| book.count(student.strand, kind).unwrap();
        let kinds = [Kind::SESSION, Kind::SHOT, Kind::NOTE, Kind::STRIKE_PHOTO];
        assert_eq!(kinds.map(|kind| left(&book, kind)), [1, 1, 2, 1]);
        let taken = erase(&mut book, &keys, &student, now(6), &[Erase::Ball(other)]).unwrap();
        assert_eq!(taken.records, 2);
        assert_eq!(kinds.map(|kind| left(&book, kind)), [1, 0, 1, 1]);
        assert!(book.check().unwrap().ok);
    }
}
