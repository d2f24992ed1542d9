//! Checks on the charts of flights, landings and the face map: nothing clipped,
//! nothing on top of each other, places true, and three frozen pictures.

use super::scene::{Dash, Item, Point, Shape};
use super::tests::{boxes, walk};
use super::*;
use crate::words::flight_chart as words;

const HOSTILE: &str =
    "</svg><script>alert(1)</script>&\"'\u{202e}\0 Wilhelmina Featherstonehaugh-Vandenbroucke";

/// A smooth arc that starts along its start line and lands where asked.
fn arc(carry: f64, apex: f64, start_deg: f64, lateral: f64) -> Vec<PathSpot> {
    (0..=40)
        .map(|i| {
            let t = f64::from(i) / 40.0;
            let straight = carry * libm::tan(start_deg.to_radians());
            PathSpot {
                down_m: carry * t,
                height_m: 4.0 * apex * t * (1.0 - t),
                right_m: straight * t + (lateral - straight) * t * t,
            }
        })
        .collect()
}

fn flights(list: &[(&str, f64, f64, f64, f64)], unit: Length, width_mm: f64) -> Scene {
    let paths: Vec<Vec<PathSpot>> = list.iter().map(|f| arc(f.1, f.2, f.3, f.4)).collect();
    let flown: Vec<FlownPath<'_>> = list
        .iter()
        .zip(&paths)
        .map(|(f, path)| FlownPath { label: f.0, path, start_deg: f.3, landing_deg: 36.6 })
        .collect();
    let caption = "Computed from what was read.";
    flight_paths(&FlightPaths { title: "One drive", unit, flights: &flown, caption, width_mm }).unwrap()
}

fn drive(width_mm: f64) -> Scene {
    flights(&[("Drive 3", 204.0, 21.0, 2.4, -6.0)], Length::Metres, width_mm)
}

/// Balls on a sunflower: even, without randomness.
fn balls(n: u32, middle: (f64, f64), reach: f64) -> Vec<[f64; 2]> {
    (0..n)
        .map(|i| {
            let out = reach * (f64::from(i + 1) / f64::from(n)).sqrt();
            let turn = 2.399_963 * f64::from(i);
            [middle.0 + 0.6 * out * libm::cos(turn), middle.1 + out * libm::sin(turn)]
        })
        .collect()
}

fn landing(sets: &[(&str, Vec<[f64; 2]>)], unit: Length, width_mm: f64) -> Scene {
    let sets: Vec<LandingSet<'_>> = sets.iter().map(|(label, balls)| LandingSet { label, balls }).collect();
    let oval = |k: f64| LandingOval { semi_major_m: 9.0 * k, semi_minor_m: 5.0 * k, right_deg: 70.0 };
    let scatter = LandingScatter { carry_m: 200.0, lateral_m: 4.0, one_sigma: oval(1.0), oval95: oval(2.45) };
    landing_chart(&Landing {
        title: "Where the drives came down",
        unit,
        scatter: sets.last().map(|_| scatter),
        sets: &sets,
        fairway_m: Some(30.0),
        caption: "",
        width_mm,
    })
    .unwrap()
}

fn two_sets() -> Vec<(&'static str, Vec<[f64; 2]>)> {
    vec![("2 March", balls(12, (192.0, 12.0), 14.0)), ("27 April", balls(20, (200.0, 4.0), 18.0))]
}

/// Cells that lose as a bowl does, best a little above the centre.
fn cells(columns: u32, rows: u32, depth: f64) -> Vec<MapCell> {
    let middle = |i: u32, n: u32, length: f64| (f64::from(2 * i + 1) / f64::from(2 * n) - 0.5) * length;
    let spots = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
    spots
        .map(|(column, row)| {
            let (toe_mm, high_mm) = (middle(column, columns, 118.0), middle(row, rows, 58.0));
            let out = (toe_mm / 59.0).powi(2) + ((high_mm - 4.0) / 29.0).powi(2);
            MapCell { toe_mm, high_mm, carry_m: Some(204.0 - depth * out) }
        })
        .collect()
}

fn map(cells: &[MapCell], grid: (u32, u32), hand: Hand, width_mm: f64) -> Scene {
    face_map(&FaceMap {
        title: "What a strike off the centre costs",
        hand,
        face_width_mm: 118.0,
        face_height_mm: 58.0,
        cells,
        cell_mm: (118.0 / f64::from(grid.0), 58.0 / f64::from(grid.1)),
        unit: Length::Metres,
        caption: "Club head at 45 m/s.",
        width_mm,
    })
    .unwrap()
}

fn all_scenes(width_mm: f64) -> Vec<Scene> {
    let (m, yd) = (Length::Metres, Length::Yards);
    let six: Vec<(&str, f64, f64, f64, f64)> =
        (0..6).map(|i| (HOSTILE, 150.0 + 12.0 * f64::from(i), 22.0, -3.0 + f64::from(i), 9.0)).collect();
    let mut scenes = vec![drive(width_mm), flights(&[], m, width_mm), flights(&six, yd, width_mm)];
    for (carry, apex, start, lateral) in [
        (9.0, 0.1, 0.0, 0.0),
        (240.0, 31.0, -4.0, 38.0),
        (240.0, 31.0, 4.0, -38.0),
        (225.0, 28.0, 0.0, 0.3),
        (60.0, 45.0, 20.0, 24.0),
        (-4.0, 12.0, 0.0, 1.0),
        (180.0, 2.0, -40.0, -150.0),
        (0.0, 0.0, 0.0, 0.0),
    ] {
        scenes.push(flights(&[(HOSTILE, carry, apex, start, lateral)], yd, width_mm));
    }
    let nine: Vec<(&str, Vec<[f64; 2]>)> =
        (0..9).map(|i| (HOSTILE, balls(8, (190.0, f64::from(i)), 12.0))).collect();
    scenes.push(landing(&two_sets(), m, width_mm));
    scenes.push(landing(&nine, yd, width_mm));
    scenes.push(landing(&[], m, width_mm));
    scenes.push(landing(&[("Wild", balls(900, (150.0, 0.0), 140.0))], yd, width_mm));
    for hand in [Hand::Right, Hand::Left] {
        for depth in [0.0, 3.0, 30.0, 190.0] {
            scenes.push(map(&cells(9, 7, depth), (9, 7), hand, width_mm));
        }
        scenes.push(map(&cells(25, 15, 30.0), (25, 15), hand, width_mm));
        scenes.push(map(&[], (9, 7), hand, width_mm));
    }
    scenes
}

#[test]
fn no_text_is_clipped_and_no_two_texts_overlap_at_any_width() {
    for width in [60.0, PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
        for (number, scene) in all_scenes(width).iter().enumerate() {
            let boxes = boxes(scene);
            for (index, a) in boxes.iter().enumerate() {
                assert!(
                    a.0 >= 0.0 && a.1 >= 0.0 && a.2 <= scene.width_mm && a.3 <= scene.height_mm,
                    "{number} {}: {a:?} leaves the picture of {width} mm",
                    scene.title
                );
                for b in boxes.iter().skip(index + 1) {
                    let apart = a.2 <= b.0 || b.2 <= a.0 || a.3 <= b.1 || b.3 <= a.1;
                    assert!(apart, "{number} {}: {a:?} on {b:?} at {width} mm", scene.title);
                }
            }
        }
    }
}

#[test]
fn nothing_is_drawn_outside_the_picture() {
    for width in [60.0, PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
        for (number, scene) in all_scenes(width).iter().enumerate() {
            let holds = |p: &Point, r: f64| {
                p.x_mm >= r && p.y_mm >= r && p.x_mm <= scene.width_mm - r && p.y_mm <= scene.height_mm - r
            };
            walk(&scene.items, &mut |item| {
                let inside = match item {
                    Item::Line { from, to, .. } => holds(from, 0.0) && holds(to, 0.0),
                    Item::Marker { at, size_mm, .. } => holds(at, 0.5 * size_mm),
                    _ => true,
                };
                assert!(inside, "{number} {} at {width} mm: {item:?}", scene.title);
            });
        }
    }
}

#[test]
fn every_scene_says_itself_in_words_has_unique_keys_and_escapes_what_it_is_given() {
    for scene in all_scenes(PHONE_WIDTH_MM) {
        assert!(scene.alt.len() > 30, "{}", scene.alt);
        let mut keys = Vec::new();
        walk(&scene.items, &mut |item| {
            if let Item::Group { key, alt, .. } = item {
                keys.push(key.clone());
                let told = ["marks-", "flight-", "cells", "scatter"].iter().any(|k| key.starts_with(k));
                assert!(!told || !alt.is_empty(), "{key}");
            }
        });
        let count = keys.len();
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), count, "keys of {}", scene.title);
        let svg = to_svg(&scene, Theme::Light);
        assert!(!svg.contains("<script") && !svg.contains('\0') && !svg.contains('\u{202e}'));
        assert_eq!(svg.matches("</svg>").count(), 1);
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", scene.title);
    }
}

fn group<'a>(scene: &'a Scene, name: &str) -> &'a [Item] {
    scene
        .items
        .iter()
        .find_map(|item| match item {
            Item::Group { key, items, .. } if key == name => Some(items.as_slice()),
            _ => None,
        })
        .unwrap()
}

fn markers(items: &[Item]) -> Vec<(Point, Shape)> {
    let mut found = Vec::new();
    walk(items, &mut |item| {
        if let Item::Marker { at, shape, .. } = item {
            found.push((*at, *shape));
        }
    });
    found
}

#[test]
fn heights_and_sides_are_enlarged_by_exactly_the_factor_that_is_said() {
    for width in [PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
        let scene = drive(width);
        // In order: apex and landing from the side, landing from above.
        let marks = markers(group(&scene, "flight-0"));
        let (apex, landing, above) = (marks[0].0, marks[1].0, marks[2].0);
        // The arc's apex is half way and lands on its own ground, 204 m out.
        let scale = (landing.x_mm - apex.x_mm) / 102.0;
        let tall = (landing.y_mm - apex.y_mm) / 21.0 / scale;
        let said = words::tall(tall.round() as u32);
        assert!((tall - tall.round()).abs() < 1e-9, "{tall}");
        assert!(scene.alt.contains(&said), "{said}: {}", scene.alt);
        assert!(boxes(&scene).iter().any(|b| said.starts_with(&b.4) && b.4.len() > 15), "{said}");
        let mut straight = 0.0;
        walk(group(&scene, "flight-0"), &mut |item| {
            if let Item::Line { to, style, .. } = item
                && style.dash == Dash::Dashed
            {
                straight = to.y_mm;
            }
        });
        // From the start line's end to the landing, to the left: up the page.
        let curve_m = 204.0 * libm::tan(2.4_f64.to_radians()) + 6.0;
        let wide = (straight - above.y_mm) / curve_m / scale;
        assert!((wide - wide.round()).abs() < 1e-9 && wide > 0.5, "{wide}");
        assert!(scene.alt.contains(&words::wide(wide.round() as u32)), "{}", scene.alt);
    }
}

#[test]
fn flights_differ_in_shape_and_a_seventh_is_refused() {
    let flight = ("x", 200.0, 20.0, 1.0, 2.0);
    let scene = flights(&[flight; 6], Length::Metres, 100.0);
    let shapes: Vec<Shape> = (0..6).map(|i| markers(group(&scene, &format!("flight-{i}")))[0].1).collect();
    for (index, shape) in shapes.iter().enumerate() {
        assert!(!shapes[index + 1..].contains(shape), "{shape:?} twice");
    }
    let path = arc(200.0, 20.0, 1.0, 2.0);
    let one = FlownPath { label: "x", path: &path, start_deg: 1.0, landing_deg: 30.0 };
    let mut chart =
        FlightPaths { title: "", unit: Length::Metres, flights: &[one; 7], caption: "", width_mm: 100.0 };
    assert!(flight_paths(&chart).unwrap_err().to_string().starts_with("number of flights is 7"));
    let bad = [PathSpot { down_m: f64::NAN, ..path[0] }];
    let wrong = [FlownPath { path: &bad, ..one }];
    chart.flights = &wrong;
    assert!(flight_paths(&chart).unwrap_err().to_string().starts_with("down_m is NaN"));
}

#[test]
fn a_landing_chart_has_one_scale_and_right_of_the_target_on_the_right() {
    let set = vec![("x", vec![[200.0, 0.0], [200.0, 20.0], [220.0, 0.0]])];
    for width in [60.0, PHONE_WIDTH_MM, PRINT_WIDTH_MM] {
        let marks = markers(group(&landing(&set, Length::Yards, width), "marks-0"));
        let (base, right, far) = (marks[0].0, marks[1].0, marks[2].0);
        assert!(right.x_mm > base.x_mm && far.y_mm < base.y_mm);
        assert!((right.x_mm - base.x_mm - (base.y_mm - far.y_mm)).abs() < 1e-9, "two scales at {width} mm");
        assert!((right.y_mm - base.y_mm).abs() < 1e-9);
    }
}

#[test]
fn the_ellipse_of_a_landing_chart_lies_along_its_direction() {
    let scene = landing(&two_sets(), Length::Metres, PHONE_WIDTH_MM);
    let mut turns = Vec::new();
    walk(group(&scene, "scatter"), &mut |item| {
        if let Item::Ellipse { turn_deg, semi_x_mm, semi_y_mm, .. } = item {
            assert!((semi_x_mm / semi_y_mm - 1.8).abs() < 1e-9);
            turns.push(*turn_deg);
        }
    });
    // 70 deg right of a line up the page is 20 deg above the level, to the right.
    assert_eq!(turns, [-20.0; 4]);
}

/// The numbers written in cells, with their middles.
fn numbers(scene: &Scene) -> Vec<(f64, f64, u32)> {
    let mut found = Vec::new();
    walk(group(scene, "cells"), &mut |item| {
        if let Item::Text(text) = item {
            found.push((text.at.x_mm, text.at.y_mm, text.text.parse().unwrap()));
        }
    });
    found
}

#[test]
fn a_left_handers_map_is_the_mirror_image_and_numbers_stand_on_the_face() {
    let mut lopsided = cells(9, 7, 30.0);
    for cell in &mut lopsided {
        cell.carry_m = cell.carry_m.map(|carry| carry - 0.4 * cell.toe_mm);
    }
    let right = numbers(&map(&lopsided, (9, 7), Hand::Right, PHONE_WIDTH_MM));
    let left = numbers(&map(&lopsided, (9, 7), Hand::Left, PHONE_WIDTH_MM));
    assert!(right.len() > 40, "{} of 63 cells have a number", right.len());
    assert_eq!(right.len(), left.len());
    let middle = 0.5 * (MARGIN_MM + 5.5 + PHONE_WIDTH_MM - MARGIN_MM);
    for (a, b) in right.iter().zip(&left) {
        assert!((a.0 + b.0 - 2.0 * middle).abs() < 1e-9 && a.1 == b.1 && a.2 == b.2, "{a:?} {b:?}");
    }
    // More is lost at the toe: on the left for a right-hander.
    let side = |sign: f64| right.iter().filter(|n| sign * (n.0 - middle) > 5.0).map(|n| n.2).sum::<u32>();
    assert!(side(-1.0) > side(1.0));
    assert_eq!(right.iter().map(|n| n.2).min(), Some(0));
}

#[test]
fn shades_grow_with_the_loss_and_hatching_with_them() {
    let scene = map(&cells(9, 7, 60.0), (9, 7), Hand::Right, PRINT_WIDTH_MM);
    let svg = to_svg(&scene, Theme::Print);
    let mut shades = Vec::new();
    walk(group(&scene, "legend"), &mut |item| {
        if let Item::Path { style, .. } = item
            && style.fill.is_some()
        {
            shades.push(style.fill_opacity);
        }
    });
    assert!(shades.len() >= 4 && shades.is_sorted_by(|a, b| a < b), "{shades:?}");
    // In black and white the bands differ in hatching too.
    assert!(svg.matches("<line").count() > 150);
}

#[test]
fn a_map_says_the_best_place_the_worst_and_its_doubt() {
    let scene = map(&cells(9, 7, 30.0), (9, 7), Hand::Right, PHONE_WIDTH_MM);
    assert!(scene.alt.contains("It carries farthest struck in the centre: 203 m."), "{}", scene.alt);
    assert!(scene.alt.contains("It loses most struck") && scene.alt.ends_with(words::FACE_MAP_DOUBT));
    let none = map(&[], (9, 7), Hand::Left, PHONE_WIDTH_MM);
    assert!(none.alt.contains(words::NO_CARRY), "{}", none.alt);
    let mut bad = cells(2, 2, 1.0);
    bad[3].carry_m = Some(f64::INFINITY);
    let chart = FaceMap {
        title: "",
        hand: Hand::Right,
        face_width_mm: 118.0,
        face_height_mm: 58.0,
        cells: &bad,
        cell_mm: (59.0, 29.0),
        unit: Length::Metres,
        caption: "",
        width_mm: 100.0,
    };
    assert!(face_map(&chart).unwrap_err().to_string().starts_with("carry_m is inf"));
}

#[test]
fn the_flight_chart_is_drawn_as_it_was() {
    insta::assert_snapshot!(to_svg(&drive(PHONE_WIDTH_MM), Theme::Light));
}

#[test]
fn the_landing_chart_is_drawn_as_it_was() {
    let scene = landing(&two_sets(), Length::Yards, PHONE_WIDTH_MM);
    insta::assert_snapshot!(to_svg(&scene, Theme::Sun));
}

#[test]
fn the_face_map_is_drawn_as_it_was() {
    let scene = map(&cells(9, 7, 30.0), (9, 7), Hand::Left, PHONE_WIDTH_MM);
    insta::assert_snapshot!(to_svg(&scene, Theme::Print));
}
