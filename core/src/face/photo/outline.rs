//! The outline of a face about four handles, as a small network sees it along rays.
//!
//! Four handles lay an oval in the picture. What is seen along 96 rays from its middle, 12 mm to both sides
//! of it, is a strip of one column a ray, about 0.75 mm a cell: finer than the networks of `keypoints.rs`
//! see. For every two rays the network says how far beyond the oval the outline lies, as a sum of normal
//! curves. The rule: the toe is on the left in what the network sees; `core/train/outline_inputs.py`
//! computes the same inputs. Start at [`about`].
#![allow(clippy::indexing_slicing, reason = "loops run to the strip's own size")]

use super::camera::{FaceShape, Pixel};
use super::keypoints::mirror;
use super::net::{Map, Net};
use super::plane::Small;

const OUTLINE: &[u8] = include_bytes!("outline.net");

/// Rays about the middle, and so many of them again at both ends of the strip.
const RAYS: usize = 96;
const ROUND: usize = 16;
/// Cells along a ray, and their length, mm.
const CELLS: usize = 32;
const CELL_MM: f64 = 0.75;
/// Numbers that go in: brightness, two colours, where along the ray, where round the face (2).
const INPUTS: usize = 6;
/// Numbers of a cell that come out: how likely, where, how sure.
const OUTPUTS: usize = 3;
/// The oval's power: see `coat.rs`.
const POWER: f64 = 2.3;
/// Places at which the outline is told: one for two rays.
pub(super) const PLACES: usize = RAYS / 2;

/// An outline.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outline {
    /// Places on it in the picture that has the toe on the left, from the toe on toward the crown.
    pub at: [Pixel; PLACES],
    /// How far each may be off along its ray (standard error), mm.
    pub sd_mm: [f64; PLACES],
}

/// The rays of an oval of a size: lengths to the oval and directions, in the face frame.
fn rays(width_mm: f64, height_mm: f64) -> [(f64, [f64; 2]); RAYS] {
    core::array::from_fn(|n| {
        let angle = (n as f64 + 0.5) * core::f64::consts::TAU / RAYS as f64;
        let bent = |v: f64| libm::copysign(libm::pow(v.abs(), 2.0 / POWER), v);
        let (x, y) = (width_mm / 2.0 * bent(libm::cos(angle)), height_mm / 2.0 * bent(libm::sin(angle)));
        let far = (x * x + y * y).sqrt();
        (far, [x / far, y / far])
    })
}

/// Places told as lengths beyond an oval's rays: one for two rays, on the line between them.
pub(super) fn places(width_mm: f64, height_mm: f64) -> [(f64, [f64; 2]); PLACES] {
    let rays = rays(width_mm, height_mm);
    core::array::from_fn(|n| {
        let [(a, to_a), (b, to_b)] = [rays[2 * n], rays[2 * n + 1]];
        let (x, y) = (to_a[0] + to_b[0], to_a[1] + to_b[1]);
        let length = (x * x + y * y).sqrt();
        (f64::midpoint(a, b), [x / length, y / length])
    })
}

/// How millimetres of the face frame lie in the picture that has the toe on the left: the nearest map
/// of straight to straight and parallel to parallel lines (least squares over the handles).
struct Laid {
    middle: Pixel,
    x: [f64; 2],
    y: [f64; 2],
}

impl Laid {
    fn of([heel, toe, crown, sole]: [Pixel; 4], shape: &FaceShape) -> Self {
        Self {
            middle: Pixel {
                x: (heel.x + toe.x + crown.x + sole.x) / 4.0,
                y: (heel.y + toe.y + crown.y + sole.y) / 4.0,
            },
            x: [(toe.x - heel.x) / shape.width_mm, (toe.y - heel.y) / shape.width_mm],
            y: [(crown.x - sole.x) / shape.height_mm, (crown.y - sole.y) / shape.height_mm],
        }
    }

    fn to_picture(&self, [x, y]: [f64; 2]) -> Pixel {
        Pixel {
            x: self.middle.x + self.x[0] * x + self.y[0] * y,
            y: self.middle.y + self.x[1] * x + self.y[1] * y,
        }
    }
}

/// The outline about four handles of the upright picture; `mirrored` is the picture's width where its toe
/// is on the right. Nothing where little of the face lies in the picture.
pub(super) fn about(
    seen: &Small,
    handles: &[Pixel; 4],
    shape: &FaceShape,
    mirrored: Option<f64>,
) -> Option<Outline> {
    let laid = Laid::of(handles.map(|at| mirror(at, mirrored)), shape);
    let rays = rays(shape.width_mm, shape.height_mm);
    let out = Net::read(OUTLINE)?.run(Cells::of(seen, &laid, &rays, mirrored).strip(&rays)?)?;
    let (columns, cells) = (PLACES + ROUND, CELLS / 2);
    if (out.width, out.height, out.depth) != (columns, cells, OUTPUTS) {
        return None;
    }
    let mut outline = Outline { at: [laid.middle; PLACES], sd_mm: [0.0; PLACES] };
    for (n, (far, to)) in places(shape.width_mm, shape.height_mm).into_iter().enumerate() {
        let (beyond, sd) = told(&out, n + ROUND / 2);
        if !(beyond.is_finite() && sd.is_finite()) {
            return None;
        }
        outline.at[n] = laid.to_picture(to.map(|v| v * (far + beyond)));
        outline.sd_mm[n] = sd;
    }
    Some(outline)
}

/// Mean and standard error of a column's sum of normal curves, mm beyond the oval.
fn told(out: &Map, column: usize) -> (f64, f64) {
    let cell = |j: usize| -> [f64; OUTPUTS] { core::array::from_fn(|k| f64::from(out.at(column, j)[k])) };
    let most = (0..out.height).map(|j| cell(j)[0]).fold(f64::NEG_INFINITY, f64::max);
    let (mut all, mut first, mut second) = (0.0, 0.0, 0.0);
    for j in 0..out.height {
        let [logit, off, sure] = cell(j);
        let weight = libm::exp(logit - most);
        let at = 2.0 * CELL_MM * (j as f64 + 0.5 - out.height as f64 / 2.0 + off);
        let sd = 2.0 * CELL_MM * libm::exp(sure.clamp(-3.0, 2.5));
        all += weight;
        first += weight * at;
        second += weight * (sd * sd + at * at);
    }
    let mean = first / all;
    (mean, (second / all - mean * mean).max(1e-6).sqrt())
}

/// Brightness and two colours of each cell that lies in the picture by more than half, row by row from within the
/// oval outward.
pub(super) struct Cells(Vec<Option<[f64; 3]>>);

impl Cells {
    /// Those about four handles.
    pub fn about(seen: &Small, handles: &[Pixel; 4], shape: &FaceShape, mirrored: Option<f64>) -> Self {
        let laid = Laid::of(handles.map(|at| mirror(at, mirrored)), shape);
        Self::of(seen, &laid, &rays(shape.width_mm, shape.height_mm), mirrored)
    }

    fn of(seen: &Small, laid: &Laid, rays: &[(f64, [f64; 2]); RAYS], mirrored: Option<f64>) -> Self {
        let per = 1.0 / seen.factor as f64;
        let (w, h) = (seen.luma.width as f64, seen.luma.height as f64);
        let on_oval = |n: usize| rays[n % RAYS].1.map(|v| v * rays[n % RAYS].0);
        let mut cells = Vec::with_capacity(CELLS * RAYS);
        for j in 0..CELLS {
            for (n, (far, to)) in rays.iter().enumerate() {
                let ([ax, ay], [bx, by]) = (on_oval(n + RAYS - 1), on_oval(n + 1));
                let side = [(bx - ax) / 2.0, (by - ay) / 2.0];
                let (mut sums, mut there) = ([0.0; 3], 0);
                for along in [-0.25, 0.25] {
                    let r = far + (j as f64 + 0.5 + along - CELLS as f64 / 2.0) * CELL_MM;
                    for across in [-0.375, -0.125, 0.125, 0.375] {
                        let wide = across * r / far;
                        let at = laid.to_picture([to[0] * r + side[0] * wide, to[1] * r + side[1] * wide]);
                        let at = mirror(at, mirrored);
                        let (u, v) = (at.x * per, at.y * per);
                        there += usize::from((0.0..w).contains(&u) && (0.0..h).contains(&v));
                        sums[0] += seen.luma.between(u, v);
                        for (sum, plane) in sums[1..].iter_mut().zip([&seen.blue, &seen.red]) {
                            *sum += plane.as_ref().map_or(128.0, |plane| plane.between(u, v));
                        }
                    }
                }
                cells.push((there > 4).then(|| sums.map(|sum| sum / 8.0)));
            }
        }
        Self(cells)
    }

    /// What the network sees: a column a ray, the first and last ones once more at the other end.
    fn strip(&self, rays: &[(f64, [f64; 2]); RAYS]) -> Option<Map> {
        let known = || self.0.iter().flatten();
        let count = known().count();
        if count * 4 < self.0.len() {
            return None;
        }
        let mean = known().map(|p| p[0]).sum::<f64>() / count as f64;
        let square = known().map(|p| (p[0] - mean) * (p[0] - mean)).sum::<f64>();
        let spread = (square / count as f64).sqrt() + 8.0;
        let width = RAYS + 2 * ROUND;
        let mut map = Map::new(width, CELLS, INPUTS);
        for (place, out) in map.data.chunks_exact_mut(INPUTS).enumerate() {
            let (i, j) = ((place % width + RAYS - ROUND) % RAYS, place / width);
            if let Some([y, blue, red]) = self.0[j * RAYS + i] {
                out[0] = ((y - mean) / spread) as f32;
                out[1] = ((blue - 128.0) / 32.0) as f32;
                out[2] = ((red - 128.0) / 32.0) as f32;
            }
            out[3] = ((j as f64 + 0.5) / (CELLS as f64 / 2.0) - 1.0) as f32;
            out[4] = rays[i].1[0] as f32;
            out[5] = rays[i].1[1] as f32;
        }
        Some(map)
    }

    /// Numbers that tell powder from bare metal: of a band within the oval and one beyond it mean brightness,
    /// two colours and the spread of brightness; and how much brightness steps from ray to ray within.
    pub fn light(&self) -> [f64; 9] {
        const WITHIN: core::ops::Range<usize> = 4..12;
        const BEYOND: core::ops::Range<usize> = 20..28;
        let mut all = [0.0; 9];
        for (n, rows) in [WITHIN, BEYOND].into_iter().enumerate() {
            let part = &self.0[rows.start * RAYS..rows.end * RAYS];
            let count = part.iter().flatten().count() as f64;
            let sum = |k: usize| part.iter().flatten().map(|p| p[k]).sum::<f64>();
            let mean = |k: usize| if count > 0.0 { sum(k) / count } else { 128.0 };
            let y = mean(0);
            let square = part.iter().flatten().map(|p| (p[0] - y) * (p[0] - y)).sum::<f64>();
            let spread = (square / count.max(1.0)).sqrt();
            all[4 * n..4 * n + 4].copy_from_slice(&[
                y / 64.0 - 2.0,
                (mean(1) - 128.0) / 16.0,
                (mean(2) - 128.0) / 16.0,
                spread / 32.0,
            ]);
        }
        let (mut steps, mut count) = (0.0, 0.0);
        for row in self.0.chunks_exact(RAYS).take(WITHIN.end).skip(WITHIN.start) {
            for (a, b) in row.iter().zip(&row[1..]) {
                if let (Some(a), Some(b)) = (a, b) {
                    steps += (a[0] - b[0]).abs();
                    count += 1.0;
                }
            }
        }
        all[8] = if count > 0.0 { steps / count / 8.0 } else { 0.0 };
        all
    }
}

#[cfg(test)]
mod tests;
