//! A trend over sessions: one value with its range per session.
//!
//! Invariant: every point shows its range and the number of balls it rests on; a
//! session without a value leaves a gap in the line and says so; labels never
//! overlap: where they would, the older ones are left out.
//!
//! Where to start: [`trend_chart`].

use super::axis::{Tick, nice};
use super::layout::{caption, drop_mm, label, legend, sign, title};
use super::measure::width_mm;
use super::scene::{Anchor, Item, Point, Role, Scene, Shape, Step, Style, Weight, at};
use super::trend_signs::{band_line, entries, ribbon_style, whisker};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::chart as words;

/// One session of a trend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendPoint<'a> {
    /// Short text for the axis, e.g. a date, ready to print.
    pub label: &'a str,
    /// The value; nothing if the session has too few balls for one.
    pub value: Option<f64>,
    /// Ends of its range, in the same unit.
    pub range: Option<(f64, f64)>,
    /// Number of balls, or of whatever is counted, that it rests on.
    pub count: u32,
}

/// The baseline as a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<'a> {
    /// What the legend calls it.
    pub label: &'a str,
    /// The value.
    pub value: f64,
    /// Ends of its range.
    pub range: (f64, f64),
}

/// What a trend chart shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend<'a> {
    /// Title.
    pub title: &'a str,
    /// What the values are and which way is better, e.g. "mm, lower is better".
    pub subtitle: &'a str,
    /// Unit, e.g. "mm".
    pub unit: &'a str,
    /// What a point's count counts: of one, and of several.
    pub counted: [&'a str; 2],
    /// Sessions in time order.
    pub points: &'a [TrendPoint<'a>],
    /// Baseline, if any.
    pub band: Option<Band<'a>>,
    /// Whether the axis starts at 0: for lengths and shares it should.
    pub from_zero: bool,
    /// One or two sentences under the chart; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

const PLOT_HEIGHT_MM: f64 = 46.0;
const MARK_MM: f64 = 2.8;
/// Sessions closer than this share a ribbon, mm.
const DENSE_STEP_MM: f64 = 2.8;

/// Draws a trend chart.
///
/// # Errors
/// [`ChartError`] if the width is out of range, or a value or range end is not a
/// number below a thousand million.
pub fn trend_chart(trend: &Trend<'_>) -> Result<Scene, ChartError> {
    check_width(trend.width_mm)?;
    let (low, high) = span(trend)?;
    let mut items = Vec::new();
    let top = title(&mut items, trend.title, trend.subtitle, trend.width_mm);
    let (low, high, ticks) = nice(low, high, 5);
    let frame = Frame::new(trend, top + 1.0, low, high, &ticks);
    items.push(frame.grid(&ticks));
    items.extend(trend.band.map(|band| frame.band(&band, trend.unit)));
    items.extend(frame.ribbon(trend));
    items.push(frame.line(trend));
    items.extend(frame.points(trend, &ticks));
    items.push(frame.labels(trend));
    if trend.points.is_empty() {
        let middle = at(0.5 * (frame.left_mm + frame.right_mm), 0.5 * (frame.top_mm + frame.bottom_mm));
        items.push(sign(middle, words::NO_SESSIONS, Anchor::Middle));
    }
    let mut y = frame.bottom_mm + 2.0 * LEADING_MM + 3.0;
    y = legend(&mut items, &entries(trend, frame.is_dense()), y, trend.width_mm);
    y = caption(&mut items, trend.caption, y, trend.width_mm);
    Ok(Scene {
        title: trend.title.to_owned(),
        alt: alt(trend, &ticks),
        width_mm: trend.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

/// Least and greatest of everything that is drawn.
fn span(trend: &Trend<'_>) -> Result<(f64, f64), ChartError> {
    let mut values = Vec::new();
    for point in trend.points {
        values.extend(point.value.map(|v| ("value", v)));
        values.extend(point.range.map(|r| ("range.low", r.0)));
        values.extend(point.range.map(|r| ("range.high", r.1)));
    }
    if let Some(band) = trend.band {
        values.extend([("band.value", band.value), ("band.low", band.range.0), ("band.high", band.range.1)]);
    }
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (field, value) in values {
        within(field, value, -1e9, 1e9, "a number below a thousand million")?;
        low = low.min(value);
        high = high.max(value);
    }
    if low > high {
        return Ok((0.0, 1.0));
    }
    if trend.from_zero {
        low = low.min(0.0);
        high = high.max(0.0);
    }
    Ok((low, high))
}

struct Frame {
    left_mm: f64,
    right_mm: f64,
    top_mm: f64,
    bottom_mm: f64,
    low: f64,
    high: f64,
    first_mm: f64,
    step_mm: f64,
}

impl Frame {
    fn new(trend: &Trend<'_>, top_mm: f64, low: f64, high: f64, ticks: &[Tick]) -> Self {
        let [_, many] = trend.counted;
        let widest = ticks
            .iter()
            .map(|t| width_mm(&t.label, LABEL_MM, Weight::Regular))
            .fold(width_mm(many, LABEL_MM, Weight::Regular), f64::max);
        let left_mm = MARGIN_MM + widest + 1.5;
        let right_mm = trend.width_mm - MARGIN_MM;
        // Half a slot at each side; a few points do not spread over all of it.
        let slots = trend.points.len().max(1) as f64;
        let step_mm = ((right_mm - left_mm) / slots).min(30.0);
        Self {
            left_mm,
            right_mm,
            top_mm,
            bottom_mm: top_mm + PLOT_HEIGHT_MM,
            low,
            high,
            first_mm: left_mm + 0.5 * step_mm,
            step_mm,
        }
    }

    fn x_mm(&self, index: usize) -> f64 {
        self.first_mm + index as f64 * self.step_mm
    }

    fn y_mm(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.bottom_mm - share * (self.bottom_mm - self.top_mm)
    }

    fn grid(&self, ticks: &[Tick]) -> Item {
        let mut items = Vec::new();
        for tick in ticks {
            let y = self.y_mm(tick.value);
            let base = tick.value == 0.0;
            let style =
                Style::line(if base { Role::Muted } else { Role::Grid }, if base { 0.35 } else { 0.2 });
            items.push(Item::line(at(self.left_mm, y), at(self.right_mm, y), style));
            let place = at(self.left_mm - 1.5, y + drop_mm());
            items.push(label(place, tick.label.clone(), Anchor::End, Role::Muted));
        }
        Item::group("grid", "", items)
    }

    fn band(&self, band: &Band<'_>, unit: &str) -> Item {
        let (top, bottom) = (self.y_mm(band.range.1), self.y_mm(band.range.0));
        let y = self.y_mm(band.value);
        let text = |v: f64| format!("{v:.1}");
        let alt = words::trend_band(
            band.label,
            &text(band.value),
            (&text(band.range.0), &text(band.range.1)),
            unit,
        );
        Item::group(
            "baseline",
            alt,
            vec![
                Item::Rect {
                    corner: at(self.left_mm, top),
                    width_mm: self.right_mm - self.left_mm,
                    height_mm: (bottom - top).max(0.0),
                    round_mm: 0.0,
                    style: Style::fill(Role::Muted).filled(Role::Muted, 0.16),
                },
                Item::line(at(self.left_mm, y), at(self.right_mm, y), band_line()),
            ],
        )
    }

    /// Whether sessions stand too close for a range each: a ribbon shows them.
    fn is_dense(&self) -> bool {
        self.step_mm < DENSE_STEP_MM
    }

    /// The ranges of neighbouring sessions as one ribbon.
    fn ribbon(&self, trend: &Trend<'_>) -> Option<Item> {
        if !self.is_dense() {
            return None;
        }
        let ends: Vec<Option<(Point, Point)>> = trend
            .points
            .iter()
            .enumerate()
            .map(|(index, point)| {
                let (low, high) = point.value.and(point.range)?;
                let x = self.x_mm(index);
                Some((at(x, self.y_mm(low)), at(x, self.y_mm(high))))
            })
            .collect();
        let runs = ends.split(Option::is_none).filter(|run| run.len() > 1);
        let items = runs.map(|run| {
            let lows = run.iter().flatten().map(|end| end.0);
            let highs = run.iter().flatten().rev().map(|end| end.1);
            let mut steps: Vec<Step> = lows.chain(highs).map(|to| Step::Line { to }).collect();
            if let Some(Step::Line { to }) = steps.first().copied() {
                steps.insert(0, Step::Move { to });
            }
            steps.push(Step::Close);
            let style = ribbon_style();
            Item::Path { steps, style }
        });
        Some(Item::group("ranges", "", items.collect()))
    }

    /// The line from value to value, with a gap where there is none.
    fn line(&self, trend: &Trend<'_>) -> Item {
        let mut items = Vec::new();
        let mut before: Option<Point> = None;
        for (index, point) in trend.points.iter().enumerate() {
            let here = point.value.map(|v| at(self.x_mm(index), self.y_mm(v)));
            if let (Some(from), Some(to)) = (before, here) {
                items.push(Item::line(from, to, Style::line(Role::AccentA, 0.45)));
            }
            before = here;
        }
        Item::group("line", "", items)
    }

    fn points(&self, trend: &Trend<'_>, ticks: &[Tick]) -> Vec<Item> {
        let decimals = decimals(ticks);
        let text = |v: f64| format!("{v:.decimals$}");
        let latest = trend.points.iter().rposition(|p| p.value.is_some());
        let mut groups = Vec::new();
        for (index, point) in trend.points.iter().enumerate() {
            let x = self.x_mm(index);
            let key = format!("session-{index}");
            let Some(value) = point.value else {
                groups.push(Item::group(
                    key,
                    words::trend_gap(point.label, point.count, trend.counted),
                    vec![],
                ));
                continue;
            };
            let mut items = Vec::new();
            if let (Some((low, high)), false) = (point.range, self.is_dense()) {
                let (y_low, y_high) = (self.y_mm(low), self.y_mm(high));
                let style = whisker();
                items.push(Item::line(at(x, y_low), at(x, y_high), style));
                let cap = (0.25 * self.step_mm).min(1.2);
                for y in [y_low, y_high] {
                    items.push(Item::line(at(x - cap, y), at(x + cap, y), style));
                }
            }
            let size_mm = (0.8 * self.step_mm).min(MARK_MM);
            if !self.is_dense() || Some(index) == latest {
                items.push(Item::Marker {
                    at: at(x, self.y_mm(value)),
                    shape: Shape::Disc,
                    size_mm: if Some(index) == latest { MARK_MM * 1.2 } else { size_mm },
                    style: if Some(index) == latest {
                        Style::fill(Role::AccentA).edged(Role::Paper, 0.4)
                    } else {
                        Style::line(Role::AccentA, 0.5).filled(Role::Paper, 1.0)
                    },
                });
            }
            let range = point.range.map(|(low, high)| (text(low), text(high)));
            let range = range.as_ref().map(|(l, h)| (l.as_str(), h.as_str()));
            let alt = words::trend_point(
                point.label,
                &text(value),
                range,
                trend.unit,
                (point.count, trend.counted),
            );
            groups.push(Item::group(key, alt, items));
        }
        groups
    }

    /// Counts and labels under the plot, thinned from the latest backwards.
    fn labels(&self, trend: &Trend<'_>) -> Item {
        let counts: Vec<String> = trend.points.iter().map(|p| p.count.to_string()).collect();
        let labels: Vec<&str> = trend.points.iter().map(|p| p.label).collect();
        let count_y = self.bottom_mm + LABEL_MM + 1.2;
        let label_y = count_y + LEADING_MM;
        let [_, many] = trend.counted;
        let mut items = vec![label(at(self.left_mm - 1.5, count_y), many, Anchor::End, Role::Muted)];
        let counts: Vec<&str> = counts.iter().map(String::as_str).collect();
        self.row(&mut items, &counts, count_y, Role::Muted);
        self.row(&mut items, &labels, label_y, Role::Ink);
        Item::group("labels", "", items)
    }

    /// Texts under their points: every one, or every second, third and so on,
    /// counted from the latest, whatever leaves a gap between them.
    fn row(&self, items: &mut Vec<Item>, texts: &[&str], y: f64, role: Role) {
        let half = |text: &str| 0.5 * width_mm(text, LABEL_MM, Weight::Regular);
        let placed = |stride: usize| -> Vec<(f64, f64, &str)> {
            let all = texts.iter().enumerate().rev().step_by(stride);
            all.map(|(index, text)| {
                let half = half(text);
                let x = self.x_mm(index).min(self.right_mm + 2.0 - half);
                (x, half, *text)
            })
            .filter(|(x, half, _)| x - half >= self.left_mm - 1.0)
            .collect()
        };
        let apart = |row: &[(f64, f64, &str)]| {
            row.iter().zip(row.iter().skip(1)).all(|(right, left)| right.0 - right.1 >= left.0 + left.1 + 1.0)
        };
        let row = (1..=texts.len().max(1)).map(placed).find(|row| apart(row)).unwrap_or_default();
        let texts = row.into_iter().rev();
        items.extend(texts.map(|(x, _, text)| label(at(x, y), text, Anchor::Middle, role)));
    }
}

/// One decimal more than the ticks have, at most 3.
fn decimals(ticks: &[Tick]) -> usize {
    let of_ticks =
        ticks.iter().filter_map(|t| t.label.split_once('.')).map(|(_, rest)| rest.len()).max().unwrap_or(0);
    (of_ticks + 1).min(3)
}

fn alt(trend: &Trend<'_>, ticks: &[Tick]) -> String {
    let decimals = decimals(ticks);
    let text = |v: f64| format!("{v:.decimals$}");
    let mut parts = vec![words::trend_alt(trend.subtitle, trend.points.len())];
    let with_value = || trend.points.iter().filter_map(|p| Some((p, p.value?)));
    for (point, value) in with_value().next().into_iter().chain(with_value().skip(1).last()) {
        let range = point.range.map(|(low, high)| (text(low), text(high)));
        let range = range.as_ref().map(|(l, h)| (l.as_str(), h.as_str()));
        parts.push(words::trend_point(
            point.label,
            &text(value),
            range,
            trend.unit,
            (point.count, trend.counted),
        ));
    }
    parts.push(trend.caption.to_owned());
    parts.retain(|part| !part.is_empty());
    parts.join(" ")
}
