//! Draws every chart with invented data, in all themes, both hands, for phone and
//! print: `cargo run -p chalkface-desk --example gallery -- FOLDER`. To be looked
//! at after any change to a chart.

#[allow(dead_code)]
#[path = "../src/picture.rs"]
mod picture;

#[path = "gallery_parts/flights.rs"]
mod flights;

#[path = "gallery_parts/seasons.rs"]
mod seasons;

use std::error::Error;
use std::path::Path;

use chalkface_core::chart::{
    Band, FaceChart, Hand, MarkSet, MarkedPattern, PHONE_WIDTH_MM, PRINT_WIDTH_MM, Scene, Theme, TickRow,
    Ticks, Trend, TrendPoint, face_chart, ticks_chart, to_svg, trend_chart,
};
use chalkface_core::face::{Settings, Strike, pattern};
use chalkface_core::words::pattern::headline;

/// Invented marks: a plain generator with a sum of uniform numbers.
fn marks(seed: u64, n: usize, middle: (f64, f64), sd: (f64, f64)) -> Vec<Strike> {
    let mut state = seed;
    let mut uniform = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut near_normal = move || (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
    (0..n)
        .map(|_| Strike {
            toe_mm: middle.0 + sd.0 * near_normal(),
            high_mm: middle.1 + sd.1 * near_normal(),
            sigma_mm: 1.0,
        })
        .collect()
}

fn face(
    title: &str,
    sets: &[(&str, Vec<Strike>)],
    with_baseline: bool,
    hand: Hand,
    width_mm: f64,
) -> Result<Scene, Box<dyn Error>> {
    let settings = Settings::default();
    let mark_sets: Vec<MarkSet<'_>> =
        sets.iter().map(|(label, strikes)| MarkSet { label, strikes }).collect();
    let none = Vec::new();
    let latest = pattern(sets.last().map_or(&none, |s| &s.1), &settings)?;
    let baseline = pattern(sets.first().map_or(&none, |s| &s.1), &settings)?;
    Ok(face_chart(&FaceChart {
        title,
        hand,
        face_width_mm: 112.0,
        face_height_mm: 57.0,
        settings,
        sets: &mark_sets,
        latest: Some(&latest),
        caption: &headline(&latest),
        baseline: with_baseline
            .then_some(MarkedPattern { label: sets.first().map_or("", |s| s.0), pattern: &baseline }),
        width_mm,
    })?)
}

fn trend(points: &[(String, Option<f64>, u32)], width_mm: f64) -> Result<Scene, Box<dyn Error>> {
    let points: Vec<TrendPoint<'_>> = points
        .iter()
        .map(|(label, value, count)| TrendPoint {
            label,
            value: *value,
            range: value.map(|v| {
                let half = 1.4 / f64::from(*count).sqrt();
                (v / (1.0 + half), v * (1.0 + half))
            }),
            count: *count,
        })
        .collect();
    Ok(trend_chart(&Trend {
        title: "Typical miss",
        subtitle: "mm from the target point, less is better",
        unit: "mm",
        counted: ["ball", "balls"],
        points: &points,
        band: Some(Band { label: "Baseline of March", value: 17.2, range: (15.1, 20.0) }),
        from_zero: true,
        caption: "The typical miss went from 17 mm to 11 mm over 8 sessions.",
        width_mm,
    })?)
}

fn boxes(width_mm: f64) -> Result<Scene, Box<dyn Error>> {
    let row = |label, detail, asked, done| TickRow { label, detail, asked, done };
    let rows = [
        row("Target dot", "3 x 8, twice a week", 12, 5),
        row(
            "Two-sided speed sets, a drill with quite a long name of its own",
            "3 x 6, 3 times a week",
            40,
            13,
        ),
    ];
    let ticks = Ticks {
        title: "Tick each time",
        subtitle: "One box for each time until the next lesson",
        rows: &rows,
    };
    Ok(ticks_chart(&ticks, width_mm)?)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name a folder")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    let three = [
        ("2 March, range", marks(3, 22, (-12.0, -5.0), (11.0, 7.0))),
        ("30 March, course", marks(5, 14, (-8.0, 0.0), (10.0, 7.0))),
        ("27 April, range", marks(8, 24, (-3.0, 9.0), (6.0, 5.0))),
    ];
    let long = "Wilhelmina Featherstonehaugh-Vandenbroucke <b>& sons</b>, practice ground";
    let nine: Vec<(&str, Vec<Strike>)> = (0..9)
        .map(|i| {
            let shift = f64::from(i);
            (
                if i == 8 { long } else { "Session with a name" },
                marks(40 + i as u64, 9, (-20.0 + 2.0 * shift, 1.0 * shift), (9.0, 6.0)),
            )
        })
        .collect();
    let many = [
        ("Spring", marks(21, 180, (-6.0, 0.0), (12.0, 8.0))),
        ("Summer", marks(22, 320, (2.0, 6.0), (9.0, 6.0))),
    ];
    let few = [("Today", marks(9, 3, (10.0, 12.0), (5.0, 5.0)))];
    let day = |i: u32, text: &str| format!("{i} {text}");
    let eight: Vec<(String, Option<f64>, u32)> =
        [(17.4, 22), (16.0, 14), (18.1, 9), (0.0, 3), (14.0, 25), (12.5, 18), (12.9, 30), (11.2, 24)]
            .iter()
            .enumerate()
            .map(|(i, (v, n))| (day(3 * i as u32 + 2, "Apr"), (*v > 0.0).then_some(*v), *n))
            .collect();
    let season: Vec<(String, Option<f64>, u32)> =
        (0..70).map(|i| (day(i % 28 + 1, "Jun"), Some(16.0 - 0.06 * f64::from(i)), 12 + i % 7)).collect();

    for (suffix, width, ppi) in [("phone", PHONE_WIDTH_MM, 96.0), ("print", PRINT_WIDTH_MM, 150.0)] {
        let scenes = [
            ("three", face("Strikes of Ada Quill", &three, true, Hand::Right, width)?),
            ("left", face("Strikes of Ben Lowe", &three, true, Hand::Left, width)?),
            ("nine", face(long, &nine, false, Hand::Right, width)?),
            ("many", face("Two seasons", &many, true, Hand::Right, width)?),
            ("few", face("First balls", &few, false, Hand::Right, width)?),
            ("none", face("Nothing yet", &[], false, Hand::Left, width)?),
            ("trend", trend(&eight, width)?),
            ("season", trend(&season, width)?),
            ("trend-none", trend(&[], width)?),
            ("ticks", boxes(width)?),
        ];
        let strikes = marks(33, 520, (-2.0, 3.0), (11.0, 7.0));
        let strikes: Vec<(f64, f64)> = strikes.iter().map(|s| (s.toe_mm, s.high_mm)).collect();
        let flights = flights::scenes(&strikes, width)?;
        let seasons = seasons::scenes(width)?;
        for (name, scene) in scenes.iter().chain(&flights).chain(&seasons) {
            for theme in Theme::ALL {
                let stem = format!("{name}-{suffix}-{theme:?}").to_lowercase();
                std::fs::write(folder.join(format!("{stem}.svg")), to_svg(scene, theme))?;
                let png = picture::to_png(scene, theme, ppi)?;
                std::fs::write(folder.join(format!("{stem}.png")), png)?;
                if theme == Theme::Print && suffix == "print" {
                    let pdf = picture::to_pdf(scene, theme)?;
                    std::fs::write(folder.join(format!("{stem}.pdf")), pdf)?;
                }
            }
        }
    }
    Ok(())
}
