//! Seasons of looks with invented estimates and edges.

use std::error::Error;

use chalkface_core::chart::{Scene, SeasonChart, SeasonLook, season_chart};

/// A shift that is called, one that isn't, a long season and an empty one.
pub fn scenes(width_mm: f64) -> Result<Vec<(&'static str, Scene)>, Box<dyn Error>> {
    let shift = |i: usize| 7.0 + 3.0 * ((i * 7 % 5) as f64 / 5.0 - 0.4) / (1.0 + i as f64).sqrt();
    let small = |i: usize| -2.0 - 3.0 * ((i * 7 % 5) as f64 / 5.0 - 0.4) / (1.0 + i as f64).sqrt();
    Ok(vec![
        ("looks-called", chart(9, shift, true, width_mm)?),
        ("looks-open", chart(6, small, false, width_mm)?),
        ("looks-long", chart(60, shift, true, width_mm)?),
        ("looks-none", chart(0, shift, false, width_mm)?),
    ])
}

fn chart(
    n: usize,
    value: impl Fn(usize) -> f64,
    calls: bool,
    width_mm: f64,
) -> Result<Scene, Box<dyn Error>> {
    let edge = |i: usize| 4.0 + 24.0 / (1.0 + i as f64);
    let labels: Vec<String> = (0..n).map(|i| format!("{} May", i % 28 + 1)).collect();
    let first = (2..n).find(|i| value(*i).abs() > edge(*i));
    let looks: Vec<SeasonLook<'_>> = labels
        .iter()
        .enumerate()
        .map(|(i, label)| SeasonLook {
            label,
            count: 12,
            value: Some(value(i)),
            edges: (i > 1).then(|| (-edge(i), edge(i))),
            called: calls && first == Some(i),
        })
        .collect();
    let last = n.checked_sub(1);
    Ok(season_chart(&SeasonChart {
        title: "Middle since the baseline, heel to toe",
        subtitle: "mm; up is toward the toe; all sessions so far together",
        unit: "mm",
        unchanged: 0.0,
        looks: &looks,
        range: last.map(|i| (value(i) - edge(i), value(i) + edge(i))),
        caption: "",
        width_mm,
    })?)
}
