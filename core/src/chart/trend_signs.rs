//! Line styles of the trend chart and the legend that explains them.
//!
//! Invariant: the legend paints with the same styles as the chart.
//!
//! Where to start: [`entries`].

use super::layout::Entry;
use super::scene::{Dash, Item, Role, Style, at};
use super::trend::Trend;
use crate::words::chart as words;

pub(super) const fn band_line() -> Style {
    Style::line(Role::Ink, 0.4).dashed(Dash::Dashed)
}

pub(super) const fn ribbon_style() -> Style {
    Style::line(Role::AccentA, 0.2).filled(Role::AccentA, 0.18)
}

pub(super) const fn whisker() -> Style {
    Style::line(Role::AccentA, 0.35)
}

pub(super) fn entries(trend: &Trend<'_>, dense: bool) -> Vec<Entry> {
    let mut found = Vec::new();
    if trend.points.iter().any(|p| p.range.is_some()) {
        found.push(Entry {
            text: words::WHISKERS.to_owned(),
            tail: String::new(),
            sign: Box::new(move |p| {
                if dense {
                    return vec![Item::Rect {
                        corner: at(p.x_mm - 3.6, p.y_mm - 1.5),
                        width_mm: 7.2,
                        height_mm: 3.0,
                        round_mm: 0.0,
                        style: ribbon_style(),
                    }];
                }
                let line = |x1: f64, y1: f64, x2: f64, y2: f64| {
                    Item::line(at(p.x_mm + x1, p.y_mm + y1), at(p.x_mm + x2, p.y_mm + y2), whisker())
                };
                vec![line(0.0, -1.8, 0.0, 1.8), line(-1.0, -1.8, 1.0, -1.8), line(-1.0, 1.8, 1.0, 1.8)]
            }),
        });
    }
    if let Some(band) = trend.band {
        found.push(Entry {
            text: band.label.to_owned(),
            tail: words::BAND.to_owned(),
            sign: Box::new(|p| {
                vec![
                    Item::Rect {
                        corner: at(p.x_mm - 3.6, p.y_mm - 1.5),
                        width_mm: 7.2,
                        height_mm: 3.0,
                        round_mm: 0.0,
                        style: Style::fill(Role::Muted).filled(Role::Muted, 0.16),
                    },
                    Item::line(at(p.x_mm - 3.6, p.y_mm), at(p.x_mm + 3.6, p.y_mm), band_line()),
                ]
            }),
        });
    }
    found
}
