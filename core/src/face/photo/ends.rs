//! Where a face's centre lines end, from its outline and from what was seen of the handles before.
//!
//! The outline is laid into a frame of its own (its middle, the direction in which it is long, the root of
//! its area: second moments of a polygon), and a small network that learned from many outlines says where
//! in that frame the lines end, and how sure it is. The rule: what goes in is what
//! `core/train/ends_inputs.py` computes. Start at [`ends`].
#![allow(clippy::indexing_slicing, reason = "arrays of fixed size")]

use super::camera::Pixel;
use super::keypoints::{Known, Sight, mirror};
use super::net::{Map, Net};
use super::outline::{Outline, PLACES, places};

const ENDS: &[u8] = include_bytes!("ends.net");

/// The face whose oval is the frame's measure, mm.
const USUAL: [f64; 2] = [118.0, 58.0];
/// Numbers that go in and out are about 1: so many mm.
const UNIT: f64 = 3.0;
/// Outline (where, how sure), direction, place and lens, proportion; handles (where, how sure).
const INPUTS: usize = 2 * PLACES + 6 + 16;
/// Of four handles: where, and the logarithms of their standard errors.
const OUTPUTS: usize = 16;
/// Errors on tuning pictures that weren't learned from are that much larger than the network says (root mean square).
const MORE: f64 = 1.8;

/// An outline's own frame.
struct Frame {
    middle: Pixel,
    turn: f64,
    /// Pixels a unit: nearly a millimetre of a face of 118 x 58.
    per: f64,
}

impl Frame {
    fn of(line: &[Pixel; PLACES]) -> Option<Self> {
        let usual: Vec<Pixel> = places(USUAL[0], USUAL[1])
            .iter()
            .map(|(far, to)| Pixel { x: far * to[0], y: far * to[1] })
            .collect();
        let about = line[0];
        let moved: Vec<Pixel> = line.iter().map(|p| Pixel { x: p.x - about.x, y: p.y - about.y }).collect();
        let (whole, middle, _) = moments(&moved);
        let middle = Pixel { x: middle[0], y: middle[1] };
        let inner: Vec<Pixel> =
            moved.iter().map(|p| Pixel { x: p.x - middle.x, y: p.y - middle.y }).collect();
        let (_, _, [xx, xy, yy]) = moments(&inner);
        let frame = Self {
            middle: Pixel { x: middle.x + about.x, y: middle.y + about.y },
            turn: 0.5 * libm::atan2(2.0 * xy, xx - yy),
            per: (whole.abs() / moments(&usual).0.abs()).sqrt(),
        };
        (frame.per > 1e-3 && frame.turn.is_finite() && frame.middle.x.is_finite()).then_some(frame)
    }

    fn inward(&self, at: Pixel) -> [f64; 2] {
        let (c, s) = (libm::cos(self.turn), libm::sin(self.turn));
        let (x, y) = (at.x - self.middle.x, at.y - self.middle.y);
        [(c * x + s * y) / self.per, (c * y - s * x) / self.per]
    }

    fn outward(&self, [x, y]: [f64; 2]) -> Pixel {
        let (c, s) = (libm::cos(self.turn), libm::sin(self.turn));
        let (x, y) = (x * self.per, y * self.per);
        Pixel { x: self.middle.x + c * x - s * y, y: self.middle.y + s * x + c * y }
    }
}

/// A closed line's area, middle, and second moments an area (xx, xy, yy) about the origin, by Green's theorem.
fn moments(line: &[Pixel]) -> (f64, [f64; 2], [f64; 3]) {
    let (mut whole, mut first, mut second) = (0.0, [0.0; 2], [0.0; 3]);
    for (a, b) in line.iter().zip(line.iter().cycle().skip(1)) {
        let cross = a.x * b.y - b.x * a.y;
        whole += cross / 2.0;
        first[0] += (a.x + b.x) * cross / 6.0;
        first[1] += (a.y + b.y) * cross / 6.0;
        second[0] += (a.x * a.x + a.x * b.x + b.x * b.x) * cross / 12.0;
        second[1] += (a.x * b.y + 2.0 * a.x * a.y + 2.0 * b.x * b.y + b.x * a.y) * cross / 24.0;
        second[2] += (a.y * a.y + a.y * b.y + b.y * b.y) * cross / 12.0;
    }
    (whole, first.map(|v| v / whole), second.map(|v| v / whole))
}

/// Heel, toe, crown and sole of the frame's face.
fn nominal() -> [[f64; 2]; 4] {
    let [w, h] = USUAL.map(|v| v / 2.0);
    [[w, 0.0], [-w, 0.0], [0.0, -h], [0.0, h]]
}

/// How far an outline lies beyond the usual oval along its rays, between the places where it is known.
fn beyond(line: &[Pixel; PLACES], frame: &Frame) -> [f64; PLACES] {
    let mut known: Vec<(f64, f64)> = line
        .iter()
        .map(|at| {
            let [x, y] = frame.inward(*at);
            (libm::atan2(-y, -x), (x * x + y * y).sqrt())
        })
        .collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let turn = core::f64::consts::TAU;
    let around = [known[PLACES - 1]].map(|(a, r)| (a - turn, r));
    let after = [known[0]].map(|(a, r)| (a + turn, r));
    let all: Vec<(f64, f64)> = around.into_iter().chain(known).chain(after).collect();
    places(USUAL[0], USUAL[1]).map(|(far, to)| {
        let angle = libm::atan2(to[1], to[0]);
        let next = all.partition_point(|(a, _)| *a <= angle).clamp(1, all.len() - 1);
        let ((a, from), (b, until)) = (all[next - 1], all[next]);
        let t = if b > a { (angle - a) / (b - a) } else { 0.0 };
        from + t * (until - from) - far
    })
}

/// Handles and standard errors, from an outline and what was seen before; nothing where the outline is no
/// closed line about a middle.
pub(super) fn ends(outline: &Outline, before: &Sight, known: Known) -> Option<Sight> {
    let (w, h) = (known.view.size.0 as f64, known.view.size.1 as f64);
    let mirrored = (!known.toe_left).then_some(w);
    let frame = Frame::of(&outline.at)?;
    let away = [frame.middle.x - w / 2.0, frame.middle.y - h / 2.0];
    let lens = match known.view.focal_said_px() {
        Some(focal) => {
            let fills = (2.0 * libm::log(frame.per * USUAL[0] / focal) + 2.0).clamp(-2.0, 2.0);
            [away[0] / focal, away[1] / focal, 1.0, fills]
        }
        None => [away[0] / w.max(h), away[1] / w.max(h), 0.0, 0.0],
    };
    let mut numbers: Vec<f64> = beyond(&outline.at, &frame).iter().map(|v| v / UNIT).collect();
    numbers.extend(outline.sd_mm.iter().map(|v| libm::log(*v)));
    numbers.push(2.0 * frame.turn);
    numbers.extend(lens);
    numbers.push(10.0 * (known.shape.height_mm / known.shape.width_mm - 0.49));
    for (at, usual) in before.handles.iter().zip(nominal()) {
        let at = frame.inward(mirror(*at, mirrored));
        numbers.extend([(at[0] - usual[0]) / UNIT, (at[1] - usual[1]) / UNIT]);
    }
    numbers.extend(before.sd_mm.iter().flatten().map(|v| libm::log(v.max(1e-3))));
    let mut input = Map::new(1, 1, INPUTS);
    input.data = numbers.iter().map(|v| *v as f32).collect();
    let out = Net::read(ENDS)?.run(input)?;
    let out: [f64; OUTPUTS] = core::array::from_fn(|n| out.data.get(n).map_or(f64::NAN, |v| f64::from(*v)));
    let per_mm = known.shape.width_mm / USUAL[0];
    let usual = nominal();
    let sight = Sight {
        handles: core::array::from_fn(|n| {
            let at = core::array::from_fn(|axis| usual[n][axis] + UNIT * out[2 * n + axis]);
            mirror(frame.outward(at), mirrored)
        }),
        sd_mm: core::array::from_fn(|n| {
            core::array::from_fn(|axis| {
                MORE * per_mm * libm::exp(out[OUTPUTS / 2 + 2 * n + axis].clamp(-2.5, 2.5))
            })
        }),
        powder: before.powder,
    };
    sight.handles.iter().all(|at| at.x.is_finite() && at.y.is_finite()).then_some(sight)
}

#[cfg(test)]
mod tests;
