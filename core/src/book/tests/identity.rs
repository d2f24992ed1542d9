//! Cards, meeting, several devices of one person, and a lost phone.

use super::*;
use crate::sync::{Card, DeviceKeys, RootKey, check_phrase};

fn root(n: u8) -> RootKey {
    RootKey::from_entropy([n; 16])
}

/// A book with keys.
fn book(bench: &mut Bench, who: &str, role: Role, n: u8) -> (Book, DeviceKeys) {
    let mut book = bench.book(who, role);
    let keys = DeviceKeys::from_entropy(book.device(), &[n; 32]).unwrap();
    let now = bench.now();
    book.begin_identity(&keys, &root(n), now).unwrap();
    (book, keys)
}

fn card(bench: &mut Bench, (book, keys): &(Book, DeviceKeys)) -> Card {
    let text = book.card(keys, bench.now()).unwrap().text();
    Card::read(&text).unwrap()
}

#[test]
fn two_people_meet_and_know_each_other_by_the_same_words() {
    let mut bench = Bench::new();
    let (mut ina, mut bo) =
        (book(&mut bench, "Ina", Role::Student, 1), book(&mut bench, "Bo", Role::Coach, 2));
    let (hers, his) = (card(&mut bench, &ina), card(&mut bench, &bo));
    let met = bo.0.meet(&hers).unwrap();
    assert_eq!((met.name.as_str(), met.role, met.known_before), ("Ina", Role::Student, false));
    assert_eq!(met.check_phrase, check_phrase(&root(1).public()));
    assert!(bo.0.meet(&hers).unwrap().known_before);
    ina.0.meet(&his).unwrap();
    let known = ina.0.acquaintances().unwrap();
    let names: Vec<_> = known.iter().map(|who| (who.name.as_str(), who.owner, who.met)).collect();
    assert_eq!(names, [("Ina", true, true), ("Bo", false, true)]);
    assert!(known[0].devices[0].this && known[0].devices[0].stands);
    // A second card of the same person changes no list.
    assert_eq!(bo.0.acquaintances().unwrap().len(), 2);
}

#[test]
fn a_person_expected_by_name_is_the_one_whose_card_comes() {
    let mut bench = Bench::new();
    let (ina, mut bo) = (book(&mut bench, "Ina", Role::Student, 1), book(&mut bench, "Bo", Role::Coach, 2));
    bo.0.db.execute("INSERT INTO person (name) VALUES ('ina')", []).unwrap();
    bo.0.meet(&card(&mut bench, &ina)).unwrap();
    let people = bo.0.people().unwrap();
    assert_eq!(people.len(), 1);
    assert_eq!((people[0].name.as_str(), people[0].id), ("Ina", Some(ina.0.owner().person)));
}

#[test]
fn a_card_with_somebody_elses_number_is_refused() {
    let mut bench = Bench::new();
    let (ina, mut bo) = (book(&mut bench, "Ina", Role::Student, 1), book(&mut bench, "Bo", Role::Coach, 2));
    let eve = book(&mut bench, "Eve", Role::Coach, 3);
    let true_card = card(&mut bench, &ina);
    bo.0.meet(&true_card).unwrap();
    let now = bench.now();
    let forged = |person| {
        let identity = eve.0.identity().unwrap().unwrap();
        Card::new(&eve.1, identity, person, name("Ina"), Role::Student, now.at)
    };
    let refused = bo.0.meet(&forged(ina.0.owner().person));
    assert!(matches!(&refused, Err(BookError::Card { why }) if why.contains("doesn't have")), "{refused:?}");
    // Also where the number was made before there were keys.
    let old = PersonId(Uuid::from_u128(0x0199_0000_0000_7000_8000_0000_0000_0001));
    let first =
        Card::new(&ina.1, ina.0.identity().unwrap().unwrap(), old, name("Ina"), Role::Student, now.at);
    let mut cleo = book(&mut bench, "Cleo", Role::Coach, 4);
    cleo.0.meet(&first).unwrap();
    let refused = cleo.0.meet(&forged(old));
    assert!(matches!(&refused, Err(BookError::Card { why }) if why.contains("other keys")), "{refused:?}");
    assert_eq!(bo.0.acquaintances().unwrap().len(), 2);
}

#[test]
fn a_second_device_joins_and_a_lost_first_one_is_replaced_by_it() {
    let mut bench = Bench::new();
    let mut phone = book(&mut bench, "Ina", Role::Student, 1);
    let mut tablet = book(&mut bench, "Tablet", Role::Student, 5);
    let mut bo = book(&mut bench, "Bo", Role::Coach, 2);
    bo.0.meet(&card(&mut bench, &phone)).unwrap();
    // Joining comes after being added.
    let early = card(&mut bench, &phone);
    assert!(matches!(tablet.0.join(&tablet.1, &early), Err(BookError::Card { .. })));
    let new = card(&mut bench, &tablet);
    phone.0.add_device(&phone.1, &new).unwrap();
    let theirs = card(&mut bench, &phone);
    tablet.0.join(&tablet.1, &theirs).unwrap();
    assert_eq!(tablet.0.owner(), phone.0.owner());
    assert_eq!(Book::open(&bench.path("Tablet")).unwrap().owner(), phone.0.owner());

    // The phone is lost; its card of before does not bring it back.
    let lost = phone.0.device();
    assert_eq!(tablet.0.revoke_device(&tablet.1, &lost.to_string()).unwrap(), lost);
    let met = bo.0.meet(&card(&mut bench, &tablet)).unwrap();
    assert_eq!((met.known_before, met.devices), (true, 1));
    assert_eq!(bo.0.meet(&early).unwrap().devices, 1);
    // When the phone hears of it, it says so itself.
    phone.0.meet(&card(&mut bench, &tablet)).unwrap();
    let now = bench.now();
    assert!(matches!(phone.0.card(&phone.1, now), Err(BookError::Revoked)));
}

#[test]
fn twelve_words_on_a_new_phone_are_the_same_person() {
    let mut bench = Bench::new();
    let phone = book(&mut bench, "Ina", Role::Student, 1);
    let mut bo = book(&mut bench, "Bo", Role::Coach, 2);
    bo.0.meet(&card(&mut bench, &phone)).unwrap();
    let mut new = bench.book("Ina again", Role::Student);
    let keys = DeviceKeys::from_entropy(new.device(), &[77; 32]).unwrap();
    let words = RootKey::from_phrase(&root(1).phrase()).unwrap();
    let now = bench.now();
    new.begin_identity(&keys, &words, now).unwrap();
    assert_eq!(new.owner().person, phone.0.owner().person);
    let met = bo.0.meet(&card(&mut bench, &(new, keys))).unwrap();
    assert_eq!((met.known_before, met.devices), (true, 1));
}

#[test]
fn keys_of_another_device_and_a_second_beginning_are_refused() {
    let mut bench = Bench::new();
    let (mut ina, bo) = (book(&mut bench, "Ina", Role::Student, 1), book(&mut bench, "Bo", Role::Coach, 2));
    let now = bench.now();
    assert!(matches!(ina.0.card(&bo.1, now), Err(BookError::WrongKeys)));
    assert!(matches!(ina.0.begin_identity(&ina.1, &root(1), now), Err(BookError::HasKeys { .. })));
    let other = DeviceKeys::from_entropy(ina.0.device(), &[9; 32]).unwrap();
    assert!(matches!(ina.0.card(&other, now), Err(BookError::WrongKeys)));
    assert!(matches!(ina.0.renew_identity(&ina.1, &root(2), now), Err(BookError::Card { .. })));
    ina.0.renew_identity(&ina.1, &root(1), now).unwrap();
    assert!(ina.0.card(&ina.1, now).is_ok());
}

#[test]
fn no_secret_is_anywhere_in_the_book() {
    let mut bench = Bench::new();
    let ina = book(&mut bench, "Ina", Role::Student, 1);
    ina.0.db.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)").unwrap();
    let bytes = std::fs::read(bench.path("Ina")).unwrap();
    let text = ina.1.to_text();
    let hex = text.lines().find_map(|line| line.strip_prefix("# signing: ")).unwrap();
    let secret = data_encoding::HEXLOWER.decode(hex.as_bytes()).unwrap();
    for secret in [secret.as_slice(), &[1; 16], root(1).phrase().as_bytes(), b"AGE-SECRET"] {
        assert!(!bytes.windows(secret.len()).any(|w| w == secret));
    }
    // The public side is there, so the search would have found it.
    assert!(bytes.windows(32).any(|w| w == root(1).public()));
}
