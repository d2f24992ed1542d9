//! How sets of marks look on the face chart, and the legend that says so.
//!
//! Invariant: the legend paints with the same signs as the chart; any two sets
//! with a look of their own differ in shape and in colour.
//!
//! Where to start: [`looks`], [`entries`].

use super::face::{FaceChart, MarkSet};
use super::face_frame::ellipses;
use super::face_plot::on_face;
use super::layout::Entry;
use super::scene::{Dash, Item, Point, Role, Shape, Style, at};
use crate::words::chart as words;

/// Shape and colour of the sets, the latest first; the last for all before.
pub(super) const LOOKS: [(Shape, Role); 7] = [
    (Shape::Disc, Role::AccentA),
    (Shape::Triangle, Role::AccentB),
    (Shape::Square, Role::AccentC),
    (Shape::Wedge, Role::AccentD),
    (Shape::Diamond, Role::AccentE),
    (Shape::Star, Role::AccentF),
    (Shape::Plus, Role::Muted),
];

/// A set with its look; several old sets may share one.
pub(super) struct Look<'a> {
    pub shape: Shape,
    pub role: Role,
    pub latest: bool,
    pub text: String,
    pub count: usize,
    pub sets: Vec<&'a MarkSet<'a>>,
}

/// Looks of the sets that have marks, the latest first.
pub(super) fn looks<'a>(sets: &'a [MarkSet<'a>]) -> Vec<Look<'a>> {
    let mut found: Vec<Look<'a>> = Vec::new();
    let own = LOOKS.len() - 1;
    let with_marks = sets.iter().rev().filter(|set| !set.strikes.is_empty());
    for (index, set) in with_marks.enumerate() {
        if let (Some(last), true) = (found.last_mut(), index > own) {
            last.sets.push(set);
            last.count += set.strikes.len();
            last.text = words::earlier(last.sets.len());
        } else if let Some((shape, role)) = LOOKS.get(index) {
            found.push(Look {
                shape: *shape,
                role: *role,
                latest: index == 0,
                text: set.label.to_owned(),
                count: set.strikes.len(),
                sets: vec![set],
            });
        }
    }
    found
}

/// The latest set is filled, older ones are hollow; all have a rim of paper or
/// of their own colour, so that they stay apart where they overlap.
pub(super) fn mark_style(look: &Look<'_>, size_mm: f64) -> Style {
    mark_paint(look.role, look.latest, size_mm)
}

/// The same by colour and rank, for charts with sets of another kind.
pub(super) fn mark_paint(role: Role, latest: bool, size_mm: f64) -> Style {
    if latest {
        Style::fill(role).edged(Role::Paper, 0.12 * size_mm)
    } else {
        Style::line(role, (0.17 * size_mm).max(0.2)).filled(Role::Surface, 0.5)
    }
}

/// Size of a marker among so many, mm.
pub(super) fn mark_size_mm(total: usize) -> f64 {
    match total {
        0..=60 => 2.5,
        61..=150 => 2.1,
        151..=300 => 1.7,
        _ => 1.35,
    }
}

/// A ring with four ticks that leaves the point itself free.
pub(super) fn target_sign(place: Point) -> Vec<Item> {
    let p = |dx: f64, dy: f64| at(place.x_mm + dx, place.y_mm + dy);
    let mut items = Vec::new();
    for (role, extra) in [(Role::Paper, 0.5), (Role::Ink, 0.0)] {
        let style = Style::line(role, 0.5 + extra);
        items.push(Item::Circle { centre: place, radius_mm: 2.0, style });
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            items.push(Item::line(p(1.5 * x, 1.5 * y), p(2.7 * x, 2.7 * y), style));
        }
    }
    items
}

/// A cross with a rim, for the mean of the latest marks.
pub(super) fn middle_sign(place: Point) -> Vec<Item> {
    let p = |dx: f64, dy: f64| at(place.x_mm + dx, place.y_mm + dy);
    let mut items = Vec::new();
    for (role, width) in [(Role::Paper, 1.4), (Role::Ink, 0.8)] {
        let style = Style::line(role, width);
        let reach = 1.15 + if role == Role::Paper { 0.35 } else { 0.0 };
        items.push(Item::line(p(-reach, -reach), p(reach, reach), style));
        items.push(Item::line(p(-reach, reach), p(reach, -reach), style));
    }
    items
}

pub(super) fn entries(chart: &FaceChart<'_>, looks: &[Look<'_>]) -> Vec<Entry> {
    let mut found =
        vec![Entry { text: words::TARGET.to_owned(), tail: String::new(), sign: Box::new(target_sign) }];
    found.push(line_entry(
        &words::radius(chart.settings.centre_radius_mm),
        "",
        Style::line(Role::Ink, 0.45).dashed(Dash::Dotted),
    ));
    for look in looks {
        let (shape, style) = (look.shape, mark_style(look, 2.5));
        found.push(Entry {
            text: look.text.clone(),
            tail: words::marks(look.count),
            sign: Box::new(move |at| vec![Item::Marker { at, shape, size_mm: 2.5, style }]),
        });
    }
    if let Some(pattern) = chart.latest {
        if pattern.count >= 2 {
            found.push(Entry {
                text: words::MIDDLE.to_owned(),
                tail: String::new(),
                sign: Box::new(middle_sign),
            });
        }
        if ellipses(pattern).is_some() {
            let line = |width| Style::line(Role::AccentA, width);
            found.push(line_entry(words::ELLIPSE_1SIGMA, "", line(0.8)));
            found.push(line_entry(words::ELLIPSE95, "", line(0.4)));
        }
    }
    if let Some(baseline) = chart.baseline.filter(|b| ellipses(b.pattern).is_some()) {
        found.push(line_entry(
            baseline.label,
            words::BASELINE,
            Style::line(Role::Ink, 0.45).dashed(Dash::Dashed),
        ));
    }
    let outside = looks
        .iter()
        .flat_map(|look| look.sets.iter().flat_map(|set| set.strikes))
        .filter(|s| !on_face(s.toe_mm, s.high_mm, chart.face_width_mm, chart.face_height_mm))
        .count();
    if outside > 0 {
        found.push(Entry {
            text: words::outside(outside),
            tail: String::new(),
            sign: Box::new(|centre| {
                vec![Item::Circle { centre, radius_mm: 1.7, style: Style::line(Role::Flag, 0.35) }]
            }),
        });
    }
    found
}

pub(super) fn line_entry(text: &str, tail: &str, style: Style) -> Entry {
    Entry {
        text: text.to_owned(),
        tail: tail.to_owned(),
        sign: Box::new(move |p| vec![Item::line(at(p.x_mm - 3.6, p.y_mm), at(p.x_mm + 3.6, p.y_mm), style)]),
    }
}
