//! The plot of the landing chart: metres on the ground to the scene.
//!
//! Invariant: one scale for both directions, whatever the balls do; where one
//! direction needs less room than the other, it shows more ground.
//!
//! Where to start: [`Frame::new`].

use super::face_looks::middle_sign;
use super::landing::{Landing, LandingOval, LandingScatter, Look, middle};
use super::layout::{drop_mm, label, sign};
use super::length::Length;
use super::scene::{Anchor, Item, Point, Role, Style, at};
use super::{LABEL_MM, MARGIN_MM};
use crate::words::flight_chart as words;

/// Room for the numbers of carry, mm.
const NUMBERS_MM: f64 = 7.0;

/// No plot is higher than this, mm: it goes on a printed page with its words.
const MOST_MM: f64 = 150.0;

/// The plot area.
pub(super) struct Frame {
    left_mm: f64,
    right_mm: f64,
    top_mm: f64,
    pub bottom_mm: f64,
    /// Scene mm for one metre.
    scale: f64,
    /// Carry at the bottom, m.
    low_m: f64,
}

impl Frame {
    pub fn new(landing: &Landing<'_>, top_mm: f64) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut half = landing.fairway_m.map_or(10.0, |width| 0.62 * width);
        let mut hold = |carry: f64, lateral: f64| {
            low = low.min(carry);
            high = high.max(carry);
            half = half.max(lateral.abs());
        };
        for [carry, lateral] in landing.sets.iter().flat_map(|set| set.balls) {
            hold(*carry, *lateral);
        }
        if let Some(scatter) = landing.scatter {
            let (along, aside) = reach(&scatter.oval95);
            hold(scatter.carry_m - along, scatter.lateral_m - aside);
            hold(scatter.carry_m + along, scatter.lateral_m + aside);
        }
        if low > high {
            (low, high) = (180.0, 200.0);
        }
        let (left_mm, right_mm) = (MARGIN_MM + NUMBERS_MM, landing.width_mm - MARGIN_MM);
        let width_mm = right_mm - left_mm;
        let (half, span) = (1.06 * half + 1.0, 1.06 * (high - low) + 2.0);
        let middle = 0.5 * (low + high);
        let scale = (0.5 * width_mm / half).min(1.15 * width_mm / span).min(MOST_MM / span);
        let height_mm = (span * scale).max((0.6 * width_mm).min(MOST_MM));
        Self {
            left_mm,
            right_mm,
            top_mm: top_mm + 1.0,
            bottom_mm: top_mm + 1.0 + height_mm,
            scale,
            low_m: middle - 0.5 * height_mm / scale,
        }
    }

    /// Where a ball is drawn.
    fn place(&self, carry_m: f64, lateral_m: f64) -> Point {
        let x = 0.5 * (self.left_mm + self.right_mm) + lateral_m * self.scale;
        at(x, self.bottom_mm - (carry_m - self.low_m) * self.scale)
    }

    pub fn middle(&self) -> Point {
        // Beside the target line, which runs through the middle.
        at(0.5 * (self.left_mm + self.right_mm), 0.5 * (self.top_mm + self.bottom_mm))
    }

    pub fn fairway(&self, width_m: f64) -> Item {
        let (left, right) = (self.place(0.0, -0.5 * width_m).x_mm, self.place(0.0, 0.5 * width_m).x_mm);
        let mut items = vec![Item::Rect {
            corner: at(left, self.top_mm),
            width_mm: right - left,
            height_mm: self.bottom_mm - self.top_mm,
            round_mm: 0.0,
            style: ground(),
        }];
        for x in [left, right] {
            items.push(Item::line(at(x, self.top_mm), at(x, self.bottom_mm), edge()));
        }
        Item::group("fairway", "", items)
    }

    pub fn grid(&self, unit: Length) -> Item {
        let mut items = Vec::new();
        let thin = Style::line(Role::Grid, 0.2);
        let high_m = self.low_m + (self.bottom_mm - self.top_mm) / self.scale;
        for tick in unit.ticks(self.low_m, high_m, 7.0) {
            let y = self.place(tick.value, 0.0).y_mm;
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), thin));
            items.push(label(at(self.left_mm - 1.2, y + drop_mm()), tick.label, Anchor::End, Role::Muted));
        }
        let half_m = 0.5 * (self.right_mm - self.left_mm) / self.scale;
        let below = self.bottom_mm + LABEL_MM + 0.8;
        for tick in unit.ticks(-half_m, half_m, 7.0) {
            let x = self.place(0.0, tick.value).x_mm;
            let style = if tick.value == 0.0 { target_line() } else { thin };
            items.push(Item::line(at(x, self.top_mm), at(x, self.bottom_mm), style));
            let free = (x - self.left_mm).min(self.right_mm - x);
            if free > 11.5 {
                let text = tick.label.trim_start_matches('−').to_owned();
                items.push(label(at(x, below), text, Anchor::Middle, Role::Muted));
            }
        }
        items.push(sign(at(self.left_mm, below), words::LEFT, Anchor::Start));
        items.push(sign(at(self.right_mm, below), words::RIGHT, Anchor::End));
        Item::group("grid", "", items)
    }

    /// Balls, older sets first, so that the latest lies on top.
    pub fn balls(&self, looks: &[Look<'_>], size_mm: f64) -> Vec<Item> {
        looks
            .iter()
            .enumerate()
            .rev()
            .map(|(index, look)| {
                let style = look.paint(size_mm);
                let marks = look.balls().map(|[carry, lateral]| Item::Marker {
                    at: self.place(*carry, *lateral),
                    shape: look.shape,
                    size_mm,
                    style,
                });
                let alt = words::balls_alt(&look.text, look.balls().count());
                Item::group(format!("marks-{index}"), alt, marks.collect())
            })
            .collect()
    }

    pub fn scatter(&self, scatter: &LandingScatter, unit: Length) -> Item {
        let mut items = Vec::new();
        for (oval, width) in [(scatter.one_sigma, 0.8), (scatter.oval95, 0.4)] {
            for style in [Style::line(Role::Paper, width + 0.5), Style::line(Role::AccentA, width)] {
                items.push(self.oval(scatter, &oval, style));
            }
        }
        items.extend(middle_sign(self.place(scatter.carry_m, scatter.lateral_m)));
        let axes = |oval: &LandingOval| (unit.text(oval.semi_major_m), unit.text(oval.semi_minor_m));
        let (one, most) = (axes(&scatter.one_sigma), axes(&scatter.oval95));
        let alt = words::scatter_alt(&middle(scatter, unit), (&one.0, &one.1), (&most.0, &most.1));
        Item::group("scatter", alt, items)
    }

    fn oval(&self, scatter: &LandingScatter, oval: &LandingOval, style: Style) -> Item {
        let centre = self.place(scatter.carry_m, scatter.lateral_m);
        let (major, minor) = (oval.semi_major_m * self.scale, oval.semi_minor_m * self.scale);
        if minor < 0.05 {
            // Balls along a line: SVG draws no ellipse without a width.
            let right = oval.right_deg.to_radians();
            let (dx, dy) = (major * libm::sin(right), -major * libm::cos(right));
            let end = |sign: f64| at(centre.x_mm + sign * dx, centre.y_mm + sign * dy);
            return Item::line(end(-1.0), end(1.0), style);
        }
        // The target line points up the page.
        Item::Ellipse { centre, semi_x_mm: major, semi_y_mm: minor, turn_deg: oval.right_deg - 90.0, style }
    }
}

/// How far an ellipse reaches along the target line and across it, m.
fn reach(oval: &LandingOval) -> (f64, f64) {
    let right = oval.right_deg.to_radians();
    let (s, c) = (libm::sin(right), libm::cos(right));
    let (a, b) = (oval.semi_major_m, oval.semi_minor_m);
    ((a * a * c * c + b * b * s * s).sqrt(), (a * a * s * s + b * b * c * c).sqrt())
}

/// Paint of the target line.
pub(super) const fn target_line() -> Style {
    Style::line(Role::Ink, 0.55)
}

const fn edge() -> Style {
    Style::line(Role::AccentC, 0.4)
}

const fn ground() -> Style {
    Style::fill(Role::AccentC).filled(Role::AccentC, 0.10)
}

/// A sample of the fairway for the legend.
pub(super) fn fairway_sign(place: Point) -> Vec<Item> {
    let (left, top) = (place.x_mm - 3.6, place.y_mm - 1.6);
    let side = |x: f64| Item::line(at(x, top), at(x, top + 3.2), edge());
    vec![
        Item::Rect { corner: at(left, top), width_mm: 7.2, height_mm: 3.2, round_mm: 0.0, style: ground() },
        side(left),
        side(left + 7.2),
    ]
}
