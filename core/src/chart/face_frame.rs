//! The plot of the face chart: everything that is drawn in face millimetres.
//!
//! Invariant: every mark lies inside the plot at its true place; what is painted
//! later is what matters more: marks, ellipses, target point, middle.
//!
//! Where to start: [`Frame::new`].

use super::axis::multiples;
use super::face::{FaceChart, Hand, MarkedPattern};
use super::face_looks::{Look, mark_size_mm, mark_style, middle_sign, target_sign};
use super::face_plot::{Plot, on_face, reach};
use super::layout::{drop_mm, label, sign};
use super::scene::{Anchor, Dash, Item, Point, Role, Style, at};
use super::{LABEL_MM, MARGIN_MM};
use crate::face::{Ellipse, FEWEST_FOR_READING, Pattern, Settings, Strike};
use crate::words::chart as words;

/// Least space between the face and the edge of the plot, in face mm.
const AROUND_MM: f64 = 9.0;
/// No plot shows more than this from the face centre, mm.
const FARTHEST_MM: f64 = 100.0;

/// The plot area.
pub(super) struct Frame {
    pub plot: Plot,
    left_mm: f64,
    right_mm: f64,
    top_mm: f64,
    pub bottom_mm: f64,
    half_toe_mm: f64,
    low_mm: f64,
    high_mm: f64,
}

impl Frame {
    pub fn new(chart: &FaceChart<'_>, top_mm: f64) -> Self {
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
        let patterns = chart.latest.into_iter().chain(chart.baseline.map(|b| b.pattern));
        for (_, ellipse) in patterns.filter_map(ellipses) {
            let (toe, up) = reach(&ellipse);
            hold(ellipse.centre_toe_mm.abs() + toe, ellipse.centre_high_mm - up, ellipse.centre_high_mm + up);
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
    pub fn grid(&self) -> Item {
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
        let (left, right) =
            if self.plot.toe_sign < 0.0 { (words::TOE, words::HEEL) } else { (words::HEEL, words::TOE) };
        items.push(sign(at(self.left_mm, below), left, Anchor::Start));
        items.push(sign(at(self.right_mm, below), right, Anchor::End));
        Item::group("grid", "", items)
    }

    /// The face, with crown and sole named.
    pub fn face(&self, chart: &FaceChart<'_>) -> Item {
        let (w, h) = (chart.face_width_mm, chart.face_height_mm);
        let crown = self.plot.place(0.0, 0.5 * h).y_mm - 1.3;
        let sole = self.plot.place(0.0, -0.5 * h).y_mm + 1.3 + 2.0 * drop_mm();
        let word = |y, text| sign(self.free_of_marks(chart, y), text, Anchor::Middle);
        Item::group(
            "face",
            "",
            vec![
                Item::Path {
                    steps: self.plot.outline(w, h),
                    style: Style::line(Role::Ink, 0.5).filled(Role::Surface, 0.75),
                },
                word(crown, words::CROWN),
                word(sole, words::SOLE),
            ],
        )
    }

    /// A place for a short word on a line of the scene, as near to the middle as
    /// the marks allow.
    fn free_of_marks(&self, chart: &FaceChart<'_>, y_mm: f64) -> Point {
        let marks = || chart.sets.iter().flat_map(|set| set.strikes);
        let is_free = |place: &Point| {
            !marks().any(|mark| {
                let seen = self.plot.place(mark.toe_mm, mark.high_mm);
                let middle = place.y_mm - drop_mm();
                (seen.x_mm - place.x_mm).abs() < 7.0 && (seen.y_mm - middle).abs() < 3.5
            })
        };
        let middle = at(self.plot.centre.x_mm, y_mm);
        [0.0, 14.0, -14.0, 22.0, -22.0]
            .into_iter()
            .map(|aside| at(middle.x_mm + aside, y_mm))
            .filter(|place| place.x_mm > self.left_mm + 6.0 && place.x_mm < self.right_mm - 6.0)
            .find(is_free)
            .unwrap_or(middle)
    }

    fn target(&self, settings: &Settings) -> Item {
        let place = self.plot.place(settings.target_toe_mm, settings.target_high_mm);
        let radius = settings.centre_radius_mm * self.plot.scale;
        let circle = |style| Item::Circle { centre: place, radius_mm: radius, style };
        let mut items = vec![circle(Style::line(Role::Ink, 0.45).dashed(Dash::Dotted))];
        items.extend(target_sign(place));
        let alt = words::radius_alt(settings.centre_radius_mm);
        Item::group("target", alt, items)
    }

    /// Marks, older sets first, so that the latest lies on top.
    pub fn marks(&self, chart: &FaceChart<'_>, looks: &[Look<'_>]) -> Vec<Item> {
        let total = looks.iter().flat_map(|l| &l.sets).map(|s| s.strikes.len()).sum();
        let size_mm = mark_size_mm(total);
        let off = |s: &&Strike| !on_face(s.toe_mm, s.high_mm, chart.face_width_mm, chart.face_height_mm);
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
            let outside = strikes().filter(off).count();
            let alt = words::marks_alt(&look.text, look.count, outside);
            groups.push(Item::group(format!("marks-{index}"), alt, items));
        }
        groups
    }

    /// Ellipses of the baseline and of the latest set, then the target point and
    /// the latest middle on top of everything.
    pub fn patterns(&self, chart: &FaceChart<'_>) -> Vec<Item> {
        let mut items = Vec::new();
        let mut middle = None;
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
            if let (Some(toe), Some(high), true) =
                (pattern.bias_toe_mm, pattern.bias_high_mm, pattern.count >= 2)
            {
                let target = (chart.settings.target_toe_mm, chart.settings.target_high_mm);
                let place = self.plot.place(target.0 + toe, target.1 + high);
                middle = Some(Item::group("middle", "", middle_sign(place)));
            }
        }
        items.push(self.target(&chart.settings));
        items.extend(middle);
        items
    }

    fn pattern_group(
        &self,
        key: &str,
        marked: MarkedPattern<'_>,
        inner: Style,
        outer: Style,
    ) -> Option<Item> {
        let (one, most) = ellipses(marked.pattern)?;
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
        let semi_y_mm = ellipse.semi_minor_mm * self.plot.scale;
        if semi_y_mm < 0.05 {
            // Marks along a line: SVG draws no ellipse without a width.
            let angle = ellipse.angle_deg * (core::f64::consts::PI / 180.0);
            let reach = |sign: f64| sign * ellipse.semi_major_mm;
            let end = |sign| {
                self.plot.place(
                    ellipse.centre_toe_mm + reach(sign) * libm::cos(angle),
                    ellipse.centre_high_mm + reach(sign) * libm::sin(angle),
                )
            };
            return Item::line(end(-1.0), end(1.0), style);
        }
        Item::Ellipse {
            centre: self.plot.place(ellipse.centre_toe_mm, ellipse.centre_high_mm),
            semi_x_mm: ellipse.semi_major_mm * self.plot.scale,
            semi_y_mm,
            turn_deg: self.plot.turn_deg(ellipse.angle_deg),
            style,
        }
    }
}

/// The ellipses of a pattern, from as many marks as a verdict takes: before that
/// they would look surer than they are.
pub(super) fn ellipses(pattern: &Pattern) -> Option<(Ellipse, Ellipse)> {
    if pattern.count < FEWEST_FOR_READING {
        return None;
    }
    Some((pattern.ellipse_1sigma?, pattern.ellipse95?))
}
