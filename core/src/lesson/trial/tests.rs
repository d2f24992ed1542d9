//! A trial's course, and its figures against scipy.

use super::power::detectable;
use super::*;
use crate::act::{NewTrial, begin_trial, end_trial, leave_out_ball};
use crate::book::{Book, BookError, StudentEntry};
use crate::lesson::fits;
use crate::lesson::tests::{book, log, now};
use crate::model::{Name, Role};

fn pairs(blocks: &[(f64, f64)]) -> Vec<Vec<Value>> {
    blocks.iter().map(|(first, second)| vec![(*first, false), (*second, true)]).collect()
}

#[test]
fn six_blocks_of_two_agree_with_scipys_permutation_test() {
    // scipy.stats.permutation_test(permutation_type='samples', n_resamples=inf) of
    // the mean difference: 5.333333333333333, p 0.09375.
    let blocks = pairs(&[(201., 207.), (188., 193.), (195., 191.), (210., 222.), (176., 185.), (199., 203.)]);
    let found = randomisation(&blocks, 0.9, b"").unwrap();
    assert!((found.estimate - 16.0 / 3.0).abs() < 1e-12);
    assert_eq!((found.p_value, found.orders, found.exact, found.blocks), (0.09375, 64, true, 6));
    // By hand: of 64 sign changes 3 may lie beyond an end, the true one among
    // them, so each end is the third of the 63 means of changed differences. From
    // below: -4, then (-4 + 4) / 2, then 0.333 = (-4 + 4 + 5 ... ) sorted.
    let (low, high) = (found.low.unwrap(), found.high.unwrap());
    assert!(low < 16.0 / 3.0 && 16.0 / 3.0 < high);
    for (end, outside) in [(low, low - 1e-6), (high, high + 1e-6)] {
        let refused = |shift: f64| {
            let shifted: Vec<Vec<Value>> =
                blocks.iter().map(|b| vec![b[0], (b[1].0 - shift, true)]).collect();
            randomisation(&shifted, 0.9, b"").unwrap().p_value <= 0.1
        };
        assert!(refused(outside) && !refused(end), "{end}");
    }
}

#[test]
fn one_block_of_six_agrees_with_scipys_permutation_test() {
    // scipy.stats.permutation_test(permutation_type='independent'): 1.7333333, p 0.2.
    let block: Vec<Value> =
        [(1.2, false), (4.1, true), (3.4, false), (2.9, true), (5.0, true), (2.2, false)].into();
    let found = randomisation(&[block], 0.9, b"").unwrap();
    assert!((found.estimate - 1.733_333_333_333_333_4).abs() < 1e-12);
    assert!((found.p_value - 0.2).abs() < 1e-12 && found.orders == 20);
}

#[test]
fn equal_values_show_nothing_and_a_block_of_one_arm_is_no_block() {
    let same = randomisation(&pairs(&[(5.0, 5.0); 6]), 0.9, b"").unwrap();
    assert_eq!((same.estimate, same.p_value), (0.0, 1.0));
    let lone: Vec<Vec<Value>> = vec![vec![(1.0, false), (2.0, false)], vec![(3.0, true)]];
    assert_eq!(randomisation(&lone, 0.9, b""), None);
    let few = randomisation(&pairs(&[(1.0, 2.0)]), 0.9, b"").unwrap();
    assert_eq!((few.p_value, few.low, few.high), (1.0, None, None), "two orders refuse nothing");
}

#[test]
fn drawn_orders_come_near_all_of_them_and_are_the_same_from_the_same_seed() {
    // 8 blocks of 4: 6^8 orders are drawn from; 6 blocks: all are gone through.
    let blocks: Vec<Vec<Value>> = (0..8)
        .map(|b| {
            (0..4).map(|n| (f64::from((b * 7 + n * 5 + b * n) % 11) + f64::from(n % 2), n % 2 == 1)).collect()
        })
        .collect();
    let drawn = randomisation(&blocks, 0.9, b"one").unwrap();
    assert_eq!((drawn.exact, drawn.orders), (false, 20_000));
    assert_eq!(drawn, randomisation(&blocks, 0.9, b"one").unwrap());
    let other = randomisation(&blocks, 0.9, b"two").unwrap();
    assert!((drawn.p_value - other.p_value).abs() < 0.02 && drawn != other);
    assert!((drawn.low.unwrap() - other.low.unwrap()).abs() < 0.1);
    assert!(randomisation(&blocks[..6], 0.9, b"").unwrap().exact);
}

#[test]
fn what_a_trial_can_see_agrees_with_the_noncentral_t_of_scipy() {
    // Roots of scipy.stats.nct power = 0.8 at SD 10.
    for (blocks, balls, expected) in [(6.0, 4.0, 12.136_883), (3.0, 4.0, 18.480_533), (24.0, 10.0, 3.633_087)]
    {
        let told = detectable(10.0, blocks, balls);
        assert!((told / expected - 1.0).abs() < 0.01, "{blocks} of {balls}: {told} {expected}");
    }
}

fn new(measure: Measure) -> NewTrial {
    NewTrial {
        kind: TrialKind::GrippedDown,
        arms: [Name::new("normal").unwrap(), Name::new("gripped down 1 in").unwrap()],
        measure,
        blocks: 3,
        balls: 4,
    }
}

fn begun(dir: &std::path::Path, measure: Measure) -> (Book, StudentEntry, RecordId) {
    let (mut book, student) = book(dir);
    let trial = begin_trial(&mut book, student.strand, now(2), new(measure)).unwrap();
    (book, student, trial.id)
}

fn result(book: &Book) -> TrialResult {
    let log = Log::read(book, &book.student("Ina").unwrap()).unwrap();
    TrialResult::of(&log, &fits(None, &log).unwrap(), latest(&log).unwrap())
}

/// Logs a ball on the day of the trial.
fn hit(book: &mut Book, student: &StudentEntry, ball: u16, carry: &str) {
    log(
        book,
        student,
        &format!("session,day,trial_ball,carry_m,start\ntrial,2026-04-24,{ball},{carry},straight\n"),
    );
}

/// The carry of a ball whose second arm carries 12 m less.
fn carry(book: &Book, ball: u16) -> String {
    let log = Log::read(book, &book.student("Ina").unwrap()).unwrap();
    let arm = latest(&log).unwrap().value.order.arm(BallNo::new(ball.into()).unwrap()).unwrap();
    (200 + (ball * 7) % 5 - 12 * arm.code() as u16).to_string()
}

#[test]
fn a_trial_tells_the_next_ball_and_nothing_of_the_difference_before_the_last() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student, _) = begun(dir.path(), Measure::Carry);
    for ball in 1..=12 {
        let found = result(&book);
        let next = found.standing.next.unwrap();
        assert_eq!((next.ball.get(), next.block), (ball, (ball - 1) / 4 + 1));
        assert!(found.withheld && found.measures.is_empty() && found.better.is_none());
        let carry = carry(&book, ball);
        hit(&mut book, &student, ball, &carry);
    }
    let found = result(&book);
    assert!(found.standing.is_over() && !found.withheld);
    let carry = found.measures.iter().find(|found| found.measure == Measure::Carry).unwrap();
    assert!(carry.judged_by && (carry.difference.estimate + 12.0).abs() < 3.0, "{carry:?}");
    assert_eq!((carry.balls, carry.source, carry.difference.orders), ([6, 6], Source::Read, 216));
    assert_eq!(found.better, Some(Arm::First));
    // A file that is logged again counts once.
    let twelfth = self::carry(&book, 12);
    hit(&mut book, &student, 12, &twelfth);
    assert_eq!(result(&book).standing.repeated, 0);
}

#[test]
fn a_lost_ball_is_hit_again_or_left_out_and_its_block_told() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student, id) = begun(dir.path(), Measure::Carry);
    let ball = |n| BallNo::new(n).unwrap();
    for n in (1..=12).filter(|n| *n != 3 && *n != 8) {
        let carry = carry(&book, n);
        hit(&mut book, &student, n, &carry);
    }
    assert_eq!(result(&book).standing.next.unwrap().ball, ball(3));
    // Hit, but the carry was not read: hit again, and that one counts.
    hit(&mut book, &student, 3, "");
    hit(&mut book, &student, 3, "150");
    assert_eq!(result(&book).standing.next.unwrap().ball, ball(8));
    leave_out_ball(&mut book, student.strand, now(900), id, ball(8)).unwrap();
    let found = result(&book);
    assert_eq!((found.standing.hit, found.standing.left_out, found.standing.repeated), (11, 1, 1));
    let carry = &found.measures[0];
    assert_eq!((carry.balls.iter().sum::<u32>(), carry.alone, carry.difference.blocks), (11, 0, 3));
    // A block can be drawn in 6 ways with 4 balls, in 3 with 3.
    assert_eq!(carry.difference.orders, 6 * 3 * 6);
    let low = carry.means[0].min(carry.means[1]);
    assert!(low < 195.0, "the ball that was hit again is among them: {carry:?}");
    let refused = leave_out_ball(&mut book, student.strand, now(901), id, ball(13)).unwrap_err();
    assert!(refused.to_string().contains("1 to 12"), "{refused}");
}

#[test]
fn a_trial_ended_early_shows_its_figures_and_calls_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student, id) = begun(dir.path(), Measure::Carry);
    for n in 1..=10 {
        let carry = carry(&book, n);
        hit(&mut book, &student, n, &carry);
    }
    end_trial(&mut book, student.strand, now(900), id).unwrap();
    let found = result(&book);
    assert!(!found.withheld && found.standing.next.is_none() && found.standing.ended.is_some());
    let carry = &found.measures[0];
    assert_eq!(carry.balls.iter().sum::<u32>() + carry.alone, 10);
    assert_eq!(found.better, None);
}

#[test]
fn a_ball_of_no_trial_or_beyond_its_order_is_refused_and_nothing_logged() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student) = book(dir.path());
    let log_one = |book: &mut Book, ball: u16, day: &str| -> Result<_, BookError> {
        let csv = format!("day,trial_ball,carry_m\n{day},1,190\n{day},{ball},200\n");
        let rows = crate::table::read(csv.as_bytes(), &crate::table::Options::default()).unwrap().rows;
        let unsaid = crate::act::Unsaid { day: crate::lesson::tests::day(day), place: None };
        crate::act::log_rows(book, student.strand, now(50), &rows, unsaid)
    };
    let none = log_one(&mut book, 2, "2026-05-01").unwrap_err().to_string();
    assert!(none.contains("begin a trial first"), "{none}");
    begin_trial(&mut book, student.strand, now(2), new(Measure::Miss)).unwrap();
    let beyond = log_one(&mut book, 13, "2026-05-01").unwrap_err().to_string();
    assert!(beyond.contains("1 to 12"), "{beyond}");
    assert!(log_one(&mut book, 2, "2026-01-01").is_err(), "a day before the trial");
    assert_eq!(book.summary(student.strand).unwrap().shots, 0);
    log_one(&mut book, 2, "2026-05-01").unwrap();
    assert_eq!(result(&book).standing.hit, 2);
}

#[test]
fn a_file_logged_again_after_the_next_trial_began_counts_once_and_for_the_first() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student, first) = begun(dir.path(), Measure::Carry);
    hit(&mut book, &student, 1, "200");
    let second = begin_trial(&mut book, student.strand, now(900), new(Measure::Carry)).unwrap().id;
    let count = |book: &Book| {
        let log = Log::read(book, &book.student("Ina").unwrap()).unwrap();
        [first, second].map(|id| {
            let trial = log.trials.iter().find(|trial| trial.id == id).unwrap();
            Standing::of(&log, trial).hit
        })
    };
    hit(&mut book, &student, 1, "200");
    assert_eq!(count(&book), [1, 0]);
    hit(&mut book, &student, 1, "201");
    assert_eq!(count(&book), [1, 1]);
    // Who knows the trial says so, and is believed.
    let day = crate::lesson::tests::day("2026-04-24");
    let row = crate::table::Row {
        day: Some(day),
        session: Some(Name::new("trial").unwrap()),
        trial_ball: Some(BallNo::new(2).unwrap()),
        trial: Some(first),
        ..crate::table::Row::default()
    };
    let unsaid = crate::act::Unsaid { day, place: None };
    crate::act::log_rows(&mut book, student.strand, now(950), &[row], unsaid).unwrap();
    assert_eq!(count(&book), [2, 1]);
}

#[test]
fn two_books_tell_the_same_next_ball_and_the_same_result_after_one_exchange() {
    let dir = tempfile::tempdir().unwrap();
    let (mut coach, student, id) = begun(dir.path(), Measure::Carry);
    let mut mine =
        Book::create(&dir.path().join("ina"), Name::new("Ina").unwrap(), Role::Student, now(800)).unwrap();
    crate::book::testing::meet(&mut coach, &mut mine);
    let send = |from: &mut Book, to: &mut Book, name: &str, tick| {
        let student = from.student("Ina").unwrap();
        let file = crate::book::testing::file(from, &student, name, now(tick), false);
        let receipt = crate::book::testing::receive(to, &file, now(tick));
        assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
    };
    coach
        .write(
            student.strand,
            now(801),
            [crate::book::Draft::put(RecordId(student.strand.0), &{
                let mut record = student.student.value.clone();
                record.person = Some(mine.owner().person);
                record
            })],
        )
        .unwrap();
    send(&mut coach, &mut mine, "Ina", 802);
    assert_eq!(result(&mine).standing, result(&coach).standing);
    let same = mine.student("Ina").unwrap();
    for n in 1..=11 {
        let carry = carry(&mine, n);
        hit(&mut mine, &same, n, &carry);
    }
    // The coach leaves one out that the student hit, and the last one, which nobody hit.
    for n in [4, 12] {
        leave_out_ball(&mut coach, student.strand, now(810 + n), id, BallNo::new(n as i64).unwrap()).unwrap();
    }
    send(&mut mine, &mut coach, "Bo", 820);
    send(&mut coach, &mut mine, "Ina", 821);
    assert_eq!(result(&mine), result(&coach));
    let standing = result(&mine).standing;
    assert_eq!((standing.hit, standing.left_out, standing.next), (11, 1, None));
    assert_eq!(mine.digest(student.strand).unwrap(), coach.digest(student.strand).unwrap());
}

#[test]
fn a_computed_carry_stands_in_for_all_balls_where_it_was_not_read_and_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let (mut book, student, _) = begun(dir.path(), Measure::Carry);
    for n in 1..=12_u16 {
        let order = {
            let log = Log::read(&book, &book.student("Ina").unwrap()).unwrap();
            latest(&log).unwrap().value.order.arm(BallNo::new(n.into()).unwrap()).unwrap()
        };
        let speed = 62.0 + f64::from(n % 3) * 0.3 - 3.0 * order.code() as f64;
        let carry = if n == 1 { "190" } else { "" };
        log(
            &mut book,
            &student,
            &format!("session,day,trial_ball,ball_speed_mps,carry_m\ntrial,2026-04-24,{n},{speed},{carry}\n"),
        );
    }
    let found = result(&book);
    assert_eq!((found.measures[0].source, found.measures[0].balls), (Source::Computed, [6, 6]));
    assert!(found.measures[0].difference.estimate < -4.0, "{found:?}");
}
