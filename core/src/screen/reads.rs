//! Long reads that several screens ask for, by name, as `Compute` functions.
//!
//! The rule: each is a function of the book and the question alone.

use std::sync::Arc;

use super::block::{Basis, Block, Page};
use super::run::{Ask, Found, Problem};
use super::{brief_card, brief_page, pattern_chart, pattern_page};
use crate::book::{Book, StudentEntry};
use crate::lesson::{Brief, DRIVES_FOR_A_BRIEF, Log, Worth};
use crate::model::MarkRead;
use crate::words::screen as say;

/// A student and their whole log.
///
/// # Errors
/// What the book reports.
pub fn log(book: &Book, ask: &Ask) -> Result<(StudentEntry, Log), Problem> {
    let student = super::run::student(book, ask.strand)?;
    let log = Log::read(book, &student)?;
    Ok((student, log))
}

/// The brief with what the misses cost, as a page.
pub fn brief(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    Ok(Arc::new(brief_page(&whole_brief(book, ask)?)))
}

/// The brief on one screen of a phone, as a page.
pub fn card(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    Ok(Arc::new(brief_card(&whole_brief(book, ask)?)))
}

fn whole_brief(book: &Book, ask: &Ask) -> Result<Brief, Problem> {
    let (_, log) = log(book, ask)?;
    let brief = Brief::of(&log, &book.device_names()?, ask.day).map_err(said)?;
    Ok(brief.with_worth(Worth::of(&log, DRIVES_FOR_A_BRIEF)))
}

/// What changed since the baseline, without what it costs, as a page.
pub fn progress(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let (_, log) = log(book, ask)?;
    let brief = Brief::of(&log, &book.device_names()?, ask.day).map_err(said)?;
    Ok(Arc::new(brief_page(&brief)))
}

/// The pattern of a student's latest sessions, as a page with its chart.
pub fn pattern(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let (_, log) = log(book, ask)?;
    let (baseline, now) = crate::lesson::spans(&log).map_err(said)?;
    let felt = log
        .visits
        .iter()
        .flat_map(|visit| &visit.shots)
        .filter(|shot| shot.mark.is_some_and(|m| m.read == MarkRead::Felt));
    let felt = felt.count() as u64;
    let Some(span) = now.as_ref().or(baseline.as_ref()) else {
        return Ok(Arc::new(None::<Page>));
    };
    let notes =
        [(Basis::Measured, say::strikes::rests(span.from, span.until, span.sessions.len() as u32, felt))];
    let mut page = pattern_page(say::strikes::TITLE, &span.pattern, &notes);
    let strikes: Vec<_> =
        span.sessions.iter().flat_map(|session| &session.marks).map(crate::lesson::Mark::strike).collect();
    if let Ok(scene) = pattern_chart(&strikes, &span.pattern, log.student.hand) {
        page.blocks.insert(0, Block::Chart { key: "strikes.face".into(), scene });
    }
    Ok(Arc::new(Some(page)))
}

/// A fault of a computation as a problem.
pub fn said(error: impl std::fmt::Display) -> Problem {
    Problem(error.to_string())
}
