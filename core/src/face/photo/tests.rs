//! What reading a picture answers to good and to bad input. The pictures are made
//! here: a powdered face in front of a plain ground, seen by a known camera.

use super::*;
use crate::dice::Dice;

pub(super) mod made;

use made::{Scene, jpeg, png, scene};

fn asked(scene: &Scene) -> Asked {
    Asked { shape: scene.shape, side: Side::Right, handles: Some(scene.handles()) }
}

fn error(bytes: &[u8]) -> PhotoError {
    let handles =
        Some([[100.0, 300.0], [700.0, 300.0], [400.0, 150.0], [400.0, 450.0]].map(|[x, y]| Pixel { x, y }));
    read(bytes, &Asked { shape: FaceShape::default(), side: Side::Left, handles }).unwrap_err()
}

#[test]
fn two_marks_are_found_where_they_are_with_an_error_that_covers_them() {
    let scene = scene(&[(-14.0, 4.0, 22.0), (18.0, -3.0, 24.0)]);
    for bytes in [jpeg(&scene.picture(), scene.size), png(&scene.picture(), scene.size, png::ColorType::Rgb)]
    {
        let photo = read(&bytes, &asked(&scene)).unwrap();
        assert_eq!(photo.marks.len(), 2, "{:?}", photo.marks);
        for (mark, (x, y, across)) in photo.marks.iter().zip(&scene.marks) {
            let off = ((mark.x_mm - x) * (mark.x_mm - x) + (mark.y_mm - y) * (mark.y_mm - y)).sqrt();
            assert!(off < 0.6 && off < 2.448 * mark.sigma_mm, "{off} mm off, {mark:?}");
            assert!((mark.diameter_mm - across).abs() < 3.0, "{mark:?}");
            let seen = scene.camera.see(&scene.shape, *x, *y).unwrap();
            assert!((mark.u_px - seen.x).abs() < 5.0 && (mark.v_px - seen.y).abs() < 5.0);
        }
    }
}

#[test]
fn a_face_without_a_mark_has_none_and_the_same_bytes_give_the_same_answer() {
    let scene = scene(&[]);
    let bytes = jpeg(&scene.picture(), scene.size);
    let photo = read(&bytes, &asked(&scene)).unwrap();
    assert_eq!(photo.marks, []);
    assert!(photo.quality.good, "{:?}", photo.quality);
    assert_eq!(photo, read(&bytes, &asked(&scene)).unwrap());
}

#[test]
fn a_mirrored_face_or_the_wrong_hand_is_told() {
    let scene = scene(&[(0.0, 0.0, 22.0)]);
    let bytes = jpeg(&scene.picture(), scene.size);
    let wrong = read(&bytes, &Asked { side: Side::Left, ..asked(&scene) }).unwrap_err();
    assert_eq!(wrong, PhotoError::OtherHand { seen: "right", said: "left" });
    let [heel, toe, crown, sole] = scene.handles();
    let swapped = Asked { handles: Some([toe, heel, crown, sole]), ..asked(&scene) };
    assert!(matches!(read(&bytes, &swapped).unwrap_err(), PhotoError::OtherHand { .. }));
    // Both swapped is the face upside down: handles alone can't tell.
    let turned = Asked { handles: Some([toe, heel, sole, crown]), ..asked(&scene) };
    assert!(read(&bytes, &turned).is_ok());
}

#[test]
fn what_is_no_picture_is_told_each_with_what_to_do() {
    assert_eq!(error(b""), PhotoError::Empty);
    assert_eq!(error(b"session,toe_mm\n"), PhotoError::NotAPicture);
    for (bytes, format) in [
        (&b"\0\0\0\x18ftypheic\0\0\0\0"[..], "HEIC"),
        (b"\0\0\0\x18ftypavif\0\0\0\0", "AVIF"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", "a film"),
        (b"GIF89a\x01\0\x01\0", "GIF"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "WebP"),
        (b"II*\0\x08\0\0\0", "TIFF or a camera's raw format"),
        (b"%PDF-1.7", "PDF"),
    ] {
        assert!(
            matches!(error(bytes), PhotoError::OtherFormat { format: seen, .. } if seen == format),
            "{format}"
        );
    }
}

#[test]
fn a_picture_that_is_cut_short_anywhere_is_damaged_and_never_read_in_part() {
    let scene = scene(&[(0.0, 0.0, 22.0)]);
    for bytes in [jpeg(&scene.picture(), scene.size), png(&scene.picture(), scene.size, png::ColorType::Rgb)]
    {
        for part in [3, 20, 50, 70, 90, 98] {
            let cut = bytes.len() * part / 100;
            assert!(
                matches!(error(&bytes[..cut]), PhotoError::Damaged { .. }),
                "{part} %: {:?}",
                error(&bytes[..cut])
            );
        }
    }
}

#[test]
fn sizes_are_refused_before_anything_is_reserved() {
    // Headers alone that promise sides of 30,000 pixels.
    let mut jpeg = vec![0xff, 0xd8, 0xff, 0xc0, 0, 17, 8];
    jpeg.extend([0x75, 0x30, 0x75, 0x30, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1]);
    assert!(matches!(error(&jpeg), PhotoError::TooLarge { width: 30_000, height: 30_000, .. }));
    let huge = png_header(50_000, 50_000);
    assert!(matches!(error(&huge), PhotoError::TooLarge { width: 50_000, .. }), "{:?}", error(&huge));
    let one = png(&[9, 9, 9], (1, 1), png::ColorType::Rgb);
    assert!(matches!(error(&one), PhotoError::TooSmall { width: 1, height: 1, .. }));
}

/// The first bytes of a PNG of a size (PNG specification, 5.3 and 11.2.1; the check sum by CRC-32).
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    bytes.extend(width.to_be_bytes());
    bytes.extend(height.to_be_bytes());
    bytes.extend([8, 2, 0, 0, 0]);
    let mut sum = u32::MAX;
    for byte in &bytes[12..] {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            sum = (sum >> 1) ^ (0xedb8_8320 * (sum & 1));
        }
    }
    bytes.extend((!sum).to_be_bytes());
    bytes
}

#[test]
fn colours_for_print_moving_pictures_and_sixteen_bits() {
    let scene = scene(&[(0.0, 0.0, 22.0)]);
    let (w, h) = scene.size;
    let mut cmyk = Vec::new();
    jpeg_encoder::Encoder::new(&mut cmyk, 80)
        .encode(&vec![90; w * h * 4], w as u16, h as u16, jpeg_encoder::ColorType::Cmyk)
        .unwrap();
    assert_eq!(error(&cmyk), PhotoError::PrintColours);
    let mut moving = Vec::new();
    let mut encoder = png::Encoder::new(&mut moving, w as u32, h as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_animated(2, 0).unwrap();
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&vec![90; w * h]).unwrap();
    writer.write_image_data(&vec![91; w * h]).unwrap();
    writer.finish().unwrap();
    assert_eq!(error(&moving), PhotoError::Animated);
    // Sixteen bits are read by their upper eight.
    let deep: Vec<u8> = scene.picture().iter().flat_map(|v| [*v, 77]).collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, w as u32, h as u32);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Sixteen);
    encoder.write_header().unwrap().write_image_data(&deep).unwrap();
    let eight = png(&scene.picture(), scene.size, png::ColorType::Rgb);
    assert_eq!(read(&bytes, &asked(&scene)).unwrap(), read(&eight, &asked(&scene)).unwrap());
}

#[test]
fn a_face_that_no_driver_has_is_refused() {
    let scene = scene(&[]);
    let bytes = jpeg(&scene.picture(), scene.size);
    for (width_mm, height_mm) in [(20.0, 58.0), (118.0, 400.0), (f64::NAN, 58.0)] {
        let shape = FaceShape { width_mm, height_mm, ..scene.shape };
        let refused = read(&bytes, &Asked { shape, ..asked(&scene) }).unwrap_err();
        assert!(matches!(refused, PhotoError::Size { .. }));
    }
}

#[test]
fn the_overlay_is_a_picture_of_the_upright_size_that_differs_where_marks_are() {
    let scene = scene(&[(10.0, 2.0, 22.0)]);
    let bytes = jpeg(&scene.picture(), scene.size);
    let photo = read(&bytes, &asked(&scene)).unwrap();
    let drawn = overlay(&bytes, &photo).unwrap();
    let raw = decode::decode(&drawn).unwrap();
    assert_eq!(raw.upright(), scene.size);
    let before = decode::decode(&png(&scene.picture(), scene.size, png::ColorType::Rgb)).unwrap();
    let at = |raw: &decode::Raw, x: f64, y: f64| raw.data[(y as usize * raw.width + x as usize) * 3 + 1];
    let mark = photo.marks[0];
    let changed = at(&raw, mark.u_px, mark.v_px).abs_diff(at(&before, mark.u_px, mark.v_px));
    assert!(changed > 40, "{changed}");
}

/// Reads a picture with bytes changed, cut, doubled or swapped; it is read or refused, and
/// every number that comes out is one.
fn mutated(bytes: &[u8], other: &[u8], dice: &mut Dice, asked: &Asked) {
    let mut bytes = bytes.to_vec();
    for _ in 0..=below(dice, 4) {
        let at = below(dice, bytes.len());
        match below(dice, 6) {
            0 => bytes[at] = below(dice, 256) as u8,
            1 => bytes[at] ^= 1 << below(dice, 8),
            2 => bytes.truncate(at.max(1)),
            // Headers are worth more tries than the picture's body.
            3 => {
                let early = at.min(below(dice, 600));
                bytes[early] = [0, 1, 0x7f, 0x80, 0xff][below(dice, 5)];
            }
            4 => {
                let part = bytes[at..(at + below(dice, 64)).min(bytes.len())].to_vec();
                let to = below(dice, bytes.len());
                bytes.splice(to..to, part);
            }
            _ => {
                let from = below(dice, other.len());
                let part = &other[from..(from + below(dice, 64)).min(other.len())];
                for (byte, new) in bytes[at..].iter_mut().zip(part) {
                    *byte = *new;
                }
            }
        }
    }
    let jog =
        |v: f64, dice: &mut Dice| if below(dice, 3) == 0 { v + below(dice, 400) as f64 - 200.0 } else { v };
    let handles = asked.handles.map(|all| all.map(|at| Pixel { x: jog(at.x, dice), y: jog(at.y, dice) }));
    let handles = if below(dice, 3) == 0 { None } else { handles };
    if let Ok(photo) = read(&bytes, &Asked { handles, ..*asked }) {
        for mark in &photo.marks {
            let numbers = [mark.x_mm, mark.y_mm, mark.diameter_mm, mark.sigma_mm, mark.confidence, mark.u_px];
            assert!(numbers.iter().all(|v| v.is_finite()), "{mark:?}");
        }
        assert!(photo.handles.iter().all(|at| at.x.is_finite() && at.y.is_finite()));
    }
}

fn mutations(count: u64) {
    let scene = scene(&[(-14.0, 4.0, 22.0), (18.0, -3.0, 24.0)]);
    let jpeg = jpeg(&scene.picture(), scene.size);
    let png = png(&scene.picture(), scene.size, png::ColorType::Rgb);
    for seed in 0..count {
        let mut dice = Dice::new(seed);
        let (bytes, other) = if seed.is_multiple_of(8) { (&png, &jpeg) } else { (&jpeg, &png) };
        mutated(bytes, other, &mut dice, &asked(&scene));
    }
}

#[test]
fn changed_bytes_and_handles_are_read_or_refused() {
    mutations(25);
}

#[test]
#[ignore = "about ten minutes in release; part of tests/long"]
fn changed_bytes_and_handles_in_full() {
    mutations(40_000);
}

/// A whole number from 0, below another.
fn below(dice: &mut Dice, most: usize) -> usize {
    (dice.uniform() * most as f64) as usize
}
