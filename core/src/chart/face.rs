//! The face chart: where the strikes came, session by session.
//!
//! Outline of the face, target point with its centre radius, marks by session
//! (the latest filled and in the first colour, older ones hollow), the ellipses
//! of the latest set and, broken, of the baseline, and a grid in millimetres.
//!
//! Invariant: a mark is drawn at its true place, also outside the face, and is
//! then flagged; up to six sets have a shape and a colour of their own, older ones
//! share one. See `face_plot.rs` for which side the toe is on, `face_looks.rs` for
//! shapes and legend, `face_frame.rs` for what is drawn on the face.
//!
//! Where to start: [`face_chart`].

use super::face_frame::Frame;
use super::face_looks::{entries, looks};
use super::layout::{caption, legend, sign, title};
use super::scene::{Anchor, Scene};
use super::{ChartError, LEADING_MM, MARGIN_MM, check_width, within};
use crate::face::{Pattern, Settings, Strike};
use crate::words::chart as words;

/// Playing side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// Right-handed: toe on the left of the picture.
    Right,
    /// Left-handed: toe on the right of the picture.
    Left,
}

/// The marks of one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkSet<'a> {
    /// What the legend calls it, e.g. a date.
    pub label: &'a str,
    /// Its marks.
    pub strikes: &'a [Strike],
}

/// A pattern whose ellipses are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedPattern<'a> {
    /// What the legend calls it.
    pub label: &'a str,
    /// The pattern.
    pub pattern: &'a Pattern,
}

/// What a face chart shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceChart<'a> {
    /// Title.
    pub title: &'a str,
    /// Playing side.
    pub hand: Hand,
    /// Width of the club's face, mm.
    pub face_width_mm: f64,
    /// Height of the club's face, mm.
    pub face_height_mm: f64,
    /// Target point and centre radius.
    pub settings: Settings,
    /// Sessions in time order, the latest last.
    pub sets: &'a [MarkSet<'a>],
    /// Pattern of the latest set: ellipses and middle.
    pub latest: Option<&'a Pattern>,
    /// One or two sentences under the chart, said in its text alternative too; may be empty.
    pub caption: &'a str,
    /// Pattern to compare with.
    pub baseline: Option<MarkedPattern<'a>>,
    /// Width of the scene, mm: [`PHONE_WIDTH_MM`](super::PHONE_WIDTH_MM) or
    /// [`PRINT_WIDTH_MM`](super::PRINT_WIDTH_MM) or another from 60 to 1000.
    pub width_mm: f64,
}

/// Draws a face chart.
///
/// # Errors
/// [`ChartError`] if the width or the face's size is out of range or a mark is
/// not a number.
pub fn face_chart(chart: &FaceChart<'_>) -> Result<Scene, ChartError> {
    draw(chart, true)
}

/// The same at a glance: without the view in words and without a legend; both are
/// in its text alternative.
///
/// # Errors
/// As [`face_chart`].
pub fn face_glance(chart: &FaceChart<'_>) -> Result<Scene, ChartError> {
    draw(chart, false)
}

fn draw(chart: &FaceChart<'_>, whole: bool) -> Result<Scene, ChartError> {
    check_width(chart.width_mm)?;
    let size = "from 40 to 160 mm by 20 to 100 mm, as a driver's face may be";
    within("face_width_mm", chart.face_width_mm, 40.0, 160.0, size)?;
    within("face_height_mm", chart.face_height_mm, 20.0, 100.0, size)?;
    let reach_text = "from -250 to 250 mm, because no club head is larger";
    for strike in chart.sets.iter().flat_map(|set| set.strikes) {
        within("toe_mm", strike.toe_mm, -250.0, 250.0, reach_text)?;
        within("high_mm", strike.high_mm, -250.0, 250.0, reach_text)?;
    }

    let view = words::face_view(chart.hand == Hand::Left);
    let mut items = Vec::new();
    let top = title(&mut items, chart.title, if whole { &view } else { "" }, chart.width_mm);
    let frame = Frame::new(chart, top);
    items.push(frame.grid());
    items.push(frame.face(chart));
    let looks = looks(chart.sets);
    items.extend(frame.marks(chart, &looks));
    items.extend(frame.patterns(chart));
    let total: usize = chart.sets.iter().map(|set| set.strikes.len()).sum();
    if total == 0 {
        let place = frame.plot.place(0.0, -0.25 * chart.face_height_mm);
        items.push(sign(place, words::NO_MARKS, Anchor::Middle));
    }
    let mut y = frame.bottom_mm + LEADING_MM + 1.0;
    if whole {
        y = legend(&mut items, &entries(chart, &looks), y + 2.0, chart.width_mm);
    }
    let y = caption(&mut items, chart.caption, y, chart.width_mm);
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: alt(chart, &view),
        width_mm: chart.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

fn alt(chart: &FaceChart<'_>, view: &str) -> String {
    let settings = &chart.settings;
    let mut parts = vec![words::face_alt(view, settings.target_toe_mm, settings.target_high_mm)];
    if chart.sets.iter().all(|set| set.strikes.is_empty()) {
        parts.push(format!("{}.", words::NO_MARKS));
    }
    if !chart.caption.is_empty() {
        parts.push(chart.caption.to_owned());
    }
    parts.join(" ")
}
