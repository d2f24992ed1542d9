//! Where a face is in a picture and where its centre lines meet its outline, as two
//! small networks see it.
//!
//! The first looks at the whole picture, the second twice at a crop about what the first
//! saw; both say for each handle how likely it lies where, as a sum of normal curves. The
//! rule: a proposal comes with its standard errors, and a person can correct it; the
//! toe is on the left in what the networks see, other pictures are mirrored. `core/train`
//! makes the weights (`handle_inputs.py` computes the same inputs). Start at [`propose`].
#![allow(clippy::indexing_slicing, reason = "loops run to the maps' own sizes")]

use super::camera::{FaceShape, Pixel};
use super::ends::ends;
use super::net::{Map, Net};
use super::outline;
use super::plane::Small;
use super::pose::View;

const COARSE: &[u8] = include_bytes!("coarse.net");
const FINE: &[u8] = include_bytes!("fine.net");

/// The crop of the second network, and the square of the first, pixels.
const WIDE: usize = 128;
const HIGH: usize = 96;
/// So many pixels of the input are one cell of what comes out.
const CELL: f64 = 8.0;
/// So long is a face in the crop, heel to toe, pixels.
const FACE: f64 = 90.0;
/// On tuning pictures the second network's errors are that much larger than it says (root mean square).
const MORE: f64 = 1.25;
/// Numbers of each handle in a cell: how likely, where (2), how sure (2).
const EACH: usize = 5;
/// Numbers that go in: brightness, two colours, where (2), proportion, lens (2).
const INPUTS: usize = 8;

/// What the networks see.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sight {
    /// Heel, toe, crown and sole in the upright picture.
    pub handles: [Pixel; 4],
    /// Standard errors of each along the line from toe to heel and across it, in mm on a
    /// face of the stated width.
    pub sd_mm: [[f64; 2]; 4],
    /// The face is coated with powder where this is above 0 (the logarithm of the odds).
    pub powder: f64,
}

impl Sight {
    /// The standard error of the least sure handle, mm.
    pub fn worst_mm(&self) -> f64 {
        self.sd_mm.iter().map(|[a, b]| (a * a + b * b).sqrt()).fold(0.0, f64::max)
    }
}

/// What is known beside the picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known<'a> {
    pub shape: &'a FaceShape,
    pub view: &'a View,
    pub toe_left: bool,
}

/// Heel, toe, crown and sole of the face that is seen; nothing where none is.
pub(super) fn propose(seen: &Small, known: Known) -> Option<Sight> {
    let (w, h) = (known.view.size.0 as f64, known.view.size.1 as f64);
    let square = Frame {
        middle: Pixel { x: w / 2.0, y: h / 2.0 },
        turn: 0.0,
        px: w.max(h) / WIDE as f64,
        size: (WIDE, WIDE),
        mirrored: (!known.toe_left).then_some(w),
    };
    let small = seen.shrunk(seen.luma.width.max(seen.luma.height).div_ceil(3 * WIDE));
    let first = told(COARSE, channels(&small, &square, [0.0; 3])?, &square)?;
    let near = at(seen, &first.handles(&square), known)?;
    let near = at(seen, &near.handles, known)?;
    let looks: Vec<Sight> =
        LOOKS.iter().filter_map(|look| looked(seen, &near.handles, known, *look)).collect();
    let before = middle(&looks)?;
    let mirrored = (!known.toe_left).then_some(w);
    let finer = outline::about(seen, &before.handles, known.shape, mirrored)
        .and_then(|line| ends(&line, &before, known));
    Some(finer.unwrap_or(before))
}

/// The last looks are taken about slightly other places, and averaged: moved along and down
/// the crop as shares of the face's length, turned, made longer. On tuning pictures 54 %
/// were within 2.5 mm instead of 50 with one look.
const LOOKS: [[f64; 4]; 3] = [[0.0, 0.0, 0.0, 1.0], [0.02, 0.0, 0.03, 1.03], [-0.02, 0.01, -0.03, 1.03]];

fn middle(looks: &[Sight]) -> Option<Sight> {
    let share = 1.0 / looks.len() as f64;
    let mean = |of: &dyn Fn(&Sight) -> f64| looks.iter().map(|look| share * of(look)).sum::<f64>();
    looks.first()?;
    Some(Sight {
        handles: core::array::from_fn(|n| Pixel {
            x: mean(&|look| look.handles[n].x),
            y: mean(&|look| look.handles[n].y),
        }),
        sd_mm: core::array::from_fn(|n| core::array::from_fn(|axis| mean(&|look| look.sd_mm[n][axis]))),
        powder: mean(&|look| look.powder),
    })
}

/// What the second network sees about four handles.
pub(super) fn at(seen: &Small, handles: &[Pixel; 4], known: Known) -> Option<Sight> {
    looked(seen, handles, known, LOOKS[0])
}

fn looked(seen: &Small, handles: &[Pixel; 4], known: Known, look: [f64; 4]) -> Option<Sight> {
    let (w, h) = (known.view.size.0 as f64, known.view.size.1 as f64);
    let mirrored = (!known.toe_left).then_some(w);
    let [heel, toe, crown, sole] = handles.map(|at| mirror(at, mirrored));
    let (dx, dy) = (heel.x - toe.x, heel.y - toe.y);
    let length = (dx * dx + dy * dy).sqrt();
    if !(length > 10.0 && length < 4.0 * w.max(h)) {
        return None;
    }
    let middle = Pixel {
        x: (heel.x + toe.x + crown.x + sole.x) / 4.0 + look[0] * length,
        y: (heel.y + toe.y + crown.y + sole.y) / 4.0 + look[1] * length,
    };
    let (turn, length) = (libm::atan2(dy, dx) + look[2], length * look[3]);
    let frame = Frame { middle, turn, px: length / FACE, size: (WIDE, HIGH), mirrored };
    let proportion = 10.0 * (known.shape.height_mm / known.shape.width_mm - 0.49);
    let lens = match known.view.focal_said_px() {
        Some(focal) => [1.0, (2.0 * libm::log(length / focal) + 2.0).clamp(-2.0, 2.0)],
        None => [0.0, 0.0],
    };
    let facts = [proportion, lens[0], lens[1]].map(|v| v as f32);
    let told = told(FINE, channels(seen, &frame, facts)?, &frame)?;
    let per = known.shape.width_mm / FACE * look[3] * MORE;
    let sd_mm = told.spread.map(|[x, y]| [x * per, y * per]);
    Some(Sight { handles: told.handles(&frame), sd_mm, powder: told.powder })
}

/// A place in the picture as it would be with the toe on the left.
pub(super) fn mirror(at: Pixel, mirrored: Option<f64>) -> Pixel {
    mirrored.map_or(at, |width| Pixel { x: width - at.x, y: at.y })
}

/// How the pixels of an input lie in the upright picture.
struct Frame {
    /// The input's middle, in the picture that has the toe on the left.
    middle: Pixel,
    /// How far its rows are turned.
    turn: f64,
    /// The side of one of its pixels.
    px: f64,
    size: (usize, usize),
    /// The picture's width, where it is mirrored.
    mirrored: Option<f64>,
}

impl Frame {
    fn to_picture(&self, x: f64, y: f64) -> Pixel {
        let (x, y) = ((x - self.size.0 as f64 / 2.0) * self.px, (y - self.size.1 as f64 / 2.0) * self.px);
        let (c, s) = (libm::cos(self.turn), libm::sin(self.turn));
        mirror(Pixel { x: self.middle.x + c * x - s * y, y: self.middle.y + s * x + c * y }, self.mirrored)
    }
}

/// What goes into a network; nothing where the frame shows nothing of the picture.
fn channels(seen: &Small, frame: &Frame, facts: [f32; 3]) -> Option<Map> {
    let (width, height) = frame.size;
    let n = (frame.px / seen.factor as f64).ceil().clamp(1.0, 6.0) as usize;
    let per = 1.0 / seen.factor as f64;
    let (w, h) = (seen.luma.width as f64, seen.luma.height as f64);
    let origin = frame.to_picture(0.0, 0.0);
    let [across, down] = [frame.to_picture(1.0, 0.0), frame.to_picture(0.0, 1.0)]
        .map(|to| ((to.x - origin.x) * per, (to.y - origin.y) * per));
    let origin = (origin.x * per, origin.y * per);
    // Brightness and two colours of each pixel that lies in the picture by more than half.
    let mut pixels: Vec<Option<[f64; 3]>> = Vec::with_capacity(width * height);
    let step = 1.0 / n as f64;
    for j in 0..height {
        for i in 0..width {
            let (mut sums, mut there) = ([0.0; 3], 0);
            for b in 0..n {
                for a in 0..n {
                    let (x, y) = (i as f64 + (a as f64 + 0.5) * step, j as f64 + (b as f64 + 0.5) * step);
                    let u = origin.0 + x * across.0 + y * down.0;
                    let v = origin.1 + x * across.1 + y * down.1;
                    there += usize::from((0.0..w).contains(&u) && (0.0..h).contains(&v));
                    sums[0] += seen.luma.between(u, v);
                    for (sum, plane) in sums[1..].iter_mut().zip([&seen.blue, &seen.red]) {
                        *sum += plane.as_ref().map_or(128.0, |plane| plane.between(u, v));
                    }
                }
            }
            let all = (n * n) as f64;
            pixels.push((2 * there > n * n).then(|| sums.map(|sum| sum / all)));
        }
    }
    let count = pixels.iter().flatten().count();
    if count * 8 < width * height {
        return None;
    }
    let mean = pixels.iter().flatten().map(|p| p[0]).sum::<f64>() / count as f64;
    let square = pixels.iter().flatten().map(|p| (p[0] - mean) * (p[0] - mean)).sum::<f64>();
    let spread = (square / count as f64).sqrt() + 8.0;
    let mut map = Map::new(width, height, INPUTS);
    let half = WIDE as f32 / 2.0;
    for (n, (pixel, out)) in pixels.iter().zip(map.data.chunks_exact_mut(INPUTS)).enumerate() {
        if let Some([y, blue, red]) = pixel {
            out[0] = ((y - mean) / spread) as f32;
            out[1] = ((blue - 128.0) / 32.0) as f32;
            out[2] = ((red - 128.0) / 32.0) as f32;
        }
        out[3] = ((n % width) as f32 + 0.5) / half - 1.0;
        out[4] = ((n / width) as f32 + 0.5) / half - height as f32 / WIDE as f32;
        out[5..].copy_from_slice(&facts);
    }
    Some(map)
}

/// What a network says, in pixels of its input.
struct Told {
    mean: [[f64; 2]; 4],
    spread: [[f64; 2]; 4],
    powder: f64,
}

impl Told {
    fn handles(&self, frame: &Frame) -> [Pixel; 4] {
        self.mean.map(|[x, y]| frame.to_picture(x, y))
    }
}

/// Runs a network and takes mean and spread of each handle's sum of normal curves.
fn told(net: &[u8], input: Map, frame: &Frame) -> Option<Told> {
    let out = Net::read(net)?.run(input)?;
    let [across, down] = [frame.size.0, frame.size.1].map(|side| side / CELL as usize);
    if (out.width, out.height) != (across, down) || out.depth <= 4 * EACH {
        return None;
    }
    let cells = || out.data.chunks_exact(out.depth);
    let (mut mean, mut spread) = ([[0.0; 2]; 4], [[0.0; 2]; 4]);
    for handle in 0..4 {
        let part =
            |cell: &[f32]| -> [f64; EACH] { core::array::from_fn(|k| f64::from(cell[handle * EACH + k])) };
        let most = cells().map(|cell| part(cell)[0]).fold(f64::NEG_INFINITY, f64::max);
        let (mut all, mut first, mut second) = (0.0, [0.0; 2], [0.0; 2]);
        for (n, cell) in cells().enumerate() {
            let [logit, dx, dy, sx, sy] = part(cell);
            let weight = libm::exp(logit - most);
            let place = [(n % across) as f64 + 0.5 + dx, (n / across) as f64 + 0.5 + dy].map(|v| v * CELL);
            all += weight;
            for (axis, s) in [sx, sy].into_iter().enumerate() {
                let sd = libm::exp(s.clamp(-2.5, 3.5));
                first[axis] += weight * place[axis];
                second[axis] += weight * (sd * sd + place[axis] * place[axis]);
            }
        }
        for axis in 0..2 {
            let middle = first[axis] / all;
            mean[handle][axis] = middle;
            spread[handle][axis] = (second[axis] / all - middle * middle).max(1e-6).sqrt();
        }
    }
    let powder = cells().map(|cell| f64::from(cell[4 * EACH])).sum::<f64>() / (across * down) as f64;
    mean.iter().flatten().all(|v| v.is_finite()).then_some(Told { mean, spread, powder })
}

#[cfg(test)]
mod tests;
