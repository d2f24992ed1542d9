//! What a student's strikes are judged by: target point, centre radius, baseline.

use crate::book::Draft;
use crate::lesson::target_of;
use crate::model::{Day, RecordId, Target};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{decimal, field_from};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::number::fixed;
use crate::words::screen::{coach as say, sessions};

const TOE: &str = "about.toe";
const HIGH: &str = "about.high";
const RADIUS: &str = "about.radius";
const BASELINE: &str = "about.baseline";
const SAVE: &str = "about.save";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (entry, held) = (see.student()?, see.held());
    let student = &entry.student.value;
    let target = target_of(student)?;
    let mut shown = Shown::new(say::ABOUT, student.name.as_str());
    for (key, name, value) in [
        (TOE, say::TARGET_TOE, target.toe_mm.mm()),
        (HIGH, say::TARGET_HIGH, target.high_mm.mm()),
        (RADIUS, say::TARGET_RADIUS, target.radius_mm.mm()),
    ] {
        shown.add(field_from(held, key, name, FieldKind::Number, &fixed(value, 1)).unit("mm"));
    }
    let baseline = student.baseline_until.map_or_else(String::new, |day| day.to_string());
    shown.add(field_from(held, BASELINE, say::BASELINE, FieldKind::Day, &baseline).hint(say::BASELINE_HINT));
    shown.add(Control::action(SAVE, sessions::SAVE, Look::Main));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == SAVE) {
        return Ok(());
    }
    let entry = doing.student()?;
    let (strand, mut student) = (entry.strand, entry.student.value);
    let known = target_of(&student)?;
    let held = doing.held();
    let written = [TOE, HIGH, RADIUS].iter().any(|key| held.text(key).is_some());
    if written {
        student.target = Some(Target::new(
            decimal(held, TOE, say::TARGET_TOE)?.unwrap_or(known.toe_mm.mm()),
            decimal(held, HIGH, say::TARGET_HIGH)?.unwrap_or(known.high_mm.mm()),
            decimal(held, RADIUS, say::TARGET_RADIUS)?.unwrap_or(known.radius_mm.mm()),
        )?);
    }
    if let Some(day) = held.text(BASELINE) {
        student.baseline_until = if day.trim().is_empty() { None } else { Some(Day::parse(day.trim())?) };
    }
    let written = doing.write(strand, sessions::correction(say::ABOUT), |book, now| {
        book.write(strand, now, [Draft::put(RecordId(strand.0), &student)])
    })?;
    if written == 0 {
        return Err(Problem(sessions::UNCHANGED.into()));
    }
    doing.held().clear_all("about.");
    doing.held().clear_all("#about.");
    doing.tell(sessions::SAVED);
    Ok(())
}
