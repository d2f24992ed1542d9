//! Checks on whole charts: nothing clipped, nothing on top of each other, every
//! part in words, and frozen pictures.

use super::measure::{cap_height_mm, width_mm};
use super::scene::{Anchor, Item, Role, Text};
use super::*;
use crate::face::{Settings, Strike, pattern};

/// Marks on a sunflower: even, without randomness.
fn marks(n: u32, middle: (f64, f64), reach: f64) -> Vec<Strike> {
    (0..n)
        .map(|i| {
            let out = reach * (f64::from(i + 1) / f64::from(n)).sqrt();
            let turn = 2.399_963 * f64::from(i);
            Strike {
                toe_mm: middle.0 + out * libm::cos(turn),
                high_mm: middle.1 + 0.7 * out * libm::sin(turn),
                sigma_mm: 0.5,
            }
        })
        .collect()
}

fn face(sets: &[(&str, Vec<Strike>)], hand: Hand, width_mm: f64) -> Scene {
    let settings = Settings::default();
    let none = Vec::new();
    let of = |set: Option<&(&str, Vec<Strike>)>| pattern(set.map_or(&none, |s| &s.1), &settings).unwrap();
    let (latest, baseline) = (of(sets.last()), of(sets.first()));
    let sets: Vec<MarkSet<'_>> = sets.iter().map(|(label, strikes)| MarkSet { label, strikes }).collect();
    face_chart(&FaceChart {
        title: "Strikes of Ada Quill",
        hand,
        face_width_mm: 112.0,
        face_height_mm: 57.0,
        settings,
        sets: &sets,
        latest: Some(&latest),
        caption: &crate::words::pattern::headline(&latest),
        baseline: Some(MarkedPattern { label: sets.first().map_or("", |set| set.label), pattern: &baseline }),
        width_mm,
    })
    .unwrap()
}

fn two_sets() -> Vec<(&'static str, Vec<Strike>)> {
    vec![("2 March, range", marks(9, (-12.0, -4.0), 16.0)), ("27 April, course", marks(12, (2.0, 8.0), 9.0))]
}

fn trend(n: u32, width_mm: f64) -> Scene {
    let labels: Vec<String> = (0..n).map(|i| format!("{} April", i % 30 + 1)).collect();
    let points: Vec<TrendPoint<'_>> = labels
        .iter()
        .zip(0_u32..)
        .map(|(label, i)| {
            let value = 17.0 - 9.0 * f64::from(i) / f64::from(n);
            let gap = i == 3;
            TrendPoint {
                label,
                value: (!gap).then_some(value),
                range: (!gap).then_some((value - 3.0, value + 4.5)),
                count: if gap { 2 } else { 10 + i % 120 },
            }
        })
        .collect();
    trend_chart(&Trend {
        title: "Typical miss",
        subtitle: "mm from the target point, less is better",
        unit: "mm",
        counted: ["ball", "balls"],
        points: &points,
        band: Some(Band { label: "Baseline of March", value: 16.0, range: (14.0, 19.0) }),
        from_zero: true,
        caption: "",
        width_mm,
    })
    .unwrap()
}

pub(super) fn walk<'a>(items: &'a [Item], visit: &mut impl FnMut(&'a Item)) {
    for item in items {
        visit(item);
        if let Item::Group { items, .. } = item {
            walk(items, visit);
        }
    }
}

/// Left, top, right and bottom of every text.
pub(super) fn boxes(scene: &Scene) -> Vec<(f64, f64, f64, f64, String)> {
    let mut found = Vec::new();
    walk(&scene.items, &mut |item| {
        let Item::Text(Text { at, text, size_mm, anchor, weight, .. }) = item else {
            return;
        };
        let width = width_mm(text, *size_mm, *weight);
        let left = match anchor {
            Anchor::Start => at.x_mm,
            Anchor::Middle => at.x_mm - 0.5 * width,
            Anchor::End => at.x_mm - width,
        };
        let top = at.y_mm - cap_height_mm(*size_mm);
        let bottom = at.y_mm + 0.22 * size_mm;
        found.push((left, top, left + width, bottom, text.clone()));
    });
    found
}

fn all_scenes(width_mm: f64) -> Vec<Scene> {
    let long = "Wilhelmina Featherstonehaugh-Vandenbroucke, far end of the practice ground";
    let nine: Vec<(&str, Vec<Strike>)> = (0..9)
        .map(|i| (if i % 2 == 0 { long } else { "May" }, marks(8, (f64::from(i), 0.0), 12.0)))
        .collect();
    let far = vec![("Wild", marks(500, (0.0, 0.0), 69.0))];
    let mut scenes = vec![trend(0, width_mm), trend(1, width_mm), trend(8, width_mm)];
    scenes.extend([trend(25, width_mm), trend(300, width_mm)]);
    for hand in [Hand::Right, Hand::Left] {
        scenes.push(face(&two_sets(), hand, width_mm));
        scenes.push(face(&nine, hand, width_mm));
        scenes.push(face(&far, hand, width_mm));
        scenes.push(face(&[], hand, width_mm));
    }
    scenes
}

#[test]
fn no_text_is_clipped_and_no_two_texts_overlap_at_any_width() {
    for width in [60.0, PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
        for scene in all_scenes(width) {
            let boxes = boxes(&scene);
            for (index, a) in boxes.iter().enumerate() {
                assert!(
                    a.0 >= 0.0 && a.1 >= 0.0 && a.2 <= scene.width_mm && a.3 <= scene.height_mm,
                    "{}: {a:?} leaves the picture of {width} mm",
                    scene.title
                );
                for b in boxes.iter().skip(index + 1) {
                    let apart = a.2 <= b.0 || b.2 <= a.0 || a.3 <= b.1 || b.3 <= a.1;
                    assert!(apart, "{}: {a:?} on {b:?} at {width} mm", scene.title);
                }
            }
        }
    }
}

#[test]
fn every_scene_says_itself_in_words_and_has_unique_keys() {
    for scene in all_scenes(PHONE_WIDTH_MM) {
        assert!(scene.alt.len() > 30, "{}", scene.alt);
        let mut keys = Vec::new();
        walk(&scene.items, &mut |item| {
            if let Item::Group { key, alt, .. } = item {
                keys.push(key.clone());
                if key.starts_with("marks") || key.starts_with("session") {
                    assert!(!alt.is_empty(), "{key}");
                }
            }
        });
        let count = keys.len();
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), count, "keys of {}", scene.title);
    }
}

fn marker_places(scene: &Scene) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    let marks = scene.items.iter().filter_map(|item| match item {
        Item::Group { key, items, .. } if key.starts_with("marks-") => Some(items),
        _ => None,
    });
    for items in marks {
        walk(items, &mut |item| {
            if let Item::Marker { at, .. } = item {
                found.push((at.x_mm, at.y_mm));
            }
        });
    }
    found
}

#[test]
fn a_left_handers_chart_is_the_mirror_image() {
    let right = face(&two_sets(), Hand::Right, PHONE_WIDTH_MM);
    let left = face(&two_sets(), Hand::Left, PHONE_WIDTH_MM);
    let (right, left) = (marker_places(&right), marker_places(&left));
    assert_eq!(right.len(), 21);
    let middle = 0.5 * (MARGIN_MM + 5.5 + PHONE_WIDTH_MM - MARGIN_MM);
    for (a, b) in right.iter().zip(&left) {
        assert!((a.0 + b.0 - 2.0 * middle).abs() < 1e-9, "{a:?} {b:?}");
        assert_eq!(a.1, b.1);
    }
}

#[test]
fn a_toe_strike_of_a_right_hander_is_drawn_on_the_left() {
    let toe = vec![("x", marks(1, (30.0, 0.0), 0.0))];
    let place = marker_places(&face(&toe, Hand::Right, 100.0))[0];
    assert!(place.0 < 50.0, "{place:?}");
}

#[test]
fn marks_off_the_face_keep_their_place_and_are_flagged_and_counted() {
    let sets = vec![("x", marks(1, (66.0, 0.0), 0.0))];
    let scene = face(&sets, Hand::Left, 100.0);
    let mut flags = 0;
    let mut alts = String::new();
    walk(&scene.items, &mut |item| match item {
        Item::Circle { style, .. } if style.stroke == Some(Role::Flag) => flags += 1,
        Item::Group { alt, .. } => alts.push_str(alt),
        _ => {}
    });
    // One on the face, one in the legend.
    assert_eq!(flags, 2);
    assert!(alts.contains("1 of them off the face"), "{alts}");
    let (x, _) = marker_places(&scene)[0];
    assert!(x > 90.0 && x < 100.0, "{x}");
}

#[test]
fn sets_differ_in_shape_and_not_only_in_colour() {
    let sets: Vec<(&str, Vec<Strike>)> = (0..8).map(|_| ("x", marks(2, (0.0, 0.0), 5.0))).collect();
    let scene = face(&sets, Hand::Right, 100.0);
    let mut shapes = Vec::new();
    for item in &scene.items {
        if let Item::Group { key, items, .. } = item
            && key.starts_with("marks-")
            && let Some(Item::Marker { shape, style, .. }) = items.first()
        {
            shapes.push((*shape, style.fill));
        }
    }
    assert_eq!(shapes.len(), 7);
    for (index, a) in shapes.iter().enumerate() {
        assert!(shapes.iter().skip(index + 1).all(|b| a.0 != b.0), "{a:?}");
    }
}

#[test]
fn what_is_no_number_is_refused_by_name() {
    let mut sets = two_sets();
    sets[0].1[0].toe_mm = f64::NAN;
    let marked = [MarkSet { label: "x", strikes: &sets[0].1 }];
    let mut chart = FaceChart {
        title: "",
        hand: Hand::Right,
        face_width_mm: 112.0,
        face_height_mm: 57.0,
        settings: Settings::default(),
        sets: &marked,
        latest: None,
        caption: "",
        baseline: None,
        width_mm: 100.0,
    };
    let error = face_chart(&chart).unwrap_err();
    assert!(error.to_string().starts_with("toe_mm is NaN"), "{error}");
    chart.sets = &[];
    chart.width_mm = 10.0;
    assert!(face_chart(&chart).is_err());
}

#[test]
fn the_face_chart_is_drawn_as_it_was() {
    let scene = face(&two_sets(), Hand::Right, PHONE_WIDTH_MM);
    insta::assert_snapshot!(to_svg(&scene, Theme::Light));
}

#[test]
fn the_trend_chart_is_drawn_as_it_was() {
    insta::assert_snapshot!(to_svg(&trend(6, PHONE_WIDTH_MM), Theme::Print));
}

#[test]
fn a_scene_turns_to_the_json_that_shells_read() {
    let scene = face(&[], Hand::Right, PHONE_WIDTH_MM);
    let value = serde_json::to_value(&scene).unwrap();
    assert_eq!(value["width_mm"], PHONE_WIDTH_MM);
    assert_eq!(value["items"][0]["kind"], "text");
    assert_eq!(value["items"][0]["weight"], "bold");
    assert_eq!(value["items"][0]["at"]["x_mm"], 3.0);
}
