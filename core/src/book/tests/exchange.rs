//! Two books and the file between them.

use super::*;

fn file(book: &mut Book, student: &StudentEntry, to: &str, now: Now) -> Vec<u8> {
    testing::file(book, student, to, now, false)
}

fn sent(book: &mut Book, student: &StudentEntry, to: &str, now: Now) -> (Sent, Vec<u8>) {
    let (keys, mut bytes) = (testing::keys(book), Vec::new());
    let sent = book.send(&keys, student, &name(to), now, false, &mut bytes).unwrap();
    (sent, bytes)
}

/// Taking in with the book's own keys.
pub(super) trait Take {
    fn take(&mut self, file: &[u8]) -> Result<Receipt, BookError>;
}

impl Take for Book {
    fn take(&mut self, file: &[u8]) -> Result<Receipt, BookError> {
        let keys = testing::keys(self);
        let now = Now { at: Moment { utc_ms: 1_772_000_000_000, offset_min: 60 }, entropy: [7; 16] };
        self.receive(Some(&keys), now, file)
    }
}

/// A student's book and a coach's that has taken in its first file.
pub(super) fn pair(bench: &mut Bench) -> (Book, Book, StudentEntry) {
    let mut ina = bench.keyed("Ina", Role::Student);
    let student = bench.own_student(&mut ina, "Ina");
    let mut bo = bench.keyed("Bo Berg", Role::Coach);
    testing::meet(&mut ina, &mut bo);
    let now = bench.now();
    let first = file(&mut ina, &student, "Bo Berg", now);
    let receipt = bo.take(first.as_slice()).unwrap();
    // The student, and that Bo belongs to her people.
    assert_eq!((receipt.taken, receipt.strands[0].agrees), (2, Some(true)));
    (ina, bo, student)
}

#[test]
fn both_books_agree_after_both_wrote_and_the_conflict_is_told_to_both() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let strand = student.strand;
    let now = bench.now();
    ina.write(strand, now, [Draft::put(id(1), &note("as first written"))]).unwrap();
    let now = bench.now();
    bo.take(file(&mut ina, &student, "Bo Berg", now).as_slice()).unwrap();
    let now = bench.now();
    ina.write(strand, now, [Draft::put(id(1), &note("the student's words"))]).unwrap();
    let now = bench.now();
    bo.write(strand, now, [Draft::put(id(1), &note("the coach's words")), Draft::put(id(2), &note("new"))])
        .unwrap();

    let now = bench.now();
    let back = file(&mut bo, &student, "Ina", now);
    let receipt = ina.take(back.as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.already_had), (2, 0));
    assert_eq!(receipt.conflicts.len(), 1);
    let now = bench.now();
    let receipt = bo.take(file(&mut ina, &student, "Bo Berg", now).as_slice()).unwrap();
    assert_eq!(receipt.conflicts.len(), 1);
    assert_eq!(receipt.strands[0].agrees, Some(true));
    assert_eq!(ina.digest(strand).unwrap(), bo.digest(strand).unwrap());
    // The coach wrote later, so their words count; the student's stay visible.
    let notes = ina.records::<Note>(strand).unwrap();
    assert_eq!(notes[0].value, note("the coach's words"));
    let values: Vec<_> = notes[0].conflicts[0].values.iter().map(|(_, v)| v.clone()).collect();
    assert_eq!(values, [Value::from("the student's words"), Value::from("the coach's words")]);
}

#[test]
fn a_second_copy_of_a_file_changes_nothing() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("x"))]).unwrap();
    let now = bench.now();
    let bytes = file(&mut ina, &student, "Bo Berg", now);
    bo.take(bytes.as_slice()).unwrap();
    let digest = bo.digest(student.strand).unwrap();
    let again = bo.take(bytes.as_slice()).unwrap();
    assert_eq!((again.taken, again.already_had), (0, 3));
    assert_eq!(bo.digest(student.strand).unwrap(), digest);
}

#[test]
fn a_lost_file_is_made_good_by_the_next_and_what_was_proven_is_not_sent_again() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("lost"))]).unwrap();
    let now = bench.now();
    drop(file(&mut ina, &student, "Bo Berg", now));
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(2), &note("next"))]).unwrap();
    let now = bench.now();
    let (what, bytes) = sent(&mut ina, &student, "Bo Berg", now);
    assert_eq!(what.changes, 4);
    assert_eq!(bo.take(bytes.as_slice()).unwrap().taken, 2);
    // The coach's own file proves what the coach has; then there is no news.
    let now = bench.now();
    ina.take(file(&mut bo, &student, "Ina", now).as_slice()).unwrap();
    let now = bench.now();
    assert_eq!(sent(&mut ina, &student, "Bo Berg", now).0.changes, 0);
}

#[test]
fn files_in_the_wrong_order_are_kept_and_the_gap_is_told() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let strand = student.strand;
    let now = bench.now();
    ina.take(file(&mut bo, &student, "Ina", now).as_slice()).unwrap();
    let mut files = Vec::new();
    for n in 1..=3 {
        let now = bench.now();
        let edit = note(&format!("edit {n}"));
        ina.write(strand, now, [Draft::put(id(n), &note("x")), Draft::put(id(9), &edit)]).unwrap();
        let now = bench.now();
        files.push(file(&mut ina, &student, "Bo Berg", now));
        // As if the coach had proven to hold all of it: the next file has only news.
        ina.db.execute("UPDATE acknowledged SET upto = 2 + 2 * ?1", [n]).unwrap();
    }
    let receipt = bo.take(files[2].as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.strands[0].missing, receipt.strands[0].agrees), (2, 4, None));
    assert!(!receipt.strands[0].complete);
    // The note's edit is kept, but its beginning is not there yet.
    assert_eq!(bo.record::<Note>(strand, id(9)).unwrap(), None);
    let receipt = bo.take(files[0].as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.strands[0].missing), (2, 2));
    bo.take(files[1].as_slice()).unwrap();
    assert_eq!(bo.record::<Note>(strand, id(9)).unwrap().unwrap().value.text.as_str(), "edit 3");
    assert!(bo.check().unwrap().ok);
    assert_eq!(bo.digest(strand).unwrap(), ina.digest(strand).unwrap());
}

#[test]
fn records_of_a_newer_version_are_kept_and_passed_on_unread() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = bench.keyed("Cleo", Role::Coach);
    testing::meet(&mut ina, &mut cleo);
    let now = bench.now();
    cleo.take(file(&mut ina, &student, "Cleo", now).as_slice()).unwrap();
    let now = bench.now();
    cleo.write(student.strand, now, [newer_draft()]).unwrap();
    let now = bench.now();
    ina.take(file(&mut cleo, &student, "Ina", now).as_slice()).unwrap();
    let now = bench.now();
    bo.take(file(&mut ina, &student, "Bo Berg", now).as_slice()).unwrap();
    assert_eq!(bo.unread(student.strand).unwrap(), 1);
    assert_eq!(bo.digest(student.strand).unwrap(), cleo.digest(student.strand).unwrap());
}

#[test]
fn a_file_for_somebody_else_is_refused_also_when_its_receiver_seals_it_anew() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut eve = bench.keyed("Eve", Role::Coach);
    testing::meet(&mut ina, &mut eve);
    let now = bench.now();
    let reply = file(&mut bo, &student, "Ina", now);
    assert!(matches!(bo.take(reply.as_slice()), Err(BookError::File(crate::sync::FileError::NotOurs))));
    ina.take(reply.as_slice()).unwrap();
    let now = bench.now();
    let known = file(&mut ina, &student, "Bo Berg", now);
    assert!(matches!(eve.take(known.as_slice()), Err(BookError::File(crate::sync::FileError::NotOurs))));
    let mut opened = Vec::new();
    let bos = testing::keys(&bo);
    std::io::Read::read_to_end(&mut crate::sync::seal::open(&bos, known.as_slice()).unwrap(), &mut opened)
        .unwrap();
    let mut anew = crate::sync::seal::seal(&[testing::keys(&eve).sealing_public()], Vec::new()).unwrap();
    std::io::Write::write_all(&mut anew, &opened).unwrap();
    assert!(matches!(eve.take(&anew.finish().unwrap()), Err(BookError::NotForUs { .. })));
    assert!(eve.students().unwrap().is_empty());
    // Laid open, it is refused as well.
    assert!(bo.take(&opened).is_err());
}

#[test]
fn somebody_who_was_not_met_is_neither_sent_to_nor_taken_in() {
    let mut bench = Bench::new();
    let (mut ina, bo, student) = pair(&mut bench);
    let mut cleo = bench.keyed("Cleo", Role::Coach);
    let (keys, now) = (testing::keys(&ina), bench.now());
    let unmet = ina.send(&keys, &student, &name("Cleo"), now, false, Vec::new());
    assert!(matches!(unmet, Err(BookError::NotMet { .. })));
    // Only one of the two has met the other.
    let card = cleo.card(&testing::keys(&cleo), now).unwrap();
    ina.meet(&card).unwrap();
    let bytes = file(&mut ina, &student, "Cleo", now);
    assert!(matches!(cleo.take(&bytes), Err(BookError::Stranger { .. })));
    cleo.meet(&ina.card(&keys, now).unwrap()).unwrap();
    assert!(cleo.take(&bytes).unwrap().taken > 0);
    drop(bo);
}

#[test]
fn a_number_used_twice_by_a_restored_device_is_kept_out_and_told() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    ina.db.execute("VACUUM INTO ?1", [bench.path("backup").to_str().unwrap()]).unwrap();
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("before the loss"))]).unwrap();
    let now = bench.now();
    bo.take(file(&mut ina, &student, "Bo Berg", now).as_slice()).unwrap();
    let mut restored = Book::open(&bench.path("backup")).unwrap();
    let now = bench.now();
    restored.write(student.strand, now, [Draft::put(id(1), &note("after the loss"))]).unwrap();
    let now = bench.now();
    let receipt = bo.take(file(&mut restored, &student, "Bo Berg", now).as_slice()).unwrap();
    assert_eq!(receipt.refused[0].changes, 1);
    assert_eq!(bo.records::<Note>(student.strand).unwrap()[0].value, note("before the loss"));
}

#[test]
fn every_cut_and_every_changed_byte_leaves_the_book_as_it_was() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let now = bench.now();
    ina.write(student.strand, now, (1..9).map(|n| Draft::put(id(n), &note("text")))).unwrap();
    let now = bench.now();
    let whole = file(&mut ina, &student, "Bo Berg", now);
    let before = bo.check().unwrap();
    for at in 0..whole.len() {
        assert!(bo.take(&whole[..at]).is_err(), "cut at {at}");
        let mut damaged = whole.clone();
        damaged[at] ^= 0x41;
        assert!(bo.take(damaged.as_slice()).is_err(), "changed at {at}");
    }
    assert_eq!(bo.check().unwrap(), before);
    assert_eq!(bo.take(whole.as_slice()).unwrap().taken, 8);
}

#[test]
fn a_file_that_could_not_be_finished_leaves_nothing_behind() {
    let mut bench = Bench::new();
    let (mut ina, _, student) = pair(&mut bench);
    let now = bench.now();
    let path = bench.path("week.chalk");
    let keys = testing::keys(&ina);
    ina.send_file(&keys, &student, &name("Bo Berg"), now, false, &path).unwrap();
    assert!(path.is_file());
    let nowhere = bench.path("no/such/folder.chalk");
    let now = bench.now();
    assert!(ina.send_file(&keys, &student, &name("Bo Berg"), now, false, &nowhere).is_err());
    let left = std::fs::read_dir(bench.dir.path())
        .unwrap()
        .filter(|f| f.as_ref().unwrap().file_name().to_string_lossy().contains("part"))
        .count();
    assert_eq!(left, 0);
}
