//! The looks keep what the page about them promises: contrast of every pair of colours that
//! meet, and targets large enough.
//!
//! Contrast is WCAG 2.2's (success criteria 1.4.3, 1.4.6 and 1.4.11).

use std::collections::BTreeMap;

const STYLE: &str = include_str!("../src/serve/style.css");

/// The colours of one theme by name: the first block is light, then dark, then full sun.
fn themes() -> [BTreeMap<String, [f64; 3]>; 3] {
    let mut found = STYLE.split(":root {").skip(1).map(|block| {
        let inside = block.split('}').next().unwrap();
        let pairs = inside.split(';').filter_map(|pair| pair.split_once(':'));
        pairs
            .filter_map(|(name, value)| {
                let hex = value.trim().strip_prefix('#')?;
                let part = |at: usize| u8::from_str_radix(hex.get(at..at + 2)?, 16).ok().map(f64::from);
                Some((name.trim().trim_start_matches("--").to_owned(), [part(0)?, part(2)?, part(4)?]))
            })
            .collect::<BTreeMap<_, _>>()
    });
    [found.next().unwrap(), found.next().unwrap(), found.next().unwrap()]
}

fn luminance(colour: [f64; 3]) -> f64 {
    let [r, g, b] = colour.map(|v| {
        let v = v / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn text_stands_out_at_level_aa_and_in_full_sun_at_aaa() {
    // Text on its ground, wherever the two meet in the style.
    let text = [
        ("ink", "paper"),
        ("ink", "surface"),
        ("ink", "held"),
        ("muted", "paper"),
        ("muted", "surface"),
        ("muted", "held"),
        ("press", "paper"),
        ("on-press", "press"),
        ("paper", "ink"),
        ("flag", "paper"),
        ("flag", "surface"),
        ("flag", "held"),
        ("done", "surface"),
    ];
    for (theme, (name, least)) in themes().iter().zip([("light", 4.5), ("dark", 4.5), ("sun", 7.0)]) {
        for (front, ground) in text {
            let seen = contrast(theme[front], theme[ground]);
            assert!(seen >= least, "{name}: {front} on {ground} is {seen:.2}, less than {least}");
        }
    }
}

#[test]
fn edges_of_controls_and_lines_of_drawings_stand_out() {
    let lines = [
        ("line", "paper"),
        ("press", "paper"),
        ("press", "held"),
        ("flag", "paper"),
        ("done", "paper"),
        ("b", "surface"),
        ("b", "paper"),
        ("muted", "surface"),
        ("on-press", "press"),
    ];
    let accents = ["a", "b", "c", "d", "e", "f"];
    for (theme, name) in themes().iter().zip(["light", "dark", "sun"]) {
        let all = lines
            .into_iter()
            .chain(accents.iter().flat_map(|accent| [(*accent, "paper"), (*accent, "surface")]));
        for (front, ground) in all {
            let seen = contrast(theme[front], theme[ground]);
            assert!(seen >= 3.0, "{name}: {front} beside {ground} is {seen:.2}, less than 3");
        }
    }
}

#[test]
fn colours_of_drawings_are_those_of_the_charts_themes() {
    use chalkface_core::chart::{Theme, scene::Role};
    let roles = [
        (Role::Paper, "paper"),
        (Role::Ink, "ink"),
        (Role::Muted, "muted"),
        (Role::Grid, "grid"),
        (Role::Surface, "surface"),
        (Role::Flag, "flag"),
        (Role::AccentA, "a"),
        (Role::AccentB, "b"),
        (Role::AccentC, "c"),
        (Role::AccentD, "d"),
        (Role::AccentE, "e"),
        (Role::AccentF, "f"),
    ];
    for (colours, theme) in themes().iter().zip([Theme::Light, Theme::Dark, Theme::Sun]) {
        for (role, name) in roles {
            let is = theme.colour(role);
            let same = colours[name]
                .iter()
                .zip([is.0, is.1, is.2])
                .all(|(own, of)| (own - f64::from(of)).abs() < 0.5);
            assert!(same, "{theme:?} {name}");
        }
    }
}

#[test]
fn a_target_is_48_pixels_at_least() {
    assert!(STYLE.contains("--touch: 3rem"), "3 rem are 48 CSS pixels");
    assert!(STYLE.contains("min-height: var(--touch); min-width: var(--touch)"));
}
