//! Fits are the same bits with a cold book, a warm one, a spoilt one, or none.

use super::fit_bytes;
use super::tests::{book, log, now};
use super::*;
use crate::book::{Book, Draft, StudentEntry};
use crate::flight::{Fit, FlightError, Quantity};
use crate::model::quantity::{ClubLength, Inertia};
use crate::model::*;

/// Balls of every kind: read, by eye, felt, off the face, powdered, with another club, and with nothing.
const CSV: &str = "day,club,powder,read,toe_mm,high_mm,guess_toe_mm,guess_high_mm,ball_speed_mps,carry_m,start,curve,finish_held\n\
    2026-04-02,Driver,yes,tap,-12,4,-8,0,61,185,left,right,yes\n\
    2026-04-02,Driver,yes,photo,6,-3,2,2,,,straight,,yes\n\
    2026-04-02,Driver,no,felt,10,8,,,63,,,,yes\n\
    2026-04-02,Old one,no,,,,,,,201,right,straight,no\n\
    2026-04-02,Driver,no,,,,-5,-5,,190,,,no\n\
    2026-04-03,Driver,yes,tap,60,-30,,,62,,,,no\n\
    2026-04-03,Driver,yes,tap,60,-30,,,,,,,no\n\
    2026-04-03,Driver,yes,,,,,,,,,,yes\n";

fn made(dir: &std::path::Path) -> (Book, StudentEntry) {
    let (mut book, student) = book(dir);
    log(&mut book, &student, CSV);
    (book, student)
}

fn read(book: &Book) -> Log {
    Log::read(book, &book.student("Ina").unwrap()).unwrap()
}

/// Every bit of the fits, as text.
fn bits(found: &[FitOfShot]) -> Vec<String> {
    let one = |of: &FitOfShot| match &of.fit {
        Ok(fit) => {
            let bytes = fit_bytes::encode(&Ok(fit.clone())).unwrap();
            format!("{} {} {:?} {} {bytes:?}", of.visit, of.shot, of.face, of.felt)
        }
        Err(error) => format!("{} {} {error}", of.visit, of.shot),
    };
    found.iter().map(one).collect()
}

#[test]
fn every_shot_of_which_anything_was_seen_has_a_fit_or_the_reason_why_not() {
    let dir = tempfile::tempdir().unwrap();
    let (book, _) = made(dir.path());
    let found = fits(None, &read(&book)).unwrap();
    let places: Vec<(usize, usize)> = found.iter().map(|of| (of.visit, of.shot)).collect();
    assert_eq!(
        places,
        [(0, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 0), (1, 1)],
        "a held finish alone is nothing"
    );
    assert_eq!(
        found.iter().map(|of| of.felt).collect::<Vec<_>>(),
        [false, false, true, false, true, false, false]
    );
    assert_eq!(found[6].fit, Err(FlightError::NothingRead), "only a mark, and that beyond the face");
    assert!(found[..6].iter().all(|of| of.fit.is_ok()), "{found:?}");
    let carry = computed_carry_m(&read(&book), &found[3]).unwrap();
    assert!((carry - 201.0).abs() < 10.0, "{carry}");
}

#[test]
fn with_a_book_and_without_cold_and_warm_the_fits_are_the_same_bits() {
    let dir = tempfile::tempdir().unwrap();
    let (book, student) = made(dir.path());
    let log = read(&book);
    let plain = bits(&fits(None, &log).unwrap());
    assert_eq!(bits(&fits(Some(&book), &log).unwrap()), plain);
    let kept = book.cached(student.strand, fits::KIND);
    assert_eq!(kept.len(), 6, "all but the one that costs nothing");
    assert_eq!(bits(&fits(Some(&book), &log).unwrap()), plain);
    assert_eq!(book.cached(student.strand, fits::KIND), kept, "warm, nothing is written");
}

#[test]
fn a_kept_fit_is_really_what_is_answered() {
    let dir = tempfile::tempdir().unwrap();
    let (book, student) = made(dir.path());
    let log = read(&book);
    let first = &fits(Some(&book), &log).unwrap()[0];
    // Under the very print that is asked for, another fit is put in its place.
    let kept = book.cached(student.strand, fits::KIND);
    let print = kept.print(first.id).unwrap();
    let mut other = first.fit.clone().unwrap();
    other.delivery.face_deg = 33.0;
    let bytes = fit_bytes::encode(&Ok(other.clone())).unwrap();
    assert!(book.keep(student.strand, fits::KIND, [(first.id, print, bytes.as_slice())]));
    assert_eq!(fits(Some(&book), &log).unwrap()[0].fit, Ok(other));
}

#[test]
fn a_changed_reading_club_or_powder_never_gets_a_stale_fit() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = made(dir.path());
    fits(Some(&book), &read(&book)).unwrap();
    let mut tick = 5_000;
    let mut change = |book: &mut Book, draft: Draft| {
        tick += 1;
        let before = bits(&fits(Some(book), &read(book)).unwrap());
        book.write(student.strand, now(tick), [draft]).unwrap();
        let (fresh, kept) = (fits(None, &read(book)).unwrap(), fits(Some(book), &read(book)).unwrap());
        assert_eq!(bits(&fresh), bits(&kept));
        assert_ne!(bits(&kept), before, "the change has to matter");
    };
    let shot = book.records::<Shot>(student.strand).unwrap().into_iter().next().unwrap();
    let mut value = shot.value;
    value.mark = Some(StrikeMark::new(-11.5, 4.0, None, MarkRead::Tap).unwrap());
    change(&mut book, Draft::put(shot.id, &value));
    value.start_by_eye = Some(StartByEye::FarLeft);
    change(&mut book, Draft::put(shot.id, &value));
    value.powder = Some(false);
    change(&mut book, Draft::put(shot.id, &value));
    let club = book.records::<Club>(student.strand).unwrap().into_iter().next().unwrap();
    let mut build = club.value;
    build.length_m = Some(ClubLength::new(1.1).unwrap());
    build.inertia_up_gcm2 = Some(Inertia::new(4_000.0).unwrap());
    change(&mut book, Draft::put(club.id, &build));
    let mut person = book.student("Ina").unwrap().student;
    person.value.hand = Hand::Right;
    change(&mut book, Draft::put(person.id, &person.value));
}

#[test]
fn a_felt_strike_is_corrected_once_there_are_pairs_enough_to_know_how() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = made(dir.path());
    let toe = |book: &Book| {
        let found = fits(Some(book), &read(book)).unwrap();
        found[2].fit.as_ref().unwrap().of(Quantity::Toe).unwrap()
    };
    let before = toe(&book);
    assert!(before.estimate > 2.0, "{before:?}");
    // Who feels every strike 15 mm too far toward the toe.
    let mut csv = String::from("day,powder,toe_mm,high_mm,sigma_mm,guess_toe_mm,guess_high_mm\n");
    for n in 0..16 {
        let (toe, high, noise) = ((n * 7) % 23 - 11, (n * 5) % 11 - 5, n % 3 - 1);
        csv +=
            &format!("2026-04-0{},yes,{toe},{high},0.5,{},{}\n", 4 + n % 3, toe + 15 + noise, high + noise);
    }
    log(&mut book, &student, &csv);
    let after = toe(&book);
    assert!(after.estimate < before.estimate - 5.0 && after.sigma < before.sigma, "{before:?} {after:?}");
}

#[test]
fn bytes_of_another_form_are_a_miss() {
    let dir = tempfile::tempdir().unwrap();
    let (book, _) = made(dir.path());
    let fit = fits(None, &read(&book)).unwrap().remove(0).fit;
    let bytes = fit_bytes::encode(&fit).unwrap();
    assert_eq!(fit_bytes::decode(&bytes), Some(fit));
    for cut in 0..bytes.len() {
        assert_eq!(fit_bytes::decode(&bytes[..cut]), None, "{cut}");
    }
    let nothing: Result<Fit, _> = Err(FlightError::NoFit);
    assert_eq!(fit_bytes::decode(&fit_bytes::encode(&nothing).unwrap()), Some(nothing));
    assert_eq!(fit_bytes::encode(&Err(FlightError::NothingRead)), None);
}

/// Fits that a version of the model made. Where this fails because impact,
/// flight, law or search were changed on purpose, raise `fits::MODEL`: books
/// would answer with the old ones otherwise. Then accept the new numbers.
#[test]
fn fits_have_not_changed_without_a_new_number_of_the_model() {
    let dir = tempfile::tempdir().unwrap();
    let (book, _) = made(dir.path());
    let found = fits(None, &read(&book)).unwrap();
    let said: Vec<String> = found
        .iter()
        .filter_map(|of| of.fit.as_ref().ok())
        .map(|fit| format!("{:?} misfit {:?}", fit.delivery, fit.misfit))
        .collect();
    insta::assert_snapshot!(format!("model {}\n{}", fits::MODEL, said.join("\n")));
}
