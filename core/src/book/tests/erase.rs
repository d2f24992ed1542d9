//! What was erased is nowhere: not in the file, not in what is sent, and it does
//! not come back by any way. Signatures hold.

use std::path::Path;

use super::exchange::{Take, pair};
use super::roles::{Forge, third};
use super::*;
use crate::sync::Run;
use crate::sync::erasure::{self, Scope};
use crate::sync::run::{Salt, Salts};

fn erase(bench: &mut Bench, book: &mut Book, student: &StudentEntry, what: &[(Kind, RecordId)]) -> Taken {
    let (keys, now) = (testing::keys(book), bench.now());
    book.erase(&keys, student, what, now).unwrap()
}

fn write(bench: &mut Bench, book: &mut Book, strand: StrandId, n: u8, text: &str) {
    let now = bench.now();
    book.write(strand, now, [Draft::put(id(n), &note(text))]).unwrap();
}

fn pass(bench: &mut Bench, from: &mut Book, to: &mut Book, student: &StudentEntry) -> Receipt {
    let name = to.owner().name.to_string();
    let file = testing::file(from, student, &name, bench.now(), true);
    let receipt = to.take(&file).unwrap();
    assert_eq!(receipt.refused, []);
    receipt
}

/// Whether bytes stand anywhere in a book's file or the storage's own log.
pub(super) fn file_holds(path: &Path, bytes: &[u8]) -> bool {
    ["", "-wal", "-shm"].iter().any(|end| {
        let mut beside = path.as_os_str().to_owned();
        beside.push(end);
        let all = std::fs::read(beside).unwrap_or_default();
        all.windows(bytes.len()).any(|window| window == bytes)
    })
}

fn picture() -> StrikePhoto {
    let day = Day::parse("2026-05-04").unwrap();
    StrikePhoto { session: None, day, marks: Vec::new(), thumbnail: b"the small picture ".repeat(400) }
}

#[test]
fn what_a_student_erases_is_in_no_byte_of_any_book_that_hears_of_it_and_does_not_come_back() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = third(&mut bench, &mut ina, &mut bo, &student, Role::Coach);
    let strand = student.strand;
    // Enough around it that pages fill, split and are used again.
    for n in 20..120 {
        write(&mut bench, &mut ina, strand, n, &format!("ordinary note {n}"));
    }
    write(&mut bench, &mut ina, strand, 1, "something she regrets");
    write(&mut bench, &mut ina, strand, 2, "something she regrets, once more");
    let now = bench.now();
    ina.write(strand, now, [Draft::put(id(2), &picture())]).unwrap();
    write(&mut bench, &mut ina, strand, 3, "stays");
    let kept = KeptKind(900);
    assert!(ina.keep(strand, kept, [(id(1), [0; 16], b"something she regrets".as_slice())]));
    let now = bench.now();
    ina.hold(now, b"a file with something she regrets").unwrap();
    pass(&mut bench, &mut ina, &mut bo, &student);
    pass(&mut bench, &mut bo, &mut cleo, &student);
    write(&mut bench, &mut bo, strand, 1, "something she regrets, said the coach");
    write(&mut bench, &mut bo, strand, 2, "something she regrets, he said again");
    let late = testing::file(&mut bo, &student, "Ina", bench.now(), true);
    let to_cleo = testing::file(&mut bo, &student, "Cleo", bench.now(), true);
    bo.backup(&bench.path("copy")).unwrap();

    let what = [(Kind::NOTE, id(1)), (Kind::NOTE, id(2)), (Kind::STRIKE_PHOTO, id(2))];
    let taken = erase(&mut bench, &mut ina, &student, &what);
    assert_eq!(taken, Taken { records: 3, changes: 3, scrubbed: true });
    let gone: [&[u8]; 2] = [b"something she regrets", b"the small picture"];
    let names = ["Ina", "Bo Berg", "Cleo"].map(|name| bench.path(name));
    assert!(gone.iter().all(|bytes| !file_holds(&names[0], bytes)));
    assert!(file_holds(&names[1], gone[0]) && file_holds(&names[2], gone[1]), "or the test finds nothing");
    // The coach's edits, which she had not seen, come late and find no place.
    let receipt = ina.take(&late).unwrap();
    assert_eq!((receipt.taken, receipt.refused.len()), (0, 0));
    // She tells Bo, and Bo tells Cleo.
    assert_eq!(pass(&mut bench, &mut ina, &mut bo, &student).erased, 3);
    assert_eq!(pass(&mut bench, &mut bo, &mut cleo, &student).erased, 3);
    assert_eq!(cleo.take(&to_cleo).unwrap().taken, 0);
    for (book, path) in [&ina, &bo, &cleo].into_iter().zip(&names) {
        assert!(gone.iter().all(|bytes| !file_holds(path, bytes)), "{path:?}");
        assert_eq!(book.record::<Note>(strand, id(1)).unwrap(), None);
        assert!(book.history(strand, Kind::NOTE, id(1)).unwrap().is_empty());
        assert!(book.is_erased(strand, Kind::NOTE, id(1)).unwrap());
        assert!(!book.is_erased(strand, Kind::NOTE, id(3)).unwrap());
        assert_eq!(book.record::<Note>(strand, id(3)).unwrap().unwrap().value, note("stays"));
        assert_eq!(book.digest(strand).unwrap(), ina.digest(strand).unwrap());
        assert!(book.check().unwrap().ok, "{:?}", book.check().unwrap());
    }
    // Nobody writes to it any more.
    let now = bench.now();
    let again = bo.write(strand, now, [Draft::put(id(1), &note("once more"))]);
    assert!(matches!(again, Err(BookError::WasErased)));
    // Somebody new gets all the rest, with every signature, from a relay.
    let mut dag = bench.keyed("Dag", Role::Coach);
    testing::meet(&mut dag, &mut ina);
    testing::meet(&mut dag, &mut bo);
    drop(testing::file(&mut ina, &student, "Dag", bench.now(), true));
    pass(&mut bench, &mut ina, &mut bo, &student);
    let receipt = pass(&mut bench, &mut bo, &mut dag, &student);
    assert_eq!(receipt.strands[0].agrees, Some(true));
    assert_eq!(dag.digest(strand).unwrap(), ina.digest(strand).unwrap());
    // An old copy of Bo's book has it again until it hears of it.
    drop(bo);
    let mut bo = Book::open(&bench.path("copy")).unwrap();
    let (keys, now) = (testing::keys(&bo), bench.now());
    bo.restore(&keys, now).unwrap();
    assert!(file_holds(&bench.path("copy"), gone[0]));
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), true);
    assert_eq!(ina.take(&file).unwrap().erased, 0);
    assert_eq!(pass(&mut bench, &mut ina, &mut bo, &student).erased, 3);
    assert!(gone.iter().all(|bytes| !file_holds(&bench.path("copy"), bytes)));
    pass(&mut bench, &mut bo, &mut ina, &student);
    assert_eq!(bo.digest(strand).unwrap(), ina.digest(strand).unwrap());
    assert!(gone.iter().all(|bytes| !file_holds(&names[0], bytes)));
}

#[test]
fn a_coach_erases_what_they_wrote_and_nothing_that_the_student_did() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let strand = student.strand;
    write(&mut bench, &mut ina, strand, 1, "her own words");
    write(&mut bench, &mut bo, strand, 2, "a hasty judgement");
    pass(&mut bench, &mut ina, &mut bo, &student);
    pass(&mut bench, &mut bo, &mut ina, &student);
    let (keys, now) = (testing::keys(&bo), bench.now());
    let refused = bo.erase(&keys, &student, &[(Kind::NOTE, id(2)), (Kind::NOTE, id(1))], now);
    assert!(matches!(refused, Err(BookError::NotYoursToErase)));
    assert!(bo.record::<Note>(strand, id(2)).unwrap().is_some(), "nothing of it was done");
    let refused = bo.erase_student(&keys, &student, now);
    assert!(matches!(refused, Err(BookError::NotYoursToErase)));
    let member = super::super::members::member_id(&Forge::identity(&bo).root());
    let refused = ina.erase(&testing::keys(&ina), &student, &[(Kind::MEMBER, member)], now);
    assert!(matches!(refused, Err(BookError::NotErasable { .. })));

    // Both wrote in one: his part goes, hers stays.
    write(&mut bench, &mut ina, strand, 2, "she wrote there too");
    pass(&mut bench, &mut ina, &mut bo, &student);
    erase(&mut bench, &mut bo, &student, &[(Kind::NOTE, id(2))]);
    assert_eq!(pass(&mut bench, &mut bo, &mut ina, &student).erased, 1);
    for (book, name) in [(&ina, "Ina"), (&bo, "Bo Berg")] {
        assert!(!file_holds(&bench.path(name), b"a hasty judgement"));
        let history = book.history(strand, Kind::NOTE, id(2)).unwrap();
        assert_eq!(history.len(), 1);
        assert_eq!(history[0].writes, [(2, Value::from("she wrote there too"))]);
        assert_eq!(book.digest(strand).unwrap(), ina.digest(strand).unwrap());
        assert!(book.check().unwrap().ok);
    }
}

#[test]
fn who_may_not_erase_is_not_believed_and_nobody_can_leave_out_what_was_not_erased() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut guardian = bench.keyed("Tuva", Role::Reader);
    testing::meet(&mut guardian, &mut ina);
    let strand = student.strand;
    write(&mut bench, &mut ina, strand, 1, "her words");
    pass(&mut bench, &mut ina, &mut bo, &student);
    pass(&mut bench, &mut ina, &mut guardian, &student);
    let before = ina.check().unwrap();
    let tag = erasure::tag(strand, Kind::NOTE, id(1));
    for (by, scope) in [(&bo, Scope::Record), (&bo, Scope::Strand), (&guardian, Scope::Own)] {
        let forge = Forge { by, to: &ina, strand };
        let of = if scope == Scope::Strand { erasure::tag_of_all(strand) } else { tag };
        let file = forge.file(&[forge.change(1, of, Kind::ERASURE, &erasure::body(scope))]);
        let receipt = ina.take(&file).unwrap();
        assert_eq!((receipt.taken, receipt.refused.len()), (0, 1), "{scope:?}");
        assert_eq!(ina.check().unwrap(), before);
    }
    // More than that it is one can't be said of an erasure.
    let forge = Forge { by: &bo, to: &ina, strand };
    let mut more = erasure::body(Scope::Own);
    more.fields.set(2, Value::from("why"));
    assert_eq!(ina.take(&forge.file(&[forge.change(1, tag, Kind::ERASURE, &more)])).unwrap().taken, 0);
    // Bo passes her words on to Cleo as if she had erased them.
    let mut cleo = third(&mut bench, &mut ina, &mut bo, &student, Role::Coach);
    write(&mut bench, &mut ina, strand, 4, "more of her words");
    pass(&mut bench, &mut ina, &mut bo, &student);
    let no = bo.strand_no(strand).unwrap().unwrap();
    let sql = "SELECT run, first FROM run WHERE strand = ?1 ORDER BY first DESC LIMIT 1";
    let (bytes, first): (Vec<u8>, i64) =
        bo.db.query_row(sql, [no], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    let run = Run::decode(&mut minicbor::Decoder::new(&bytes)).unwrap();
    let author = super::super::fold::author_no(&bo.db, ina.device()).unwrap();
    let mut changes = Vec::new();
    super::super::runs::each_change(&bo.db, no, (author, ina.device()), first as u64, run.last(), |change| {
        changes.push((change, true));
        true
    })
    .unwrap();
    let holed = run.without(strand, &changes);
    assert!(matches!(&holed.salts, Salts::Each(each) if each.iter().all(|s| matches!(s, Salt::Erased(_)))));
    let forge = Forge { by: &bo, to: &cleo, strand };
    let file = forge.file_of(&holed, ina.device(), &[]);
    let receipt = cleo.take(&file).unwrap();
    assert_eq!(receipt.refused[0].reason, "something was left out of them that nobody erased who may");
    pass(&mut bench, &mut ina, &mut cleo, &student);
    assert_eq!(cleo.record::<Note>(strand, id(4)).unwrap().unwrap().value, note("more of her words"));
}

#[test]
fn a_student_is_erased_everywhere_and_only_the_word_of_it_is_left() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = third(&mut bench, &mut ina, &mut bo, &student, Role::Coach);
    let strand = student.strand;
    for n in 1..40 {
        write(&mut bench, &mut ina, strand, n, &format!("her note {n}"));
    }
    pass(&mut bench, &mut ina, &mut bo, &student);
    write(&mut bench, &mut bo, strand, 50, "the coach on Ina");
    pass(&mut bench, &mut bo, &mut cleo, &student);
    let late = testing::file(&mut bo, &student, "Cleo", bench.now(), true);
    let to_ina = testing::file(&mut cleo, &student, "Ina", bench.now(), true);
    let may = [&ina, &bo, &cleo].map(|book| book.may_erase_student(&student).unwrap());
    assert_eq!(may, [true, false, false]);
    let (keys, now) = (testing::keys(&ina), bench.now());
    assert!(ina.erase_student(&keys, &student, now).unwrap().changes > 30);
    assert!(ina.students().unwrap().is_empty());
    let word = ina.erased_students().unwrap().remove(0);
    assert_eq!(word.strand, strand);
    let told: Vec<_> = ina.audience(&word).unwrap().into_iter().map(|who| who.name.to_string()).collect();
    assert_eq!(told, ["Bo Berg", "Cleo"].map(String::from).to_vec());
    assert!(pass(&mut bench, &mut ina, &mut bo, &word).erased > 30);
    assert!(pass(&mut bench, &mut bo, &mut cleo, &word).erased > 30);
    for (book, name) in [(&ina, "Ina"), (&bo, "Bo Berg"), (&cleo, "Cleo")] {
        assert!(!file_holds(&bench.path(name), b"her note"), "{name}");
        assert!(!file_holds(&bench.path(name), b"the coach on Ina"), "{name}");
        assert!(name == "Ina" || !file_holds(&bench.path(name), b"Ina"), "{name}: her own name");
        assert!(book.students().unwrap().is_empty());
        assert!(book.check().unwrap().ok, "{:?}", book.check().unwrap());
        assert_eq!(book.digest(strand).unwrap(), ina.digest(strand).unwrap());
    }
    // Late files, a second word of it, and writing: nothing comes of them.
    assert!(cleo.take(&late).unwrap().refused.iter().map(|refused| refused.changes).sum::<u64>() > 30);
    assert_eq!(ina.take(&to_ina).unwrap().taken, 0);
    let again = testing::file(&mut ina, &word, "Cleo", bench.now(), true);
    let receipt = cleo.take(&again).unwrap();
    assert_eq!((receipt.taken, receipt.already_had, receipt.refused.len()), (0, 1, 0));
    let now = bench.now();
    assert!(matches!(cleo.write(strand, now, [Draft::put(id(1), &note("x"))]), Err(BookError::Gone)));
    assert!(!file_holds(&bench.path("Cleo"), b"her note"));
    assert!(matches!(cleo.student(&strand.to_string()), Err(BookError::Gone)));
    // Who never had her learns from the word that there is nothing to take in.
    let mut dag = bench.keyed("Dag", Role::Coach);
    testing::meet(&mut dag, &mut ina);
    let (keys, now) = (testing::keys(&ina), bench.now());
    let refused = ina.send(&keys, &word, &name("Dag"), now, true, Vec::new());
    assert!(matches!(refused, Err(BookError::NotTheirs { .. })));
    // She may begin anew.
    let fresh = bench.own_student(&mut ina, "Ina");
    assert_eq!(pass(&mut bench, &mut ina, &mut bo, &fresh).strands[0].agrees, Some(true));
}

#[test]
fn a_coach_gives_a_student_up_on_their_device_and_takes_them_on_again() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let strand = student.strand;
    write(&mut bench, &mut ina, strand, 1, "her words");
    pass(&mut bench, &mut ina, &mut bo, &student);
    write(&mut bench, &mut bo, strand, 2, "his words");
    pass(&mut bench, &mut bo, &mut ina, &student);
    assert!(bo.give_up(&student).unwrap().scrubbed);
    assert!(bo.students().unwrap().is_empty() && bo.check().unwrap().ok);
    assert!(!file_holds(&bench.path("Bo Berg"), b"her words"));
    let late = testing::file(&mut ina, &student, "Bo Berg", bench.now(), true);
    let receipt = bo.take(&late).unwrap();
    assert_eq!((receipt.taken, receipt.refused.len()), (0, 1));
    assert!(ina.record::<Note>(strand, id(2)).unwrap().is_some(), "she keeps what he wrote");
    assert_eq!(bo.given_up_students().unwrap(), [strand]);
    let (keys, now, old) = (testing::keys(&bo), bench.now(), bo.device());
    bo.take_on_again(&keys, strand, now).unwrap();
    assert_eq!(bo.given_up_students().unwrap(), []);
    assert_ne!(bo.device(), old);
    write(&mut bench, &mut bo, strand, 9, "before her first file");
    assert!(bo.take(&late).unwrap().taken > 3);
    pass(&mut bench, &mut bo, &mut ina, &student);
    pass(&mut bench, &mut ina, &mut bo, &student);
    assert_eq!(bo.digest(strand).unwrap(), ina.digest(strand).unwrap());
    assert_eq!(bo.records::<Note>(strand).unwrap().len(), 3);
}

#[test]
fn a_scrub_that_was_cut_off_is_made_good_when_the_book_is_opened() {
    let mut bench = Bench::new();
    let (mut ina, _, student) = pair(&mut bench);
    write(&mut bench, &mut ina, student.strand, 1, "something she regrets");
    let path = bench.path("Ina");
    let before = rusqlite::Connection::open(&path).unwrap();
    let sql = "BEGIN; SELECT count(*) FROM change";
    before.execute_batch(sql).unwrap();
    // Somebody else reads the file: it can't be built anew under their eyes.
    ina.db.busy_timeout(std::time::Duration::ZERO).unwrap();
    let taken = erase(&mut bench, &mut ina, &student, &[(Kind::NOTE, id(1))]);
    assert_eq!((taken.records, taken.scrubbed), (1, false));
    assert!(file_holds(&path, b"something she regrets"));
    drop(before);
    drop(ina);
    let ina = Book::open(&path).unwrap();
    assert!(!file_holds(&path, b"something she regrets"));
    assert!(ina.check().unwrap().ok);
}
