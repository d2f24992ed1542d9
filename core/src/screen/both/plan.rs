//! The plan: what to do, what was done, what came of it, both values where both sides
//! wrote; and ways to change it. Student and coach may both edit it.

use std::sync::Arc;

use crate::act::{Edit, PlanChange, edit_plan};
use crate::book::Book;
use crate::model::{Count, Day, RecordId, SpeedLimits};
use crate::plan::{Papers, Progress, Shown as Read, read};
use crate::screen::block::Page;
use crate::screen::control::{Control, FieldKind, ListRow, Look, RowsPage};
use crate::screen::event::Event;
use crate::screen::part::Part;
use crate::screen::parts::{field_from, heading, text, whole};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Ask, Do, Found, Frame, Problem, See};
use crate::screen::{plan_page, reads};
use crate::words::screen::{plan as say, sessions};

use super::sessions::{list, page, record};

const DRILLS: &str = "plan.drills";
const ADD: &str = "plan.add";
const PROPOSE: &str = "plan.propose";
const UNTIL: &str = "plan.until";
const A_DAY: &str = "plan.a_day";
const A_WEEK: &str = "plan.a_week";
const REST: &str = "plan.rest";
const SAVE: &str = "plan.save";
/// So many changes are worked out at once.
const AT_ONCE: u64 = 600;

/// The plan in force on a day.
///
/// # Errors
/// What the book reports.
pub fn in_force(book: &Book, student: &crate::book::StudentEntry, day: Day) -> Result<Option<Read>, Problem> {
    let papers = Papers::read(book, student)?;
    Ok(read(&papers, &book.device_names()?, day))
}

fn compute(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let (student, log) = reads::log(book, ask)?;
    let names = book.device_names()?;
    let papers = Papers::read(book, &student)?;
    let drills = papers.drills.iter().map(|(id, entry)| (*id, entry.value.clone())).collect();
    let found = read(&papers, &names, ask.day).map(|shown| {
        let progress = Progress::of(shown, &log, &names);
        plan_page(log.student.name.as_str(), log.student.units, &progress, &drills)
    });
    Ok(Arc::new(found))
}

fn drills(read: &Read) -> Vec<ListRow> {
    read.drills
        .iter()
        .filter(|drill| !drill.dropped)
        .map(|drill| ListRow {
            key: drill.planned.to_string(),
            name: drill.name.clone(),
            detail: crate::words::plan::dose_cell(drill),
            figure: String::new(),
            flag: if drill.conflicts.is_empty() { String::new() } else { say::BOTH_WROTE.into() },
        })
        .collect()
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student, held) = (see.book()?, see.student()?, see.held());
    let mut shown = Shown::new(say::TITLE, student.student.value.name.as_str());
    let Some(plan) = in_force(book, &student, see.day())? else {
        shown.add(text("plan.empty", say::EMPTY));
        shown.add(Control::way(PROPOSE, say::PROPOSE, say::PROPOSE_HINT));
        return Ok(shown);
    };
    shown.add(list(DRILLS, say::DRILLS, &drills(&plan), say::NO_DRILLS));
    shown.add(Control::way(ADD, say::ADD, say::ADD_HINT));
    shown.add(Control::way(PROPOSE, say::PROPOSE_ANEW, say::PROPOSE_HINT));
    let ask = Ask::new("the plan", Some(student.strand), see.day()).quick(AT_ONCE);
    if let Some(found) = see.answer::<Option<Page>>(ask, compute).or_say(&mut shown)
        && let Some(page) = found.as_ref()
    {
        shown.subtitle.clone_from(&page.subtitle);
        shown.parts.extend(page.clone().into_parts());
    }
    let limits = plan.caps.limits;
    let until = plan.until.map_or_else(String::new, |day| day.to_string());
    let caps = [
        heading("plan.frame", say::FRAME),
        field_from(held, UNTIL, say::UNTIL, FieldKind::Day, &until).hint(say::UNTIL_HINT).into(),
        field_from(held, A_DAY, say::A_DAY, FieldKind::Number, &limits.a_day.to_string()).into(),
        field_from(held, A_WEEK, say::A_WEEK, FieldKind::Number, &limits.a_week.to_string()).into(),
        field_from(held, REST, say::REST_DAYS, FieldKind::Number, &limits.rest_days.to_string()).into(),
        Control::action(SAVE, sessions::SAVE, Look::Plain).hint(say::CAPS_HINT).into(),
    ];
    shown.parts.extend(caps.into_iter().map(Part::beside));
    Ok(shown)
}

pub fn rows(see: &See<'_>, _: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let plan = in_force(see.book()?, &see.student()?, see.day())?;
    Ok(plan.map_or_else(RowsPage::default, |plan| page(&drills(&plan), after, count)))
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Open { row, .. } => {
            let (id, strand) = (record(row)?, doing.student()?.strand);
            doing.go(Frame::new(Place::PlanDrill).of(strand).about(id));
        }
        Event::Press { key } if key == ADD => doing.go_on(Place::AddDrill),
        Event::Press { key } if key == PROPOSE => doing.go_on(Place::Propose),
        Event::Press { key } if key == SAVE => save(doing)?,
        _ => {}
    }
    Ok(())
}

fn save(doing: &mut Do<'_>) -> Result<(), Problem> {
    let (student, day) = (doing.student()?, doing.day());
    let plan = in_force(doing.book()?, &student, day)?.ok_or_else(|| Problem(say::EMPTY.into()))?;
    let held = doing.held();
    let count = |key: &str, name: &str, now: i64| -> Result<Option<Count>, Problem> {
        let said = whole(held, key, name)?.filter(|said| *said != now);
        Ok(said.map(Count::new).transpose()?)
    };
    let limits = plan.caps.limits;
    let speed = SpeedLimits {
        a_day: count(A_DAY, say::A_DAY, limits.a_day)?,
        a_week: count(A_WEEK, say::A_WEEK, limits.a_week)?,
        rest_days: count(REST, say::REST_DAYS, limits.rest_days)?,
    };
    let until = held.text(UNTIL).map(str::trim).filter(|day| !day.is_empty()).map(Day::parse).transpose()?;
    let until = until.filter(|until| Some(*until) != plan.until);
    let change = PlanChange { until, speed, ..PlanChange::default() };
    if change == PlanChange::default() {
        return Err(Problem(sessions::UNCHANGED.into()));
    }
    let id: RecordId = plan.plan;
    let edit = Edit { plan: change, drill: None };
    doing.write(student.strand, sessions::correction(say::FRAME), |book, now| {
        edit_plan(book, &student, now, id, edit)
    })?;
    doing.held().clear_all("plan.");
    doing.held().clear_all("#plan.");
    doing.tell(sessions::SAVED);
    Ok(())
}
