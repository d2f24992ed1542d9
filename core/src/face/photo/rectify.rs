//! The face laid flat: brightness on a grid of millimetres of the face frame.
//!
//! The rule: a grid point's value is what the camera saw at that point of the curved
//! surface, as the natural logarithm of linear light, so that shade and powder multiply
//! into sums. Rows go from the crown down, columns from heel to toe. Start at
//! [`Flat::of`].
#![allow(clippy::indexing_slicing, reason = "loops run to the grid's own size")]

use super::camera::{Camera, FaceShape};
use super::plane::{Plane, Small};

/// How far beyond the face's ends the grid reaches, mm.
pub(super) const BEYOND_MM: f64 = 8.0;

/// A face laid flat.
#[derive(Debug, Clone)]
pub(super) struct Flat {
    /// Distance between grid points, mm.
    pub step_mm: f64,
    /// The logarithm of light; a place outside the picture is the floor's.
    pub light: Plane<f32>,
    /// Half of the grid's extent, mm.
    pub half: [f64; 2],
    /// Share of the grid that lies outside the picture.
    pub outside: f64,
}

/// The darkest light that is told apart; a picture's eight bits end about there.
const FLOOR: f64 = 0.004;

/// The logarithm of linear light for each brightness (IEC 61966-2-1, the curve of sRGB).
fn curve() -> [f32; 256] {
    core::array::from_fn(|i| {
        let v = i as f64 / 255.0;
        let linear = if v <= 0.040_45 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) };
        libm::log(linear + FLOOR) as f32
    })
}

impl Flat {
    /// Lays a face flat at a step, each grid point the mean of four places about it.
    pub fn of(small: &Small, camera: &Camera, shape: &FaceShape, step_mm: f64) -> Self {
        let count = |length: f64| 2 * ((length / 2.0 + BEYOND_MM) / step_mm).ceil() as usize;
        let (across, down) = (count(shape.width_mm), count(shape.height_mm));
        let half = [across as f64 * step_mm / 2.0, down as f64 * step_mm / 2.0];
        let curve = curve();
        let per = 1.0 / small.factor as f64;
        let mut light = Plane::new(across, down, curve[0]);
        let mut outside = 0_usize;
        for j in 0..down {
            for i in 0..across {
                let mut sum = 0.0;
                let mut out = false;
                for (du, dv) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                    let x = (i as f64 + du) * step_mm - half[0];
                    let y = half[1] - (j as f64 + dv) * step_mm;
                    let seen = camera.see(shape, x, y).map(|at| (at.x * per, at.y * per));
                    let (w, h) = (small.luma.width as f64, small.luma.height as f64);
                    match seen.filter(|(u, v)| (0.0..w).contains(u) && (0.0..h).contains(v)) {
                        Some((u, v)) => sum += small.luma.between(u, v),
                        None => out = true,
                    }
                }
                if out {
                    outside += 1;
                } else {
                    light.data[j * across + i] = looked_up(&curve, sum / 4.0);
                }
            }
        }
        let outside = outside as f64 / (across * down).max(1) as f64;
        Self { step_mm, light, half, outside }
    }

    /// The face as a grey picture of eight bits.
    pub fn grey(&self) -> Vec<u8> {
        let coded = |light: f32| {
            let linear = (libm::exp(f64::from(light)) - FLOOR).clamp(0.0, 1.0);
            let v = if linear <= 0.003_130_8 {
                12.92 * linear
            } else {
                1.055 * libm::pow(linear, 1.0 / 2.4) - 0.055
            };
            (255.0 * v).round() as u8
        };
        self.light.data.iter().map(|v| coded(*v)).collect()
    }

    /// The face frame's place of a grid point.
    pub fn place(&self, i: usize, j: usize) -> [f64; 2] {
        [(i as f64 + 0.5) * self.step_mm - self.half[0], self.half[1] - (j as f64 + 0.5) * self.step_mm]
    }

    /// Means over squares of `factor` x `factor` grid points.
    pub fn coarser(&self, factor: usize) -> Self {
        let (across, down) = (self.light.width / factor, self.light.height / factor);
        let mut light = Plane::new(across, down, 0.0_f32);
        for j in 0..down {
            for i in 0..across {
                let mut sum = 0.0;
                for y in j * factor..(j + 1) * factor {
                    for x in i * factor..(i + 1) * factor {
                        sum += self.light.data[y * self.light.width + x];
                    }
                }
                light.data[j * across + i] = sum / (factor * factor) as f32;
            }
        }
        Self { step_mm: self.step_mm * factor as f64, light, half: self.half, outside: self.outside }
    }
}

/// Between two entries of the curve.
fn looked_up(curve: &[f32; 256], v: f64) -> f32 {
    let v = v.clamp(0.0, 254.999);
    let i = v as usize;
    let t = (v - i as f64) as f32;
    curve[i] * (1.0 - t) + curve[i + 1] * t
}
