//! A whole in its parts: one bar a part from a zero line, each with its interval.
//!
//! Invariant: bars of one chart share one scale that starts at zero; a loss goes
//! right and a gain left; every bar has its figure beside it in words.
//!
//! Where to start: [`parts_chart`].

use super::axis::nice;
use super::layout::{caption, drop_mm, label, sign, title};
use super::measure::{fit, width_mm};
use super::scene::{Anchor, Dash, Item, Role, Scene, Style, Weight, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::chart as words;

/// One part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartBar<'a> {
    /// What it is.
    pub label: &'a str,
    /// Its value.
    pub value: f64,
    /// Ends of its interval.
    pub range: (f64, f64),
    /// The value with its unit, as a person reads it.
    pub figure: &'a str,
}

/// What the chart shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartsOfWhole<'a> {
    /// Title.
    pub title: &'a str,
    /// What the bars are, and their unit.
    pub subtitle: &'a str,
    /// The parts, in the order to be read.
    pub bars: &'a [PartBar<'a>],
    /// One or two sentences under the chart; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

const BAR_MM: f64 = 5.2;
const ROW_MM: f64 = 12.0;

/// Draws the parts of a whole.
///
/// # Errors
/// [`ChartError`] if the width is out of range, or a number of a bar is none.
pub fn parts_chart(chart: &PartsOfWhole<'_>) -> Result<Scene, ChartError> {
    check_width(chart.width_mm)?;
    for bar in chart.bars {
        for value in [bar.value, bar.range.0, bar.range.1] {
            within("bar", value, -1e6, 1e6, "a number within a million of zero")?;
        }
    }
    let mut items = Vec::new();
    let top = title(&mut items, chart.title, chart.subtitle, chart.width_mm);
    let ends = || chart.bars.iter().flat_map(|bar| [bar.value, bar.range.0, bar.range.1]);
    let (low, high) = (ends().fold(0.0, f64::min), ends().fold(0.0, f64::max));
    let (low, high, ticks) = nice(low, high, 5);
    let (left, right) = (MARGIN_MM + 1.0, chart.width_mm - MARGIN_MM - 2.0);
    let x = |value: f64| left + (right - left) * (value - low) / (high - low);
    let bottom = top + ROW_MM * chart.bars.len() as f64 + 1.0;
    for tick in &ticks {
        let heavy = tick.value == 0.0;
        let style = if heavy { Style::line(Role::Ink, 0.4) } else { Style::line(Role::Grid, 0.2) };
        let (from, to) = (at(x(tick.value), top), at(x(tick.value), bottom));
        items.push(Item::Line { from, to, style: style.dashed(Dash::Solid) });
        let place = at(x(tick.value), bottom + LEADING_MM);
        items.push(label(place, tick.label.clone(), Anchor::Middle, Role::Muted));
    }
    for (n, bar) in chart.bars.iter().enumerate() {
        let y = top + ROW_MM * n as f64;
        let room = chart.width_mm - 2.0 * MARGIN_MM - width_mm(bar.figure, LABEL_MM, Weight::Bold) - 3.0;
        let name = fit(bar.label, LABEL_MM, Weight::Regular, room);
        let middle = y + LEADING_MM + 0.5 * BAR_MM + 0.9;
        let (from, to) = (x(bar.value.min(0.0)), x(bar.value.max(0.0)));
        let mut drawn = vec![
            haloed(label(at(left + 0.6, y + LEADING_MM - 0.6), name, Anchor::Start, Role::Ink)),
            sign(at(right, y + LEADING_MM - 0.6), bar.figure, Anchor::End),
            Item::Rect {
                corner: at(from, middle - 0.5 * BAR_MM),
                width_mm: (to - from).max(0.01),
                height_mm: BAR_MM,
                round_mm: 0.0,
                style: Style::fill(Role::AccentA).filled(Role::AccentA, 0.55).edged(Role::AccentA, 0.4),
            },
        ];
        let (low, high) = (x(bar.range.0), x(bar.range.1));
        let line = |from, to| Item::Line { from, to, style: Style::line(Role::Ink, 0.5) };
        drawn.push(line(at(low, middle), at(high, middle)));
        for end in [low, high] {
            drawn.push(line(at(end, middle - 1.3), at(end, middle + 1.3)));
        }
        let alt = words::part_alt(bar.label, bar.figure);
        items.push(Item::group(format!("part.{n}"), alt, drawn));
    }
    let below = caption(&mut items, chart.caption, bottom + LEADING_MM + drop_mm() + 0.6, chart.width_mm);
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: words::parts_alt(chart.subtitle, chart.bars.len()),
        width_mm: chart.width_mm,
        height_mm: below + MARGIN_MM,
        items,
    })
}

/// A name that the zero line may run through stays readable.
fn haloed(mut item: Item) -> Item {
    if let Item::Text(text) = &mut item {
        text.halo = true;
    }
    item
}

/// Room for the names at a glance, mm.
const NAME_MM: f64 = 24.0;
const GLANCE_ROW_MM: f64 = 6.4;

/// The same at a glance: a line a part, its name to the left of the bar, its figure
/// to the right; no scale and no intervals, which the figures have to give.
///
/// # Errors
/// As [`parts_chart`].
pub fn parts_glance(chart: &PartsOfWhole<'_>) -> Result<Scene, ChartError> {
    check_width(chart.width_mm)?;
    for bar in chart.bars {
        within("bar", bar.value, -1e6, 1e6, "a number within a million of zero")?;
    }
    let mut items = Vec::new();
    let top = title(&mut items, chart.title, chart.subtitle, chart.width_mm);
    let widest = |size: fn(&PartBar<'_>) -> f64| chart.bars.iter().map(size).fold(0.0, f64::max);
    let figures_mm = widest(|bar| width_mm(bar.figure, LABEL_MM, Weight::Bold));
    let (low, high) = (-widest(|bar| -bar.value), widest(|bar| bar.value));
    let (left, right) = (MARGIN_MM + NAME_MM, chart.width_mm - MARGIN_MM - figures_mm - 2.0);
    let x = |value: f64| left + (right - left) * (value - low) / (high - low).max(1e-9);
    let bottom = top + GLANCE_ROW_MM * chart.bars.len() as f64;
    for (n, bar) in chart.bars.iter().enumerate() {
        let middle = top + GLANCE_ROW_MM * (n as f64 + 0.5);
        let (from, to) = (x(bar.value.min(0.0)), x(bar.value.max(0.0)));
        let name = fit(bar.label, LABEL_MM, Weight::Regular, NAME_MM - 1.5);
        let drawn = vec![
            label(at(MARGIN_MM, middle + drop_mm()), name, Anchor::Start, Role::Ink),
            Item::Rect {
                corner: at(from, middle - 0.4 * BAR_MM),
                width_mm: (to - from).max(0.01),
                height_mm: 0.8 * BAR_MM,
                round_mm: 0.0,
                style: Style::fill(Role::AccentA).filled(Role::AccentA, 0.55).edged(Role::AccentA, 0.4),
            },
            sign(at(chart.width_mm - MARGIN_MM, middle + drop_mm()), bar.figure, Anchor::End),
        ];
        items.push(Item::group(format!("part.{n}"), words::part_alt(bar.label, bar.figure), drawn));
    }
    let zero = Style::line(Role::Ink, 0.4).dashed(Dash::Solid);
    items.push(Item::Line { from: at(x(0.0), top), to: at(x(0.0), bottom), style: zero });
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: words::parts_alt(chart.subtitle, chart.bars.len()),
        width_mm: chart.width_mm,
        height_mm: bottom + MARGIN_MM,
        items,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gain_goes_left_of_zero_and_a_number_that_is_none_is_refused() {
        let bar =
            |value: f64| PartBar { label: "Contact", value, range: (value - 1.0, value + 1.0), figure: "f" };
        let draw = |bars: &[PartBar<'_>]| {
            parts_chart(&PartsOfWhole { title: "t", subtitle: "s", bars, caption: "", width_mm: 95.25 })
        };
        let scene = draw(&[bar(6.0), bar(-3.0)]).unwrap();
        let mut corners = Vec::new();
        for item in &scene.items {
            if let Item::Group { items, .. } = item {
                corners.extend(items.iter().filter_map(|item| match item {
                    Item::Rect { corner, width_mm, .. } => Some((corner.x_mm, corner.x_mm + width_mm)),
                    _ => None,
                }));
            }
        }
        let [(zero, right), (left, also_zero)] = corners[..] else { panic!("{corners:?}") };
        assert!((zero - also_zero).abs() < 1e-9 && left < zero && zero < right, "{corners:?}");
        assert!(((right - zero) / (zero - left) - 2.0).abs() < 1e-9, "one scale for both");
        assert!(draw(&[bar(f64::NAN)]).is_err());
        assert!(draw(&[]).is_ok());
    }
}
