//! A book put back from an old copy uses no number again and loses nothing
//! that anybody else holds.

use super::exchange::pair;
use super::*;

fn write(bench: &mut Bench, book: &mut Book, strand: StrandId, n: u8, text: &str) {
    let now = bench.now();
    book.write(strand, now, [Draft::put(id(n), &note(text))]).unwrap();
}

fn send(bench: &mut Bench, from: &mut Book, to: &mut Book, student: &StudentEntry, name: &str) -> Receipt {
    let file = testing::file(from, student, name, bench.now(), false);
    let keys = testing::keys(to);
    let now = bench.now();
    to.receive(Some(&keys), now, file.as_slice()).unwrap()
}

/// Ina's book with a backup in it, and Bo's that heard of everything.
fn lost(bench: &mut Bench) -> (Book, Book, StudentEntry) {
    let (mut ina, mut bo, student) = pair(bench);
    write(bench, &mut ina, student.strand, 1, "in the backup");
    send(bench, &mut ina, &mut bo, &student, "Bo Berg");
    ina.backup(&bench.path("copy")).unwrap();
    for n in 2..5 {
        write(bench, &mut ina, student.strand, n, "since the backup");
    }
    send(bench, &mut ina, &mut bo, &student, "Bo Berg");
    drop(ina);
    (Book::open(&bench.path("copy")).unwrap(), bo, student)
}

#[test]
fn a_restored_book_goes_on_under_a_new_number_and_gets_back_what_others_hold() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = lost(&mut bench);
    let (old, keys) = (ina.device(), testing::keys(&ina));
    let now = bench.now();
    assert_ne!(ina.restore(&keys, now).unwrap(), old);
    write(&mut bench, &mut ina, student.strand, 9, "after the restore");
    let receipt = send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    assert_eq!((receipt.taken, receipt.refused), (1, vec![]));
    let receipt = send(&mut bench, &mut bo, &mut ina, &student, "Ina");
    assert_eq!((receipt.taken, receipt.refused, receipt.came_back), (3, vec![], false));
    assert_eq!(ina.digest(student.strand).unwrap(), bo.digest(student.strand).unwrap());
    assert!(ina.check().unwrap().ok);
    // It opens under its new number, and news is only what is new.
    let mut ina = Book::open(&bench.path("copy")).unwrap();
    assert_ne!(ina.device(), old);
    write(&mut bench, &mut ina, student.strand, 10, "later");
    send(&mut bench, &mut bo, &mut ina, &student, "Ina");
    let receipt = send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    assert_eq!((receipt.taken, receipt.already_had), (1, 0));
}

#[test]
fn what_a_copy_had_not_sent_yet_is_signed_as_before_and_what_came_after_it_is_got_back() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    write(&mut bench, &mut ina, student.strand, 1, "in the backup, not sent");
    ina.backup(&bench.path("copy")).unwrap();
    for n in 2..5 {
        send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
        write(&mut bench, &mut ina, student.strand, n, "since the backup");
    }
    let keys = testing::keys(&ina);
    let now = bench.now();
    ina.erase(&keys, &student, &[(Kind::NOTE, id(1))], now).unwrap();
    send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    drop(ina);
    let mut ina = Book::open(&bench.path("copy")).unwrap();
    let now = bench.now();
    ina.restore(&keys, now).unwrap();
    let receipt = send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    assert_eq!(receipt.refused, []);
    let receipt = send(&mut bench, &mut bo, &mut ina, &student, "Ina");
    assert_eq!((receipt.taken, receipt.refused), (4, vec![]));
    assert_eq!(ina.digest(student.strand).unwrap(), bo.digest(student.strand).unwrap());
    assert!(ina.check().unwrap().ok && bo.check().unwrap().ok);
}

#[test]
fn a_copy_put_back_behind_our_back_is_found_out_by_the_first_file() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = lost(&mut bench);
    let old = ina.device();
    // Her next file says what she holds; so he sends again what she held before.
    let receipt = send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    assert_eq!((receipt.taken, receipt.refused), (0, vec![]));
    let receipt = send(&mut bench, &mut bo, &mut ina, &student, "Ina");
    assert!(receipt.came_back && receipt.refused.is_empty(), "{receipt:?}");
    assert_ne!(ina.device(), old);
    write(&mut bench, &mut ina, student.strand, 9, "afterwards");
    let receipt = send(&mut bench, &mut ina, &mut bo, &student, "Bo Berg");
    assert_eq!((receipt.taken, receipt.refused), (1, vec![]));
    assert_eq!(ina.digest(student.strand).unwrap(), bo.digest(student.strand).unwrap());
    assert!(ina.check().unwrap().ok && bo.check().unwrap().ok);
}

#[test]
fn a_backup_writes_over_nothing() {
    let mut bench = Bench::new();
    let ina = bench.keyed("Ina", Role::Student);
    assert!(matches!(ina.backup(&bench.path("Ina")), Err(BookError::Exists { .. })));
}
