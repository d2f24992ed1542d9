//! The networks of the handles: what they read, what they see in a made picture, and that
//! a mirrored one is seen alike.

use super::super::decode::decode;
use super::super::tests::made::{Scene, png, scene};
use super::*;

/// A made picture as the networks take it.
fn small(rgb: &[u8], size: (usize, usize)) -> Small {
    decode(&png(rgb, size, png::ColorType::Rgb)).unwrap().shrunk(1, true)
}

fn mirrored(rgb: &[u8], width: usize) -> Vec<u8> {
    rgb.chunks_exact(3 * width).flat_map(|row| row.chunks_exact(3).rev().flatten().copied()).collect()
}

fn view(scene: &Scene) -> View {
    View { size: scene.size, focal_35mm: None, handle_sd_mm: [[0.4; 2]; 4] }
}

#[test]
fn both_networks_take_eight_numbers_a_pixel_and_tell_of_four_handles() {
    for (bytes, size) in [(COARSE, (WIDE, WIDE)), (FINE, (WIDE, HIGH))] {
        let out = Net::read(bytes).unwrap().run(Map::new(size.0, size.1, INPUTS)).unwrap();
        assert_eq!((out.width, out.height), (size.0 / 8, size.1 / 8));
        assert!(out.depth > 4 * EACH);
    }
    assert!(COARSE.len() + FINE.len() < 300_000);
}

#[test]
fn a_plain_face_is_seen_about_where_it_is_and_its_mirror_image_alike() {
    let scene = scene(&[(-14.0, 4.0, 22.0)]);
    let (rgb, view) = (scene.picture(), view(&scene));
    let known = Known { shape: &scene.shape, view: &view, toe_left: true };
    let sight = propose(&small(&rgb, scene.size), known).unwrap();
    let px_per_mm = scene.camera.focal_px / scene.camera.translation_mm[2];
    for (seen, truth) in sight.handles.iter().zip(scene.handles()) {
        let off = ((seen.x - truth.x) * (seen.x - truth.x) + (seen.y - truth.y) * (seen.y - truth.y)).sqrt();
        // No picture of this sort was learned from: no shaft, no head, no light.
        assert!(off < 12.0 * px_per_mm, "{off} pixels off, {sight:?}");
    }
    assert!(sight.sd_mm.iter().flatten().all(|sd| *sd > 0.1 && sd.is_finite()));
    let other = small(&mirrored(&rgb, scene.size.0), scene.size);
    let other = propose(&other, Known { toe_left: false, ..known }).unwrap();
    for (a, b) in sight.handles.iter().zip(&other.handles) {
        // Not to the bit: the columns that fill no square of the smaller picture are left out on the right.
        let (dx, dy) = (a.x + b.x - scene.size.0 as f64, a.y - b.y);
        assert!(dx.abs().max(dy.abs()) < 0.75 * px_per_mm, "{dx} {dy}");
    }
}

#[test]
fn a_plane_without_anything_in_it_leaves_the_handles_unsure() {
    let scene = scene(&[]);
    let view = view(&scene);
    let known = Known { shape: &scene.shape, view: &view, toe_left: true };
    let grey = vec![128; scene.size.0 * scene.size.1 * 3];
    assert!(propose(&small(&grey, scene.size), known).is_none_or(|sight| sight.worst_mm() > 4.0));
}

#[test]
fn handles_without_extent_or_far_outside_show_nothing() {
    let scene = scene(&[]);
    let view = view(&scene);
    let known = Known { shape: &scene.shape, view: &view, toe_left: true };
    let picture = small(&scene.picture(), scene.size);
    assert_eq!(at(&picture, &[Pixel { x: 50.0, y: 50.0 }; 4], known), None);
    let far = scene.handles().map(|at| Pixel { x: at.x + 1e4, ..at });
    assert_eq!(at(&picture, &far, known), None);
    let none = scene.handles().map(|at| Pixel { x: f64::NAN, ..at });
    assert_eq!(at(&picture, &none, known), None);
}
