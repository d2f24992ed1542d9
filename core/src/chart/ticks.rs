//! Boxes to tick: one row a drill, one box for each time that the plan asks for.
//!
//! Invariant: a box that was done has a tick in it, so that nothing rests on colour;
//! boxes never run out of the chart: a long row goes on below. What was done beyond the
//! plan is told in words, and made up no boxes.
//!
//! Where to start: [`ticks_chart`].

use super::layout::{label, title};
use super::measure::{fit, width_mm as text_width_mm};
use super::scene::{Anchor, Item, Role, Scene, Step, Style, Weight, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::chart as words;

/// One row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TickRow<'a> {
    /// The drill.
    pub label: &'a str,
    /// How much of it each time.
    pub detail: &'a str,
    /// Boxes: times that are asked for.
    pub asked: u32,
    /// Of these, ticked: times done.
    pub done: u32,
}

/// What the chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ticks<'a> {
    /// Title.
    pub title: &'a str,
    /// What a box stands for.
    pub subtitle: &'a str,
    /// The rows, in order.
    pub rows: &'a [TickRow<'a>],
}

const BOX_MM: f64 = 4.6;
const STEP_MM: f64 = 6.4;
/// More boxes than this in a row tell nobody anything.
const MOST_BOXES: u32 = 120;

/// Draws the boxes at a width in mm.
///
/// # Errors
/// [`ChartError`] if the width is out of range, or a row has more boxes than fit a page.
pub fn ticks_chart(ticks: &Ticks<'_>, width_mm: f64) -> Result<Scene, ChartError> {
    check_width(width_mm)?;
    let mut items = Vec::new();
    let mut y = title(&mut items, ticks.title, ticks.subtitle, width_mm);
    let room = width_mm - 2.0 * MARGIN_MM;
    let across = ((room + STEP_MM - BOX_MM) / STEP_MM).floor().max(1.0) as u32;
    let mut alts = Vec::with_capacity(ticks.rows.len());
    for (n, row) in ticks.rows.iter().enumerate() {
        within(
            "boxes",
            f64::from(row.asked),
            0.0,
            f64::from(MOST_BOXES),
            "at most 120, so that a row fits a page",
        )?;
        y += LEADING_MM;
        // A long name is cut, never how much is to be done.
        let detail = format!(": {}", row.detail);
        let left = room - text_width_mm(&detail, LABEL_MM, Weight::Regular);
        let text = fit(row.label, LABEL_MM, Weight::Regular, left) + &detail;
        let mut parts = vec![label(at(MARGIN_MM, y), text, Anchor::Start, Role::Ink)];
        y += 1.6;
        for place in 0..row.asked {
            let corner =
                at(MARGIN_MM + f64::from(place % across) * STEP_MM, y + f64::from(place / across) * STEP_MM);
            parts.push(Item::Rect {
                corner,
                width_mm: BOX_MM,
                height_mm: BOX_MM,
                round_mm: 0.6,
                style: Style::line(Role::Ink, 0.35),
            });
            if place < row.done {
                parts.push(tick(corner.x_mm, corner.y_mm));
            }
        }
        y += f64::from(row.asked.div_ceil(across)) * STEP_MM + 0.6;
        let alt = words::ticks(row.label, row.done, row.asked);
        items.push(Item::group(format!("row.{n}"), alt.clone(), parts));
        alts.push(alt);
    }
    if ticks.rows.is_empty() {
        y += LEADING_MM;
        items.push(label(at(MARGIN_MM, y), words::NO_DRILLS, Anchor::Start, Role::Muted));
        alts.push(words::NO_DRILLS.into());
    }
    Ok(Scene {
        title: ticks.title.to_owned(),
        alt: format!("{}. {}", ticks.subtitle, alts.join(" ")),
        width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

/// A tick in a box whose corner lies there.
fn tick(x_mm: f64, y_mm: f64) -> Item {
    let place = |x: f64, y: f64| at(x_mm + x * BOX_MM, y_mm + y * BOX_MM);
    Item::Path {
        steps: vec![
            Step::Move { to: place(0.18, 0.52) },
            Step::Line { to: place(0.42, 0.78) },
            Step::Line { to: place(0.86, 0.2) },
        ],
        style: Style::line(Role::AccentA, 0.8),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{PHONE_WIDTH_MM, PRINT_WIDTH_MM};

    fn drawn(asked: u32, done: u32, width_mm: f64) -> Result<Scene, ChartError> {
        let rows = [TickRow { label: "Target dot", detail: "3 x 8", asked, done }];
        ticks_chart(&Ticks { title: "Boxes", subtitle: "One box a time", rows: &rows }, width_mm)
    }

    fn boxes(scene: &Scene) -> (usize, usize, f64) {
        let (mut rects, mut ticks, mut right) = (0, 0, 0.0_f64);
        for item in &scene.items {
            let Item::Group { items, .. } = item else { continue };
            for item in items {
                match item {
                    Item::Rect { corner, width_mm, .. } => {
                        rects += 1;
                        right = right.max(corner.x_mm + width_mm);
                    }
                    Item::Path { .. } => ticks += 1,
                    _ => {}
                }
            }
        }
        (rects, ticks, right)
    }

    #[test]
    fn there_is_a_box_for_each_time_and_a_tick_in_each_that_was_done() {
        for (asked, done) in [(8, 3), (40, 0), (4, 9)] {
            for width in [PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
                let scene = drawn(asked, done, width).unwrap();
                let (rects, ticks, right) = boxes(&scene);
                assert_eq!((rects, ticks), (asked as usize, asked.min(done) as usize));
                assert!(right <= width - MARGIN_MM + 1e-9);
                assert!(scene.alt.contains(&format!("{done} of {asked}")), "{}", scene.alt);
            }
        }
        assert!(drawn(121, 0, PRINT_WIDTH_MM).is_err());
    }

    #[test]
    fn the_boxes_look_as_they_did() {
        insta::assert_snapshot!(crate::chart::to_svg(
            &drawn(9, 4, PHONE_WIDTH_MM).unwrap(),
            crate::chart::Theme::Print
        ));
    }

    #[test]
    fn a_plan_without_drills_says_so() {
        let scene =
            ticks_chart(&Ticks { title: "Boxes", subtitle: "One box a time", rows: &[] }, 100.0).unwrap();
        assert!(scene.alt.contains(words::NO_DRILLS));
    }
}
