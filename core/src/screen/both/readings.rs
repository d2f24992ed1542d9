//! What was read of one ball: any of the figures, in the student's units.

use crate::book::Draft;
use crate::model::quantity::{
    Attack, Backspin, BallSpeed, Carry, Curve, DynamicLoft, FaceAngle, HeadSpeed, Launch, Path, Side,
    Sidespin, Start,
};
use crate::model::{Reading, Readings, Refusal, Session, Shot, UnitSystem};
use crate::screen::control::{Control, FieldKind, Look};
use crate::screen::event::Event;
use crate::screen::parts::{decimal, field_from, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::number::fixed;
use crate::words::screen::{readings as words, sessions as say};

use super::session::found;

const SAVE: &str = "readings.save";

/// In which unit a figure is shown.
#[derive(Clone, Copy)]
enum Shows {
    Speed,
    Distance,
    Plain(&'static str),
}

impl Shows {
    /// The unit's name, and how many of it are one of the core's.
    fn of(self, units: UnitSystem) -> (&'static str, f64) {
        match self {
            Self::Speed => (units.speed(1.0).1, units.speed(1.0).0),
            Self::Distance => (units.distance(1.0).1, units.distance(1.0).0),
            Self::Plain(unit) => (unit, 1.0),
        }
    }
}

/// One figure: its key, how it is shown, how it is read and set.
struct Figure {
    key: &'static str,
    shows: Shows,
    get: fn(&Readings) -> Option<f64>,
    set: fn(&mut Readings, Option<f64>) -> Result<(), Refusal>,
}

macro_rules! figures {
    ($($field:ident $kind:ident $unit:ident $shows:expr;)+) => {
        const FIGURES: &[Figure] = &[$(Figure {
            key: concat!("reading.", stringify!($field)),
            shows: $shows,
            get: |of| of.$field.map(|reading| reading.value.$unit()),
            set: |of, value| {
                of.$field = value.map($kind::new).transpose()?.map(|value| Reading { value, sigma: None });
                Ok(())
            },
        }),+];
    };
}

figures! {
    head_speed HeadSpeed mps Shows::Speed;
    ball_speed BallSpeed mps Shows::Speed;
    launch Launch deg Shows::Plain("°");
    start Start deg Shows::Plain("°");
    backspin Backspin rpm Shows::Plain("rpm");
    sidespin Sidespin rpm Shows::Plain("rpm");
    carry Carry m Shows::Distance;
    side Side m Shows::Distance;
    curve Curve m Shows::Distance;
    path Path deg Shows::Plain("°");
    face_angle FaceAngle deg Shows::Plain("°");
    attack Attack deg Shows::Plain("°");
    dynamic_loft DynamicLoft deg Shows::Plain("°");
}

/// All that was read, to be put behind a ball's line; empty where nothing was.
pub fn said(of: &Readings, units: UnitSystem) -> String {
    let read = FIGURES.iter().filter_map(|figure| {
        let (unit, factor) = figure.shows.of(units);
        let value = shown_as(Some((figure.get)(of)?), factor);
        Some(format!("; {} {value} {unit}", words::name(figure.key).to_lowercase()))
    });
    read.collect()
}

fn shown_as(value: Option<f64>, factor: f64) -> String {
    value.map_or_else(String::new, |value| {
        let text = fixed(value * factor, 1);
        text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
    })
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student) = (see.book()?, see.student()?);
    let kept = found::<Shot>(book, student.strand, see.frame.record)?;
    let (shot, units) = (&kept.entry.value, student.student.value.units);
    let mut shown =
        Shown::new(say::READINGS, crate::words::screen::ball::shot_line(shot, student.student.value.hand));
    shown.add(text("readings.note", say::READINGS_NOTE));
    let session = book.record::<Session>(student.strand, shot.session)?;
    if shot.powder.or(session.and_then(|session| session.value.powder)) == Some(true) {
        shown.add(text("readings.powder", say::POWDER_NOTE));
    }
    for figure in FIGURES {
        let (unit, factor) = figure.shows.of(units);
        let begins = shown_as((figure.get)(&shot.readings), factor);
        let name = words::name(figure.key);
        shown.add(field_from(see.held(), figure.key, name, FieldKind::Number, &begins).unit(unit));
    }
    shown.add(Control::action(SAVE, say::SAVE, Look::Main));
    Ok(shown)
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    if !matches!(event, Event::Press { key } if key == SAVE) {
        return Ok(());
    }
    let student = doing.student()?;
    let (strand, units) = (student.strand, student.student.value.units);
    let kept = found::<Shot>(doing.book()?, strand, doing.record())?;
    let (id, mut shot) = (kept.entry.id, kept.entry.value);
    for figure in FIGURES {
        let (_, factor) = figure.shows.of(units);
        let before = shown_as((figure.get)(&shot.readings), factor);
        // Only what was written anew: what stands there was rounded for reading.
        if doing.held().text(figure.key).is_some_and(|written| written.trim() != before) {
            let value = decimal(doing.held(), figure.key, words::name(figure.key))?;
            (figure.set)(&mut shot.readings, value.map(|value| value / factor))?;
        }
    }
    let name = say::READINGS.to_lowercase();
    let written = doing.write(strand, say::correction(&name), |book, now| {
        book.write(strand, now, [Draft::put(id, &shot)])
    })?;
    if written == 0 {
        return Err(Problem(say::UNCHANGED.into()));
    }
    doing.held().clear_all("reading.");
    doing.held().clear_all("#reading.");
    doing.back();
    doing.tell(say::SAVED);
    Ok(())
}
