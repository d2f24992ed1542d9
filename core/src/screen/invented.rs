//! Invented people to look around with, before one's own book begins.
//!
//! The rule: they stand in a book of their own beside the one to come, nothing of them can
//! be sent to anybody, and that book is taken away when they are left. Start at [`invent`].

use crate::act::{NewDrill, NewStudent, add_student, begin_plan};
use crate::book::{Book, BookError, Draft};
use crate::model::quantity::HeadSpeed;
use crate::model::{
    Ball, CurveByEye, Day, Dose, Hand, MarkRead, Minter, Moment, Name, Now, Place, Plan, Reading, Readings,
    RecordId, Refusal, Role, Session, Shot, SpeedLimits, StartByEye, StockDrill, StrikeMark, UnitSystem,
};
use crate::words::screen::first_use as say;

/// A student, with how they strike before the plan and since.
struct Invented {
    name: &'static str,
    hand: Hand,
    units: UnitSystem,
    /// Toe, high (mm), their spread, and where the ball starts (about -1 to 1).
    before: [f64; 4],
    since: [f64; 4],
    speed_mps: f64,
    drill: StockDrill,
}

const PEOPLE: [Invented; 3] = [
    Invented {
        name: "Nora Lindqvist",
        hand: Hand::Right,
        units: UnitSystem::Metric,
        before: [-15.0, 3.0, 8.0, 0.6],
        since: [-6.0, 2.0, 7.0, 0.4],
        speed_mps: 40.5,
        drill: StockDrill::DistanceLadder,
    },
    Invented {
        name: "Tomas Okafor",
        hand: Hand::Left,
        units: UnitSystem::Imperial,
        before: [4.0, -9.0, 10.0, 0.0],
        since: [3.0, -8.0, 9.5, 0.0],
        speed_mps: 45.0,
        drill: StockDrill::TeeLadder,
    },
    Invented {
        name: "Aiko Weber",
        hand: Hand::Right,
        units: UnitSystem::Metric,
        before: [1.0, 1.0, 14.0, -0.5],
        since: [0.0, 2.0, 10.0, -0.4],
        speed_mps: 36.0,
        drill: StockDrill::HeldFinish,
    },
];
/// Sessions before the plan, since, and days from one to the next.
const BEFORE: i64 = 5;
const SINCE: i64 = 4;
const EVERY_DAYS: i64 = 3;
const BALLS: i64 = 12;

/// Who the owner of such a book is.
pub fn owner(role: Role) -> &'static str {
    if role == Role::Student { PEOPLE[0].name } else { say::INVENTED_COACH }
}

/// Fills a new book: a coach's with all of them, a student's with the first one.
///
/// # Errors
/// What the storage reports.
pub fn invent(book: &mut Book, now: Now) -> Result<(), BookError> {
    let whole = book.owner().role != Role::Student;
    let people = if whole { &PEOPLE[..] } else { &PEOPLE[..1] };
    let today = now.at.local_day();
    for (n, one) in people.iter().enumerate() {
        let at = |step: i64| told(now, n, step, 0);
        let new = NewStudent {
            name: Name::new(one.name)?,
            hand: one.hand,
            units: one.units,
            birth_year: Some(crate::model::BirthYear::new(1988)?),
        };
        let entry = add_student(book, at(0), new)?;
        let day = |step: i64| Day::from_number(today.number() - (BEFORE + SINCE - step) * EVERY_DAYS);
        for step in 0..BEFORE + SINCE {
            let drafts = session(one, n, step, day(step)?, &mut Minter::new(at(step + 1)))?;
            book.write(entry.strand, at(step + 1), drafts)?;
            if step + 1 == BEFORE {
                let mut student = entry.student.value.clone();
                student.baseline_until = Some(day(step)?);
                book.write(
                    entry.strand,
                    told(now, n, step + 1, 1),
                    [Draft::put(RecordId(entry.strand.0), &student)],
                )?;
                let plan = Plan {
                    aim: Name::new(say::INVENTED_AIM)?,
                    from: Day::from_number(day(step)?.number() + 1)?,
                    until: Some(Day::from_number(today.number() + 4)?),
                    speed: SpeedLimits::default(),
                };
                let drill = crate::words::drill::record(one.drill)?;
                let drills = vec![NewDrill { drill, dose: Dose::new(2, 10, 3)?, note: None }];
                begin_plan(book, entry.strand, told(now, n, step + 1, 2), &plan, drills)?;
            }
        }
    }
    Ok(())
}

/// The clock of a step: at its place among all steps, in the hour before now.
fn told(now: Now, person: usize, step: i64, more: u8) -> Now {
    let mut entropy = now.entropy;
    for (to, with) in entropy.iter_mut().zip([person as u8 + 1, step as u8 + 1, more + 1]) {
        *to ^= with;
    }
    let earlier_ms = 1000 * (3000 - 100 * person as i64 - 4 * step - i64::from(more));
    Now { at: Moment { utc_ms: now.at.utc_ms - earlier_ms, ..now.at }, entropy }
}

/// About normal, from -2 to 2, without a die: parts of multiples of irrational numbers.
fn spread(n: i64, which: usize) -> f64 {
    let part = |by: f64| (n as f64 * by).fract();
    let by = [0.618_034, 0.414_214, 0.732_051, 0.236_068, 0.645_751];
    let of = |k: usize| by.get((which + k) % by.len()).copied().map_or(0.5, part);
    // Three uniform numbers have a variance of a quarter.
    2.0 * (of(0) + of(1) + of(2) - 1.5)
}

fn session(
    one: &Invented,
    person: usize,
    step: i64,
    day: Day,
    minter: &mut Minter,
) -> Result<Vec<Draft>, Refusal> {
    let [toe, high, wide, start] = if step < BEFORE { one.before } else { one.since };
    let id = minter.record();
    let session = Session {
        name: Name::new(say::INVENTED_SESSION)?,
        day,
        place: Some(Place::Range),
        ball: Some(Ball::Range),
        powder: Some(true),
        club: None,
    };
    let mut drafts = vec![Draft::put(id, &session)];
    for ball in 0..BALLS {
        let n = 1 + ball + BALLS * (step + 20 * person as i64);
        let tenth = |mm: f64| libm::round(10.0 * mm) / 10.0;
        let mark = StrikeMark::new(
            tenth(toe + wide * spread(n, 0)),
            tenth(high + 0.7 * wide * spread(n, 1)),
            None,
            MarkRead::Tap,
        )?;
        let side = start + 0.8 * spread(n, 2);
        let curve = 0.4 * spread(n, 3) - 0.03 * (toe + wide * spread(n, 0));
        let third = |value: f64| i64::from(value > 0.5) - i64::from(value < -0.5);
        let head = HeadSpeed::new(tenth(one.speed_mps + 0.8 * spread(n, 4)))?;
        let shot = Shot {
            mark: Some(mark),
            start_by_eye: StartByEye::from_code(third(side)),
            curve_by_eye: CurveByEye::from_code(third(curve)),
            finish_held: Some(spread(n, 2).abs() < 0.9),
            readings: Readings {
                head_speed: Some(Reading { value: head, sigma: None }),
                ..Readings::default()
            },
            ..Shot::of(id)
        };
        drafts.push(Draft::put(minter.record(), &shot));
    }
    Ok(drafts)
}
