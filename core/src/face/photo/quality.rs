//! Whether a picture can be judged, before its marks are.
//!
//! The rule: marks are listed all the same, so that a person can look; what is wrong is
//! said with what to do. Start at [`judge`].
#![allow(clippy::indexing_slicing, reason = "loops run to the grid's own size")]

use serde::Serialize;

use super::camera::FaceShape;
use super::coat::within;
use super::keypoints::Sight;
use super::pose::Pose;
use super::rectify::Flat;

/// What can be wrong with a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Trouble {
    /// The camera looks at the face from too far aside.
    Tilt,
    /// Out of focus, or moved.
    Blur,
    /// Light is thrown back over the middle of the face.
    Glare,
    /// The face isn't coated with powder.
    Powder,
    /// A part of the face lies outside the picture.
    Cut,
    /// The face has too few pixels.
    Small,
    /// Where its centre lines end was found in the picture, but not for sure.
    Handles,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quality {
    /// Nothing is wrong.
    pub good: bool,
    /// What is, the worst first.
    pub problems: Vec<Trouble>,
    /// The angle between the line of sight and the face's normal, degrees.
    pub tilt_deg: f64,
    /// How wide a sharp edge is seen, mm on the face.
    pub blur_mm: f64,
    /// The share of the middle of the face where light is thrown back.
    pub glare_share: f64,
    /// Pixels a millimetre at the face's centre.
    pub px_per_mm: f64,
    /// How far the least sure of four proposed handles may be off, mm on the face (standard
    /// error); nothing where a person set them.
    pub handles_sd_mm: Option<f64>,
}

/// A handle that may be off by more than this (standard error) is to be looked at: one of ten of 220 small tuning
/// pictures (`core/train`). Of the others 77 % are within 2.5 mm; were only the surest third taken, 86 % would be.
const MOST_HANDLE_SD_MM: f64 = 2.7;
/// Less than this (logarithm of the odds) and no powder is seen: so 26 of 35 bare faces of tuning pictures are told,
/// and 3 of 266 coated ones (neither learned from).
const LEAST_POWDER: f64 = 0.5;
/// More tilt than this squeezes the face too much: marks are read up to 35 degrees.
const MOST_TILT_DEG: f64 = 43.0;
/// An edge wider than this hides where a mark ends.
const MOST_BLUR_MM: f64 = 3.0;
/// More of the middle in glare than this hides marks.
const MOST_GLARE: f64 = 0.35;
/// Fewer pixels a millimetre than this don't show dimples or soft edges.
const LEAST_PX_PER_MM: f64 = 1.2;

/// Judges a picture whose camera is known, from the face laid flat at half a millimetre.
///
/// `sight` is what the networks see about the handles, `proposed` whether these come from it.
pub(super) fn judge(
    flat: &Flat,
    pose: &Pose,
    shape: &FaceShape,
    sight: Option<&Sight>,
    proposed: bool,
) -> Quality {
    let tilt_deg = pose.camera.tilt_deg();
    let px_per_mm = pose
        .camera
        .slope(shape, [0.0, 0.0])
        .map_or(0.0, |s| (s[0][0] * s[1][1] - s[0][1] * s[1][0]).abs().sqrt());
    let blur_mm = blur_mm(flat, shape);
    let glare_share = glare_share(flat, shape);
    let mut problems = Vec::new();
    let mut say = |wrong: bool, what| {
        if wrong {
            problems.push(what);
        }
    };
    let handles_sd_mm = sight.filter(|_| proposed).map(Sight::worst_mm);
    say(is_cut(flat, shape), Trouble::Cut);
    say(sight.is_some_and(|sight| sight.powder < LEAST_POWDER), Trouble::Powder);
    say(tilt_deg > MOST_TILT_DEG, Trouble::Tilt);
    say(px_per_mm < LEAST_PX_PER_MM, Trouble::Small);
    say(blur_mm > MOST_BLUR_MM, Trouble::Blur);
    say(glare_share > MOST_GLARE, Trouble::Glare);
    say(handles_sd_mm.is_some_and(|sd| sd > MOST_HANDLE_SD_MM), Trouble::Handles);
    Quality { good: problems.is_empty(), problems, tilt_deg, blur_mm, glare_share, px_per_mm, handles_sd_mm }
}

/// Whether grid points of the usual face lie outside the picture: those have the floor's light.
fn is_cut(flat: &Flat, shape: &FaceShape) -> bool {
    let floor = libm::log(0.004) as f32 + 1e-4;
    let (mut out, mut all) = (0_usize, 0_usize);
    for j in 0..flat.light.height {
        for i in 0..flat.light.width {
            let [x, y] = flat.place(i, j);
            if within(shape, x, y) < 0.9 {
                all += 1;
                out += usize::from(flat.light.data[j * flat.light.width + i] <= floor);
            }
        }
    }
    flat.outside > 0.0 && out * 200 > all
}

/// The width of the sharpest edges: the step of light across 1 mm at the steepest places against the whole
/// range of light on the face and about it.
fn blur_mm(flat: &Flat, shape: &FaceShape) -> f64 {
    let (w, h) = (flat.light.width, flat.light.height);
    let reach = (1.0 / flat.step_mm).round() as usize;
    let mut steps: Vec<f32> = Vec::new();
    for j in reach..h.saturating_sub(reach) {
        for i in reach..w.saturating_sub(reach) {
            let [x, y] = flat.place(i, j);
            if within(shape, x, y) < 1.15 {
                let at = |di: i64, dj: i64| {
                    let n = (j as i64 + dj) * w as i64 + i as i64 + di;
                    libm::expf(flat.light.data[n as usize])
                };
                let r = 1;
                let (gx, gy) = (at(r, 0) - at(-r, 0), at(0, r) - at(0, -r));
                steps.push((gx * gx + gy * gy).sqrt());
            }
        }
    }
    steps.sort_by(f32::total_cmp);
    let steep = steps.get(steps.len() * 995 / 1000).copied().unwrap_or(0.0);
    let mut light: Vec<f32> = flat.light.data.iter().map(|v| libm::expf(*v)).collect();
    light.sort_by(f32::total_cmp);
    let range = light.get(light.len() * 9 / 10).copied().unwrap_or(0.0)
        - light.get(light.len() / 20).copied().unwrap_or(0.0);
    f64::from(range.max(0.0)) / f64::from(steep.max(1e-6)) * 2.0 * flat.step_mm
}

/// The share of the middle that is brighter than powder can be.
fn glare_share(flat: &Flat, shape: &FaceShape) -> f64 {
    let (mut bright, mut all) = (0_usize, 0_usize);
    for j in 0..flat.light.height {
        for i in 0..flat.light.width {
            let [x, y] = flat.place(i, j);
            let (u, v) = (x / (0.25 * shape.width_mm), y / (0.3 * shape.height_mm));
            if u * u + v * v < 1.0 {
                all += 1;
                bright += usize::from(flat.light.data[j * flat.light.width + i] > -0.045);
            }
        }
    }
    bright as f64 / all.max(1) as f64
}
