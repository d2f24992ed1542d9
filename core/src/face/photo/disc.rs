//! Marks as soft dark discs on a slanting ground, fitted together.
//!
//! In the logarithm of light the powder that a hit took off is a difference, and where
//! marks overlap their differences add. A disc has a centre, a radius, a depth and a
//! softness of its edge; a group of discs has one plane of ground. Damped least squares
//! with weights that fall for what no disc explains (dimples, lines, drips): Tukey's
//! biweight. Start at [`fit`].
#![allow(clippy::indexing_slicing, reason = "loops run to the parameters' own number")]

use super::linear::Symmetric;
use super::rectify::Flat;

/// One mark as it is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Disc {
    /// Centre toward the toe, mm.
    pub x: f64,
    /// Centre toward the crown, mm.
    pub y: f64,
    /// Radius at half depth, mm.
    pub radius: f64,
    /// How much darker, as a logarithm of light.
    pub depth: f64,
    /// Half the width over which the edge fades, mm.
    pub soft: f64,
}

/// Fitted discs.
#[derive(Debug, Clone)]
pub(super) struct Fitted {
    /// The discs, in the order given.
    pub discs: Vec<Disc>,
    /// Covariance of each one's centre, mm^2: xx, xy, yy.
    pub covariance: Vec<[f64; 3]>,
}

/// What a disc's numbers may be, and how firmly they are held near the usual.
const RADIUS: (f64, f64, f64, f64) = (11.3, 1.2, 7.0, 16.0);
const SOFT: (f64, f64, f64, f64) = (2.0, 0.8, 0.6, 4.5);

/// Neighbouring points are alike (blur, dimples): what is usual counts as much as so many.
const ALIKE: f64 = 12.0;

const EACH: usize = 5;
const GROUND: usize = 3;

/// The share of a disc at a distance `r` from its centre, with slopes by distance, radius and softness.
///
/// The edge is a smooth step of third order over twice the softness.
fn share(r: f64, radius: f64, soft: f64) -> (f64, f64, f64, f64) {
    let t = f64::midpoint((r - radius) / soft, 1.0);
    if t <= 0.0 {
        return (1.0, 0.0, 0.0, 0.0);
    }
    if t >= 1.0 {
        return (0.0, 0.0, 0.0, 0.0);
    }
    let slope = -6.0 * t * (1.0 - t);
    let by_r = slope / (2.0 * soft);
    (1.0 - t * t * (3.0 - 2.0 * t), by_r, -by_r, -by_r * (r - radius) / soft)
}

/// Fits discs that share their surroundings; `valid` says which grid points are face.
///
/// Nothing where there are too few points, or no fit.
pub(super) fn fit(flat: &Flat, valid: &dyn Fn(f64, f64) -> bool, start: &[Disc]) -> Option<Fitted> {
    let points = points(flat, valid, start);
    if points.len() < 60 + 20 * start.len() || start.is_empty() {
        return None;
    }
    let n = EACH * start.len() + GROUND;
    let middle = mean(&points);
    let mut at: Vec<f64> = start.iter().flat_map(|d| [d.x, d.y, d.radius, d.depth, d.soft]).collect();
    at.extend([upper(&points), 0.0, 0.0]);
    let mut noise = 0.25;
    let mut damping = 1e-2;
    for round in 0..24 {
        let (sums, cost) = equations(&points, &at, middle, noise, start);
        let Some(step) = sums.solve(damping) else { break };
        let next = held(&at, &step, n);
        let (_, there) = equations(&points, &next, middle, noise, start);
        if there < cost {
            let moved = at.iter().zip(&next).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            at = next;
            damping = (damping * 0.3).max(1e-6);
            if moved < 1e-3 && round > 6 {
                break;
            }
        } else {
            damping *= 6.0;
            if damping > 1e4 {
                break;
            }
        }
        noise = (0.6 * noise + 0.4 * spread(&points, &at, middle)).clamp(0.02, 0.4);
    }
    let (sums, _) = equations(&points, &at, middle, noise, start);
    let inverse = sums.inverse()?;
    let discs: Vec<Disc> = at
        .chunks_exact(EACH)
        .take(start.len())
        .map(|d| Disc { x: d[0], y: d[1], radius: d[2], depth: d[3], soft: d[4] })
        .collect();
    let covariance = (0..start.len())
        .map(|m| {
            let i = m * EACH;
            [inverse[i * n + i], inverse[i * n + i + 1], inverse[(i + 1) * n + i + 1]]
        })
        .collect();
    Some(Fitted { discs, covariance })
}

struct Point {
    x: f64,
    y: f64,
    light: f64,
}

/// The grid points about the discs.
fn points(flat: &Flat, valid: &dyn Fn(f64, f64) -> bool, discs: &[Disc]) -> Vec<Point> {
    let mut found = Vec::new();
    for j in 0..flat.light.height {
        for i in 0..flat.light.width {
            let [x, y] = flat.place(i, j);
            let near = discs.iter().any(|d| {
                let reach = d.radius * 1.35 + 3.0;
                (x - d.x) * (x - d.x) + (y - d.y) * (y - d.y) < reach * reach
            });
            if near && valid(x, y) {
                found.push(Point { x, y, light: f64::from(flat.light.data[j * flat.light.width + i]) });
            }
        }
    }
    found
}

fn mean(points: &[Point]) -> [f64; 2] {
    let n = points.len().max(1) as f64;
    [points.iter().map(|p| p.x).sum::<f64>() / n, points.iter().map(|p| p.y).sum::<f64>() / n]
}

/// A high quantile of the light: about what the ground has.
fn upper(points: &[Point]) -> f64 {
    let mut all: Vec<f64> = points.iter().map(|p| p.light).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() * 4 / 5).copied().unwrap_or(0.0)
}

fn model(p: &Point, at: &[f64], middle: [f64; 2], slopes: Option<&mut [f64]>) -> f64 {
    let n = at.len();
    let (gx, gy) = ((p.x - middle[0]) / 10.0, (p.y - middle[1]) / 10.0);
    let mut value = at[n - 3] + at[n - 2] * gx + at[n - 1] * gy;
    let discs = at[..n - GROUND].chunks_exact(EACH);
    match slopes {
        None => {
            for d in discs {
                let r = ((p.x - d[0]) * (p.x - d[0]) + (p.y - d[1]) * (p.y - d[1])).sqrt();
                value -= d[3] * share(r, d[2], d[4]).0;
            }
        }
        Some(slopes) => {
            for (d, s) in discs.zip(slopes.chunks_exact_mut(EACH)) {
                let (dx, dy) = (p.x - d[0], p.y - d[1]);
                let r = (dx * dx + dy * dy).sqrt();
                let (part, by_r, by_radius, by_soft) = share(r, d[2], d[4]);
                value -= d[3] * part;
                let outward = d[3] * by_r / r.max(1e-6);
                s.copy_from_slice(&[outward * dx, outward * dy, -d[3] * by_radius, -part, -d[3] * by_soft]);
            }
            slopes[n - 3..].copy_from_slice(&[1.0, gx, gy]);
        }
    }
    value
}

/// Tukey's biweight and its loss at a residual, in units of the noise times 4.685
/// (95 % efficient on normal errors; Beaton and Tukey, Technometrics 16, 1974).
fn biweight(residual: f64, noise: f64) -> (f64, f64) {
    let u = residual / (4.685 * noise);
    if u.abs() >= 1.0 {
        return (0.0, 1.0 / 6.0);
    }
    let v = 1.0 - u * u;
    (v * v, (1.0 - v * v * v) / 6.0)
}

fn equations(points: &[Point], at: &[f64], middle: [f64; 2], noise: f64, start: &[Disc]) -> (Symmetric, f64) {
    let n = at.len();
    let mut sums = Symmetric::new(n);
    let mut slopes = vec![0.0; n];
    let mut cost = 0.0;
    let per = 1.0 / (noise * noise);
    for p in points {
        let residual = p.light - model(p, at, middle, Some(&mut slopes));
        let (weight, loss) = biweight(residual, noise);
        cost += 2.0 * loss * 4.685 * 4.685;
        if weight > 0.0 {
            sums.add(&slopes, residual, weight * per);
        }
    }
    let mut pull = |i: usize, value: f64, usual: f64, sd: f64| {
        sums.pull(i, ALIKE / (sd * sd), usual - value);
        cost += ALIKE * (usual - value) * (usual - value) / (sd * sd);
    };
    for (m, d) in start.iter().enumerate() {
        let i = m * EACH;
        pull(i, at[i], d.x, 2.0);
        pull(i + 1, at[i + 1], d.y, 2.0);
        pull(i + 2, at[i + 2], d.radius.clamp(RADIUS.2, RADIUS.3), RADIUS.1);
        pull(i + 4, at[i + 4], SOFT.0, SOFT.1);
    }
    pull(n - 2, at[n - 2], 0.0, 0.25);
    pull(n - 1, at[n - 1], 0.0, 0.25);
    (sums, cost)
}

/// The next numbers, within what they may be.
fn held(at: &[f64], step: &[f64], n: usize) -> Vec<f64> {
    let mut next: Vec<f64> = at.iter().zip(step).map(|(a, s)| a + s).collect();
    for d in next[..n - GROUND].chunks_exact_mut(EACH) {
        d[2] = d[2].clamp(RADIUS.2, RADIUS.3);
        d[3] = d[3].clamp(0.0, 4.0);
        d[4] = d[4].clamp(SOFT.2, SOFT.3);
    }
    next
}

/// The spread of the residuals by their median size (normal: 1.4826 times it).
fn spread(points: &[Point], at: &[f64], middle: [f64; 2]) -> f64 {
    let mut all: Vec<f64> = points.iter().map(|p| (p.light - model(p, at, middle, None)).abs()).collect();
    all.sort_by(f64::total_cmp);
    1.4826 * all.get(all.len() / 2).copied().unwrap_or(0.1)
}
