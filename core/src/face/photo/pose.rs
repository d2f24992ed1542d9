//! From the four handles to the camera: pose and focal length.
//!
//! Eight numbers are seen and seven are sought; the focal length is held near what
//! phones have, or what the picture's own notes say, because a far and strong lens sees
//! almost the same. Levenberg's and Marquardt's damped least squares (Hartley and
//! Zisserman, appendix A6.2), from nine tilts, so that the mirrored tilt isn't taken.
//! The covariance of the seven numbers goes into every mark's standard error. Start at
//! [`fit`].
#![allow(clippy::indexing_slicing, reason = "arrays of fixed size")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::camera::{Camera, FaceShape, Pixel};
use super::error::PhotoError;
use super::linear::Symmetric;

/// How far along the diagonal of the picture a phone's main camera has its focal
/// length: 26 mm on film of 43.3 mm (common practice, no source).
const USUAL_FOCAL: f64 = 0.6;
/// How far that may be off, as a share (one standard deviation); lenses for far and
/// wide views, and cut pictures, are off by more.
const FOCAL_SD: f64 = 0.4;
/// The same where the picture says its focal length; a cut or enlarged one is off.
const SAID_FOCAL_SD: f64 = 0.06;

/// What a camera may be off by.
#[derive(Debug, Clone)]
pub(super) struct Pose {
    /// The best camera.
    pub camera: Camera,
    /// A camera with another tilt that sees the handles nearly as well, and how likely it is.
    pub rival: Option<(f64, Camera)>,
    /// Covariance of three turns, three shifts and the logarithm of the focal length, row by row.
    pub covariance: Vec<f64>,
}

/// What a fit starts from.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// The upright picture's size.
    pub size: (usize, usize),
    /// Focal length on film, mm, where the picture says it.
    pub focal_35mm: Option<f64>,
    /// Standard errors of heel, toe, crown and sole along the line from toe to heel and across it, mm on the face.
    pub handle_sd_mm: [[f64; 2]; 4],
}

impl View {
    fn diagonal(&self) -> f64 {
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        (w * w + h * h).sqrt()
    }

    /// The focal length in pixels, where the picture says it.
    pub fn focal_said_px(&self) -> Option<f64> {
        self.focal_35mm.map(|mm| mm / 43.266_615_3 * self.diagonal())
    }

    fn focal(&self) -> (f64, f64) {
        self.focal_said_px().map_or((USUAL_FOCAL * self.diagonal(), FOCAL_SD), |focal| (focal, SAID_FOCAL_SD))
    }
}

/// Refuses handles that can't be a face: outside, on a line, crossed.
///
/// Answers whether the toe is on the left of a face with its crown up.
pub(super) fn check(handles: &[Pixel; 4], size: (usize, usize)) -> Result<bool, PhotoError> {
    const NAMES: [&str; 4] = ["heel", "toe", "crown", "sole"];
    let (width, height) = (size.0 as f64, size.1 as f64);
    for (handle, at) in NAMES.iter().zip(handles) {
        if !((0.0..=width).contains(&at.x) && (0.0..=height).contains(&at.y)) {
            return Err(PhotoError::Outside {
                handle,
                x: at.x,
                y: at.y,
                width: size.0 as u64,
                height: size.1 as u64,
            });
        }
    }
    let [heel, toe, crown, sole] = handles;
    let along = (toe.x - heel.x, toe.y - heel.y);
    let up = (crown.x - sole.x, crown.y - sole.y);
    let cross = along.0 * up.1 - along.1 * up.0;
    let (long, tall) = (along.0.hypot_ieee(along.1), up.0.hypot_ieee(up.1));
    let off_line = |at: &Pixel| ((at.x - heel.x) * along.1 - (at.y - heel.y) * along.0).abs() / long;
    if long < 40.0 || tall < 20.0 || off_line(crown).max(off_line(sole)) < 0.1 * long {
        return Err(PhotoError::Flat);
    }
    if cross.abs() < 0.25 * long * tall {
        return Err(PhotoError::Crossed);
    }
    // Both shares of the way at which the two lines meet have to lie between their ends.
    let between = (sole.x - heel.x, sole.y - heel.y);
    let s = (between.0 * up.1 - between.1 * up.0) / cross;
    let t = (between.0 * along.1 - between.1 * along.0) / cross;
    if !(0.1..=0.9).contains(&s) || !(0.1..=0.9).contains(&t) {
        return Err(PhotoError::Crossed);
    }
    Ok(cross > 0.0)
}

/// A length without the platform's `hypot`.
trait Length {
    fn hypot_ieee(self, other: f64) -> f64;
}

impl Length for f64 {
    fn hypot_ieee(self, other: f64) -> f64 {
        (self * self + other * other).sqrt()
    }
}

/// The camera that sees the face's handles where they were given.
///
/// # Errors
/// [`PhotoError`] for handles that can't be a face, or that no camera sees so.
pub(super) fn fit(handles: &[Pixel; 4], shape: &FaceShape, view: &View) -> Result<Pose, PhotoError> {
    let toe_left = check(handles, view.size)?;
    let no_pose = PhotoError::NoPose { width_mm: shape.width_mm, height_mm: shape.height_mm };
    let mut found: Vec<(f64, Camera)> = Vec::new();
    for about_x in [0.0, -0.45, 0.45] {
        for about_y in [0.0, -0.45, 0.45] {
            let start = start(handles, shape, view, toe_left, about_x, about_y);
            found.extend(descend(start, handles, shape, view));
        }
    }
    let best = found.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0));
    let (cost, camera) = best.ok_or_else(|| no_pose.clone())?;
    let (sums, _, misfit) = equations(&camera, handles, shape, view).ok_or_else(|| no_pose.clone())?;
    let covariance = sums.inverse().ok_or_else(|| no_pose.clone())?;
    let misfit_px = (misfit / 8.0).sqrt();
    let long = (handles[1].x - handles[0].x).hypot_ieee(handles[1].y - handles[0].y);
    // A view of another face than the stated one: a twelfth of its width is beyond any careless hand.
    if misfit_px > long / 25.0 || camera.tilt_deg() > 75.0 {
        return Err(no_pose);
    }
    // Two tilts can look alike; the other one then counts as much as its cost lets it.
    let differs = |other: &Camera| {
        let dot: f64 = (0..3).map(|i| other.rotation[2][i] * camera.rotation[2][i]).sum();
        dot < 0.985
    };
    let rival = found
        .into_iter()
        .filter(|(_, other)| differs(other))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(there, other)| (1.0 / (1.0 + libm::exp((there - cost).min(80.0) / 2.0)), other))
        .filter(|(share, _)| *share > 0.02);
    Ok(Pose { camera, rival, covariance })
}

/// The handles as a fitted camera sees them: four places that one camera sees of one face
/// are nearer the truth than four that were seen each by itself. Those given, where one
/// would lie outside the picture.
pub(super) fn as_seen(
    camera: &Camera,
    shape: &FaceShape,
    size: (usize, usize),
    given: [Pixel; 4],
) -> [Pixel; 4] {
    let seen: Vec<Pixel> = shape.handles().iter().filter_map(|[x, y]| camera.see(shape, *x, *y)).collect();
    <[Pixel; 4]>::try_from(seen).ok().filter(|four| check(four, size).is_ok()).unwrap_or(given)
}

/// The camera for a slightly other face, from one that fits.
pub(super) fn refit(from: &Camera, handles: &[Pixel; 4], shape: &FaceShape, view: &View) -> Option<Camera> {
    descend(*from, handles, shape, view).map(|(_, camera)| camera)
}

/// A camera in front of the face at a tilt, turned and moved so that heel and toe roughly fit.
fn start(
    handles: &[Pixel; 4],
    shape: &FaceShape,
    view: &View,
    toe_left: bool,
    about_x: f64,
    about_y: f64,
) -> Camera {
    let [heel, toe, crown, sole] = handles;
    let (focal_px, _) = view.focal();
    let centre = Pixel { x: view.size.0 as f64 / 2.0, y: view.size.1 as f64 / 2.0 };
    let right = if toe_left { (heel.x - toe.x, heel.y - toe.y) } else { (toe.x - heel.x, toe.y - heel.y) };
    let roll = libm::atan2(right.1, right.0);
    let (c, s) = (libm::cos(roll), libm::sin(roll));
    let tall = (crown.x - sole.x).hypot_ieee(crown.y - sole.y);
    let px_per_mm = (right.0.hypot_ieee(right.1) / shape.width_mm).max(tall / shape.height_mm);
    let depth = focal_px / px_per_mm.max(1e-6);
    let middle =
        Pixel { x: (heel.x + toe.x + crown.x + sole.x) / 4.0, y: (heel.y + toe.y + crown.y + sole.y) / 4.0 };
    let facing = Camera {
        focal_px,
        centre,
        rotation: [[c, s, 0.0], [s, -c, 0.0], [0.0, 0.0, -1.0]],
        translation_mm: [
            (middle.x - centre.x) / focal_px * depth,
            (middle.y - centre.y) / focal_px * depth,
            depth,
        ],
        toe_left,
    };
    turned(&facing, &[about_x, about_y, 0.0, 0.0, 0.0, 0.0, 0.0])
}

/// A camera after small turns (in its own frame), shifts and a change of the logarithm of the focal length.
pub(super) fn turned(camera: &Camera, by: &[f64; 7]) -> Camera {
    let [wx, wy, wz, tx, ty, tz, f] = *by;
    let angle = (wx * wx + wy * wy + wz * wz).sqrt();
    // Rodrigues' formula; near nothing its series.
    let (a, b) = if angle < 1e-6 {
        (1.0 - angle * angle / 6.0, 0.5 - angle * angle / 24.0)
    } else {
        (libm::sin(angle) / angle, (1.0 - libm::cos(angle)) / (angle * angle))
    };
    let k = [[0.0, -wz, wy], [wz, 0.0, -wx], [-wy, wx, 0.0]];
    let mut turn = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            let square: f64 = (0..3).map(|m| k[i][m] * k[m][j]).sum();
            turn[i][j] = f64::from(u8::from(i == j)) + a * k[i][j] + b * square;
        }
    }
    let mut rotation = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            rotation[i][j] = (0..3).map(|m| turn[i][m] * camera.rotation[m][j]).sum();
        }
    }
    let t = camera.translation_mm;
    Camera {
        focal_px: camera.focal_px * libm::exp(f),
        rotation,
        translation_mm: [t[0] + tx, t[1] + ty, t[2] + tz],
        ..*camera
    }
}

/// Normal equations about a camera, its whole cost, and the handles' squared misfit in pixels.
fn equations(
    camera: &Camera,
    handles: &[Pixel; 4],
    shape: &FaceShape,
    view: &View,
) -> Option<(Symmetric, f64, f64)> {
    let (usual, focal_sd) = view.focal();
    let px_per_mm = camera.focal_px / camera.translation_mm[2].max(1.0);
    let [heel, toe, ..] = handles;
    let length = (heel.x - toe.x).hypot_ieee(heel.y - toe.y).max(1e-9);
    let along = [(heel.x - toe.x) / length, (heel.y - toe.y) / length];
    let across = [-along[1], along[0]];
    let mut sums = Symmetric::new(7);
    let (mut misfit, mut cost) = (0.0, 0.0);
    for ((place, seen), sd) in shape.handles().iter().zip(handles).zip(view.handle_sd_mm) {
        let at = [place[0], place[1], shape.depth(place[0], place[1])];
        let here = camera.project(at)?;
        let slopes = slopes(camera, at)?;
        let (dx, dy) = (seen.x - here.x, seen.y - here.y);
        for (axis, sd) in [along, across].iter().zip(sd) {
            let sd_px = (sd * px_per_mm).max(1e-3);
            let weight = 1.0 / (sd_px * sd_px);
            let off = axis[0] * dx + axis[1] * dy;
            sums.add(&slopes.map(|s| axis[0] * s[0] + axis[1] * s[1]), off, weight);
            cost += weight * off * off;
        }
        misfit += dx * dx + dy * dy;
    }
    let off = libm::log(usual / camera.focal_px);
    let pull = 1.0 / (focal_sd * focal_sd);
    sums.pull(6, pull, off);
    Some((sums, cost + pull * off * off, misfit))
}

/// How a point's pixel moves with each of the seven numbers.
pub(super) fn slopes(camera: &Camera, at: [f64; 3]) -> Option<[[f64; 2]; 7]> {
    let mut out = [[0.0; 2]; 7];
    for (i, slope) in out.iter_mut().enumerate() {
        let step = if (3..6).contains(&i) { 1e-3 } else { 1e-6 };
        let mut by = [0.0; 7];
        by[i] = step;
        let more = turned(camera, &by).project(at)?;
        by[i] = -step;
        let less = turned(camera, &by).project(at)?;
        *slope = [(more.x - less.x) / (2.0 * step), (more.y - less.y) / (2.0 * step)];
    }
    Some(out)
}

fn descend(start: Camera, handles: &[Pixel; 4], shape: &FaceShape, view: &View) -> Option<(f64, Camera)> {
    let mut camera = start;
    let (mut sums, mut cost, _) = equations(&camera, handles, shape, view)?;
    let mut damping = 1e-3;
    for _ in 0..60 {
        let step = sums.solve(damping)?;
        let by: [f64; 7] = core::array::from_fn(|i| step.get(i).copied().unwrap_or(0.0));
        let next = turned(&camera, &by);
        let tried = equations(&next, handles, shape, view).filter(|(_, there, _)| *there < cost);
        if let Some((at, there, _)) = tried {
            let gain = cost - there;
            (camera, sums, cost) = (next, at, there);
            damping = (damping * 0.2).max(1e-12);
            if gain < 1e-10 * (1.0 + cost) {
                break;
            }
        } else {
            damping *= 8.0;
            if damping > 1e9 {
                break;
            }
        }
    }
    // The face has to be seen from the front.
    (camera.tilt_deg() < 85.0).then_some((cost, camera))
}

#[cfg(test)]
mod tests;
