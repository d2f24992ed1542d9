//! Bytes that libFuzzer makes up, read as a picture. The rule: whatever the bytes, reading
//! ends in an answer whose every number is one, or in an error with words.
//!
//! Two bytes say what is asked, eight more move the handles, the rest is the file. Start
//! at the `fuzz_target!`; `../fuzz.sh` builds and runs it.
#![no_main]

use chalkface_core::face::photo::{self, Asked, FaceShape, Pixel, Side};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let Some((asked, bytes)) = data.split_first_chunk::<10>() else { return };
    let side = if asked[0] & 1 == 0 { Side::Right } else { Side::Left };
    let shape = FaceShape {
        width_mm: 118.0 + f64::from(asked[1] & 15) - 8.0,
        height_mm: 58.0 + f64::from(asked[1] >> 4) - 8.0,
        ..FaceShape::default()
    };
    // About a face that fills a picture of 320 x 240; each byte moves one of them by up to 64 pixels.
    let moved = |n: usize| f64::from(asked[2 + n] as i8) / 2.0;
    let base = [[280.0, 120.0], [40.0, 120.0], [160.0, 60.0], [160.0, 180.0]];
    let handles: [Pixel; 4] =
        core::array::from_fn(|n| Pixel { x: base[n][0] + moved(2 * n), y: base[n][1] + moved(2 * n + 1) });
    let handles = (asked[0] & 2 == 0).then_some(handles);
    match photo::read(bytes, &Asked { shape, side, handles }) {
        Ok(photo) => {
            let numbers = photo.marks.iter().flat_map(|m| {
                [m.x_mm, m.y_mm, m.diameter_mm, m.sigma_x_mm, m.sigma_y_mm, m.confidence, m.u_px, m.v_px]
            });
            assert!(numbers.chain(photo.handles.iter().flat_map(|at| [at.x, at.y])).all(f64::is_finite));
            assert!(photo::thumbnail(bytes, &photo).is_ok_and(|jpeg| jpeg.len() < 40_000));
            if asked[0] & 4 != 0 {
                assert!(photo::overlay(bytes, &photo).is_ok());
            }
        }
        Err(error) => assert!(error.to_string().split_whitespace().count() > 4),
    }
});
