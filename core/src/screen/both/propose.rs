//! A proposal: drills for what the log shows, in doses for the days and the time there are;
//! begun as a plan with one press, and everything of it can be changed then.

use std::sync::Arc;

use crate::act::{NewDrill, begin_plan};
use crate::book::Book;
use crate::lesson::{DRIVES_FOR_A_BRIEF, Worth};
use crate::model::{Day, Name, Plan, Refusal, Remark, SpeedLimits};
use crate::plan::{Caps, Found as Fault, Free, Papers, Proposal, faults_of, propose};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{field_from, text, whole};
use crate::screen::places::Shown;
use crate::screen::run::{Ask, Do, Found, Held, Problem, See};
use crate::screen::{proposal_page, reads};
use crate::words::screen::plan as say;

const UNTIL: &str = "propose.until";
const SESSIONS: &str = "propose.sessions";
const MINUTES: &str = "propose.minutes";
const BEGIN: &str = "propose.begin";
/// Days to the next lesson where nobody says (common practice, no source).
const USUAL_DAYS: i64 = 14;

fn until(held: &Held, day: Day) -> Result<Day, Problem> {
    let written = held.text(UNTIL).map(str::trim).filter(|written| !written.is_empty());
    let until = match written {
        Some(written) => Day::parse(written)?,
        None => Day::from_number(day.number() + USUAL_DAYS)?,
    };
    if until <= day {
        return Err(Problem(say::UNTIL_LATER.into()));
    }
    Ok(until)
}

fn free(held: &Held, day: Day) -> Result<Free, Problem> {
    Ok(Free {
        days: until(held, day)?.days_since(day),
        sessions_a_week: whole(held, SESSIONS, say::SESSIONS)?.unwrap_or(2).clamp(1, 14),
        minutes: whole(held, MINUTES, say::MINUTES)?.unwrap_or(30).clamp(5, 240),
    })
}

/// What the log shows is wrong, the costliest first.
fn faults(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let (_, log) = reads::log(book, ask)?;
    // A swing that can't be computed leaves the misses to go by.
    let worth = Worth::of(&log, DRIVES_FOR_A_BRIEF).unwrap_or_default();
    let fixes: Vec<_> = worth.into_iter().flat_map(|worth| worth.found.fixes).map(|fix| fix.name).collect();
    Ok(Arc::new(faults_of(&log, &fixes)))
}

fn proposal(
    book: &Book,
    student: &crate::book::StudentEntry,
    held: &Held,
    day: Day,
    found: &[Fault],
) -> Result<(Proposal, SpeedLimits), Problem> {
    let papers = Papers::read(book, student)?;
    let before = papers.plan_on(day);
    let caps = Caps::of(&papers, before, day);
    // The coach's caps go on with the next plan.
    let speed = before.map_or_else(SpeedLimits::default, |plan| plan.value.speed);
    Ok((propose(found, &caps, free(held, day)?), speed))
}

fn ask(student: &crate::book::StudentEntry, day: Day) -> Ask {
    Ask::new("what the log shows", Some(student.strand), day)
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (student, held, day) = (see.student()?, see.held(), see.day());
    let mut shown = Shown::new(say::PROPOSE, student.student.value.name.as_str());
    let usual = Day::from_number(day.number() + USUAL_DAYS)?.to_string();
    shown.add(field_from(held, UNTIL, say::UNTIL, FieldKind::Day, &usual).hint(say::UNTIL_HINT));
    shown.add(field_from(held, SESSIONS, say::SESSIONS, FieldKind::Number, "2"));
    shown.add(field_from(held, MINUTES, say::MINUTES, FieldKind::Number, "30").unit("min"));
    if let Some(found) = see.answer::<Vec<Fault>>(ask(&student, day), faults).or_say(&mut shown) {
        if found.is_empty() {
            shown.add(text("propose.nothing", say::NOTHING_SHOWN));
            return Ok(shown);
        }
        match proposal(see.book()?, &student, held, day, &found) {
            Ok((proposal, _)) => {
                let page = proposal_page(student.student.value.name.as_str(), &proposal);
                shown.parts.extend(page.into_parts());
                if !proposal.drills.is_empty() {
                    shown.add(Control::action(BEGIN, say::BEGIN, Look::Main).hint(say::BEGIN_HINT));
                }
            }
            Err(Problem(problem)) => shown.add(crate::screen::parts::caution("propose.problem", problem)),
        }
    }
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == BEGIN) {
        return Ok(());
    }
    let (student, day) = (doing.student()?, doing.day());
    let held = doing.held().clone();
    let found = faults(doing.book()?, &ask(&student, day))?;
    let found: Arc<Vec<Fault>> = found.downcast().map_err(|_| Problem(say::NOTHING_SHOWN.into()))?;
    let (proposal, speed) = proposal(doing.book()?, &student, &held, day, &found)?;
    if proposal.drills.is_empty() {
        return Err(Problem(say::NOTHING_SHOWN.into()));
    }
    let names: Vec<&str> = found.iter().take(2).map(|found| crate::words::plan::fault(found.fault)).collect();
    let plan = Plan { speed, ..Plan::new(Name::new(&say::aim(&names))?, day, Some(until(&held, day)?)) };
    let drills = proposal
        .drills
        .iter()
        .map(|chosen| {
            let note = Some(Remark::new(&crate::words::plan::note(chosen.fault, chosen.drill))?);
            Ok(NewDrill { drill: crate::words::drill::record(chosen.drill)?, dose: chosen.dose, note })
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    doing
        .write(student.strand, say::PLAN, |book, now| begin_plan(book, student.strand, now, &plan, drills))?;
    doing.back();
    doing.tell(say::BEGUN);
    Ok(())
}
