//! A season of looks: the estimate after each session, and the edge that it has to
//! cross to be called a change.
//!
//! Invariant: an estimate is drawn outside the corridor of chance exactly where its
//! look is past the edge; where a change was called first is marked by shape, size
//! and a word as well as by colour; what lies beyond the axis is cut at its end,
//! never moved inside.
//!
//! Where to start: [`season_chart`].

use super::axis::{Tick, nice};
use super::layout::{Entry, caption, drop_mm, label, legend, sign, title};
use super::measure::width_mm;
use super::scene::{Anchor, Dash, Item, Point, Role, Scene, Shape, Step, Style, Weight, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::chart as words;

/// One look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonLook<'a> {
    /// Short text for the axis, e.g. a date.
    pub label: &'a str,
    /// Balls of its session.
    pub count: u32,
    /// Best guess after it.
    pub value: Option<f64>,
    /// Below the first or above the second it is called; absent where nothing
    /// may be called yet.
    pub edges: Option<(f64, f64)>,
    /// Whether the change was called first here.
    pub called: bool,
}

/// What a chart of a season shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonChart<'a> {
    /// Title.
    pub title: &'a str,
    /// What the values are and which way is which.
    pub subtitle: &'a str,
    /// Unit, for the text alternative.
    pub unit: &'a str,
    /// The value that means no change.
    pub unchanged: f64,
    /// Looks in time order.
    pub looks: &'a [SeasonLook<'a>],
    /// Ends of the latest look's range.
    pub range: Option<(f64, f64)>,
    /// One or two sentences under the chart; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

const PLOT_HEIGHT_MM: f64 = 40.0;
const MARK_MM: f64 = 2.4;
const CALLED_MM: f64 = 4.6;

/// Draws a season of looks.
///
/// # Errors
/// [`ChartError`] if the width is out of range or a value is not a number below a
/// thousand million.
pub fn season_chart(chart: &SeasonChart<'_>) -> Result<Scene, ChartError> {
    check_width(chart.width_mm)?;
    let (low, high) = span(chart)?;
    let mut items = Vec::new();
    let top = title(&mut items, chart.title, chart.subtitle, chart.width_mm);
    let (low, high, ticks) = nice(low, high, 5);
    let frame = Frame::new(chart, top + 1.0, low, high, &ticks);
    items.push(frame.grid(&ticks, chart.unchanged));
    items.extend(frame.corridor(chart));
    items.push(frame.line(chart));
    items.extend(frame.looks(chart));
    items.push(frame.labels(chart));
    if chart.looks.is_empty() {
        // Above the line of no change.
        let y = 0.6 * frame.top_mm + 0.4 * frame.bottom_mm;
        let middle = at(0.5 * (frame.left_mm + frame.right_mm), y);
        items.push(sign(middle, words::NO_SESSIONS, Anchor::Middle));
    }
    let mut y = frame.bottom_mm + 2.0 * LEADING_MM + 3.0;
    y = legend(&mut items, &entries(chart), y, chart.width_mm);
    y = caption(&mut items, chart.caption, y, chart.width_mm);
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: alt(chart),
        width_mm: chart.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

/// The axis: all estimates, the latest range and the latest edges; early edges,
/// which are very wide, are cut.
fn span(chart: &SeasonChart<'_>) -> Result<(f64, f64), ChartError> {
    let what = "a number below a thousand million";
    let (mut low, mut high) = (chart.unchanged, chart.unchanged);
    let mut take = |value: f64| {
        low = low.min(value);
        high = high.max(value);
    };
    within("unchanged", chart.unchanged, -1e9, 1e9, what)?;
    for look in chart.looks {
        if let Some(value) = look.value {
            within("value", value, -1e9, 1e9, what)?;
            take(value);
        }
        if let Some((from, to)) = look.edges {
            within("edges.low", from, -1e9, 1e9, what)?;
            within("edges.high", to, -1e9, 1e9, what)?;
        }
    }
    if let Some((from, to)) = chart.looks.iter().rev().find_map(|look| look.edges) {
        // A little beyond the last edge, so that the corridor is seen to narrow.
        take(chart.unchanged + 1.35 * (from - chart.unchanged));
        take(chart.unchanged + 1.35 * (to - chart.unchanged));
    }
    if let Some((from, to)) = chart.range {
        within("range.low", from, -1e9, 1e9, what)?;
        within("range.high", to, -1e9, 1e9, what)?;
        take(from);
        take(to);
    }
    Ok(if low < high { (low, high) } else { (low - 1.0, high + 1.0) })
}

struct Frame {
    left_mm: f64,
    right_mm: f64,
    top_mm: f64,
    bottom_mm: f64,
    low: f64,
    high: f64,
    step_mm: f64,
}

impl Frame {
    fn new(chart: &SeasonChart<'_>, top_mm: f64, low: f64, high: f64, ticks: &[Tick]) -> Self {
        let widest = ticks
            .iter()
            .map(|t| width_mm(&t.label, LABEL_MM, Weight::Regular))
            .fold(width_mm(words::BALLS, LABEL_MM, Weight::Regular), f64::max);
        let left_mm = MARGIN_MM + widest + 1.5;
        let right_mm = chart.width_mm - MARGIN_MM;
        let step_mm = ((right_mm - left_mm) / chart.looks.len().max(1) as f64).min(22.0);
        Self { left_mm, right_mm, top_mm, bottom_mm: top_mm + PLOT_HEIGHT_MM, low, high, step_mm }
    }

    fn x_mm(&self, index: usize) -> f64 {
        self.left_mm + (index as f64 + 0.5) * self.step_mm
    }

    /// Cut at the ends of the axis.
    fn y_mm(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.bottom_mm - share * (self.bottom_mm - self.top_mm)
    }

    fn grid(&self, ticks: &[Tick], unchanged: f64) -> Item {
        let mut items = Vec::new();
        for tick in ticks {
            let y = self.y_mm(tick.value);
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), Style::line(Role::Grid, 0.2)));
            let place = at(self.left_mm - 1.5, y + drop_mm());
            items.push(label(place, tick.label.clone(), Anchor::End, Role::Muted));
        }
        let y = self.y_mm(unchanged);
        items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), unchanged_line()));
        Item::group("grid", "", items)
    }

    /// What chance alone may do, as steps: each look has edges of its own.
    fn corridor(&self, chart: &SeasonChart<'_>) -> Vec<Item> {
        let half = 0.5 * self.step_mm;
        let edges: Vec<Option<(f64, f64, f64)>> = chart
            .looks
            .iter()
            .enumerate()
            .map(|(index, look)| look.edges.map(|(low, high)| (self.x_mm(index), low, high)))
            .collect();
        let mut items = Vec::new();
        for run in edges.split(Option::is_none) {
            let run: Vec<(f64, f64, f64)> = run.iter().flatten().copied().collect();
            let highs: Vec<(f64, f64)> = run.iter().map(|look| (look.0, look.2)).collect();
            let lows: Vec<(f64, f64)> = run.iter().map(|look| (look.0, look.1)).collect();
            let corners = |edge: &[(f64, f64)]| -> Vec<Point> {
                edge.iter()
                    .flat_map(|&(x, value)| {
                        let y = self.y_mm(value);
                        [at(x - half, y), at(x + half, y)]
                    })
                    .collect()
            };
            let (upper, lower) = (corners(&highs), corners(&lows));
            if upper.is_empty() {
                continue;
            }
            let mut around = path(upper.into_iter().chain(lower.into_iter().rev()));
            around.push(Step::Close);
            items.push(Item::Path { steps: around, style: corridor_fill() });
            items.extend([highs, lows].iter().filter_map(|edge| self.edge(edge, half)));
        }
        if items.is_empty() { Vec::new() } else { vec![Item::group("edges", "", items)] }
    }

    /// One edge as steps; where it lies beyond the axis there is no line.
    fn edge(&self, edge: &[(f64, f64)], half: f64) -> Option<Item> {
        let mut steps = Vec::new();
        let mut before: Option<(f64, bool)> = None;
        for &(x, value) in edge {
            let (y, inside) = (self.y_mm(value), (self.low..=self.high).contains(&value));
            match before {
                Some((last, was)) if was || inside => {
                    if !was {
                        steps.push(Step::Move { to: at(x - half, last) });
                    }
                    steps.push(Step::Line { to: at(x - half, y) });
                }
                _ if inside => steps.push(Step::Move { to: at(x - half, y) }),
                _ => {}
            }
            if inside {
                steps.push(Step::Line { to: at(x + half, y) });
            }
            before = Some((y, inside));
        }
        (!steps.is_empty()).then(|| Item::Path { steps, style: edge_line() })
    }

    fn line(&self, chart: &SeasonChart<'_>) -> Item {
        let mut items = Vec::new();
        let mut before: Option<Point> = None;
        for (index, look) in chart.looks.iter().enumerate() {
            let here = look.value.map(|v| at(self.x_mm(index), self.y_mm(v)));
            if let (Some(from), Some(to)) = (before, here) {
                items.push(Item::line(from, to, Style::line(Role::AccentA, 0.45)));
            }
            before = here;
        }
        Item::group("line", "", items)
    }

    fn looks(&self, chart: &SeasonChart<'_>) -> Vec<Item> {
        let last = chart.looks.iter().rposition(|look| look.value.is_some());
        let size_mm = (0.75 * self.step_mm).min(MARK_MM);
        let mut groups = Vec::new();
        for (index, look) in chart.looks.iter().enumerate() {
            let Some(value) = look.value else { continue };
            let place = at(self.x_mm(index), self.y_mm(value));
            let mut items = Vec::new();
            if let (true, Some((low, high))) = (Some(index) == last, chart.range) {
                let (y_low, y_high) = (self.y_mm(low), self.y_mm(high));
                let cap = (0.3 * self.step_mm).min(1.2);
                items.push(Item::line(at(place.x_mm, y_low), at(place.x_mm, y_high), whisker()));
                for y in [y_low, y_high] {
                    items.push(Item::line(at(place.x_mm - cap, y), at(place.x_mm + cap, y), whisker()));
                }
            }
            if look.called {
                items.extend(called_sign(place));
                // The word stands on the side where there is room.
                let upper = place.y_mm > self.top_mm + 8.0;
                let y = if upper { place.y_mm - 3.4 } else { place.y_mm + 3.4 + 2.0 * drop_mm() };
                let half = 0.5 * width_mm(words::CALLED, LABEL_MM, Weight::Bold);
                let x =
                    place.x_mm.clamp(self.left_mm + half, (self.right_mm - half).max(self.left_mm + half));
                items.push(sign(at(x, y), words::CALLED, Anchor::Middle));
            } else {
                items.push(Item::Marker { at: place, shape: Shape::Disc, size_mm, style: plain() });
            }
            let text = |v: f64| format!("{v:.2}");
            let edges = look.edges.map(|(low, high)| (text(low), text(high)));
            let edges = edges.as_ref().map(|(low, high)| (low.as_str(), high.as_str()));
            let alt = words::season_look(look.label, &text(value), edges, chart.unit, look.called);
            groups.push(Item::group(format!("look-{index}"), alt, items));
        }
        groups
    }

    /// Counts and labels, thinned from the latest backwards until none touch.
    fn labels(&self, chart: &SeasonChart<'_>) -> Item {
        let count_y = self.bottom_mm + LABEL_MM + 1.2;
        let mut items = vec![label(at(self.left_mm - 1.5, count_y), words::BALLS, Anchor::End, Role::Muted)];
        let counts: Vec<String> = chart.looks.iter().map(|look| look.count.to_string()).collect();
        let labels: Vec<String> = chart.looks.iter().map(|look| look.label.to_owned()).collect();
        self.row(&mut items, &counts, count_y, Role::Muted);
        self.row(&mut items, &labels, count_y + LEADING_MM, Role::Ink);
        Item::group("labels", "", items)
    }

    fn row(&self, items: &mut Vec<Item>, texts: &[String], y: f64, role: Role) {
        let widest = texts.iter().map(|t| width_mm(t, LABEL_MM, Weight::Regular)).fold(0.0, f64::max);
        let stride = ((widest + 2.5) / self.step_mm).ceil().max(1.0) as usize;
        for (index, text) in texts.iter().enumerate().rev().step_by(stride) {
            let half = 0.5 * width_mm(text, LABEL_MM, Weight::Regular);
            let x = self.x_mm(index).min(self.right_mm + 2.0 - half);
            if x - half >= self.left_mm - 1.0 {
                items.push(label(at(x, y), text, Anchor::Middle, role));
            }
        }
    }
}

fn path(points: impl Iterator<Item = Point>) -> Vec<Step> {
    let mut steps: Vec<Step> = points.map(|to| Step::Line { to }).collect();
    if let Some(Step::Line { to }) = steps.first().copied() {
        steps.insert(0, Step::Move { to });
    }
    steps
}

/// A disc in a diamond: shape, size and fill differ from a plain look.
fn called_sign(place: Point) -> Vec<Item> {
    vec![
        Item::Marker {
            at: place,
            shape: Shape::Diamond,
            size_mm: CALLED_MM,
            style: Style::fill(Role::Flag).edged(Role::Paper, 0.4),
        },
        Item::Marker { at: place, shape: Shape::Disc, size_mm: 1.2, style: Style::fill(Role::Paper) },
    ]
}

const fn plain() -> Style {
    Style::line(Role::AccentA, 0.5).filled(Role::Paper, 1.0)
}

const fn whisker() -> Style {
    Style::line(Role::AccentA, 0.4)
}

const fn unchanged_line() -> Style {
    Style::line(Role::Muted, 0.35)
}

const fn corridor_fill() -> Style {
    Style::fill(Role::Muted).filled(Role::Muted, 0.14)
}

const fn edge_line() -> Style {
    Style::line(Role::Ink, 0.35).dashed(Dash::Dashed)
}

fn entries(chart: &SeasonChart<'_>) -> Vec<Entry> {
    let mut found = Vec::new();
    let mut add = |text: &str, sign: Box<dyn Fn(Point) -> Vec<Item>>| {
        found.push(Entry { text: text.to_owned(), tail: String::new(), sign });
    };
    if chart.looks.iter().any(|look| look.edges.is_some()) {
        add(
            words::CORRIDOR,
            Box::new(|p| {
                let edge = |dy: f64| {
                    Item::line(at(p.x_mm - 3.6, p.y_mm + dy), at(p.x_mm + 3.6, p.y_mm + dy), edge_line())
                };
                vec![
                    Item::Rect {
                        corner: at(p.x_mm - 3.6, p.y_mm - 1.5),
                        width_mm: 7.2,
                        height_mm: 3.0,
                        round_mm: 0.0,
                        style: corridor_fill(),
                    },
                    edge(-1.5),
                    edge(1.5),
                ]
            }),
        );
    }
    if chart.looks.iter().any(|look| look.called) {
        add(words::CALLED_HERE, Box::new(called_sign));
    }
    if chart.range.is_some() {
        add(
            words::LIKELY_NOW,
            Box::new(|p| {
                let line = |x1: f64, y1: f64, x2: f64, y2: f64| {
                    Item::line(at(p.x_mm + x1, p.y_mm + y1), at(p.x_mm + x2, p.y_mm + y2), whisker())
                };
                vec![line(0.0, -1.8, 0.0, 1.8), line(-1.0, -1.8, 1.0, -1.8), line(-1.0, 1.8, 1.0, 1.8)]
            }),
        );
    }
    found
}

fn alt(chart: &SeasonChart<'_>) -> String {
    let mut parts = vec![words::season_alt(chart.subtitle, chart.looks.len())];
    let text = |v: f64| format!("{v:.2}");
    let shown = |look: &SeasonLook<'_>| {
        let edges = look.edges.map(|(low, high)| (text(low), text(high)));
        let edges = edges.as_ref().map(|(low, high)| (low.as_str(), high.as_str()));
        Some(words::season_look(look.label, &text(look.value?), edges, chart.unit, look.called))
    };
    parts.extend(chart.looks.iter().find(|look| look.called).and_then(shown));
    parts.extend(chart.looks.last().filter(|look| !look.called).and_then(shown));
    parts.push(chart.caption.to_owned());
    parts.retain(|part| !part.is_empty());
    parts.join(" ")
}
