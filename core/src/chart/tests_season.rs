//! The chart of a season of looks: what it marks, says and refuses, and one frozen
//! picture.
//!
//! Where to start: [`looks`] makes a season with a known edge.

use super::scene::{Item, Step};
use super::*;

/// Looks with edges that narrow from the third one on; the fifth is called.
fn looks(values: &[f64]) -> Vec<SeasonLook<'static>> {
    let edge = |i: usize| 30.0 / (i as f64 - 1.0);
    (0..values.len())
        .map(|i| SeasonLook {
            label: "4 May",
            count: 12,
            value: Some(values[i]),
            edges: (i > 1).then(|| (-edge(i), edge(i))),
            called: i == 4,
        })
        .collect()
}

fn season<'a>(looks: &'a [SeasonLook<'a>]) -> SeasonChart<'a> {
    SeasonChart {
        title: "Middle since the baseline, heel to toe",
        subtitle: "mm; up is toward the toe",
        unit: "mm",
        unchanged: 0.0,
        looks,
        range: Some((2.0, 16.0)),
        caption: "",
        width_mm: PHONE_WIDTH_MM,
    }
}

#[test]
fn a_season_marks_its_first_call_by_shape_and_word_and_says_it() {
    let all = looks(&[9.0; 7]);
    let scene = season_chart(&season(&all)).unwrap();
    let svg = to_svg(&scene, Theme::Light);
    // Beside the look, and in the legend.
    // With a rim of paper under it, so twice.
    assert_eq!(svg.matches(">called<").count(), 2);
    assert!(svg.contains("called here first") && svg.contains("could still be chance"));
    assert!(
        scene.alt.contains("chance alone could give -10.00 to 10.00. Called here first."),
        "{}",
        scene.alt
    );
    let none = season_chart(&SeasonChart { looks: &all[..2], range: None, ..season(&all) }).unwrap();
    assert!(!to_svg(&none, Theme::Light).contains("called"));
    assert!(none.alt.contains("too early to call"), "{}", none.alt);
}

#[test]
fn an_estimate_lies_outside_the_corridor_exactly_where_it_is_past_the_edge() {
    let all = looks(&[9.0; 9]);
    let scene = season_chart(&season(&all)).unwrap();
    let group = |wanted: &str| {
        scene
            .items
            .iter()
            .find_map(|item| match item {
                Item::Group { key, items, .. } if key == wanted => Some(items.clone()),
                _ => None,
            })
            .unwrap()
    };
    let Item::Path { steps, .. } = &group("edges")[0] else { panic!("the corridor comes first") };
    // The corners of the upper edge come in pairs, one pair a look from the third on.
    let upper: Vec<f64> = steps
        .iter()
        .filter_map(|s| if let Step::Line { to } | Step::Move { to } = s { Some(to.y_mm) } else { None })
        .collect();
    for (i, look) in all.iter().enumerate().skip(2) {
        let place = group(&format!("look-{i}")).iter().find_map(|item| match item {
            Item::Marker { at, .. } => Some(at.y_mm),
            _ => None,
        });
        let edge = upper[1 + 2 * (i - 2)];
        // Smaller y is higher up.
        assert_eq!(place.unwrap() < edge - 1e-9, look.value.unwrap() > look.edges.unwrap().1, "look {i}");
    }
}

#[test]
fn a_season_refuses_what_is_no_number_and_draws_an_empty_one() {
    let mut all = looks(&[9.0; 4]);
    assert!(season_chart(&SeasonChart { looks: &[], range: None, ..season(&all) }).is_ok());
    all[2].value = Some(f64::NAN);
    assert!(season_chart(&SeasonChart { looks: &all, ..season(&[]) }).is_err());
}

#[test]
fn the_season_chart_is_drawn_as_it_was() {
    let scene = season_chart(&season(&looks(&[9.0; 7]))).unwrap();
    insta::assert_snapshot!(to_svg(&scene, Theme::Print));
}
