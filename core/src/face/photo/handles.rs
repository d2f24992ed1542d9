//! Where a powdered face is in a picture, and where its centre lines meet its outline.
//!
//! Bright regions are cut out at many levels; the one most like a face seen aslant is
//! taken; its edge is sought along rays at a finer scale; and the camera and the roundness
//! of an outline of the stated size are fitted to that edge. The rule: this is a proposal
//! for a person to look at; where nothing looks like a face there is none. Start at
//! [`propose`].
#![allow(clippy::indexing_slicing, reason = "loops run to the planes' own sizes")]
#![allow(clippy::needless_range_loop, reason = "the formulas are written in indices")]

use super::camera::{Camera, FaceShape, Pixel};
use super::linear::Symmetric;
use super::plane::{Plane, Small};
use super::pose::{View, turned, upright_start};

/// So many rays look for the edge.
const RAYS: usize = 72;

/// Heel, toe, crown and sole of the face that is seen; nothing where none is.
pub(super) fn propose(
    coarse: &Plane<u8>,
    coarse_factor: usize,
    small: &Small,
    shape: &FaceShape,
    view: &View,
    toe_left: bool,
) -> Option<[Pixel; 4]> {
    let blob = best_blob(coarse)?;
    let scale = coarse_factor as f64 / small.factor as f64;
    let edge = edge(&small.luma, &blob, scale);
    let to = small.factor as f64;
    let edge: Vec<Pixel> = edge.into_iter().map(|(x, y)| Pixel { x: x * to, y: y * to }).collect();
    let camera = fit_outline(&edge, &blob, coarse_factor as f64, shape, view, toe_left)?;
    let seen: Vec<Pixel> = shape.handles().iter().filter_map(|[x, y]| camera.see(shape, *x, *y)).collect();
    let (w, h) = (view.size.0 as f64, view.size.1 as f64);
    let inside = |at: &Pixel| (0.0..=w).contains(&at.x) && (0.0..=h).contains(&at.y);
    <[Pixel; 4]>::try_from(seen).ok().filter(|four| four.iter().all(inside))
}

/// A region: its middle, half axes and turn, as an ellipse of the same moments.
#[derive(Debug, Clone, Copy, Default)]
struct Blob {
    x: f64,
    y: f64,
    long: f64,
    short: f64,
    turn: f64,
    score: f64,
}

/// The region most like a face, over many levels of brightness.
fn best_blob(luma: &Plane<u8>) -> Option<Blob> {
    let mut sorted = luma.data.clone();
    sorted.sort_unstable();
    let top = f64::from(*sorted.get(sorted.len() * 998 / 1000)?);
    let mut best: Option<Blob> = None;
    for level in 0..14 {
        let least = (top * (0.92 - 0.045 * f64::from(level))) as u8;
        for blob in blobs(luma, least) {
            if best.is_none_or(|b| blob.score > b.score) {
                best = Some(blob);
            }
        }
    }
    best.filter(|blob| blob.score > 0.25)
}

/// The regions at or above a level, holes filled, that could be a face.
fn blobs(luma: &Plane<u8>, least: u8) -> Vec<Blob> {
    let (w, h) = (luma.width, luma.height);
    // 0 unseen, 1 outside (dark and joined to the border), others are numbered below.
    let mut label = vec![0_u32; w * h];
    let mut found = Vec::new();
    let mut next = 1;
    for start in 0..w * h {
        if label[start] != 0 || luma.data[start] < least {
            continue;
        }
        next += 1;
        let region = flood(luma, &mut label, start, next, least);
        if region.len() * 200 > w * h && region.len() * 2 < w * h {
            found.extend(like_a_face(luma, &region, w));
        }
    }
    found
}

/// The places joined to a first one that are at or above a level.
fn flood(luma: &Plane<u8>, label: &mut [u32], start: usize, mine: u32, least: u8) -> Vec<usize> {
    let (w, h) = (luma.width, luma.height);
    let mut region = vec![start];
    label[start] = mine;
    let mut at = 0;
    while at < region.len() {
        let n = region[at];
        at += 1;
        let (x, y) = (n % w, n / w);
        let sides =
            [(x > 0, n.wrapping_sub(1)), (x + 1 < w, n + 1), (y > 0, n.wrapping_sub(w)), (y + 1 < h, n + w)];
        for (there, m) in sides {
            if there && label[m] == 0 && luma.data[m] >= least {
                label[m] = mine;
                region.push(m);
            }
        }
    }
    region
}

/// How like a face a region is: an ellipse filled to its edge (marks are holes), of a face's
/// proportions, inside the picture, and brighter than what is about it.
fn like_a_face(luma: &Plane<u8>, region: &[usize], w: usize) -> Option<Blob> {
    let h = luma.height;
    // Each row's and column's extent stands for the region without its holes.
    let mut rows: Vec<Option<(usize, usize)>> = vec![None; h];
    for n in region {
        let (x, y) = (n % w, n / w);
        rows[y] = Some(rows[y].map_or((x, x), |(a, b)| (a.min(x), b.max(x))));
    }
    let (mut area, mut sx, mut sy) = (0.0, 0.0, 0.0);
    let filled = || rows.iter().enumerate().filter_map(|(y, r)| r.map(|(a, b)| (y, a, b)));
    for (y, a, b) in filled() {
        for x in a..=b {
            area += 1.0;
            sx += x as f64 + 0.5;
            sy += y as f64 + 0.5;
        }
    }
    let (mx, my) = (sx / area, sy / area);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (y, a, b) in filled() {
        for x in a..=b {
            let (dx, dy) = (x as f64 + 0.5 - mx, y as f64 + 0.5 - my);
            xx += dx * dx / area;
            xy += dx * dy / area;
            yy += dy * dy / area;
        }
    }
    let (mean, off) = (f64::midpoint(xx, yy), ((xx - yy) * (xx - yy) / 4.0 + xy * xy).sqrt());
    let (long, short) = (2.0 * (mean + off).sqrt(), 2.0 * (mean - off).max(0.0).sqrt());
    let turn = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let blob = Blob { x: mx, y: my, long, short, turn, score: 0.0 };
    if short < 4.0 || turn.abs() > 0.8 {
        return None;
    }
    // How much of the ellipse is region, how much of the region is ellipse, how bright the ring is.
    let (c, s) = (libm::cos(turn), libm::sin(turn));
    let (mut inside, mut hit, mut ring, mut ring_light, mut light) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let reach = long * 1.3;
    let low = |v: f64| (v - reach).floor().max(0.0) as usize;
    for y in low(my)..((my + reach).ceil() as usize).min(h) {
        for x in low(mx)..((mx + reach).ceil() as usize).min(w) {
            let (dx, dy) = (x as f64 + 0.5 - mx, y as f64 + 0.5 - my);
            let (u, v) = ((c * dx + s * dy) / long, (c * dy - s * dx) / short);
            let r = u * u + v * v;
            let value = f64::from(luma.data[y * w + x]);
            if r < 1.0 {
                inside += 1.0;
                light += value;
                hit += f64::from(u8::from(rows[y].is_some_and(|(a, b)| (a..=b).contains(&x))));
            } else if (1.25..1.7).contains(&r) {
                ring += 1.0;
                ring_light += value;
            }
        }
    }
    if inside < 30.0 || ring < 10.0 {
        return None;
    }
    let overlap = hit / (inside + area - hit);
    let proportion = libm::log(long / short / 2.05).abs();
    let contrast = ((light / inside) / (ring_light / ring).max(1.0) - 1.0).clamp(0.0, 1.5);
    let touches = rows.first().is_some_and(Option::is_some) || rows.last().is_some_and(Option::is_some);
    let score = (overlap - 0.75).max(0.0)
        * 4.0
        * (1.0 - proportion / 0.7).max(0.0)
        * (0.3 + contrast)
        * if touches { 0.5 } else { 1.0 };
    Some(Blob { score, ..blob })
}

/// Along rays, where light falls off most, a ray each; in pixels of the finer plane.
fn edge(luma: &Plane<u8>, blob: &Blob, scale: f64) -> Vec<(f64, f64)> {
    let (c, s) = (libm::cos(blob.turn), libm::sin(blob.turn));
    let at = |angle: f64, r: f64| {
        let (u, v) = (blob.long * libm::cos(angle) * r, blob.short * libm::sin(angle) * r);
        ((blob.x + c * u - s * v) * scale, (blob.y + s * u + c * v) * scale)
    };
    let step = 0.5 / (blob.short * scale).max(1.0);
    let mut radii = Vec::with_capacity(RAYS);
    for ray in 0..RAYS {
        let angle = core::f64::consts::TAU * ray as f64 / RAYS as f64;
        let count = (0.5 / step) as usize;
        let light: Vec<f64> = (0..count)
            .map(|n| {
                let (x, y) = at(angle, 0.75 + n as f64 * step);
                luma.between(x, y)
            })
            .collect();
        let wide = 3;
        // Powder that settled on the head beyond the rim fades out farther on: the innermost
        // of the steep falls is the face's edge.
        let falls: Vec<f64> = (0..count)
            .map(|n| {
                if n < wide || n + wide > count {
                    return 0.0;
                }
                let fall: f64 = (1..=wide).map(|k| light[n - k] - light[n + k - 1]).sum();
                fall * (1.0 - 1.5 * (0.75 + n as f64 * step - 1.0).abs())
            })
            .collect();
        let most = falls.iter().copied().fold(0.0, f64::max);
        let top = |n: &usize| {
            let side = |m: Option<usize>| m.and_then(|m| falls.get(m)).copied().unwrap_or(0.0);
            falls[*n] >= side(n.checked_sub(1)) && falls[*n] >= side(Some(n + 1))
        };
        let first = (0..count).find(|n| falls[*n] > 0.5 * most && top(n));
        let r = first.map_or(1.0, |n| 0.75 + n as f64 * step);
        radii.push(r);
    }
    // A ray that strays from its neighbours follows them.
    (0..RAYS)
        .map(|ray| {
            let mut near: Vec<f64> = (0..7).map(|k| radii[(ray + RAYS + k - 3) % RAYS]).collect();
            near.sort_by(f64::total_cmp);
            let r = if (radii[ray] - near[3]).abs() > 0.04 { near[3] } else { radii[ray] };
            at(core::f64::consts::TAU * ray as f64 / RAYS as f64, r)
        })
        .collect()
}

/// How far a face-frame place lies beyond an outline of a roundness, mm, roughly.
fn beyond(shape: &FaceShape, power: f64, [x, y]: [f64; 2]) -> f64 {
    let (u, v) = ((2.0 * x / shape.width_mm).abs(), (2.0 * y / shape.height_mm).abs());
    let rho = libm::pow(libm::pow(u, power) + libm::pow(v, power), 1.0 / power);
    (rho - 1.0) * (x * x + y * y).sqrt() / rho.max(0.1)
}

/// The camera whose view of an outline runs through the edge.
fn fit_outline(
    edge: &[Pixel],
    blob: &Blob,
    factor: f64,
    shape: &FaceShape,
    view: &View,
    toe_left: bool,
) -> Option<Camera> {
    let middle = Pixel { x: blob.x * factor, y: blob.y * factor };
    let mut best: Option<(f64, Camera)> = None;
    for tilt in [[0.0, 0.0], [0.3, 0.0], [-0.3, 0.0], [0.0, 0.3], [0.0, -0.3]] {
        let camera = upright_start(middle, blob.turn, blob.long * factor, shape, view, toe_left);
        let camera = turned(&camera, &[tilt[0], tilt[1], 0.0, 0.0, 0.0, 0.0, 0.0]);
        if let Some((cost, camera)) = settle(camera, edge, shape)
            && best.is_none_or(|(least, _)| cost < least)
        {
            best = Some((cost, camera));
        }
    }
    best.map(|(_, camera)| camera).filter(|camera| camera.tilt_deg() < 70.0)
}

/// Damped steps in three turns, three shifts and the outline's roundness.
fn settle(start: Camera, edge: &[Pixel], shape: &FaceShape) -> Option<(f64, Camera)> {
    const N: usize = 7;
    const STEP: [f64; N] = [1e-4, 1e-4, 1e-4, 1e-2, 1e-2, 1e-1, 1e-3];
    let (mut camera, mut power) = (start, 2.35);
    let moved =
        |camera: &Camera, by: &[f64; N]| turned(camera, &[by[0], by[1], by[2], by[3], by[4], by[5], 0.0]);
    let off = |camera: &Camera, power: f64| -> Option<Vec<f64>> {
        edge.iter().map(|at| Some(beyond(shape, power, camera.on_face(shape, *at)?))).collect()
    };
    // Huber: what lies beyond 1.5 mm counts by its size only.
    let cost_of = |off: &[f64], power: f64| -> f64 {
        let huber = |v: &f64| if v.abs() < 1.5 { v * v } else { 3.0 * v.abs() - 2.25 };
        off.iter().map(huber).sum::<f64>() + 20.0 * (power - 2.35) * (power - 2.35)
    };
    let mut now = off(&camera, power)?;
    let mut cost = cost_of(&now, power);
    let mut damping = 1e-2;
    for _ in 0..15 {
        let mut slopes = vec![[0.0; N]; edge.len()];
        for i in 0..N {
            let mut by = [0.0; N];
            by[i] = STEP[i];
            let there = off(&moved(&camera, &by), power + by[6])?;
            for (slope, (a, b)) in slopes.iter_mut().zip(there.iter().zip(&now)) {
                slope[i] = (a - b) / STEP[i];
            }
        }
        let mut sums = Symmetric::new(N);
        for (slope, v) in slopes.iter().zip(&now) {
            sums.add(slope, -v, if v.abs() < 1.5 { 1.0 } else { 1.5 / v.abs() });
        }
        sums.pull(6, 20.0, 2.35 - power);
        let step = sums.solve(damping)?;
        let by: [f64; N] = core::array::from_fn(|i| step.get(i).copied().unwrap_or(0.0));
        let (next, next_power) = (moved(&camera, &by), (power + by[6]).clamp(1.9, 3.2));
        let tried = off(&next, next_power).map(|there| (cost_of(&there, next_power), there));
        match tried.filter(|(c, _)| *c < cost) {
            Some((c, there)) => {
                let gain = cost - c;
                (camera, power, cost, now) = (next, next_power, c, there);
                damping *= 0.3;
                if gain < 1e-4 * cost {
                    break;
                }
            }
            None => damping *= 10.0,
        }
    }
    Some((cost, camera))
}
