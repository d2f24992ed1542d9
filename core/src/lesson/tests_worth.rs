//! What a brief says of fixes, of the plan and of the tee is no more than its balls say.

use super::changed::Verdict;
use super::on_the_tee::{What, Why};
use super::tests::{book, day, log, now};
use super::*;
use crate::act::{NewDrill, begin_plan};
use crate::book::{Book, StudentEntry};
use crate::model::*;

/// Enough for what these tests ask, which is no question of a metre.
const DRIVES: usize = 400;

/// Sessions of six balls about a middle, two weeks apart from the first of each month.
fn sessions(middles: &[(f64, f64)], more: (&str, &str)) -> String {
    let mut csv = format!("session,day,toe_mm,high_mm,sigma_mm,read{}\n", more.0);
    for (n, (toe, high)) in middles.iter().enumerate() {
        for (x, y) in [(-4.0, 0.0), (4.0, 0.0), (0.0, 4.0), (0.0, -4.0), (3.0, 3.0), (-3.0, -3.0)] {
            let date = format!("2026-{:02}-{:02}", 1 + n / 2, 1 + 14 * (n % 2));
            csv += &format!("s{n},{date},{},{},1,photo{}\n", toe + x, high + y, more.1);
        }
    }
    csv
}

fn brief(book: &Book, student: &StudentEntry) -> Brief {
    let log = Log::read(book, &book.student(&student.strand.to_string()).unwrap()).unwrap();
    let brief = Brief::of(&log, &book.device_names().unwrap(), day("2026-12-31")).unwrap();
    assert_eq!(brief.what_if, None);
    brief.with_worth(Worth::of(&log, DRIVES))
}

fn brief_of(csv: &str) -> Brief {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    log(&mut book, &student, csv);
    brief(&book, &student)
}

const CENTRED: (f64, f64) = (0.0, 6.0);

#[test]
fn a_fix_of_what_was_not_read_is_not_called_worth_most_and_it_is_said_what_to_read() {
    // Tight centred marks: what is left to gain lies in speed and face, and neither was read.
    let brief = brief_of(&sessions(&[CENTRED; 6], ("", "")));
    let worth = brief.what_if.as_ref().unwrap();
    assert_eq!(worth.standing, Standing::Assumed);
    assert!(!worth.read_next.is_empty() && worth.read_next.iter().all(|q| worth.balls_behind(q) < 1.0));
    let unread: Vec<What> = brief.check_today.iter().map(|check| check.what).collect();
    assert!(unread.contains(&What::ReadHeadSpeed) && unread.contains(&What::ReadStartAndCurve), "{unread:?}");
    let heading = crate::words::worth::fix_heading(worth);
    assert_eq!(heading, "The fix worth most: not settled");
    let next = crate::words::worth::read_next(worth).unwrap();
    assert!(next.contains("not read, so assumed"));
    assert!(next.matches("powder the face").count() <= 1, "one reading is asked for once: {next}");
}

#[test]
fn few_balls_or_one_session_call_no_fix() {
    for middles in [&[(-15.0, -6.0); 3][..], &[(-15.0, -6.0)]] {
        let brief = brief_of(&sessions(middles, (",head_speed_mps,start", ",40,straight")));
        assert_eq!(brief.what_if.unwrap().standing, Standing::FewBalls);
    }
}

#[test]
fn strikes_far_off_with_speed_face_and_path_read_call_centring_worth_most() {
    let read = (",head_speed_mps,face_deg,path_deg", ",40,0,0");
    let brief = brief_of(&sessions(&[(-24.0, -16.0); 8], read));
    let worth = brief.what_if.as_ref().unwrap();
    assert_eq!(worth.found.fixes[0].name, super::what_if::FixName::CentreStrike);
    assert_eq!(worth.standing, Standing::Clear);
    assert_eq!(crate::words::worth::fix_heading(worth), "Worth most now: centre the strikes");
}

#[test]
fn a_student_who_has_changed_is_judged_by_what_they_do_now() {
    let mut middles = vec![(-18.0, -6.0); 3];
    middles.extend([CENTRED; 5]);
    let worth = brief_of(&sessions(&middles, ("", ""))).what_if.unwrap();
    let toe = worth.found.model.mean[5];
    assert!(toe.abs() < 2.0, "{toe}");
    assert_eq!((worth.found.model.sessions, worth.from), (5, Some(day("2026-02-15"))));
}

#[test]
fn nothing_read_leaves_the_fixes_out_and_a_club_that_none_can_be_is_said() {
    let empty = brief_of("day,place\n2026-04-02,range\n");
    assert_eq!(empty.what_if, None);
    let problem = crate::flight::FlightError::NoFit;
    let told = empty.with_worth(Err(problem.clone()));
    assert!(told.unknown.contains(&Unknown::NoWorth { problem: problem.to_string() }));
}

/// The effect of a plan for a purpose, on a student who moves between two middles.
fn effect(purpose: Purpose, from: (f64, f64), to: (f64, f64)) -> (Verdict, EffectVerdict) {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    let mut middles: Vec<(f64, f64)> = (0..3).map(|n| (from.0 + f64::from(n % 2), from.1)).collect();
    middles.extend((0..9).map(|n| (to.0 + f64::from(n % 2), to.1)));
    log(&mut book, &student, &sessions(&middles, ("", "")));
    let plan = Plan::new(Name::new("Move it").unwrap(), day("2026-02-01"), None);
    let drill = Drill::named(Name::new("Dot").unwrap(), Some(purpose));
    let new = NewDrill { drill, dose: Dose::new(3, 10, 3).unwrap(), note: None };
    begin_plan(&mut book, student.strand, now(9_000), &plan, vec![new]).unwrap();
    let brief = brief(&book, &student);
    let plan = brief.plan.unwrap();
    assert_eq!((plan.effects.len(), plan.effects[0].purpose), (1, purpose));
    (brief.changed.unwrap().verdict, plan.effects[0].verdict)
}

#[test]
fn a_plan_worked_where_the_middle_was_called_nearer_and_failed_where_it_was_called_farther() {
    let off = (16.0, 6.0);
    let (verdict, nearer) = effect(Purpose::ContactBias, off, CENTRED);
    assert_eq!(verdict, Verdict::Changed);
    assert!(matches!(nearer, EffectVerdict::Better { .. }), "{nearer:?}");
    let (_, farther) = effect(Purpose::ContactBias, CENTRED, off);
    assert!(matches!(farther, EffectVerdict::Worse { .. }), "{farther:?}");
    // A middle that moved says nothing of a plan for the scatter, or for speed.
    assert_eq!(effect(Purpose::ContactScatter, off, CENTRED).1, EffectVerdict::NotShown);
    assert_eq!(effect(Purpose::Speed, off, CENTRED).1, EffectVerdict::NotFollowed);
    assert_eq!(effect(Purpose::Feel, off, CENTRED).1, EffectVerdict::TooEarly);
    assert_eq!(effect(Purpose::ContactBias, CENTRED, CENTRED).1, EffectVerdict::NotShown);
}

#[test]
fn a_low_heel_bias_asks_for_tee_height_and_distance_and_a_centred_tight_one_for_neither() {
    let what = |brief: &Brief| brief.check_today.iter().map(|check| check.what).collect::<Vec<_>>();
    let biased = brief_of(&sessions(&[(-12.0, -8.0); 4], ("", "")));
    assert_eq!(what(&biased)[..2], [What::TeeHigher, What::StandFarther]);
    assert!(matches!(biased.check_today[0].why, Why::OffCentre { marks: 6, .. }), "{:?}", biased.check_today);
    let centred = what(&brief_of(&sessions(&[CENTRED; 4], ("", ""))));
    let moves = [What::TeeHigher, What::TeeLower, What::StandFarther, What::StandNearer, What::HoldFinish];
    assert!(!moves.iter().any(|check| centred.contains(check)), "{centred:?}");
    assert!(centred.contains(&What::GuessFirst));
}

#[test]
fn loose_strikes_ask_for_the_finish_only_where_it_is_lost() {
    let loose = |finish: &str| {
        let mut csv = String::from("day,toe_mm,high_mm,sigma_mm,read,finish_held\n");
        for n in 0..24 {
            let (x, y) = [(-22, 6), (22, 6), (0, 22), (0, -10)][n % 4];
            csv += &format!("2026-03-{:02},{x},{y},1,photo,{finish}\n", 1 + n / 6);
        }
        let found = brief_of(&csv).check_today;
        found.iter().map(|check| check.what).collect::<Vec<_>>()
    };
    assert!(loose("no").contains(&What::HoldFinish));
    assert!(!loose("yes").contains(&What::HoldFinish));
    assert!(loose("").contains(&What::HoldFinish) && loose("").contains(&What::TryGripDown));
}
