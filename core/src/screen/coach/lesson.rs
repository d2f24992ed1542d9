//! A lesson: strikes are logged as a student logs them, and the pattern of the day stands
//! beside them at once; what it shows may be kept as the baseline.

use crate::book::Draft;
use crate::chart::FaceChart;
use crate::face::{Settings, Strike, pattern};
use crate::lesson::target_of;
use crate::model::{MarkRead, RecordId};
use crate::screen::Part;
use crate::screen::block::Block;
use crate::screen::control::{Control, Look};
use crate::screen::event::Event;
use crate::screen::parts::{heading, inferred};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::screen::student::ball;
use crate::words::screen::coach as say;

const KEEP: &str = "lesson.keep";

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let mut shown = ball::show_at(see, crate::model::Place::Lesson)?;
    let student = see.student()?;
    shown.title = say::LESSON.into();
    shown.subtitle = format!("{} · {}", student.student.value.name, shown.subtitle);
    let here = ball::here(see, crate::model::Place::Lesson)?;
    let strikes: Vec<Strike> = here
        .balls()
        .iter()
        .filter_map(|shot| shot.mark.filter(|mark| mark.read != MarkRead::Felt))
        .map(|mark| Strike {
            toe_mm: mark.toe_mm.mm(),
            high_mm: mark.high_mm.mm(),
            sigma_mm: mark.sigma_mm.mm(),
        })
        .collect();
    if strikes.is_empty() {
        return Ok(shown);
    }
    let target = target_of(&student.student.value)?;
    let settings = Settings {
        target_toe_mm: target.toe_mm.mm(),
        target_high_mm: target.high_mm.mm(),
        centre_radius_mm: target.radius_mm.mm(),
        ..Settings::default()
    };
    let found = pattern(&strikes, &settings).map_err(crate::screen::reads::said)?;
    let mut beside = vec![heading("lesson.pattern", say::TODAY_PATTERN)];
    let (face_width_mm, face_height_mm) = here.face_mm();
    let chart = FaceChart {
        title: say::TODAY_PATTERN,
        hand: here.chart_hand(),
        face_width_mm,
        face_height_mm,
        settings,
        sets: &[crate::chart::MarkSet { label: say::TODAY, strikes: &strikes }],
        latest: Some(&found),
        baseline: None,
        caption: "",
        width_mm: crate::chart::PHONE_WIDTH_MM,
    };
    if let Ok(scene) = crate::chart::face_chart(&chart) {
        beside.push(Part::read(Block::Chart { key: "lesson.chart".into(), scene }));
    }
    let said = crate::words::pattern::sentences(&found);
    beside.extend(said.into_iter().enumerate().map(|(n, text)| inferred(&format!("lesson.says.{n}"), text)));
    beside.push(Control::action(KEEP, say::KEEP, Look::Plain).hint(say::KEEP_HINT).into());
    let before = shown.parts.iter().position(|part| part.key() == "with").unwrap_or(shown.parts.len());
    shown.parts.splice(before..before, beside.into_iter().map(Part::beside));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == KEEP) {
        return ball::act_at(doing, event, crate::model::Place::Lesson);
    }
    let (entry, day) = (doing.student()?, doing.day());
    let (strand, mut student) = (entry.strand, entry.student.value);
    student.baseline_until = Some(day);
    doing.write(strand, say::KEEP_UNDO, |book, now| {
        book.write(strand, now, [Draft::put(RecordId(strand.0), &student)])
    })?;
    doing.tell(say::KEPT);
    Ok(())
}
