//! `record drill`, `record speed` and `record pain`: what the student did, told afterwards.

use std::path::Path;

use chalkface_core::act::{Told, clear_pain, log_told, record_speed, report_pain};
use chalkface_core::book::Book;
use chalkface_core::model::quantity::HeadSpeed;
use chalkface_core::model::{Day, Effort, RecordId, Refusal, Session, SpeedSource, SpeedSwing, SwingSide};
use chalkface_core::plan::{self, Papers, SpeedSummary, find_planned};
use chalkface_core::screen::speed_page;
use chalkface_core::words;
use serde_json::json;

use super::plan::Homework;
use super::record::whose;
use crate::cli::plan::{Done, PainReport, Speed};
use crate::clock;
use crate::error::DeskError;
use crate::output::print;
use crate::render::text;

pub fn drill(path: &Path, json: bool, options: Done) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let now = clock::now()?;
    let day = options.day.unwrap_or_else(|| now.at.local_day());
    not_ahead(day, now.at.local_day())?;
    let homework = Homework::read(&book, whose(&book, options.student.as_deref())?)?;
    let shown = homework.shown(day)?;
    let drill = find_planned(&shown, &options.drill)?;
    let session =
        options.session.as_ref().map(|label| session(&book, &homework, label.as_str(), day)).transpose()?;
    let told = Told {
        day,
        sets: options.sets,
        repetitions: options.repetitions,
        good: options.good,
        tries: options.tries,
        session,
        note: options.note,
    };
    let practice = log_told(&mut book, homework.student.strand, now, drill, told)?;
    let homework = Homework::read(&book, homework.student)?;
    let shown = homework.shown(day)?;
    let today = plan::today(&homework.papers, &shown, book.device());
    let item = today.drills.iter().find(|item| item.drill.planned == practice.planned);
    let over = (today.efforts_done - shown.caps.limits.a_day).max(0);
    let value = json!({ "day": day, "practice": practice, "today": item, "efforts_over_the_cap": over });
    print(json, &value, || {
        let mut said = item.map_or_else(String::new, |item| {
            let sets = words::number::count(item.sets_done as u64, "set");
            let repetitions = words::number::count(item.repetitions_done as u64, "repetition");
            format!("{}: {sets}, {repetitions} on {}.", item.drill.name, words::number::day(day))
        });
        if item.is_some_and(|item| item.repetitions_left() > 0) {
            said += &format!(" Left: {}.", item.map(words::today::now).unwrap_or_default());
        }
        said += &above_the_cap(over);
        // What was done is logged all the same, and not passed over.
        if shown.stop.is_some() && item.is_some_and(|item| item.drill.effort == Effort::FullSpeed) {
            said += &format!("\n{}", words::plan::PAIN);
        }
        said
    })
}

fn above_the_cap(over: i64) -> String {
    if over == 0 {
        return String::new();
    }
    let swings = words::number::counted(over as u64, "full-speed swing", "full-speed swings");
    format!("\n{swings} above the cap of the day: rest now.")
}

/// The session of a day by its label.
fn session(book: &Book, homework: &Homework, label: &str, day: Day) -> Result<RecordId, DeskError> {
    let all = book.records::<Session>(homework.student.strand)?;
    let of_day: Vec<_> = all.iter().filter(|entry| entry.value.day == day).collect();
    let found = of_day.iter().find(|entry| entry.value.name.as_str().eq_ignore_ascii_case(label));
    found.map(|entry| entry.id).ok_or_else(|| {
        let names: Vec<&str> = of_day.iter().map(|entry| entry.value.name.as_str()).collect();
        let allowed = if names.is_empty() {
            format!("a session of {day}, which there is none of; log its balls first")
        } else {
            format!("one of: {}", names.join(", "))
        };
        Refusal::new("session", label, allowed, "the drill's balls are looked up there").into()
    })
}

pub fn speed(path: &Path, json: bool, options: &Speed) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let now = clock::now()?;
    let day = options.day.unwrap_or_else(|| now.at.local_day());
    not_ahead(day, now.at.local_day())?;
    let homework = Homework::read(&book, whose(&book, options.student.as_deref())?)?;
    let planned = match &options.drill {
        Some(drill) => Some(find_planned(&homework.shown(day)?, drill)?.planned),
        None => None,
    };
    let source = if options.radar { SpeedSource::Radar } else { SpeedSource::Typed };
    let sides = [(SwingSide::Playing, &options.playing), (SwingSide::Other, &options.other)];
    let swings = sides
        .into_iter()
        .flat_map(|(side, speeds)| speeds.iter().map(move |speed| (side, *speed)))
        .map(|(side, speed)| {
            let head_speed = HeadSpeed::new(speed)?;
            Ok(SpeedSwing { session: None, day, side, head_speed, source, planned })
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    record_speed(&mut book, homework.student.strand, now, &swings)?;
    let papers = Papers::read(&book, &homework.student)?;
    let summary = SpeedSummary::of(&papers);
    let units = homework.student.student.value.units;
    let caps = plan::Caps::of(&papers, papers.plan_on(day), day);
    let over = (papers.efforts_on(day) - caps.limits.a_day).max(0);
    let value =
        json!({ "recorded": swings.len(), "day": day, "speed": summary, "efforts_over_the_cap": over });
    print(json, &value, || {
        let mut said = text::page(&speed_page(homework.name(), &summary, units), text::WIDTH);
        said += &above_the_cap(over);
        if caps.stopped_by_pain {
            said += &format!("\n{}", words::plan::PAIN);
        }
        said
    })
}

pub fn pain(path: &Path, json: bool, options: PainReport) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let now = clock::now()?;
    let student = whose(&book, options.student.as_deref())?;
    if options.cleared {
        let cleared = clear_pain(&mut book, student.strand, now, now.at.local_day())?;
        return print(json, &json!({ "cleared": cleared }), || match cleared {
            0 => "No open report of pain.".into(),
            _ => format!(
                "Cleared. Begin gently: lower caps of full-speed swings hold for {} days.",
                plan::caps::DAYS_AFTER_PAIN
            ),
        });
    }
    let id = report_pain(&mut book, student.strand, now, options.note)?;
    print(json, &json!({ "record": id }), || {
        format!("{}\nThen say so with `record pain --cleared`.", words::plan::PAIN)
    })
}

/// What was done lies behind us.
fn not_ahead(day: Day, today: Day) -> Result<(), Refusal> {
    if day <= today {
        return Ok(());
    }
    Err(Refusal::new("day", day.to_string(), format!("{today} or before"), "it can't have been done yet"))
}
