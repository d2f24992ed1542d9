//! A lesson: strikes are logged as a student logs them, and the pattern of the day stands
//! beside them at once; what it shows may be kept as the baseline.

use crate::book::Draft;
use crate::chart::FaceChart;
use crate::face::{Settings, Strike, pattern};
use crate::lesson::{explain_shot, target_of};
use crate::model::{MarkRead, RecordId, Shot, Student, Target};
use crate::screen::Part;
use crate::screen::block::{Basis, Block, Row};
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
    let target = target_of(&student.student.value)?;
    let split = here.balls().last().and_then(|ball| split(&student.student.value, &here, ball, &target));
    if strikes.is_empty() {
        let before = shown.parts.iter().position(|part| part.key() == "with").unwrap_or(shown.parts.len());
        shown.parts.splice(before..before, split.into_iter().flatten().map(Part::beside));
        return Ok(shown);
    }
    let settings = Settings {
        target_toe_mm: target.toe_mm.mm(),
        target_high_mm: target.high_mm.mm(),
        centre_radius_mm: target.radius_mm.mm(),
        ..Settings::default()
    };
    let found = pattern(&strikes, &settings).map_err(crate::screen::reads::said)?;
    let mut beside: Vec<Part> = split.into_iter().flatten().collect();
    beside.push(heading("lesson.pattern", say::TODAY_PATTERN));
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

/// The last ball in its parts: what came from contact, from the face, and with which speed.
/// Nothing where too little was seen of it.
fn split(student: &Student, here: &ball::Here, ball: &Shot, target: &Target) -> Option<[Part; 2]> {
    let at = [target.toe_mm.mm(), target.high_mm.mm()];
    let powder = Some(here.setting().powder);
    let found = explain_shot(student.hand, here.club(), powder, ball, at).ok()?;
    let read = ball.readings.head_speed.is_some() || ball.readings.ball_speed.is_some();
    let row = |name: &str, basis, says: String| Row { name: name.into(), basis, cells: vec![says] };
    let contact = if ball.mark.is_some() { Basis::Inferred } else { Basis::Assumed };
    let strike = found.strike.toe_mm.sigma.max(found.strike.high_mm.sigma);
    let sure = say::one_ball(found.face_deg.sigma, strike);
    let table = Block::Table {
        key: "lesson.split".into(),
        alt: say::SPLIT.into(),
        columns: vec![say::SPLIT.into(), String::new()],
        rows: vec![
            row(say::CONTACT, contact, say::from_contact(&found.split, student.units)),
            row(say::FACE, Basis::Inferred, say::from_face(&found.split, student.units)),
            row(
                say::WITH_SPEED,
                if read { Basis::Inferred } else { Basis::Assumed },
                say::with_speed(found.head_speed_mps.estimate, found.head_speed_mps.sigma, student.units),
            ),
        ],
    };
    Some([Part::read(table), inferred("lesson.sure", sure)])
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
