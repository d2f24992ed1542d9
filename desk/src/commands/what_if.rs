//! `what-if`: what would help a student most, from the book or from a file.

use std::path::Path;

use chalkface_core::book::Book;
use chalkface_core::face::Settings;
use chalkface_core::flight::{Conditions, FiveConstantLaw, Flier, Setting};
use chalkface_core::lesson::seen::{Watched, face_of, hand_of};
use chalkface_core::lesson::what_if::FixName;
use chalkface_core::lesson::{
    Assumed, Gathering, LeftOut, Log, Sizes, StudentModel, Want, WhatIf, club_in_use, gather_log, target_of,
    what_if,
};
use chalkface_core::model::{Target, UnitSystem};
use chalkface_core::screen::{self, Page, what_if_page};
use chalkface_core::table::{Options, Table};
use chalkface_core::words::flight::club_warning;
use serde_json::{Value, json};

use super::setting::{Swinging, flier};
use crate::cli::what_if::{self as cli, SizeOf};
use crate::error::DeskError;
use crate::output::{print, to_json};
use crate::progress::Busy;
use crate::render;

pub fn run(book: &Path, json: bool, options: &cli::WhatIf) -> Result<(), DeskError> {
    let busy = Busy::with("hitting drives");
    let (title, found, left_out, units) = answer(book, options)?;
    let page = what_if_page(&title, &found, &left_out, units);
    let value = as_json(&found, left_out)?;
    drop(busy);
    let Some(out) = &options.out else {
        return print(json, &value, || render::text::page(&page, render::text::WIDTH));
    };
    write(&value, &page, out)?;
    print(json, &json!({ "file": out, "of": title }), || {
        format!("{}: what would help {title}", out.display())
    })
}

type Answer = (String, WhatIf, LeftOut, UnitSystem);

fn answer(book: &Path, options: &cli::WhatIf) -> Result<Answer, DeskError> {
    let path = Path::new(&options.of);
    let (flier, _) = flier(&options.air)?;
    if path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv")) {
        let swinging = Swinging::of(&options.swung)?;
        for breach in &swinging.breaches {
            eprintln!("chalkface: {}", club_warning(*breach));
        }
        let table = super::record::read(path, read_options(options))?;
        let hand = hand_of(options.swung.hand);
        let mut balls = Gathering::new(&swinging.head, hand, &flier);
        gather_table(&mut balls, &table)?;
        let (model, left_out) = balls.model(&Assumed::default())?;
        let setting = Setting { head: &swinging.head, hand, face: face_of(None), flier: &flier };
        let default = Settings::default();
        let want = want(options, [default.target_toe_mm, default.target_high_mm])?;
        let found = what_if(&model, &setting, &want)?;
        return Ok((options.of.clone(), found, left_out, UnitSystem::Metric));
    }
    let book = Book::open(book)?;
    let student = book.student(&options.of)?;
    let log = Log::read(&book, &student)?;
    let (head, _) = club_in_use(&log).any()?;
    let hand = hand_of(log.student.hand);
    let mut balls = Gathering::new(&head, hand, &flier);
    gather_log(&mut balls, &log)?;
    let (model, left_out): (StudentModel, LeftOut) = balls.model(&Assumed::default())?;
    let setting = Setting { head: &head, hand, face: face_of(None), flier: &flier };
    let target = target_of(&log.student)?;
    let want = want(options, [target.toe_mm.mm(), target.high_mm.mm()])?;
    let found = what_if(&model, &setting, &want)?;
    Ok((log.student.name.to_string(), found, left_out, log.student.units))
}

/// The fixes that would help a student most, the first one first: in standard air, on
/// a usual fairway.
///
/// # Errors
/// As the command, such as for a log without any ball that could be explained.
pub fn ranked(log: &Log) -> Result<Vec<FixName>, DeskError> {
    let law = &FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(law, &Conditions::default())?;
    let (head, _) = club_in_use(log).any()?;
    let hand = hand_of(log.student.hand);
    let mut balls = Gathering::new(&head, hand, &flier);
    gather_log(&mut balls, log)?;
    let (model, _) = balls.model(&Assumed::default())?;
    let setting = Setting { head: &head, hand, face: face_of(None), flier: &flier };
    let target = target_of(&log.student)?;
    let want = Want { target_mm: [target.toe_mm.mm(), target.high_mm.mm()], ..Want::default() };
    let mut fixes = what_if(&model, &setting, &want)?.fixes;
    fixes.sort_by_key(|fix| fix.rank);
    Ok(fixes.into_iter().map(|fix| fix.name).collect())
}

fn read_options(options: &cli::WhatIf) -> Options {
    Options {
        hand: Some(options.swung.hand),
        skip_bad_rows: false,
        allow_unknown_columns: options.ignore_unknown_columns,
    }
}

fn gather_table(
    balls: &mut Gathering<'_, impl chalkface_core::flight::AirLaw>,
    table: &Table,
) -> Result<(), DeskError> {
    for row in &table.rows {
        let session = row.session.as_ref().map(ToString::to_string).unwrap_or_default();
        let day = row.day.map(|day| day.to_string()).unwrap_or_default();
        let watched = Watched {
            mark: row.mark,
            start_by_eye: row.start_by_eye,
            curve_by_eye: row.curve_by_eye,
            readings: &row.readings,
        };
        balls.add(&format!("{day} {session}"), face_of(row.powder), watched)?;
    }
    Ok(())
}

fn want(options: &cli::WhatIf, target_mm: [f64; 2]) -> Result<Want, DeskError> {
    let mut sizes = Sizes::default();
    for (of, value) in &options.size {
        let size = match of {
            SizeOf::Centre => &mut sizes.centre_mm,
            SizeOf::Tighten => &mut sizes.tighten,
            SizeOf::GripDown => &mut sizes.grip_down_in,
            SizeOf::Speed => &mut sizes.head_speed_mps,
            SizeOf::FaceToPath => &mut sizes.face_to_path,
            SizeOf::Square => &mut sizes.square_deg,
            SizeOf::Tee => &mut sizes.tee_mm,
        };
        *size = *value;
    }
    let target_mm = match options.target {
        None => target_mm,
        Some((toe, high)) => {
            let target = Target::new(toe, high, Settings::default().centre_radius_mm)?;
            [target.toe_mm.mm(), target.high_mm.mm()]
        }
    };
    let (fairway_m, trouble, care) = (options.fairway_m, options.trouble, options.care.into());
    Ok(Want { fairway_m, trouble, care, sizes, target_mm, drives: options.drives })
}

fn as_json(found: &WhatIf, left_out: LeftOut) -> Result<Value, DeskError> {
    let no_json = |error| DeskError::System(format!("no JSON: {error}"));
    let mut value = serde_json::to_value(found).map_err(no_json)?;
    if let Value::Object(map) = &mut value {
        map.insert("left_out".into(), json!(left_out));
    }
    Ok(value)
}

fn write(value: &Value, page: &Page, out: &Path) -> Result<(), DeskError> {
    match render::ending(out).as_str() {
        "html" | "htm" => render::write(out, render::html::page(page).as_bytes()),
        "txt" => render::write(out, render::text::page(page, render::text::WIDTH).as_bytes()),
        "json" => render::write(out, to_json(value)?.as_bytes()),
        "svg" | "png" | "pdf" => render::write_scene(&screen::sheet(page), out),
        _ => {
            Err(DeskError::Ending { path: out.to_owned(), allowed: ".html, .svg, .png, .pdf, .json or .txt" })
        }
    }
}
