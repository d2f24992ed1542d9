//! One drill of a plan: its dose, note and place, how to do it; to change or drop it.

use crate::act::{DrillChange, change_drill, drop_drill};
use crate::book::StudentEntry;
use crate::model::Remark;
use crate::plan::{Papers, ShownDrill};
use crate::screen::block::Page;
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{caution, field_from, whole};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::screen::{drill_page, own_drill_page};
use crate::words::screen::{plan as say, sessions};

use super::plan::in_force;

const SETS: &str = "drill.sets";
const REPETITIONS: &str = "drill.repetitions";
const TIMES: &str = "drill.times";
const NOTE: &str = "drill.note";
const PLACE: &str = "drill.place";
const SAVE: &str = "drill.save";
const DROP: &str = "drill.drop";

/// The drill, and its place from 1 among those of its plan.
fn drill(
    book: &crate::book::Book,
    student: &StudentEntry,
    day: crate::model::Day,
    id: Option<crate::model::RecordId>,
) -> Result<(ShownDrill, usize), Problem> {
    let plan = in_force(book, student, day)?;
    let live = plan.into_iter().flat_map(|plan| plan.drills).filter(|drill| !drill.dropped);
    let found = live.enumerate().find(|(_, drill)| Some(drill.planned) == id);
    found.map(|(n, drill)| (drill, n + 1)).ok_or_else(|| Problem(say::DRILL_GONE.into()))
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student, held) = (see.book()?, see.student()?, see.held());
    let (drill, place) = drill(book, &student, see.day(), see.frame.record)?;
    let mut shown = Shown::new(drill.name.as_str(), crate::words::plan::dose_cell(&drill));
    for (n, conflict) in drill.conflicts.iter().enumerate() {
        shown.add(caution(&format!("conflict.{n}"), crate::words::plan::conflict(&drill.name, conflict)));
    }
    let number = |key: &str, name: &str, value: i64| {
        field_from(held, key, name, FieldKind::Number, &value.to_string())
    };
    shown.add(number(SETS, say::SETS, drill.asked.sets()));
    shown.add(number(REPETITIONS, say::REPETITIONS, drill.asked.repetitions()));
    shown.add(number(TIMES, say::TIMES, drill.asked.times_a_week()));
    shown.add(number(PLACE, say::PLACE, place as i64));
    let note = drill.note.clone().unwrap_or_default();
    shown.add(field_from(held, NOTE, say::NOTE, FieldKind::Lines, &note));
    shown.add(Control::action(SAVE, sessions::SAVE, Look::Main));
    shown.add(Control::action(DROP, say::DROP, Look::Takes).hint(say::DROP_HINT));
    let papers = Papers::read(book, &student)?;
    let page: Option<Page> = match drill.stock {
        Some(stock) => Some(drill_page(stock)),
        None => papers.drills.get(&drill.drill).map(|entry| own_drill_page(&entry.value)),
    };
    shown.parts.extend(page.into_iter().flat_map(Page::into_parts).map(crate::screen::Part::beside));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let Event::Press { key } = event else { return Ok(()) };
    let (student, day, id) = (doing.student()?, doing.day(), doing.record());
    let (drill, place) = drill(doing.book()?, &student, day, id)?;
    let strand = student.strand;
    match key.as_str() {
        SAVE => {
            let held = doing.held();
            let changed = |key: &str, name: &str, now: i64| -> Result<Option<i64>, Problem> {
                Ok(whole(held, key, name)?.filter(|said| *said != now))
            };
            let note = held
                .text(NOTE)
                .map(str::trim)
                .filter(|note| *note != drill.note.as_deref().unwrap_or_default());
            let change = DrillChange {
                sets: changed(SETS, say::SETS, drill.asked.sets())?,
                repetitions: changed(REPETITIONS, say::REPETITIONS, drill.asked.repetitions())?,
                times_a_week: changed(TIMES, say::TIMES, drill.asked.times_a_week())?,
                place: changed(PLACE, say::PLACE, place as i64)?.map(|place| place.max(1) as usize),
                note: match note {
                    None => None,
                    Some("") => Some(None),
                    Some(note) => Some(Some(Remark::new(note)?)),
                },
                text: None,
            };
            let written = doing.write(strand, sessions::correction(&drill.name), |book, now| {
                let before = book.own_last(strand)?;
                change_drill(book, strand, now, drill.planned, change)?;
                Ok(book.own_last(strand)? - before)
            })?;
            if written == 0 {
                return Err(Problem(sessions::UNCHANGED.into()));
            }
            doing.held().clear_all("drill.");
            doing.held().clear_all("#drill.");
            doing.tell(sessions::SAVED);
        }
        DROP => {
            doing.write(strand, sessions::removal(&drill.name), |book, now| {
                drop_drill(book, strand, now, drill.planned)
            })?;
            doing.back();
            doing.tell(sessions::removed(&drill.name));
        }
        _ => {}
    }
    Ok(())
}
