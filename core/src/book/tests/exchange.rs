//! Two books and the file between them.

use super::*;

fn file(book: &mut Book, student: &StudentEntry, to: &str, now: Now) -> Vec<u8> {
    let mut bytes = Vec::new();
    book.send(student, &name(to), now, false, &mut bytes).unwrap();
    bytes
}

fn sent(book: &mut Book, student: &StudentEntry, to: &str, now: Now) -> (Sent, Vec<u8>) {
    let mut bytes = Vec::new();
    let sent = book.send(student, &name(to), now, false, &mut bytes).unwrap();
    (sent, bytes)
}

/// A student's book and a coach's that has taken in its first file.
fn pair(bench: &mut Bench) -> (Book, Book, StudentEntry) {
    let mut ina = bench.book("Ina", Role::Student);
    let student = bench.student(&mut ina, "Ina");
    let mut bo = bench.book("Bo Berg", Role::Coach);
    // The student knows the coach by another name than the coach's own.
    let now = bench.now();
    let first = file(&mut ina, &student, "Coach Bo", now);
    let receipt = bo.receive(first.as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.strands[0].agrees), (1, Some(true)));
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
    bo.receive(file(&mut ina, &student, "Coach Bo", now).as_slice()).unwrap();
    let now = bench.now();
    ina.write(strand, now, [Draft::put(id(1), &note("the student's words"))]).unwrap();
    let now = bench.now();
    bo.write(strand, now, [Draft::put(id(1), &note("the coach's words")), Draft::put(id(2), &note("new"))])
        .unwrap();

    let now = bench.now();
    let back = file(&mut bo, &student, "Ina", now);
    let receipt = ina.receive(back.as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.already_had), (2, 0));
    assert_eq!(receipt.conflicts.len(), 1);
    let now = bench.now();
    let receipt = bo.receive(file(&mut ina, &student, "Coach Bo", now).as_slice()).unwrap();
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
    let bytes = file(&mut ina, &student, "Coach Bo", now);
    bo.receive(bytes.as_slice()).unwrap();
    let digest = bo.digest(student.strand).unwrap();
    let again = bo.receive(bytes.as_slice()).unwrap();
    assert_eq!((again.taken, again.already_had), (0, 2));
    assert_eq!(bo.digest(student.strand).unwrap(), digest);
}

#[test]
fn a_lost_file_is_made_good_by_the_next_and_what_was_proven_is_not_sent_again() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("lost"))]).unwrap();
    let now = bench.now();
    drop(file(&mut ina, &student, "Coach Bo", now));
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(2), &note("next"))]).unwrap();
    let now = bench.now();
    let (what, bytes) = sent(&mut ina, &student, "Coach Bo", now);
    assert_eq!(what.changes, 3);
    assert_eq!(bo.receive(bytes.as_slice()).unwrap().taken, 2);
    // The coach's own file proves what the coach has; then there is no news.
    let now = bench.now();
    ina.receive(file(&mut bo, &student, "Ina", now).as_slice()).unwrap();
    let now = bench.now();
    assert_eq!(sent(&mut ina, &student, "Bo Berg", now).0.changes, 0);
}

#[test]
fn files_in_the_wrong_order_are_kept_and_the_gap_is_told() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let strand = student.strand;
    let now = bench.now();
    ina.receive(file(&mut bo, &student, "Ina", now).as_slice()).unwrap();
    let mut files = Vec::new();
    for n in 1..=3 {
        let now = bench.now();
        let edit = note(&format!("edit {n}"));
        ina.write(strand, now, [Draft::put(id(n), &note("x")), Draft::put(id(9), &edit)]).unwrap();
        let now = bench.now();
        files.push(file(&mut ina, &student, "Bo Berg", now));
        // As if the coach had proven to hold all of it: the next file has only news.
        ina.db.execute("UPDATE acknowledged SET upto = 1 + 2 * ?1", [n]).unwrap();
    }
    let receipt = bo.receive(files[2].as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.strands[0].missing, receipt.strands[0].agrees), (2, 4, None));
    assert!(!receipt.strands[0].complete);
    // The note's edit is kept, but its beginning is not there yet.
    assert_eq!(bo.record::<Note>(strand, id(9)).unwrap(), None);
    let receipt = bo.receive(files[0].as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.strands[0].missing), (2, 2));
    bo.receive(files[1].as_slice()).unwrap();
    assert_eq!(bo.record::<Note>(strand, id(9)).unwrap().unwrap().value.text.as_str(), "edit 3");
    assert!(bo.check().unwrap().ok);
    assert_eq!(bo.digest(strand).unwrap(), ina.digest(strand).unwrap());
}

#[test]
fn records_of_a_newer_version_are_kept_and_passed_on_unread() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = bench.book("Cleo", Role::Coach);
    let now = bench.now();
    cleo.receive(file(&mut ina, &student, "Cleo", now).as_slice()).unwrap();
    let now = bench.now();
    cleo.write(student.strand, now, [newer_draft()]).unwrap();
    let now = bench.now();
    ina.receive(file(&mut cleo, &student, "Ina", now).as_slice()).unwrap();
    let now = bench.now();
    bo.receive(file(&mut ina, &student, "Coach Bo", now).as_slice()).unwrap();
    assert_eq!(bo.unread(student.strand).unwrap(), 1);
    assert_eq!(bo.digest(student.strand).unwrap(), cleo.digest(student.strand).unwrap());
}

#[test]
fn nobody_gets_or_changes_what_belongs_to_another_student() {
    let mut bench = Bench::new();
    let mut bo = bench.book("Bo", Role::Coach);
    let ina = bench.student(&mut bo, "Ina");
    let secret = bench.student(&mut bo, "Secretly Named");
    let now = bench.now();
    let to_other = bo.send(&secret, &name("Ina"), now, true, Vec::new());
    assert!(matches!(to_other, Err(BookError::NotTheirs { .. })));
    let now = bench.now();
    let (_, bytes) = sent(&mut bo, &ina, "Ina", now);
    let mut opened = Vec::new();
    let mut reader = crate::sync::file::FileReader::new(bytes.as_slice()).unwrap();
    while let Some(part) = reader.next_part().unwrap() {
        opened.extend(format!("{part:?}").into_bytes());
    }
    let bare = String::from_utf8_lossy(&opened).to_string();
    assert!(!bare.contains(&secret.strand.to_string()));
    assert!(!bytes.windows(8).any(|w| w == b"Secretly"));

    // Ina's device takes in her strand; a file of hers about the other is kept out.
    let mut hers = bench.book("Ina", Role::Student);
    hers.receive(bytes.as_slice()).unwrap();
    let now = bench.now();
    hers.write(secret.strand, now, [Draft::put(id(1), &note("not mine"))]).unwrap();
    let foreign = StudentEntry { strand: secret.strand, student: ina.student.clone() };
    let now = bench.now();
    let (_, bytes) = sent(&mut hers, &foreign, "Bo", now);
    let before = bo.check().unwrap();
    let receipt = bo.receive(bytes.as_slice()).unwrap();
    assert_eq!((receipt.taken, receipt.refused.len()), (0, 1));
    assert!(receipt.refused[0].reason.contains("never sent"), "{:?}", receipt.refused);
    assert_eq!(bo.check().unwrap(), before);
}

#[test]
fn a_file_for_somebody_else_or_from_this_very_book_is_refused() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let now = bench.now();
    let reply = file(&mut bo, &student, "Ina", now);
    assert!(matches!(bo.receive(reply.as_slice()), Err(BookError::OurOwn { .. })));
    ina.receive(reply.as_slice()).unwrap();
    let now = bench.now();
    let known = file(&mut ina, &student, "Bo Berg", now);
    let mut eve = bench.book("Eve", Role::Coach);
    assert!(matches!(eve.receive(known.as_slice()), Err(BookError::NotForUs { .. })));
    assert!(eve.students().unwrap().is_empty());
}

#[test]
fn a_number_used_twice_by_a_restored_device_is_kept_out_and_told() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    ina.db.execute("VACUUM INTO ?1", [bench.path("backup").to_str().unwrap()]).unwrap();
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("before the loss"))]).unwrap();
    let now = bench.now();
    bo.receive(file(&mut ina, &student, "Coach Bo", now).as_slice()).unwrap();
    let mut restored = Book::open(&bench.path("backup")).unwrap();
    let now = bench.now();
    restored.write(student.strand, now, [Draft::put(id(1), &note("after the loss"))]).unwrap();
    let now = bench.now();
    let receipt = bo.receive(file(&mut restored, &student, "Coach Bo", now).as_slice()).unwrap();
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
    let whole = file(&mut ina, &student, "Coach Bo", now);
    let before = bo.check().unwrap();
    for at in 0..whole.len() {
        assert!(bo.receive(&whole[..at]).is_err(), "cut at {at}");
        let mut damaged = whole.clone();
        damaged[at] ^= 0x41;
        assert!(bo.receive(damaged.as_slice()).is_err(), "changed at {at}");
    }
    assert_eq!(bo.check().unwrap(), before);
    assert_eq!(bo.receive(whole.as_slice()).unwrap().taken, 8);
}

#[test]
fn a_file_that_could_not_be_finished_leaves_nothing_behind() {
    let mut bench = Bench::new();
    let (mut ina, _, student) = pair(&mut bench);
    let now = bench.now();
    let path = bench.path("week.chalk");
    ina.send_file(&student, &name("Coach Bo"), now, false, &path).unwrap();
    assert!(path.is_file());
    let nowhere = bench.path("no/such/folder.chalk");
    let now = bench.now();
    assert!(ina.send_file(&student, &name("Coach Bo"), now, false, &nowhere).is_err());
    let left = std::fs::read_dir(bench.dir.path())
        .unwrap()
        .filter(|f| f.as_ref().unwrap().file_name().to_string_lossy().contains("part"))
        .count();
    assert_eq!(left, 0);
}
