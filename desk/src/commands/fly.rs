//! `fly`: where a ball flies, one by one or a file of them, without a book.

use std::path::Path;

use chalkface_core::flight::{
    Air, Delivery, Face, Figures, FiveConstantLaw, Flier, FlightError, Launch, Setting, fly_each, hit,
    hit_each,
};
use chalkface_core::lesson::given::{delivery_of, launch_of};
use chalkface_core::lesson::seen::{Watched, face_of, hand_of, on_face_of};
use chalkface_core::screen::{Beside, face_map_drawing, flight_drawing, flight_page};
use chalkface_core::table::{Columns, Field, Log, Measured, Options, Problem, Row};
use chalkface_core::words::flight as say;
use serde::Serialize;

use super::setting::{BadRow, Count, Swinging, flier};
use crate::cli::flight::Fly;
use crate::error::DeskError;
use crate::output::{Lines, print};
use crate::render;

/// So many rows are computed at once.
const BLOCK: usize = 1024;

#[derive(Serialize)]
struct One<'a> {
    #[serde(flatten)]
    figures: &'a Figures,
    warnings: &'a [String],
    assumed: &'a [String],
}

#[derive(Serialize)]
struct Answer {
    line: u64,
    #[serde(flatten)]
    figures: Figures,
    #[serde(skip_serializing_if = "Option::is_none")]
    warning: Option<String>,
}

pub fn run(json: bool, options: &Fly) -> Result<(), DeskError> {
    let (flier, air) = flier(&options.air)?;
    let swinging = Swinging::of(&options.swung)?;
    if let Some(path) = &options.batch {
        return batch(options, path, &swinging, &flier);
    }
    let (figures, beside) = if let Some(speed) = options.ball_speed {
        from_launch(options, speed, &flier, &air)?
    } else {
        from_delivery(options, &swinging, &flier, &air)?
    };
    let said = One { figures: &figures, warnings: &beside.warnings, assumed: &beside.assumed };
    print(json, &said, || render::text::page(&flight_page(&figures, &beside), render::text::WIDTH))
}

/// What a person left out.
fn unsaid<'a>(given: &[(&'a str, bool)]) -> Vec<&'a str> {
    given.iter().filter(|(_, said)| !said).map(|(name, _)| *name).collect()
}

type Ball<'a> = Flier<'a, FiveConstantLaw>;

fn from_launch(
    options: &Fly,
    ball_speed_mps: f64,
    flier: &Ball,
    air: &Air,
) -> Result<(Figures, Beside), DeskError> {
    let launch = Launch {
        ball_speed_mps,
        launch_deg: options.launch.unwrap_or(0.0),
        start_deg: options.start.unwrap_or(0.0),
        backspin_rpm: options.backspin.unwrap_or(0.0),
        sidespin_rpm: options.sidespin.unwrap_or(0.0),
        rifle_rpm: 0.0,
    };
    let figures = only(fly_each(flier, &[launch]))?;
    draw(options, flier, &launch)?;
    let unsaid = unsaid(&[("start", options.start.is_some()), ("sidespin", options.sidespin.is_some())]);
    let beside = Beside {
        given: say::launch(&launch),
        assumed: say::assumed(&unsaid, None, air),
        warnings: say::warnings(&figures, &[], None),
    };
    Ok((figures, beside))
}

fn from_delivery(
    options: &Fly,
    swinging: &Swinging,
    flier: &Ball,
    air: &Air,
) -> Result<(Figures, Beside), DeskError> {
    let (toe_mm, high_mm) = options.strike.unwrap_or((0.0, 0.0));
    let delivery = Delivery {
        head_speed_mps: options.head_speed.unwrap_or(0.0),
        loft_deg: options.loft.unwrap_or(0.0),
        face_deg: options.face.unwrap_or(0.0),
        path_deg: options.path.unwrap_or(0.0),
        attack_deg: options.attack.unwrap_or(0.0),
        toe_mm,
        high_mm,
    };
    let (hand, face) = (hand_of(options.swung.hand), face_of(Some(options.powder)));
    let head = &swinging.head;
    let setting = Setting { head, hand, face, flier };
    let figures = only(hit_each(&setting, &[delivery]))?;
    draw(options, flier, &hit(head, hand, face, flier, &delivery)?.launch)?;
    if let Some(out) = &options.face_map {
        render::write_scene(&face_map_drawing(&setting, &delivery, options.units.into())?, out)?;
    }
    let unsaid = unsaid(&[
        ("face", options.face.is_some()),
        ("path", options.path.is_some()),
        ("attack", options.attack.is_some()),
        ("strike", options.strike.is_some()),
    ]);
    let club = head.club();
    let off_face = (!on_face_of(club, toe_mm, high_mm)).then_some(club);
    let beside = Beside {
        given: say::delivery(&delivery, hand),
        assumed: say::assumed(&unsaid, Some((club, face)), air),
        warnings: say::warnings(&figures, &swinging.breaches, off_face),
    };
    Ok((figures, beside))
}

/// Draws the flight, if asked to.
fn draw(options: &Fly, flier: &Ball, launch: &Launch) -> Result<(), DeskError> {
    let Some(out) = &options.out else { return Ok(()) };
    let scene = flight_drawing(flier, launch, "This ball", options.units.into())?;
    render::write_scene(&scene, out)
}

fn only(mut answers: Vec<Result<Figures, FlightError>>) -> Result<Figures, FlightError> {
    answers.pop().unwrap_or(Err(FlightError::NothingRead))
}

/// What a row asks for.
#[derive(Clone, Copy)]
enum Asked {
    Delivery(Delivery, Face),
    Launch(Launch),
}

fn batch(options: &Fly, path: &Path, swinging: &Swinging, flier: &Ball) -> Result<(), DeskError> {
    let wrong = |problem| DeskError::Table { path: path.to_owned(), problem };
    let bytes = super::record::bytes(path)?;
    let read = Options {
        hand: Some(options.swung.hand),
        skip_bad_rows: false,
        allow_unknown_columns: options.ignore_unknown_columns,
    };
    let log = Log::open(&bytes, &read).map_err(wrong)?;
    let launches = are_launches(log.columns());
    let needed: &[Field] = if launches { &LAUNCH } else { &DELIVERY };
    log.columns().need(needed).map_err(wrong)?;
    for breach in swinging.breaches.iter().filter(|_| !launches) {
        eprintln!("chalkface: {}", say::club_warning(*breach));
    }
    let asked = |row: &Row| {
        let watched =
            Watched { mark: row.mark, start_by_eye: None, curve_by_eye: None, readings: &row.readings };
        let face = face_of(row.powder.or(Some(options.powder)));
        if launches {
            launch_of(watched).map(Asked::Launch)
        } else {
            delivery_of(watched).map(|delivery| Asked::Delivery(delivery, face))
        }
        .map_err(|lacks| lacks.to_string())
    };
    let mut lines = Lines::new();
    let mut count = Count::default();
    let mut rows = log.rows();
    let mut block: Vec<(u64, Result<Asked, String>)> = Vec::with_capacity(BLOCK);
    loop {
        block.clear();
        block.extend(rows.by_ref().take(BLOCK).map(|row| match row {
            Ok(row) => (row.line, asked(&row)),
            Err(problems) => {
                let (line, why) = told(&problems);
                (line, why)
            }
        }));
        if block.is_empty() || lines.closed() {
            break;
        }
        compute(&block, options, swinging, flier, &mut count, &mut lines)?;
    }
    lines.finish()?;
    count.settle(path, &rows.hints())
}

/// Computes a block of rows, those of one kind together, and prints them in order.
fn compute(
    block: &[(u64, Result<Asked, String>)],
    options: &Fly,
    swinging: &Swinging,
    flier: &Ball,
    count: &mut Count,
    lines: &mut Lines,
) -> Result<(), DeskError> {
    let head = &swinging.head;
    let of_face = |wanted: Face| {
        let swings: Vec<Delivery> = block
            .iter()
            .filter_map(|(_, asked)| match asked {
                Ok(Asked::Delivery(delivery, face)) if *face == wanted => Some(*delivery),
                _ => None,
            })
            .collect();
        let setting = Setting { head, hand: hand_of(options.swung.hand), face: wanted, flier };
        hit_each(&setting, &swings).into_iter()
    };
    let launches: Vec<Launch> = block
        .iter()
        .filter_map(|(_, asked)| match asked {
            Ok(Asked::Launch(launch)) => Some(*launch),
            _ => None,
        })
        .collect();
    let (mut dry, mut powdered) = (of_face(Face::Dry), of_face(Face::Powdered));
    let mut flown = fly_each(flier, &launches).into_iter();
    for (line, asked) in block {
        count.rows += 1;
        let mut warning = None;
        let answer = match asked {
            Err(error) => Err(error.clone()),
            Ok(Asked::Launch(_)) => answered(flown.next()),
            Ok(Asked::Delivery(delivery, face)) => {
                warning = (!on_face_of(head.club(), delivery.toe_mm, delivery.high_mm))
                    .then(|| say::off_face_warning(head.club()));
                answered(if *face == Face::Dry { dry.next() } else { powdered.next() })
            }
        };
        match answer {
            Ok(figures) => lines.print(&Answer { line: *line, figures, warning })?,
            Err(error) => {
                count.bad += 1;
                lines.print(&BadRow { line: *line, error })?;
            }
        }
    }
    Ok(())
}

fn answered(answer: Option<Result<Figures, FlightError>>) -> Result<Figures, String> {
    answer.unwrap_or(Err(FlightError::NothingRead)).map_err(|error| error.to_string())
}

/// The line of a row that could not be read, and all that is wrong with it.
pub fn told<T>(problems: &[Problem]) -> (u64, Result<T, String>) {
    let line = problems.first().map_or(0, |p| p.line);
    let why: Vec<String> = problems.iter().map(ToString::to_string).collect();
    (line, Err(why.join("; ")))
}

const DELIVERY: [Field; 7] = [
    Field::Reading(Measured::HeadSpeed),
    Field::Reading(Measured::DynamicLoft),
    Field::Reading(Measured::FaceAngle),
    Field::Reading(Measured::Path),
    Field::Reading(Measured::Attack),
    Field::Toe,
    Field::High,
];
const LAUNCH: [Field; 5] = [
    Field::Reading(Measured::BallSpeed),
    Field::Reading(Measured::Launch),
    Field::Reading(Measured::Start),
    Field::Reading(Measured::Backspin),
    Field::Reading(Measured::Sidespin),
];

/// Whether the columns give launches: only where they give no whole delivery.
fn are_launches(columns: &Columns) -> bool {
    columns.need(&DELIVERY).is_err()
        && (columns.has(Field::Reading(Measured::BallSpeed))
            && !columns.has(Field::Reading(Measured::HeadSpeed))
            || columns.need(&LAUNCH).is_ok())
}
