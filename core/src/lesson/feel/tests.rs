//! What feel says of made-up students whose feel is known.

use super::tests_coverage::Student;
use super::*;
use crate::dice::Dice;

fn pair(guess: [f64; 2], mark: [f64; 2], sigma_mm: f64) -> Pair {
    Pair { guess_mm: guess, mark_mm: mark, sigma_mm }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * (1.0 + b.abs())
}

#[test]
fn no_pairs_say_nothing_and_felt_strikes_keep_the_assumed_error() {
    let feel = Feel::from_sessions::<Vec<Pair>>(&[]);
    assert_eq!((feel.pairs, feel.sessions, feel.knows), (0, 0, Knows::Open));
    assert!(feel.rms_error_mm.is_none() && feel.toe.slope.is_none() && feel.trend.called.is_none());
    assert_eq!(felt_error(&feel), (10.0, 10.0));
    assert_eq!((feel.felt_sigma_mm.own, feel.felt_sigma_mm.more_pairs), (false, 12));
    let mark = mark_from_felt(&feel, 7.0, -3.0);
    assert_eq!((mark.toe_mm, mark.high_mm, mark.sigma_toe_mm, mark.own), (7.0, -3.0, 10.0, false));
}

#[test]
fn figures_by_hand_on_four_pairs_read_without_error() {
    // Toe: guesses 0 2 4 6, marks 1 2 6 7. By hand: offset 12/4 - 16/4 = -1; about
    // the means (-3 -1 1 3) and (-3 -2 2 3): 22 and 26 against guesses' 20, so the
    // slope of guess on mark is 22/26 and the correlation 22/sqrt(20 * 26).
    let pairs: Vec<Pair> =
        [(0.0, 1.0), (2.0, 2.0), (4.0, 6.0), (6.0, 7.0)].map(|(g, m)| pair([g, 0.0], [m, g], 0.0)).into();
    let feel = Feel::from_sessions(&[pairs]);
    assert!(near(feel.toe.offset_mm.unwrap().estimate, -1.0));
    assert!(near(feel.toe.slope.unwrap().estimate, 22.0 / 26.0));
    assert!(near(feel.toe.correlation.unwrap().estimate, 22.0 / (20.0_f64 * 26.0).sqrt()));
    assert_eq!(feel.toe.slope.unwrap().low, None, "four balls give no interval");
    // Toward the crown the guess never moves: a slope of 0, and no correlation.
    assert_eq!((feel.high.slope.unwrap().estimate, feel.high.correlation), (0.0, None));
    // Distances squared: 1, 4, 20, 37; 62 / 4. Constant: variances 26/3 and 20/3.
    assert!(near(feel.rms_error_mm.unwrap().estimate, (62.0_f64 / 4.0).sqrt()));
    assert!(near(feel.relative_error.unwrap().estimate, (62.0_f64 / 4.0 / (46.0 / 3.0)).sqrt()));
}

#[test]
fn always_guessing_the_middle_is_never_taken_for_skill() {
    let mut dice = Dice::new(1);
    let mut known = [0; 3];
    for _ in 0..400 {
        let student = Student { slope: 0.0, noise_mm: 0.0, ..Student::default() };
        let feel = Feel::from_sessions(&student.season(&mut dice, 8, 8));
        known[feel.knows as usize] += 1;
        assert!(near(feel.toe.slope.unwrap().estimate, 0.0));
        // Its felt strikes stand for the average strike, as unsure as strikes are.
        let (toe, high) = felt_error(&feel);
        assert!(toe > 6.0 && high > 4.5, "{toe} {high}");
        assert!(near(feel.mark_from_felt(0.0, 0.0).toe_mm, feel.mark_from_felt(9.0, 0.0).toe_mm));
    }
    assert_eq!(known[0], 0, "{known:?}");
}

#[test]
fn guesses_that_have_nothing_to_do_with_the_strike_are_hardly_ever_taken_for_skill() {
    let mut dice = Dice::new(5);
    for noise_mm in [1.0, 3.0, 8.0] {
        let student = Student { slope: 0.0, noise_mm, days_mm: 3.0, ..Student::default() };
        let yes = (0..300)
            .filter(|_| Feel::from_sessions(&student.season(&mut dice, 8, 8)).knows == Knows::Yes)
            .count();
        assert!(yes <= 15, "{noise_mm} mm: {yes} of 300");
    }
}

#[test]
fn a_student_who_feels_it_is_told_so_and_a_lean_of_the_guess_is_taken_out() {
    let mut dice = Dice::new(2);
    let student = Student { slope: 0.5, noise_mm: 2.0, lean_mm: 6.0, ..Student::default() };
    let feel = Feel::from_sessions(&student.season(&mut dice, 30, 10));
    assert_eq!(feel.knows, Knows::Yes);
    assert_eq!(feel.intervals_by, Unit::Sessions);
    let offset = feel.toe.offset_mm.unwrap();
    assert!(offset.low.unwrap() > 4.0 && offset.high.unwrap() < 8.0, "{offset:?}");
    let slope = feel.toe.slope.unwrap().estimate;
    assert!((slope - 0.5).abs() < 0.05, "{slope}");
    // Guess = 6 + mark / 2 + noise: a guess of 11 stands for a mark between the
    // 10 that would be so without noise and the mean, 0.
    let mark = feel.mark_from_felt(11.0, 6.0);
    assert!(mark.toe_mm > 6.0 && mark.toe_mm < 10.0 && mark.own, "{mark:?}");
    assert!(mark.sigma_toe_mm > 2.5 && mark.sigma_toe_mm < 5.0, "{mark:?}");
}

#[test]
fn felt_strikes_are_as_far_from_the_mark_as_is_said_of_them() {
    // A new ball's true strike within 1.645 stated errors in about 90 %.
    let mut dice = Dice::new(3);
    for (sessions, balls) in [(2, 6), (5, 8), (20, 10)] {
        let (mut inside, mut all) = (0.0, 0.0);
        for _ in 0..600 {
            let student = Student { slope: 0.6, noise_mm: 4.0, lean_mm: 3.0, ..Student::default() };
            let feel = Feel::from_sessions(&student.season(&mut dice, sessions, balls));
            for (new, truth) in student.session_with_truth(&mut dice, 10) {
                let mark = feel.mark_from_felt(new.guess_mm[0], new.guess_mm[1]);
                inside += f64::from((mark.toe_mm - truth[0]).abs() < 1.645 * mark.sigma_toe_mm);
                inside += f64::from((mark.high_mm - truth[1]).abs() < 1.645 * mark.sigma_high_mm);
                all += 2.0;
            }
        }
        let share = inside / all;
        assert!((0.87..=0.95).contains(&share), "{sessions} of {balls}: {share}");
    }
}

#[test]
fn the_marks_own_error_does_not_make_a_student_look_worse() {
    let mut dice = Dice::new(4);
    let student = Student { slope: 1.0, noise_mm: 3.0, sigma_mm: 3.0, ..Student::default() };
    let feel = Feel::from_sessions(&student.season(&mut dice, 200, 10));
    // Truth: slope 1, error 3 mm along each axis.
    assert!((feel.toe.slope.unwrap().estimate - 1.0).abs() < 0.05, "{:?}", feel.toe);
    assert!((feel.rms_error_mm.unwrap().estimate - 3.0 * 2.0_f64.sqrt()).abs() < 0.25);
    let (toe, _) = felt_error(&feel);
    assert!((toe - 2.85).abs() < 0.3, "{toe}");
}
