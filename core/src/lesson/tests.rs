//! A brief says what its log holds, and what it doesn't.

use std::path::Path;

use super::*;
use crate::act::{NewDrill, NewStudent, Unsaid, add_student, begin_plan, log_practice, log_rows};
use crate::book::{Book, StudentEntry};
use crate::model::*;
use crate::table;

pub(super) fn now(tick: u64) -> Now {
    let mut entropy = [0; 16];
    entropy[..8].copy_from_slice(&tick.to_le_bytes());
    Now { at: Moment { utc_ms: 1_777_000_000_000 + tick as i64, offset_min: 120 }, entropy }
}

pub(super) fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

pub(super) fn book(dir: &Path) -> (Book, StudentEntry) {
    let mut book = Book::create(&dir.join("b"), Name::new("Bo").unwrap(), Role::Coach, now(0)).unwrap();
    let new = NewStudent {
        name: Name::new("Ina").unwrap(),
        hand: Hand::Left,
        units: UnitSystem::Metric,
        birth_year: None,
    };
    let student = add_student(&mut book, now(1), new).unwrap();
    (book, student)
}

pub(super) fn log(book: &mut Book, student: &StudentEntry, csv: &str) {
    let options = table::Options { hand: Some(Hand::Left), ..table::Options::default() };
    let table = table::read(csv.as_bytes(), &options).unwrap();
    let unsaid = Unsaid { day: day("2026-05-01"), place: None };
    // Fresh entropy for every event, as a shell brings it.
    let tick = 10 + book.summary(student.strand).unwrap().changes;
    log_rows(book, student.strand, now(tick), &table.rows, unsaid).unwrap();
}

fn brief(book: &Book, as_of: &str) -> Brief {
    let student = book.student("Ina").unwrap();
    let log = Log::read(book, &student).unwrap();
    Brief::of(&log, &book.device_names().unwrap(), day(as_of)).unwrap()
}

/// Four sessions of three marks, the last one higher on the face.
fn four_sessions() -> String {
    let mut csv = String::from("day,toe_mm,high_mm,sigma_mm,head_speed_mps,finish_held,powder,read\n");
    for (n, date) in ["2026-03-01", "2026-03-08", "2026-03-15", "2026-04-01"].into_iter().enumerate() {
        let high = if n == 3 { 6 } else { -6 };
        for toe in [-4, 0, 4] {
            csv += &format!("{date},{toe},{high},1,{},yes,yes,photo\n", 40 + n);
        }
    }
    csv
}

#[test]
fn what_changed_rests_on_all_sessions_after_the_baseline_and_asks_about_another_ball() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    let mut csv = String::from("session,day,toe_mm,high_mm,sigma_mm,read,ball\n");
    for n in 0..12 {
        let (toe, ball) = if n < 3 { (0, "course") } else { (14, "range") };
        for (x, y) in [(-6, 0), (6, 0), (0, 5), (0, -5), (3, 3), (-3, -3)] {
            csv += &format!("s{n},2026-03-{:02},{},{},1,photo,{ball}\n", n + 1, toe + x + n % 2, y);
        }
    }
    log(&mut book, &student, &csv);
    let brief = brief(&book, "2026-05-04");
    let changed = brief.changed.unwrap();
    assert_eq!((changed.comparison.baseline_sessions, changed.comparison.later_sessions), (3, 9));
    // "Now" in the rest of the brief is the last three.
    assert_eq!(brief.now.unwrap().sessions.len(), 3);
    assert_eq!(changed.looks.len(), 9);
    assert!(changed.comparison.bias.toe.called);
    assert_eq!(changed.verdict, super::changed::Verdict::AskFirst);
    assert_eq!(changed.asks.len(), 1);
    assert_eq!(changed.asks[0].since, 1);
    // As another student, her baseline would lend its two degrees of freedom.
    let log = Log::read(&book, &book.student("Ina").unwrap()).unwrap();
    let days = super::changed::days_of(&[&log]).unwrap().unwrap();
    assert_eq!((days.students, days.dof), (1, 2));
    let lent = super::Changed::of(&log, Some(days)).unwrap().unwrap();
    assert_eq!(lent.comparison.known_shifts.unwrap().known, days);
}

#[test]
fn an_empty_log_says_what_is_missing_and_nothing_else() {
    let dir = tempfile::tempdir().unwrap();
    let (book, _) = book(dir.path());
    let brief = brief(&book, "2026-05-04");
    assert_eq!((brief.balls, brief.since), (0, None));
    assert!(brief.baseline.is_none() && brief.now.is_none());
    assert!(brief.unknown.contains(&Unknown::NoMarks) && brief.unknown.contains(&Unknown::NoPlan));
}

#[test]
fn without_a_set_baseline_the_first_three_sessions_stand_for_it_and_that_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    log(&mut book, &student, &four_sessions());
    let brief = brief(&book, "2026-05-04");
    let (baseline, now) = (brief.baseline.as_ref().unwrap(), brief.now.as_ref().unwrap());
    assert_eq!((baseline.pattern.count, now.pattern.count), (9, 3));
    assert_eq!(baseline.pattern.bias_high_mm, Some(-12.0));
    assert_eq!(now.pattern.bias_high_mm, Some(0.0));
    assert!(brief.unknown.contains(&Unknown::BaselineAssumed { sessions: 3 }));
    assert!(brief.unknown.iter().any(|u| matches!(u, Unknown::FewMarks { have: 3, .. })));
    assert!(!brief.unknown.contains(&Unknown::NoHeadSpeed));
    assert!(brief.unknown.contains(&Unknown::NoStart));
}

#[test]
fn felt_strikes_are_counted_apart_and_never_in_a_pattern() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    log(&mut book, &student, &four_sessions());
    log(
        &mut book,
        &student,
        "day,place,toe_mm,high_mm,powder\n2026-04-02,course,30,-20,no\n2026-04-02,course,25,-20,no\n",
    );
    let brief = brief(&book, "2026-05-04");
    assert_eq!((brief.balls, brief.marked, brief.felt), (14, 12, 2));
    assert_eq!(brief.now.unwrap().pattern.count, 3);
}

#[test]
fn a_mark_beyond_the_face_is_kept_and_counted_as_such() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    log(&mut book, &student, "day,toe_mm,high_mm,powder\n2026-04-02,62,-30,yes\n2026-04-02,0,0,yes\n");
    let brief = brief(&book, "2026-05-04");
    assert_eq!((brief.marked, brief.off_face), (2, 1));
}

#[test]
fn powdered_spin_is_told_and_left_out() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    log(
        &mut book,
        &student,
        "day,toe_mm,high_mm,backspin_rpm,powder\n2026-04-02,1,2,2500,yes\n2026-04-03,,,2700,no\n",
    );
    assert!(brief(&book, "2026-05-04").unknown.contains(&Unknown::PowderedSpin { readings: 1 }));
}

#[test]
fn practice_is_counted_against_what_the_plan_asked_for_so_far() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    let plan = Plan::new(Name::new("Higher").unwrap(), day("2026-05-01"), Some(day("2026-05-21")));
    let drill = Drill::named(Name::new("Target dot").unwrap(), None);
    let new = NewDrill { drill, dose: Dose::new(3, 10, 3).unwrap(), note: None };
    let planned = begin_plan(&mut book, student.strand, now(2000), &plan, vec![new]).unwrap();
    for (tick, date) in [(2001, "2026-05-02"), (2002, "2026-05-05")] {
        let practice = Practice::of(planned[0], day(date), Count::new(3).unwrap(), Count::new(28).unwrap());
        log_practice(&mut book, student.strand, now(tick), &practice).unwrap();
    }
    // Ten days at three times a week ask for four whole times.
    let done = brief(&book, "2026-05-10").plan.unwrap().drills.remove(0);
    assert_eq!((done.asked_times, done.done_times, done.done_repetitions), (4, 2, 56));
    // After the plan's last day it asks for no more.
    assert_eq!(brief(&book, "2026-09-01").plan.unwrap().drills[0].asked_times, 9);
    let stray = Practice::of(
        RecordId(student.strand.0),
        day("2026-05-02"),
        Count::new(1).unwrap(),
        Count::new(1).unwrap(),
    );
    assert!(log_practice(&mut book, student.strand, now(2003), &stray).is_err());
}
