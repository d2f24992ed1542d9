//! The face chart: where the strikes came, session by session.
//!
//! Outline of the face, target point with its centre radius, marks by session
//! (the latest filled and in the first colour, older ones hollow), the ellipses
//! of the latest set and, broken, of the baseline, and a grid in millimetres.
//!
//! Invariant: a mark is drawn at its true place, also outside the face, and is
//! then flagged; up to six sets have a shape and a colour of their own, older ones
//! share one. See `face_plot.rs` for which side the toe is on.
//!
//! Where to start: [`face_chart`].

use super::axis::multiples;
use super::face_plot::{Plot, on_face, reach};
use super::layout::{Entry, caption, drop_mm, label, legend, sign, title};
use super::scene::{Anchor, Dash, Item, Point, Role, Scene, Shape, Style, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::face::{Ellipse, Pattern, Settings, Strike};
use crate::words::{chart as words, pattern as sentences};

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
    /// Pattern to compare with.
    pub baseline: Option<MarkedPattern<'a>>,
    /// Width of the scene, mm: [`PHONE_WIDTH_MM`](super::PHONE_WIDTH_MM) or
    /// [`PRINT_WIDTH_MM`](super::PRINT_WIDTH_MM) or another from 60 to 1000.
    pub width_mm: f64,
}

/// Shape and colour of the sets, the latest first; the last for all before.
const LOOKS: [(Shape, Role); 7] = [
    (Shape::Disc, Role::AccentA),
    (Shape::Triangle, Role::AccentB),
    (Shape::Square, Role::AccentC),
    (Shape::Wedge, Role::AccentD),
    (Shape::Diamond, Role::AccentE),
    (Shape::Star, Role::AccentF),
    (Shape::Plus, Role::Muted),
];

/// Least space between the face and the edge of the plot, in face mm.
const AROUND_MM: f64 = 9.0;
/// No plot shows more than this from the face centre, mm.
const FARTHEST_MM: f64 = 100.0;

/// Draws a face chart.
///
/// # Errors
/// [`ChartError`] if the width or the face's size is out of range or a mark is
/// not a number.
pub fn face_chart(chart: &FaceChart<'_>) -> Result<Scene, ChartError> {
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
    let top = title(&mut items, chart.title, &view, chart.width_mm);
    let frame = Frame::new(chart, top);
    items.push(frame.grid());
    items.push(frame.face(chart));
    items.extend(frame.target(&chart.settings));
    let looks = looks(chart.sets);
    items.extend(frame.marks(chart, &looks));
    items.extend(frame.patterns(chart));
    let total: usize = chart.sets.iter().map(|set| set.strikes.len()).sum();
    if total == 0 {
        let place = frame.plot.place(0.0, -0.25 * chart.face_height_mm);
        items.push(sign(place, words::NO_MARKS, Anchor::Middle));
    }
    let mut y = legend(
        &mut items,
        &entries(chart, &looks),
        frame.bottom_mm + LEADING_MM + 3.0,
        chart.width_mm,
    );
    if let Some(pattern) = chart.latest {
        y = caption(&mut items, &sentences::headline(pattern), y, chart.width_mm);
    }
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: alt(chart, &view),
        width_mm: chart.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

/// A set with its look; several old sets may share one.
struct Look<'a> {
    shape: Shape,
    role: Role,
    latest: bool,
    text: String,
    sets: Vec<&'a MarkSet<'a>>,
}

/// Looks of the sets that have marks, the latest first.
fn looks<'a>(sets: &'a [MarkSet<'a>]) -> Vec<Look<'a>> {
    let mut found: Vec<Look<'a>> = Vec::new();
    let own = LOOKS.len() - 1;
    let with_marks = sets.iter().rev().filter(|set| !set.strikes.is_empty());
    for (index, set) in with_marks.enumerate() {
        if let (Some(last), true) = (found.last_mut(), index > own) {
            last.sets.push(set);
        } else if let Some((shape, role)) = LOOKS.get(index) {
            found.push(Look {
                shape: *shape,
                role: *role,
                latest: index == 0,
                text: words::marks(set.label, set.strikes.len()),
                sets: vec![set],
            });
        }
    }
    if let Some(last) = found.last_mut().filter(|look| look.sets.len() > 1) {
        let count = last.sets.iter().map(|set| set.strikes.len()).sum();
        last.text = words::earlier(last.sets.len(), count);
    }
    found
}

/// The latest set is filled, older ones are hollow; all have a rim of paper or
/// of their own colour, so that they stay apart where they overlap.
fn mark_style(look: &Look<'_>, size_mm: f64) -> Style {
    if look.latest {
        Style::fill(look.role).edged(Role::Paper, 0.12 * size_mm)
    } else {
        Style::line(look.role, (0.17 * size_mm).max(0.2)).filled(Role::Surface, 0.5)
    }
}

/// Size of a marker among so many, mm.
fn mark_size_mm(total: usize) -> f64 {
    match total {
        0..=60 => 2.5,
        61..=150 => 2.1,
        151..=300 => 1.7,
        _ => 1.35,
    }
}

/// The plot area.
struct Frame {
    plot: Plot,
    left_mm: f64,
    right_mm: f64,
    top_mm: f64,
    bottom_mm: f64,
    half_toe_mm: f64,
    low_mm: f64,
    high_mm: f64,
}

impl Frame {
    fn new(chart: &FaceChart<'_>, top_mm: f64) -> Self {
        let mut half_toe = 0.5 * chart.face_width_mm + AROUND_MM;
        let mut low = -0.5 * chart.face_height_mm - AROUND_MM;
        let mut high = 0.5 * chart.face_height_mm + AROUND_MM;
        let mut hold = |toe: f64, bottom: f64, top: f64| {
            half_toe = half_toe.max(toe.abs() + 4.0).min(FARTHEST_MM);
            low = low.min(bottom - 4.0).max(-FARTHEST_MM);
            high = high.max(top + 4.0).min(FARTHEST_MM);
        };
        for strike in chart.sets.iter().flat_map(|set| set.strikes) {
            hold(strike.toe_mm, strike.high_mm, strike.high_mm);
        }
        let patterns = chart
            .latest
            .into_iter()
            .chain(chart.baseline.map(|b| b.pattern));
        for ellipse in patterns.filter_map(|p| p.ellipse95) {
            let (toe, up) = reach(&ellipse);
            hold(
                ellipse.centre_toe_mm.abs() + toe,
                ellipse.centre_high_mm - up,
                ellipse.centre_high_mm + up,
            );
        }
        let left_mm = MARGIN_MM + 5.5;
        let right_mm = chart.width_mm - MARGIN_MM;
        let scale = (right_mm - left_mm) / (2.0 * half_toe);
        let centre = at(0.5 * (left_mm + right_mm), top_mm + high * scale);
        Self {
            plot: Plot {
                centre,
                scale,
                toe_sign: match chart.hand {
                    Hand::Right => -1.0,
                    Hand::Left => 1.0,
                },
            },
            left_mm,
            right_mm,
            top_mm,
            bottom_mm: centre.y_mm - low * scale,
            half_toe_mm: half_toe,
            low_mm: low,
            high_mm: high,
        }
    }

    /// Lines each 10 mm, numbers each 20 mm, and the four directions in words.
    fn grid(&self) -> Item {
        let mut items = Vec::new();
        let thin = |zero: bool| Style::line(Role::Grid, if zero { 0.4 } else { 0.18 });
        let below = self.bottom_mm + LABEL_MM + 0.8;
        for toe in multiples(-self.half_toe_mm, self.half_toe_mm, 10.0) {
            let x = self.plot.place(toe, 0.0).x_mm;
            let style = thin(toe == 0.0);
            items.push(Item::line(at(x, self.top_mm), at(x, self.bottom_mm), style));
            let at_end = self.half_toe_mm - toe.abs() < 11.0 / self.plot.scale;
            if toe % 20.0 == 0.0 && !at_end {
                let text = format!("{:.0}", toe.abs());
                items.push(label(at(x, below), text, Anchor::Middle, Role::Muted));
            }
        }
        for high in multiples(self.low_mm, self.high_mm, 10.0) {
            let y = self.plot.place(0.0, high).y_mm;
            let style = thin(high == 0.0);
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), style));
            if high % 20.0 == 0.0 {
                let text = format!("{:.0}", high.abs());
                let place = at(self.left_mm - 1.2, y + drop_mm());
                items.push(label(place, text, Anchor::End, Role::Muted));
            }
        }
        let (left, right) = if self.plot.toe_sign < 0.0 {
            (words::TOE, words::HEEL)
        } else {
            (words::HEEL, words::TOE)
        };
        items.push(sign(at(self.left_mm, below), left, Anchor::Start));
        items.push(sign(at(self.right_mm, below), right, Anchor::End));
        Item::group("grid", "", items)
    }

    /// The face, with crown and sole named.
    fn face(&self, chart: &FaceChart<'_>) -> Item {
        let (w, h) = (chart.face_width_mm, chart.face_height_mm);
        let x = self.plot.centre.x_mm;
        let crown = at(x, self.plot.place(0.0, 0.5 * h).y_mm - 1.3);
        let sole = at(
            x,
            self.plot.place(0.0, -0.5 * h).y_mm + 1.3 + 2.0 * drop_mm(),
        );
        Item::group(
            "face",
            "",
            vec![
                Item::Path {
                    steps: self.plot.outline(w, h),
                    style: Style::line(Role::Ink, 0.5).filled(Role::Surface, 0.75),
                },
                sign(crown, words::CROWN, Anchor::Middle),
                sign(sole, words::SOLE, Anchor::Middle),
            ],
        )
    }

    fn target(&self, settings: &Settings) -> Vec<Item> {
        let place = self
            .plot
            .place(settings.target_toe_mm, settings.target_high_mm);
        let radius = settings.centre_radius_mm * self.plot.scale;
        vec![Item::group(
            "target",
            format!("{}.", words::radius(settings.centre_radius_mm)),
            vec![
                Item::Circle {
                    centre: place,
                    radius_mm: radius,
                    style: Style::line(Role::Ink, 0.35).dashed(Dash::Dotted),
                },
                Item::group("target-point", "", target_sign(place)),
            ],
        )]
    }

    /// Marks, older sets first, so that the latest lies on top.
    fn marks(&self, chart: &FaceChart<'_>, looks: &[Look<'_>]) -> Vec<Item> {
        let total = looks
            .iter()
            .flat_map(|l| &l.sets)
            .map(|s| s.strikes.len())
            .sum();
        let size_mm = mark_size_mm(total);
        let off = |s: &&Strike| {
            !on_face(
                s.toe_mm,
                s.high_mm,
                chart.face_width_mm,
                chart.face_height_mm,
            )
        };
        let mut groups = Vec::new();
        for (index, look) in looks.iter().enumerate().rev() {
            let strikes = || look.sets.iter().flat_map(|set| set.strikes);
            let mut items = Vec::new();
            for strike in strikes() {
                let place = self.plot.place(strike.toe_mm, strike.high_mm);
                if off(&strike) {
                    items.push(Item::Circle {
                        centre: place,
                        radius_mm: size_mm,
                        style: Style::line(Role::Flag, 0.35),
                    });
                }
                items.push(Item::Marker {
                    at: place,
                    shape: look.shape,
                    size_mm,
                    style: mark_style(look, size_mm),
                });
            }
            let label = match look.sets.as_slice() {
                [one] => one.label,
                _ => look.text.as_str(),
            };
            let outside = strikes().filter(off).count();
            let alt = words::marks_alt(label, strikes().count(), outside);
            groups.push(Item::group(format!("marks-{index}"), alt, items));
        }
        groups
    }

    /// Ellipses and middle of the latest set, ellipses of the baseline.
    fn patterns(&self, chart: &FaceChart<'_>) -> Vec<Item> {
        let mut items = Vec::new();
        if let Some(baseline) = chart.baseline {
            let paint = |dash, width| Style::line(Role::Ink, width).dashed(dash);
            items.extend(self.pattern_group(
                "baseline",
                baseline,
                paint(Dash::Dashed, 0.5),
                paint(Dash::Dashed, 0.3),
            ));
        }
        if let Some(pattern) = chart.latest {
            let label = chart.sets.last().map_or("", |set| set.label);
            let marked = MarkedPattern { label, pattern };
            let paint = |width| Style::line(Role::AccentA, width);
            items.extend(self.pattern_group("latest", marked, paint(0.8), paint(0.4)));
            if let (Some(toe), Some(high), true) = (
                pattern.bias_toe_mm,
                pattern.bias_high_mm,
                pattern.count >= 2,
            ) {
                let target = (chart.settings.target_toe_mm, chart.settings.target_high_mm);
                let place = self.plot.place(target.0 + toe, target.1 + high);
                items.push(Item::group("middle", "", middle_sign(place)));
            }
        }
        items
    }

    fn pattern_group(
        &self,
        key: &str,
        marked: MarkedPattern<'_>,
        inner: Style,
        outer: Style,
    ) -> Option<Item> {
        let (one, most) = (marked.pattern.ellipse_1sigma?, marked.pattern.ellipse95?);
        let rim = |style: Style| Style::line(Role::Paper, style.stroke_mm + 0.5);
        let mut items = Vec::new();
        for (ellipse, style) in [(one, inner), (most, outer)] {
            // A rim of paper under the line keeps it apart from the marks.
            if style.dash == Dash::Solid {
                items.push(self.ellipse(&ellipse, rim(style)));
            }
            items.push(self.ellipse(&ellipse, style));
        }
        let alt = words::ellipse_alt(marked.label, marked.pattern);
        Some(Item::group(key, alt, items))
    }

    fn ellipse(&self, ellipse: &Ellipse, style: Style) -> Item {
        Item::Ellipse {
            centre: self
                .plot
                .place(ellipse.centre_toe_mm, ellipse.centre_high_mm),
            semi_x_mm: ellipse.semi_major_mm * self.plot.scale,
            semi_y_mm: ellipse.semi_minor_mm * self.plot.scale,
            turn_deg: self.plot.turn_deg(ellipse.angle_deg),
            style,
        }
    }
}

/// A ring with four ticks that leaves the point itself free.
fn target_sign(place: Point) -> Vec<Item> {
    let p = |dx: f64, dy: f64| at(place.x_mm + dx, place.y_mm + dy);
    let mut items = Vec::new();
    for (role, extra) in [(Role::Paper, 0.5), (Role::Ink, 0.0)] {
        let style = Style::line(role, 0.5 + extra);
        items.push(Item::Circle {
            centre: place,
            radius_mm: 1.5,
            style,
        });
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            items.push(Item::line(p(1.5 * x, 1.5 * y), p(2.7 * x, 2.7 * y), style));
        }
    }
    items
}

/// A cross with a rim, for the mean of the latest marks.
fn middle_sign(place: Point) -> Vec<Item> {
    let p = |dx: f64, dy: f64| at(place.x_mm + dx, place.y_mm + dy);
    let mut items = Vec::new();
    for (role, width) in [(Role::Paper, 1.7), (Role::Ink, 0.9)] {
        let style = Style::line(role, width);
        let reach = 1.7 + if role == Role::Paper { 0.4 } else { 0.0 };
        items.push(Item::line(p(-reach, -reach), p(reach, reach), style));
        items.push(Item::line(p(-reach, reach), p(reach, -reach), style));
    }
    items
}

fn entries(chart: &FaceChart<'_>, looks: &[Look<'_>]) -> Vec<Entry> {
    let mut found = vec![Entry {
        text: words::TARGET.to_owned(),
        sign: Box::new(target_sign),
    }];
    found.push(line_entry(
        words::radius(chart.settings.centre_radius_mm),
        Style::line(Role::Ink, 0.35).dashed(Dash::Dotted),
    ));
    for look in looks {
        let (shape, style) = (look.shape, mark_style(look, 2.5));
        found.push(Entry {
            text: look.text.clone(),
            sign: Box::new(move |at| {
                vec![Item::Marker {
                    at,
                    shape,
                    size_mm: 2.5,
                    style,
                }]
            }),
        });
    }
    if let Some(pattern) = chart.latest {
        if pattern.count >= 2 {
            found.push(Entry {
                text: words::MIDDLE.to_owned(),
                sign: Box::new(middle_sign),
            });
        }
        if pattern.ellipse95.is_some() {
            let line = |width| Style::line(Role::AccentA, width);
            found.push(line_entry(words::ELLIPSE_1SIGMA.to_owned(), line(0.8)));
            found.push(line_entry(words::ELLIPSE95.to_owned(), line(0.4)));
        }
    }
    if let Some(baseline) = chart.baseline {
        found.push(line_entry(
            words::baseline(baseline.label),
            Style::line(Role::Ink, 0.45).dashed(Dash::Dashed),
        ));
    }
    let outside = looks
        .iter()
        .flat_map(|look| look.sets.iter().flat_map(|set| set.strikes))
        .filter(|s| {
            !on_face(
                s.toe_mm,
                s.high_mm,
                chart.face_width_mm,
                chart.face_height_mm,
            )
        })
        .count();
    if outside > 0 {
        found.push(Entry {
            text: words::outside(outside),
            sign: Box::new(|centre| {
                vec![Item::Circle {
                    centre,
                    radius_mm: 1.7,
                    style: Style::line(Role::Flag, 0.35),
                }]
            }),
        });
    }
    found
}

fn line_entry(text: String, style: Style) -> Entry {
    Entry {
        text,
        sign: Box::new(move |p| {
            vec![Item::line(
                at(p.x_mm - 3.6, p.y_mm),
                at(p.x_mm + 3.6, p.y_mm),
                style,
            )]
        }),
    }
}

fn alt(chart: &FaceChart<'_>, view: &str) -> String {
    let settings = &chart.settings;
    let mut parts = vec![words::face_alt(
        view,
        settings.target_toe_mm,
        settings.target_high_mm,
    )];
    if let Some(pattern) = chart.latest {
        parts.extend(sentences::sentences(pattern));
    } else if chart.sets.iter().all(|set| set.strikes.is_empty()) {
        parts.push(format!("{}.", words::NO_MARKS));
    }
    parts.join(" ")
}
