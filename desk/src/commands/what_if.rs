//! `what-if`: what would help a student most, from the book or from a file.

use std::path::Path;

use chalkface_core::book::Book;
use chalkface_core::face::Settings;
use chalkface_core::flight::Setting;
use chalkface_core::lesson::seen::{Watched, face_of, hand_of};
use chalkface_core::lesson::{Assumed, Gathering, Log, Sizes, Want, Worth, want_of, what_if};
use chalkface_core::model::{Target, UnitSystem};
use chalkface_core::screen::what_if_page;
use chalkface_core::table::{Options, Table};
use chalkface_core::words::flight::club_warning;
use serde_json::json;

use super::setting::{Swinging, flier};
use crate::cli::what_if::{self as cli, SizeOf};
use crate::error::DeskError;
use crate::output::print;
use crate::progress::Busy;
use crate::render;

pub fn run(book: &Path, json: bool, options: &cli::WhatIf) -> Result<(), DeskError> {
    let busy = Busy::with("hitting drives");
    let (title, worth, units) = answer(book, options)?;
    let page = what_if_page(&title, &worth, units);
    drop(busy);
    let Some(out) = &options.out else {
        return print(json, &worth, || render::text::page(&page, render::text::WIDTH));
    };
    render::write_page(&worth, &page, out)?;
    print(json, &json!({ "file": out, "of": title }), || {
        format!("{}: what would help {title}", out.display())
    })
}

type Answer = (String, Worth, UnitSystem);

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
        let worth = Worth::new(found, left_out, None);
        return Ok((options.of.clone(), worth, UnitSystem::Metric));
    }
    let book = Book::open(book)?;
    let student = book.student(&options.of)?;
    let log = Log::read(&book, &student)?;
    let worth = Worth::asked(&log, &flier, &want(options, want_of(&log).target_mm)?)?;
    Ok((log.student.name.to_string(), worth, log.student.units))
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
