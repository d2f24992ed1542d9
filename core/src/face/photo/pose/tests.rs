//! Cameras that are known are found again from the handles they see.

use super::*;

fn view() -> View {
    View { size: (4032, 3024), focal_35mm: None, handle_sd_mm: [[0.3; 2]; 4] }
}

/// A camera at a distance, tilted about two axes and rolled, degrees.
fn looking(focal_px: f64, distance: f64, tilt: [f64; 3], shift: [f64; 2], toe_left: bool) -> Camera {
    let facing = Camera {
        focal_px,
        centre: Pixel { x: 2016.0, y: 1512.0 },
        rotation: [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, -1.0]],
        translation_mm: [shift[0], shift[1], distance],
        toe_left,
    };
    let [x, y, z] = tilt.map(f64::to_radians);
    turned(&facing, &[x, y, z, 0.0, 0.0, 0.0, 0.0])
}

fn seen(camera: &Camera, shape: &FaceShape) -> [Pixel; 4] {
    shape.handles().map(|[x, y]| camera.see(shape, x, y).unwrap())
}

/// The farthest that a place on the face is off, mm.
fn worst(found: &Camera, truth: &Camera, shape: &FaceShape) -> f64 {
    let mut worst: f64 = 0.0;
    for (x, y) in [(0.0, 0.0), (40.0, 15.0), (-40.0, 15.0), (35.0, -18.0), (-35.0, -18.0)] {
        let at = found.on_face(shape, truth.see(shape, x, y).unwrap()).unwrap();
        worst = worst.max(((at[0] - x) * (at[0] - x) + (at[1] - y) * (at[1] - y)).sqrt());
    }
    worst
}

#[test]
fn places_on_the_face_are_found_again_for_all_tilts_rolls_lenses_and_hands() {
    let shape = FaceShape::default();
    let mut cases = 0;
    for focal in [2400.0, 3000.0, 3600.0, 6000.0] {
        for (x, y) in [(0.0, 0.0), (33.0, 0.0), (-33.0, 0.0), (0.0, 33.0), (0.0, -33.0), (-20.0, 25.0)] {
            for (roll, toe_left) in [(0.0, true), (20.0, false), (-20.0, true)] {
                for shift in [[0.0, 0.0], [60.0, -40.0]] {
                    let truth = looking(focal, focal / 8.0, [x, y, roll], shift, toe_left);
                    let pose = fit(&seen(&truth, &shape), &shape, &view()).unwrap();
                    let off = worst(&pose.camera, &truth, &shape);
                    assert!(off < 0.35, "{focal} {x} {y} {roll} {shift:?}: {off} mm off");
                    cases += 1;
                }
            }
        }
    }
    assert_eq!(cases, 144);
}

#[test]
fn a_pixel_and_its_place_on_the_face_are_two_ways_of_one_map() {
    let shape = FaceShape { width_mm: 110.0, height_mm: 55.0, bulge_mm: 280.0, roll_mm: 330.0 };
    let camera = looking(3000.0, 350.0, [20.0, -15.0, 8.0], [10.0, 5.0], true);
    for (x, y) in [(0.0, 0.0), (50.0, 0.0), (-48.0, 12.0), (7.0, -25.0)] {
        let at = camera.on_face(&shape, camera.see(&shape, x, y).unwrap()).unwrap();
        assert!((at[0] - x).abs() < 1e-7 && (at[1] - y).abs() < 1e-7, "{at:?}");
    }
}

#[test]
fn handles_that_cannot_be_a_face_are_refused_each_with_its_reason() {
    let shape = FaceShape::default();
    let fit =
        |points: [(f64, f64); 4]| fit(&points.map(|(x, y)| Pixel { x, y }), &shape, &view()).unwrap_err();
    let outside = fit([(-5.0, 1500.0), (1500.0, 1500.0), (1000.0, 1200.0), (1000.0, 1700.0)]);
    assert!(matches!(outside, PhotoError::Outside { handle: "heel", .. }), "{outside}");
    let line = fit([(500.0, 1500.0), (1500.0, 1500.0), (900.0, 1501.0), (1100.0, 1499.0)]);
    assert_eq!(line, PhotoError::Flat);
    let crossed = fit([(500.0, 1500.0), (1000.0, 1200.0), (1500.0, 1500.0), (1000.0, 1800.0)]);
    assert_eq!(crossed, PhotoError::Crossed);
    let beside = fit([(500.0, 1500.0), (900.0, 1500.0), (1500.0, 1200.0), (1500.0, 1800.0)]);
    assert_eq!(beside, PhotoError::Crossed);
    let nan = fit([(f64::NAN, 1500.0), (900.0, 1500.0), (1500.0, 1200.0), (1500.0, 1800.0)]);
    assert!(matches!(nan, PhotoError::Outside { .. }));
    // Far too tall for its width: no view of a 118 x 58 face.
    let tall = fit([(1900.0, 1500.0), (2100.0, 1500.0), (2000.0, 300.0), (2000.0, 2900.0)]);
    assert!(matches!(tall, PhotoError::NoPose { .. }), "{tall}");
}
