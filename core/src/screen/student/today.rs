//! Today: the plan step by step, with big counters, a rest clock, and cautions where a step
//! needs them.
//!
//! The rule: every tap is in the book before it is answered; where an interrupted app goes
//! on is the book's word, not the screen's.

use crate::act::{begin_drill, do_drill};
use crate::book::{Book, StudentEntry};
use crate::model::{Day, RecordId};
use crate::plan::{Balls, Papers, Tap, Today, TodayDrill, read, today};
use crate::screen::control::{Control, Look};
use crate::screen::drill::Records;
use crate::screen::event::Event;
use crate::screen::part::Part;
use crate::screen::parts::text;
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Problem, See, Wanted};
use crate::screen::today_page;
use crate::words::screen::{keep, today as say};

const BEGIN: &str = "begin";
const COUNT: &str = "count";
const GOOD: &str = "good";
const MISSED: &str = "missed";
const HIT: &str = "hit";
const SET: &str = "set";
const REST: &str = "rest";
const END: &str = "end";
const TAKE_IN: &str = "today.take_in";
const BALL: &str = "today.ball";
const SPEED: &str = "today.speed";
const GONE: &str = "today.gone";
const ANEW: &str = "today.anew";

/// A student's plan as it stands on a day.
struct Now {
    today: Today,
    stop: bool,
    drills: Records,
}

fn now(book: &Book, student: &StudentEntry, day: Day) -> Result<Option<Now>, Problem> {
    let papers = Papers::read(book, student)?;
    let Some(shown) = read(&papers, &book.device_names()?, day) else { return Ok(None) };
    let drills = papers.drills.iter().map(|(id, entry)| (*id, entry.value.clone())).collect();
    Ok(Some(Now { today: today(&papers, &shown, book.device()), stop: shown.stop.is_some(), drills }))
}

/// What is shown where everything was erased.
fn nothing(see: &See<'_>) -> Shown {
    let mut shown = Shown::new(say::TITLE, crate::words::number::day(see.day()));
    shown.add(text("today.nothing", keep::NOTHING));
    shown.add(Control::way(GONE, keep::GONE, keep::GONE_HINT));
    shown.add(Control::way(ANEW, keep::ANEW, keep::ANEW_HINT));
    shown
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let book = see.book()?;
    if book.students()?.is_empty() {
        return Ok(nothing(see));
    }
    let student = see.student()?;
    let name = student.student.value.name.as_str();
    let Some(now) = now(book, &student, see.day())? else {
        let mut shown = Shown::new(say::TITLE, crate::words::number::day(see.day()));
        shown.add(text("today.empty", say::EMPTY));
        shown.add(Control::way(BALL, say::BALL, say::BALL_HINT));
        shown.add(Control::way(TAKE_IN, crate::words::screen::rest::TAKE_IN, say::TAKE_IN_HINT));
        return Ok(shown);
    };
    let page = today_page(name, &now.today, now.stop, see.at, &now.drills);
    let mut shown = Shown::new(page.title, page.subtitle);
    for block in page.blocks {
        let of = block.key().strip_prefix("now.").map(str::to_owned);
        shown.add(block);
        let item =
            now.today.drills.iter().find(|item| of.as_deref() == Some(&item.drill.planned.to_string()));
        if let Some(item) = item {
            shown.parts.extend(controls(item, see.at.utc_ms));
        }
    }
    shown.add(Control::way(SPEED, crate::words::screen::rest::SPEED, crate::words::screen::rest::SPEED_HINT));
    Ok(shown)
}

/// What to tap for one drill.
fn controls(item: &TodayDrill, at_ms: i64) -> Vec<Part> {
    let key = |what: &str| format!("do.{what}.{}", item.drill.planned);
    let name = item.drill.name.as_str();
    let Some(going) = &item.going else {
        return vec![Control::action(key(BEGIN), say::begin(name), Look::Plain).into()];
    };
    let mut controls = Vec::new();
    let resting = going.at.rest_until_ms.filter(|until| *until > at_ms);
    if let Some(ends_ms) = resting {
        let seconds = u32::try_from(item.rest_s).unwrap_or(0);
        controls.push(Control::Clock { key: key("clock"), name: say::REST.into(), ends_ms, seconds });
        controls.push(Control::action(key(REST), say::REST_DONE, Look::Plain));
    }
    let (count, of) = (going.at.in_set.get().max(0) as u64, item.repetitions.max(0) as u64);
    let counter = |what: &str, name: String| Control::Counter {
        key: key(what),
        name,
        count,
        of: Some(of),
        says: say::counted(count, of, item.sets_done.max(0) as u64),
    };
    if going.asks_whether_good {
        controls.push(counter(GOOD, say::good(name)));
        controls.push(counter(MISSED, say::missed(name)));
    } else {
        controls.push(counter(COUNT, say::one_more(name)));
    }
    if going.balls_of != Balls::None {
        controls.push(Control::way(key(HIT), say::hit(name), say::HIT_HINT));
    }
    if count > 0 {
        controls.push(Control::action(key(SET), say::SET_DONE, Look::Plain));
    }
    controls.push(Control::action(key(END), say::END, Look::Plain));
    controls.into_iter().map(Part::from).collect()
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let way = match key.as_str() {
        TAKE_IN => Some(Place::TakeIn),
        BALL => Some(Place::Ball),
        SPEED => Some(Place::Speed),
        GONE => Some(Place::Gone),
        ANEW => Some(Place::NewStudent),
        _ => None,
    };
    if let Some(place) = way {
        doing.go(Frame::new(place));
        return Ok(());
    }
    let mut parts = key.splitn(3, '.').skip(1);
    let (Some(what), Some(of)) = (parts.next(), parts.next()) else { return Ok(()) };
    let planned: RecordId = crate::screen::both::sessions::record(of)?;
    let student = doing.student()?;
    let now = now(doing.book()?, &student, doing.day())?;
    let gone = || Problem(say::GONE.into());
    let now = now.ok_or_else(gone)?;
    let item = now.today.drills.iter().find(|item| item.drill.planned == planned).ok_or_else(gone)?;
    let (strand, name) = (student.strand, item.drill.name.as_str());
    if what == BEGIN {
        doing.write(strand, say::begun(name), |book, now| begin_drill(book, &student, now, planned))?;
        return Ok(());
    }
    let practice = item.going.as_ref().ok_or_else(gone)?.practice;
    if what == HIT {
        doing.go(Frame::new(Place::Ball).about(practice));
        return Ok(());
    }
    let (tap, named) = match what {
        COUNT => (Tap::Count { good: None }, say::one_of(name)),
        GOOD => (Tap::Count { good: Some(true) }, say::one_of(name)),
        MISSED => (Tap::Count { good: Some(false) }, say::one_of(name)),
        SET => (Tap::SetDone, say::set_of(name)),
        REST => (Tap::RestDone, say::rest_of(name)),
        END => (Tap::End, say::end_of(name)),
        _ => return Ok(()),
    };
    doing.write(strand, named, |book, now| do_drill(book, &student, now, practice, tap))?;
    doing.ask(Wanted::Buzz);
    Ok(())
}
