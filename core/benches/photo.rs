//! What reading a picture costs, beside decoding it alone.
//!
//! `cargo bench -p chalkface-core --bench photo`. The baseline is the decoder by itself on
//! the same bytes in the same run.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a benchmark may stop at what it did not expect"
)]

use std::hint::black_box;
use std::path::PathBuf;

use chalkface_core::face::photo::{self, Asked, FaceShape, Pixel, Side};
use criterion::{Criterion, criterion_group, criterion_main};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// A rendered picture of 1600 x 1200, a left-hander's face with two marks; its handles
/// are those of the truth beside it.
fn picture() -> (Vec<u8>, Asked) {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/photo/pictures");
    let truth = std::fs::read_to_string(folder.join("000108.json")).unwrap();
    let truth: serde_json::Value = serde_json::from_str(&truth).unwrap();
    let number = |value: &serde_json::Value| value.as_f64().unwrap();
    let places = truth["handles_px"].as_array().unwrap();
    let places: Vec<Pixel> = places.iter().map(|at| Pixel { x: number(&at[0]), y: number(&at[1]) }).collect();
    let shape = FaceShape { width_mm: 117.5, height_mm: 61.0, ..FaceShape::default() };
    let asked = Asked { shape, side: Side::Left, handles: places.try_into().ok() };
    (std::fs::read(folder.join("000108.jpg")).unwrap(), asked)
}

fn benches(c: &mut Criterion) {
    let (bytes, given) = picture();
    let proposed = Asked { handles: None, ..given };
    let mut group = c.benchmark_group("photo");
    group.sample_size(20);
    group.bench_function("baseline: decoding alone", |b| {
        b.iter(|| {
            let options = DecoderOptions::default().jpeg_set_out_colorspace(ColorSpace::YCbCr);
            JpegDecoder::new_with_options(ZCursor::new(black_box(&bytes[..])), options).decode().unwrap()
        });
    });
    group.bench_function("read, handles given", |b| {
        b.iter(|| photo::read(black_box(&bytes), &given).unwrap());
    });
    group.bench_function("read, handles proposed", |b| {
        b.iter(|| photo::read(black_box(&bytes), &proposed).unwrap());
    });
    group.finish();
}

criterion_group!(photo_benches, benches);
criterion_main!(photo_benches);
