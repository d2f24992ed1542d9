//! The landing chart: where the balls came down, seen from above.
//!
//! Carry up the page and the target line in the middle, right of the target on
//! the right for everyone; a fairway, the balls by set, and the middle and
//! scatter of the latest set.
//!
//! Invariant: both directions are to one scale, every ball is at its true place
//! inside the plot, and the latest set lies on top.
//!
//! Where to start: [`landing_chart`]; `landing_frame.rs` has the plot.

use super::face_looks::{LOOKS, line_entry, mark_paint, mark_size_mm, middle_sign};
use super::landing_frame::Frame;
use super::layout::{Entry, caption, legend, sign, title};
use super::length::Length;
use super::scene::{Anchor, Item, Role, Scene, Shape, Style};
use super::{ChartError, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::{chart, flight_chart as words};

/// The balls of one set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LandingSet<'a> {
    /// What the legend calls it.
    pub label: &'a str,
    /// Carry and distance right of the target line of each ball, m.
    pub balls: &'a [[f64; 2]],
}

/// An ellipse on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LandingOval {
    /// Longer half axis, m.
    pub semi_major_m: f64,
    /// Shorter half axis, m.
    pub semi_minor_m: f64,
    /// Direction of the longer axis, deg from the target line to the right.
    pub right_deg: f64,
}

/// Middle and scatter of the latest set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LandingScatter {
    /// Mean carry, m.
    pub carry_m: f64,
    /// Mean distance right of the target line, m.
    pub lateral_m: f64,
    /// Holds about 4 balls in 10.
    pub one_sigma: LandingOval,
    /// Holds about 19 balls in 20.
    pub oval95: LandingOval,
}

/// What a landing chart shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landing<'a> {
    /// Title.
    pub title: &'a str,
    /// Unit of the labels.
    pub unit: Length,
    /// Sets in time order, the latest last.
    pub sets: &'a [LandingSet<'a>],
    /// Scatter of the latest set, if there are balls enough.
    pub scatter: Option<LandingScatter>,
    /// Width of the fairway about the target line, m.
    pub fairway_m: Option<f64>,
    /// One or two sentences under the chart; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

/// A set with its shape and colour; several old sets may share one.
pub(super) struct Look<'a> {
    pub shape: Shape,
    pub role: Role,
    pub latest: bool,
    pub text: String,
    pub sets: Vec<&'a LandingSet<'a>>,
}

impl Look<'_> {
    pub fn balls(&self) -> impl Iterator<Item = &[f64; 2]> {
        self.sets.iter().flat_map(|set| set.balls)
    }

    pub fn paint(&self, size_mm: f64) -> Style {
        mark_paint(self.role, self.latest, size_mm)
    }
}

/// Draws a landing chart.
///
/// # Errors
/// [`ChartError`] if the width is out of range or a number is none.
pub fn landing_chart(landing: &Landing<'_>) -> Result<Scene, ChartError> {
    check(landing)?;
    let view = words::landing_view(landing.unit.name());
    let mut items = Vec::new();
    let top = title(&mut items, landing.title, &view, landing.width_mm);
    let frame = Frame::new(landing, top);
    let looks = looks(landing.sets);
    let total = looks.iter().flat_map(Look::balls).count();
    items.extend(landing.fairway_m.map(|width| frame.fairway(width)));
    items.push(frame.grid(landing.unit));
    items.extend(frame.balls(&looks, mark_size_mm(total)));
    items.extend(landing.scatter.map(|scatter| frame.scatter(&scatter, landing.unit)));
    if total == 0 {
        items.push(sign(frame.middle(), words::NO_BALLS, Anchor::Middle));
    }
    let y =
        legend(&mut items, &entries(landing, &looks), frame.bottom_mm + LEADING_MM + 3.0, landing.width_mm);
    let y = caption(&mut items, landing.caption, y, landing.width_mm);
    Ok(Scene {
        title: landing.title.to_owned(),
        alt: alt(landing, &view, total),
        width_mm: landing.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

fn check(landing: &Landing<'_>) -> Result<(), ChartError> {
    const FAR: &str = "from -1000 to 1000 m, further than any ball flies";
    check_width(landing.width_mm)?;
    let far = |field, value| within(field, value, -1000.0, 1000.0, FAR);
    for [carry, lateral] in landing.sets.iter().flat_map(|set| set.balls) {
        far("carry_m", *carry)?;
        far("lateral_m", *lateral)?;
    }
    if let Some(scatter) = landing.scatter {
        far("mean carry_m", scatter.carry_m)?;
        far("mean lateral_m", scatter.lateral_m)?;
        for oval in [scatter.one_sigma, scatter.oval95] {
            let size = "from 0 to 3000 m, so that it is an ellipse of balls";
            within("semi_major_m", oval.semi_major_m, 0.0, 3000.0, size)?;
            within("semi_minor_m", oval.semi_minor_m, 0.0, 3000.0, size)?;
            within("right_deg", oval.right_deg, -360.0, 360.0, "an angle in degrees")?;
        }
    }
    match landing.fairway_m {
        Some(width) => within("fairway_m", width, 1.0, 200.0, "from 1 to 200 m, as fairways are"),
        None => Ok(()),
    }
}

/// Looks of the sets that have balls, the latest first.
fn looks<'a>(sets: &'a [LandingSet<'a>]) -> Vec<Look<'a>> {
    let mut found: Vec<Look<'a>> = Vec::new();
    for (index, set) in sets.iter().rev().filter(|set| !set.balls.is_empty()).enumerate() {
        if let Some((shape, role)) = LOOKS.get(index) {
            let (shape, role, latest) = (*shape, *role, index == 0);
            found.push(Look { shape, role, latest, text: set.label.to_owned(), sets: vec![set] });
        } else if let Some(last) = found.last_mut() {
            last.sets.push(set);
            last.text = chart::earlier(last.sets.len());
        }
    }
    found
}

fn entries(landing: &Landing<'_>, looks: &[Look<'_>]) -> Vec<Entry> {
    let mut found = vec![line_entry(words::TARGET_LINE, "", super::landing_frame::target_line())];
    if let Some(width) = landing.fairway_m {
        let text = words::fairway(&landing.unit.text(width));
        found.push(Entry { text, tail: String::new(), sign: Box::new(super::landing_frame::fairway_sign) });
    }
    for look in looks {
        let (shape, style) = (look.shape, look.paint(2.5));
        found.push(Entry {
            text: look.text.clone(),
            tail: chart::marks(look.balls().count()),
            sign: Box::new(move |at| vec![Item::Marker { at, shape, size_mm: 2.5, style }]),
        });
    }
    if let Some(scatter) = landing.scatter {
        let text = words::MIDDLE_OF_BALLS.to_owned() + &middle(&scatter, landing.unit);
        found.push(Entry { text, tail: String::new(), sign: Box::new(middle_sign) });
        found.push(line_entry(chart::ELLIPSE_1SIGMA, "", Style::line(Role::AccentA, 0.8)));
        found.push(line_entry(chart::ELLIPSE95, "", Style::line(Role::AccentA, 0.4)));
    }
    found
}

/// The middle of the balls in distances.
pub(super) fn middle(scatter: &LandingScatter, unit: Length) -> String {
    let aside = words::aside(&unit.text(scatter.lateral_m.abs()), scatter.lateral_m);
    words::middle_at(&unit.text(scatter.carry_m), &aside)
}

fn alt(landing: &Landing<'_>, view: &str, total: usize) -> String {
    let mut parts = vec![format!("{view}.")];
    if total == 0 {
        parts.push(format!("{}.", words::NO_BALLS));
    } else if let Some(width) = landing.fairway_m {
        let balls = || landing.sets.iter().flat_map(|set| set.balls);
        let inside = balls().filter(|ball| ball[1].abs() <= 0.5 * width).count();
        parts.push(words::on_fairway(inside, total, &landing.unit.text(width)));
    }
    if !landing.caption.is_empty() {
        parts.push(landing.caption.to_owned());
    }
    parts.join(" ")
}
