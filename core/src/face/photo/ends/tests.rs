//! Ends from the exact outline of a made face, and moments set beside the textbook's.

use super::super::pose::View;
use super::super::tests::made::scene;
use super::*;

#[test]
fn the_network_takes_what_goes_in_and_is_small() {
    let out = Net::read(ENDS).unwrap().run(Map::new(1, 1, INPUTS)).unwrap();
    assert_eq!((out.width, out.height, out.depth), (1, 1, OUTPUTS));
    assert!(ENDS.len() < 150_000);
}

#[test]
fn moments_of_a_rectangle_are_the_textbooks() {
    // 6 x 2 about (1, 2): area 12, second moments an area a^2 / 12 + middle^2.
    let line = [[-2.0, 1.0], [4.0, 1.0], [4.0, 3.0], [-2.0, 3.0]].map(|[x, y]| Pixel { x, y });
    let (whole, middle, [xx, xy, yy]) = moments(&line);
    assert!((whole - 12.0).abs() < 1e-12);
    assert!((middle[0] - 1.0).abs() < 1e-12 && (middle[1] - 2.0).abs() < 1e-12);
    assert!((xx - (3.0 + 1.0)).abs() < 1e-12 && (xy - 2.0).abs() < 1e-12);
    assert!((yy - (1.0 / 3.0 + 4.0)).abs() < 1e-12);
}

#[test]
fn a_place_goes_into_the_frame_and_out_again() {
    let frame = Frame { middle: Pixel { x: 300.0, y: 200.0 }, turn: 0.3, per: 2.5 };
    let at = Pixel { x: 412.5, y: 171.0 };
    let back = frame.outward(frame.inward(at));
    assert!((back.x - at.x).abs() + (back.y - at.y).abs() < 1e-9);
}

#[test]
fn lines_end_where_they_do_on_a_made_face_whose_outline_is_exact() {
    let scene = scene(&[]);
    let shape = scene.shape;
    let at = places(shape.width_mm, shape.height_mm)
        .map(|(far, to)| scene.camera.see(&shape, far * to[0], far * to[1]).unwrap());
    let outline = Outline { at, sd_mm: [0.3; PLACES] };
    let view = View { size: scene.size, focal_35mm: None, handle_sd_mm: [[0.4; 2]; 4] };
    let known = Known { shape: &shape, view: &view, toe_left: true };
    let truth = scene.handles();
    let careless = core::array::from_fn(|n| Pixel {
        x: truth[n].x + [4.0, -3.0, 5.0, -4.0][n],
        y: truth[n].y + [-5.0, 4.0, 2.0, 3.0][n],
    });
    let before = Sight { handles: careless, sd_mm: [[1.5; 2]; 4], powder: 1.0 };
    let found = ends(&outline, &before, known).unwrap();
    let px_per_mm = scene.camera.focal_px / scene.camera.translation_mm[2];
    for (seen, true_at) in found.handles.iter().zip(truth) {
        let off = ((seen.x - true_at.x).powi(2) + (seen.y - true_at.y).powi(2)).sqrt() / px_per_mm;
        assert!(off < 2.5, "{off} mm off, {found:?}");
    }
    assert!(found.sd_mm.iter().flatten().all(|sd| (0.1..5.0).contains(sd)), "{found:?}");
    // The mirror image of a left-hander's club ends alike.
    let width = scene.size.0 as f64;
    let other = Sight { handles: careless.map(|at| Pixel { x: width - at.x, ..at }), ..before };
    let other = ends(&outline, &other, Known { toe_left: false, ..known }).unwrap();
    for (a, b) in found.handles.iter().zip(&other.handles) {
        assert!((a.x + b.x - width).abs() + (a.y - b.y).abs() < 1e-3);
    }
}

#[test]
fn a_line_without_extent_has_no_ends() {
    let scene = scene(&[]);
    let view = View { size: scene.size, focal_35mm: None, handle_sd_mm: [[0.4; 2]; 4] };
    let known = Known { shape: &scene.shape, view: &view, toe_left: true };
    let outline = Outline { at: [Pixel { x: 9.0, y: 9.0 }; PLACES], sd_mm: [0.3; PLACES] };
    let before = Sight { handles: scene.handles(), sd_mm: [[1.5; 2]; 4], powder: 1.0 };
    assert_eq!(ends(&outline, &before, known), None);
}
