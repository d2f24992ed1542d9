//! The powder's usual light, and where a face usually is.
//!
//! Start at [`level`].

use super::camera::FaceShape;
use super::rectify::Flat;

/// How far a place lies within the usual outline: 1 on it, 0 at the centre.
///
/// Outlines differ; a superellipse of this power lies within most of them.
pub(super) fn within(shape: &FaceShape, x: f64, y: f64) -> f64 {
    let power = |v: f64| libm::pow(v.abs(), 2.3);
    libm::pow(power(2.0 * x / shape.width_mm) + power(2.0 * y / shape.height_mm), 1.0 / 2.3)
}

/// The powder's usual light (logarithm): the upper quartile over the inner face.
pub(super) fn level(flat: &Flat, shape: &FaceShape) -> f32 {
    let width = flat.light.width;
    let inside = |n: usize| {
        let [x, y] = flat.place(n % width, n / width);
        within(shape, x, y) < 0.97
    };
    let mut seen: Vec<f32> =
        flat.light.data.iter().enumerate().filter(|(n, _)| inside(*n)).map(|(_, v)| *v).collect();
    seen.sort_by(f32::total_cmp);
    seen.get(seen.len() * 3 / 4).copied().unwrap_or(0.0)
}
