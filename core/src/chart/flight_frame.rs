//! The two views of the flight chart: from metres to the scene, and what is drawn.
//!
//! Invariant: `down` is the same in both views; heights and sideways distances
//! are drawn by a whole number of times that scale, and the number is said in
//! the view's heading.
//!
//! Where to start: [`Frame::new`].

use super::flight_path::{FlightPaths, PathSpot, Seen};
use super::landing_frame::target_line;
use super::layout::{drop_mm, label, sign};
use super::length::Length;
use super::measure::{width_mm, wrap};
use super::scene::{Anchor, Dash, Item, Point, Role, Step, Style, Weight, at};
use super::{LABEL_MM, LEADING_MM, MARGIN_MM};
use crate::words::flight_chart as words;

const MARK_MM: f64 = 2.6;
/// Room for the numbers on the left, mm.
const NUMBERS_MM: f64 = 6.5;
/// Heights should take at least this, sideways distances half of it, mm.
const WORTH_MM: f64 = 22.0;
/// No direction is drawn more than this many times too large.
const MOST_TIMES: f64 = 5.0;
/// Room above and below what is drawn from above, for words, mm.
const AROUND_MM: f64 = 6.0;

/// Both views.
pub(super) struct Frame {
    left_mm: f64,
    /// Right end of the views' lines; a single flight has its figures beyond.
    right_mm: f64,
    /// Scene mm for one metre down the line.
    scale: f64,
    /// Distance at the left edge, m: 0 unless a ball came back.
    first_m: f64,
    /// How many times too tall and too wide.
    times: (u32, u32),
    side: (f64, f64),
    /// Scene y of the ground from the side.
    ground_mm: f64,
    above: (f64, f64),
    /// Scene y of the target line from above.
    line_mm: f64,
    pub bottom_mm: f64,
}

/// Least and greatest of what is drawn in one direction, with 0 in it.
fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((0.0, 0.0), |(low, high), value| (value.min(low), value.max(high)))
}

fn times(natural_mm: f64, worth_mm: f64) -> u32 {
    (worth_mm / natural_mm.max(0.01)).ceil().clamp(1.0, MOST_TIMES) as u32
}

impl Frame {
    /// Lays out both views from `top` and writes their headings.
    pub fn new(chart: &FlightPaths<'_>, seen: &[Seen<'_>], items: &mut Vec<Item>, top: f64) -> Self {
        let spots = || seen.iter().flat_map(|s| s.flight.path);
        let down = span(spots().map(|p| p.down_m));
        let down = if seen.is_empty() { (0.0, 200.0) } else { (down.0, down.1.max(1.0)) };
        let height = span(spots().map(|p| p.height_m));
        let right = span(spots().map(|p| p.right_m).chain(seen.iter().map(|s| s.straight_m)));

        let (left_mm, right_mm) = (MARGIN_MM + NUMBERS_MM, chart.width_mm - MARGIN_MM);
        let beside = match seen {
            [one] => texts(one, chart.unit).iter().map(|t| bold(t)).fold(0.0, f64::max) + 3.0,
            _ => 2.5,
        };
        let room = right_mm - left_mm - beside;
        let (tall_m, wide_m) = ((height.1 - height.0).max(0.1), (right.1 - right.0).max(0.1));
        let scale = (room / (down.1 - down.0)).min(60.0 / tall_m).min(60.0 / wide_m);
        let times = (times(tall_m * scale, WORTH_MM), times(wide_m * scale, 0.5 * WORTH_MM));

        let mut y = heading(items, words::FROM_THE_SIDE, &words::tall(times.0), top, chart.width_mm);
        // A word stands above the highest point.
        let side_top = y + 1.0;
        let ground_mm = side_top + LABEL_MM + 2.0 + (height.1 * scale * f64::from(times.0)).max(8.0);
        let side_bottom = ground_mm - height.0 * scale * f64::from(times.0);
        y = side_bottom + LABEL_MM + 3.2;
        y = heading(items, words::FROM_ABOVE, &words::wide(times.1), y, chart.width_mm);
        let sideways = scale * f64::from(times.1);
        let above_top = y + 1.0;
        let line_mm = above_top + AROUND_MM - right.0 * sideways;
        let above_bottom = line_mm + right.1 * sideways + AROUND_MM;
        Self {
            left_mm,
            right_mm: if seen.len() == 1 { right_mm - beside + 1.4 } else { right_mm },
            scale,
            first_m: down.0,
            times,
            side: (side_top, side_bottom),
            ground_mm,
            above: (above_top, above_bottom),
            line_mm,
            bottom_mm: above_bottom,
        }
    }

    /// What the views' headings say, as one sentence.
    pub fn scales(&self) -> String {
        let side = format!("{}: {}.", words::FROM_THE_SIDE, words::tall(self.times.0));
        format!("{side} {}: {}.", words::FROM_ABOVE, words::wide(self.times.1))
    }

    pub fn side_middle(&self) -> Point {
        at(0.5 * (self.left_mm + self.right_mm), self.ground_mm - 4.0)
    }

    fn x(&self, down_m: f64) -> f64 {
        self.left_mm + (down_m - self.first_m) * self.scale
    }

    fn side_place(&self, spot: &PathSpot) -> Point {
        let y = self.ground_mm - spot.height_m * self.scale * f64::from(self.times.0);
        at(self.x(spot.down_m), y)
    }

    fn above_place(&self, down_m: f64, right_m: f64) -> Point {
        at(self.x(down_m), self.line_mm + right_m * self.scale * f64::from(self.times.1))
    }

    /// Upright lines of distance through a view, and their numbers.
    fn distances(&self, view: (f64, f64), unit: Length, numbers: bool, items: &mut Vec<Item>) {
        let last_m = self.first_m + (self.right_mm - self.left_mm) / self.scale;
        let most = (self.right_mm - self.left_mm) / 14.0;
        for tick in unit.ticks(self.first_m, last_m, most.min(8.0)) {
            let x = self.x(tick.value);
            items.push(Item::line(at(x, view.0), at(x, view.1), Style::line(Role::Grid, 0.2)));
            if numbers && x > self.left_mm - 0.1 && x < self.right_mm - 2.5 {
                let below = view.1 + LABEL_MM + 0.8;
                items.push(label(at(x, below), tick.label, Anchor::Middle, Role::Muted));
            }
        }
    }

    pub fn side_grid(&self, unit: Length) -> Item {
        let mut items = Vec::new();
        self.distances(self.side, unit, true, &mut items);
        let per_m = self.scale * f64::from(self.times.0);
        let metres = |y: f64| (self.ground_mm - y) / per_m;
        for tick in unit.ticks(metres(self.side.1), metres(self.side.0), (self.ground_mm - self.side.0) / 8.0)
        {
            let y = self.ground_mm - tick.value * per_m;
            let ground = tick.value == 0.0;
            let style = if ground { Style::line(Role::Ink, 0.5) } else { Style::line(Role::Grid, 0.2) };
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), style));
            items.push(label(at(self.left_mm - 1.2, y + drop_mm()), tick.label, Anchor::End, Role::Muted));
        }
        Item::group("side", "", items)
    }

    pub fn above_grid(&self, unit: Length) -> Item {
        let mut items = Vec::new();
        self.distances(self.above, unit, false, &mut items);
        let per_m = self.scale * f64::from(self.times.1);
        let metres = |y: f64| (y - self.line_mm) / per_m;
        for tick in
            unit.ticks(metres(self.above.0), metres(self.above.1), (self.above.1 - self.above.0) / 6.0)
        {
            let y = self.line_mm + tick.value * per_m;
            let target = tick.value == 0.0;
            let style = if target { target_line() } else { Style::line(Role::Grid, 0.2) };
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), style));
            let text = tick.label.trim_start_matches('−').to_owned();
            items.push(label(at(self.left_mm - 1.2, y + drop_mm()), text, Anchor::End, Role::Muted));
        }
        let x = self.left_mm + 1.0;
        items.push(sign(at(x, self.above.0 + 0.8 + 2.0 * drop_mm()), words::LEFT, Anchor::Start));
        items.push(sign(at(x, self.above.1 - 1.2), words::RIGHT, Anchor::Start));
        Item::group("above", "", items)
    }

    /// One flight in both views.
    pub fn flight(&self, seen: &Seen<'_>) -> Vec<Item> {
        let path = seen.flight.path;
        let mut items = line(path.iter().map(|p| self.side_place(p)), seen.line());
        items.extend(line(path.iter().map(|p| self.above_place(p.down_m, p.right_m)), seen.line()));
        let straight = self.above_place(seen.landing.down_m, seen.straight_m);
        let landing = self.above_place(seen.landing.down_m, seen.landing.right_m);
        let start = self.above_place(0.0, 0.0);
        items.push(Item::line(start, straight, start_line(seen.role)));
        if (straight.y_mm - landing.y_mm).abs() > 0.8 {
            // A dimension line: the landing's mark is its other end.
            items.push(Item::line(straight, landing, curve_line(seen.role)));
            let end = |aside: f64| at(straight.x_mm + aside, straight.y_mm);
            items.push(Item::line(end(-1.1), end(1.1), curve_line(seen.role)));
        }
        let mark = |at, style| Item::Marker { at, shape: seen.shape, size_mm: MARK_MM, style };
        items.push(mark(self.side_place(&seen.apex), apex_paint(seen.role)));
        items.push(mark(self.side_place(&seen.landing), landing_paint(seen.role)));
        items.push(mark(landing, landing_paint(seen.role)));
        items
    }

    /// The figures of a single flight beside its lines.
    pub fn figures(&self, seen: &Seen<'_>, unit: Length) -> Item {
        let [apex, carry, down, curve] = texts(seen, unit);
        let mut items = Vec::new();
        let landing = self.side_place(&seen.landing);
        let beside = landing.x_mm + 2.4;
        let ground = landing.y_mm.min(self.side.1) - 0.9;
        items.push(sign(at(beside, ground), carry, Anchor::Start));
        items.push(sign(at(beside, ground - LEADING_MM), down, Anchor::Start));
        let top = self.side_place(&seen.apex);
        let half = 0.5 * bold(&apex);
        let x = top.x_mm.clamp(
            self.left_mm + half,
            (self.right_mm - half).min(beside - half - 1.0).max(self.left_mm + half),
        );
        if x + half < beside || top.y_mm < ground - 2.0 * LEADING_MM {
            items.push(sign(at(x, top.y_mm - 2.0), apex, Anchor::Middle));
        }
        let end = self.above_place(seen.landing.down_m, seen.landing.right_m);
        let straight = self.above_place(seen.landing.down_m, seen.straight_m);
        let middle = 0.5 * (end.y_mm + straight.y_mm);
        if words::is_straight(&curve) {
            items.push(sign(at(beside, middle + drop_mm()), words::NO_CURVE, Anchor::Start));
        } else {
            let middle = middle.clamp(self.above.0 + LEADING_MM, self.above.1 - LEADING_MM);
            items.push(sign(at(beside, middle - 0.7), words::CURVES, Anchor::Start));
            items.push(sign(at(beside, middle - 0.7 + LEADING_MM), curve, Anchor::Start));
        }
        items.extend(self.start_word(seen, straight, end, beside));
        Item::group("figures", "", items)
    }

    /// What the start line is, on its side away from the path, where there is room.
    fn start_word(&self, seen: &Seen<'_>, straight: Point, end: Point, beside: f64) -> Option<Item> {
        let text = words::starts(seen.flight.start_deg);
        let half = 0.5 * bold(&text);
        let x = (0.55 * (straight.x_mm - self.left_mm) + self.left_mm).min(beside - half - 1.5);
        if x - half < self.left_mm + 11.0 {
            return None;
        }
        let begin = self.above_place(0.0, 0.0);
        // The line's own place at either end of the word: the word stays clear of both.
        let share = |x: f64| (x - begin.x_mm) / (straight.x_mm - begin.x_mm).max(0.1);
        let on = |x: f64| begin.y_mm + share(x) * (straight.y_mm - begin.y_mm);
        let (a, b) = (on(x - half), on(x + half));
        let y = if straight.y_mm >= end.y_mm { a.max(b) + 1.2 + 2.0 * drop_mm() } else { a.min(b) - 1.3 };
        Some(sign(at(x, y), text, Anchor::Middle))
    }
}

/// Apex, carry, landing angle and curve of a single flight.
fn texts(seen: &Seen<'_>, unit: Length) -> [String; 4] {
    [
        words::high(&unit.text(seen.apex.height_m)),
        unit.text(seen.landing.down_m),
        words::down(seen.flight.landing_deg),
        words::aside(&unit.text(seen.curve_m().abs()), seen.curve_m()),
    ]
}

fn bold(text: &str) -> f64 {
    width_mm(text, LABEL_MM, Weight::Bold)
}

/// Name of a view and how it is drawn; answers the y below.
fn heading(items: &mut Vec<Item>, name: &str, how: &str, top: f64, width: f64) -> f64 {
    let mut y = top + LEADING_MM;
    items.push(sign(at(MARGIN_MM, y), name, Anchor::Start));
    let after = MARGIN_MM + bold(name) + 2.5;
    let room = width - MARGIN_MM - after;
    if width_mm(how, LABEL_MM, Weight::Regular) <= room {
        items.push(label(at(after, y), how, Anchor::Start, Role::Muted));
        return y + 1.2;
    }
    for line in wrap(how, LABEL_MM, Weight::Regular, width - 2.0 * MARGIN_MM, 3) {
        y += LEADING_MM;
        items.push(label(at(MARGIN_MM, y), line, Anchor::Start, Role::Muted));
    }
    y + 1.2
}

fn line(points: impl Iterator<Item = Point>, style: Style) -> Vec<Item> {
    let mut steps: Vec<Step> = points.map(|to| Step::Line { to }).collect();
    let Some(Step::Line { to }) = steps.first().copied() else { return Vec::new() };
    steps.remove(0);
    steps.insert(0, Step::Move { to });
    if steps.len() < 2 {
        return Vec::new();
    }
    vec![Item::Path { steps, style }]
}

/// Paint of the mark at the highest point.
pub(super) const fn apex_paint(role: Role) -> Style {
    Style::line(role, 0.5).filled(Role::Paper, 1.0)
}

/// Paint of the mark at the landing.
pub(super) const fn landing_paint(role: Role) -> Style {
    Style::fill(role).edged(role, 0.3)
}

/// Paint of a start line.
pub(super) const fn start_line(role: Role) -> Style {
    Style::line(role, 0.35).dashed(Dash::Dashed)
}

/// Paint of the way from the start line to the landing.
pub(super) const fn curve_line(role: Role) -> Style {
    Style::line(role, 0.35)
}
