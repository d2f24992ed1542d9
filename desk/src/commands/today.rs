//! `today`: what to do now, and doing it, tap by tap.

use std::path::Path;

use chalkface_core::act::{begin_drill, do_drill, log_drill_ball};
use chalkface_core::book::{Book, StudentEntry};
use chalkface_core::model::{Guess, MarkRead, Moment, RecordId, Refusal, StepNo, StrikeMark};
use chalkface_core::plan::{self, Tap, Today as Now, find_planned};
use chalkface_core::screen::{Page, doing_page, today_page};
use chalkface_core::table::Row;
use serde_json::json;

use super::plan::Homework;
use super::record::whose;
use crate::cli::plan::{Ball, Today, TodayCommand};
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::render::{self, text};

pub fn run(path: &Path, json: bool, options: Today) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let student = whose(&book, options.student.as_deref())?;
    let Some(command) = options.command else {
        let day = options.day.map_or_else(clock::today, Ok)?;
        let homework = Homework::read(&book, student)?;
        let (now, page) = page_of(&book, &homework, day, clock::now()?.at)?;
        let Some(out) = &options.out else {
            return print(json, &now, || text::page(&page, text::WIDTH));
        };
        render::write_page(&now, &page, out)?;
        return print(json, &json!({ "file": out, "student": homework.name() }), || {
            format!("{}: today's drills of {}", out.display(), homework.name())
        });
    };
    if options.day.is_some() || options.out.is_some() {
        let allowed = "neither --day nor --out";
        return Err(
            Refusal::new("today", "both", allowed, "a drill is done now, and counted as it is").into()
        );
    }
    let practice = take(&mut book, &student, command)?;
    let homework = Homework::read(&book, student)?;
    let at = clock::now()?.at;
    let (now, _) = page_of(&book, &homework, at.local_day(), at)?;
    let of = homework.papers.practice.iter().find(|entry| entry.id == practice);
    let item =
        now.drills.iter().find(|item| of.is_some_and(|entry| entry.value.planned == item.drill.planned));
    let value = json!({ "practice": of.map(|entry| &entry.value), "today": item });
    print(json, &value, || {
        item.map(|item| text::page(&doing_page(item, at, &homework.drills()), text::WIDTH))
            .unwrap_or_default()
    })
}

fn page_of(
    book: &Book,
    homework: &Homework,
    day: chalkface_core::model::Day,
    at: Moment,
) -> Result<(Now, Page), DeskError> {
    let shown = homework.shown(day)?;
    let now = plan::today(&homework.papers, &shown, book.device());
    let page = today_page(homework.name(), &now, shown.stop.is_some(), at, &homework.drills());
    Ok((now, page))
}

/// Does what was said, and answers the practice that it was.
fn take(book: &mut Book, student: &StudentEntry, command: TodayCommand) -> Result<RecordId, DeskError> {
    let (drill, tap) = match command {
        TodayCommand::Begin { drill } => {
            let shown = Homework::read(book, student.clone())?.shown(clock::today()?)?;
            let planned = find_planned(&shown, &drill)?.planned;
            return Ok(begin_drill(book, student, clock::now()?, planned)?);
        }
        TodayCommand::Ball(ball) => {
            let practice = under_way(book, student, ball.drill.as_deref())?;
            log_drill_ball(book, student, clock::now()?, practice, &row(&ball)?.shot(RecordId::UNNAMED))?;
            return Ok(practice);
        }
        TodayCommand::Count { good, missed, drill } => {
            (drill, Tap::Count { good: (good || missed).then_some(good) })
        }
        TodayCommand::Step { step, drill } => (drill, Tap::Step { to: StepNo::new(step)? }),
        TodayCommand::SetDone { drill } => (drill, Tap::SetDone),
        TodayCommand::RestDone { drill } => (drill, Tap::RestDone),
        TodayCommand::Undo { drill } => (drill, Tap::Undo),
        TodayCommand::End { drill } => (drill, Tap::End),
    };
    let practice = under_way(book, student, drill.as_deref())?;
    do_drill(book, student, clock::now()?, practice, tap)?;
    Ok(practice)
}

/// The practice that is under way on this device today: the only one, or that of a drill.
fn under_way(book: &Book, student: &StudentEntry, drill: Option<&str>) -> Result<RecordId, DeskError> {
    let homework = Homework::read(book, student.clone())?;
    let shown = homework.shown(clock::today()?)?;
    let wanted = drill.map(|drill| find_planned(&shown, drill)).transpose()?.map(|drill| drill.planned);
    let now = plan::today(&homework.papers, &shown, book.device());
    let of_wanted = now.drills.iter().filter(|item| wanted.is_none_or(|wanted| item.drill.planned == wanted));
    let going: Vec<_> = of_wanted.filter_map(|item| Some((item, item.going.as_ref()?))).collect();
    match going.as_slice() {
        [(_, only)] => Ok(only.practice),
        [] => {
            let allowed = "a drill that is under way";
            Err(Refusal::new("drill", drill.unwrap_or("none"), allowed, "begin it with `today begin DRILL`")
                .into())
        }
        several => {
            let names: Vec<&str> = several.iter().map(|(item, _)| item.drill.name.as_str()).collect();
            let allowed = format!("--drill with one of: {}", names.join(", "));
            Err(Refusal::new("drill", "not said", allowed, "several are under way").into())
        }
    }
}

fn row(ball: &Ball) -> Result<Row, Refusal> {
    let mark = |(toe, high)| StrikeMark::new(toe, high, None, MarkRead::Tap);
    let guess = |(toe, high): (f64, f64)| Ok(Guess { toe_mm: toe.try_into()?, high_mm: high.try_into()? });
    Ok(Row {
        mark: ball.strike.map(mark).transpose()?,
        guess: ball.guess.map(guess).transpose()?,
        start_by_eye: ball.start,
        finish_held: ball.held,
        powder: ball.powder.then_some(true),
        ..Row::default()
    })
}
