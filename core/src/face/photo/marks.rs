//! A face laid flat -> strike marks.
//!
//! A small network says where centres of marks are; soft discs are then fitted there
//! together, and give place and size to a fraction of a millimetre. The rule: what the
//! network doubts is said with its doubt, what it denies is no mark, however dark.
//! Start at [`find`].
#![allow(clippy::indexing_slicing, reason = "loops run to the maps' own sizes")]

use super::camera::FaceShape;
use super::coat::{level, within};
use super::disc::{Disc, fit};
use super::net::{Map, Net};
use super::rectify::Flat;

/// A mark on the face laid flat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    /// Where, how large, how dark.
    pub disc: Disc,
    /// Covariance of its centre from the picture alone, mm^2: xx, xy, yy.
    pub spread: [f64; 3],
    /// How sure it is a mark, 0 to 1.
    pub confidence: f64,
}

/// The network that finds marks; `core/train` makes it.
const MARKS: &[u8] = include_bytes!("marks.net");
/// A place less sure than this is no mark. Set on 376 tuning pictures (seeds 90,000 to 90,159, and from 91,000 without a
/// mark, from 92,000 hard ones): at 0.20 marks are made up on 9 of 143 clean faces, at 0.25 on 1, at 0.30 on none; of hard
/// pictures' marks 92, 88 and 84 % are found.
pub(super) const LEAST: f64 = 0.25;
/// Two centres closer than this are one mark, mm.
const APART_MM: f64 = 6.5;
/// A fitted disc this near the network's centre is believed, mm, and its centre counts for this share then.
const AGREE_MM: f64 = 0.8;
const SHARE: f64 = 0.4;
/// At most so many marks on one face.
const MOST: usize = 12;

/// Finds the marks of a face laid flat at 1 mm.
pub(super) fn find(flat: &Flat, shape: &FaceShape) -> Vec<Found> {
    let Some(seen) = Net::read(MARKS).and_then(|net| looked(&net, &channels(flat, shape))) else {
        return Vec::new();
    };
    let places = peaks(&seen, flat);
    let mut found = Vec::new();
    for group in groups(&places) {
        let start: Vec<Disc> = group.iter().map(|n| places[*n].0).collect();
        let fitted = fit(flat, &|x, y| within(shape, x, y) < 1.0, &start);
        for (k, n) in group.iter().enumerate() {
            let (disc, confidence) = places[*n];
            let own = fitted.as_ref().and_then(|f| Some((*f.discs.get(k)?, *f.covariance.get(k)?)));
            found.push(settled(disc, own, confidence));
        }
    }
    found.sort_by(|a, b| a.disc.x.total_cmp(&b.disc.x));
    found
}

/// The light over the powder's level, the same enlarged for faint marks, and where on the face.
pub(super) fn channels(flat: &Flat, shape: &FaceShape) -> Map {
    // The network works on squares of 2 x 2 mm.
    let (width, height) = (flat.light.width / 2 * 2, flat.light.height / 2 * 2);
    let level = level(flat, shape);
    let mut map = Map::new(width, height, 3);
    for j in 0..height {
        for i in 0..width {
            let over = flat.light.data[j * flat.light.width + i] - level;
            let [x, y] = flat.place(i, j);
            let place = (within(shape, x, y) as f32).clamp(0.0, 1.5) - 1.0;
            let n = (j * width + i) * 3;
            map.data[n..n + 3].copy_from_slice(&[
                over.clamp(-2.5, 1.0),
                (4.0 * over).clamp(-1.5, 1.0),
                place,
            ]);
        }
    }
    map
}

/// The network's mean look at a face as it is, left for right, upside down, and both.
///
/// A mark is a mark whichever way it lies: of tuning faces, changed at random as in training, half as many
/// marks were made up so, and centres were off by a fifth less (`core/train`'s README).
fn looked(net: &Net, face: &Map) -> Option<Map> {
    let mut mean: Option<Map> = None;
    for (x, y) in [(false, false), (true, false), (false, true), (true, true)] {
        let mut seen = flipped(&net.run(flipped(face, x, y))?, x, y);
        for cell in seen.data.chunks_exact_mut(seen.depth) {
            // Where a centre lies from the middle of its cell is turned back, too.
            for (n, turned) in [(1, x), (2, y)] {
                if let Some(off) = cell.get_mut(n).filter(|_| turned) {
                    *off = -*off;
                }
            }
        }
        match &mut mean {
            None => mean = Some(seen),
            Some(sum) => sum.data.iter_mut().zip(&seen.data).for_each(|(sum, new)| *sum += new),
        }
    }
    mean.iter_mut().flat_map(|sum| &mut sum.data).for_each(|v| *v /= 4.0);
    mean
}

/// A map with its columns, its rows, or both in the other order.
fn flipped(map: &Map, columns: bool, rows: bool) -> Map {
    let mut out = Map::new(map.width, map.height, map.depth);
    for (n, to) in out.data.chunks_exact_mut(map.depth.max(1)).enumerate() {
        let (i, j) = (n % map.width, n / map.width);
        let i = if columns { map.width - 1 - i } else { i };
        let j = if rows { map.height - 1 - j } else { j };
        to.copy_from_slice(map.at(i, j));
    }
    out
}

/// The places where the network sees a centre, the surest first.
fn peaks(seen: &Map, flat: &Flat) -> Vec<(Disc, f64)> {
    let mut all: Vec<(f64, Disc)> = Vec::new();
    for j in 0..seen.height {
        for i in 0..seen.width {
            if let [logit, dx, dy, size] = *seen.at(i, j) {
                let sure = 1.0 / (1.0 + libm::exp(-f64::from(logit)));
                if sure >= LEAST {
                    let step = 2.0 * flat.step_mm;
                    let x = (i as f64 + 0.5) * step - flat.half[0] + 2.0 * f64::from(dx).clamp(-3.0, 3.0);
                    let y = flat.half[1] - (j as f64 + 0.5) * step + 2.0 * f64::from(dy).clamp(-3.0, 3.0);
                    let radius = (11.5 + 2.0 * f64::from(size)).clamp(8.0, 15.0);
                    all.push((sure, Disc { x, y, radius, depth: 0.3, soft: 2.0 }));
                }
            }
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<(Disc, f64)> = Vec::new();
    for (sure, disc) in all {
        let near = |(k, _): &(Disc, f64)| distance(k, &disc) < APART_MM;
        if kept.len() < MOST && !kept.iter().any(near) {
            kept.push((disc, sure));
        }
    }
    kept
}

fn distance(a: &Disc, b: &Disc) -> f64 {
    ((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)).sqrt()
}

/// Marks that touch each other belong together.
fn groups(places: &[(Disc, f64)]) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..places.len()).collect();
    for a in 0..places.len() {
        for b in 0..a {
            if distance(&places[a].0, &places[b].0) < 1.2 * (places[a].0.radius + places[b].0.radius) {
                let (from, to) = (group[a].max(group[b]), group[a].min(group[b]));
                group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
            }
        }
    }
    (0..places.len())
        .map(|g| (0..places.len()).filter(|n| group[*n] == g).collect::<Vec<usize>>())
        .filter(|members| !members.is_empty())
        .collect()
}

/// What the network saw, moved toward the fitted disc: the less, the farther they are apart.
///
/// Of 72 marks of tuning pictures (seeds 1 to 58) the network's centres were within 0.87 mm in nine of ten, the discs' within
/// 1.33 (a smear's tail or a drip draws them along), both mixed so within 0.86 and nearer in the median. The
/// size is the network's: discs came out 1.5 mm too small on average, the network's without bias.
fn settled(seen: Disc, fitted: Option<(Disc, [f64; 3])>, confidence: f64) -> Found {
    match fitted {
        Some((disc, spread)) if disc.depth > 0.02 => {
            let far = distance(&disc, &seen);
            let near = (AGREE_MM / far.max(AGREE_MM)) * (AGREE_MM / far.max(AGREE_MM));
            let mixed = |a: f64, b: f64| a + SHARE * near * (b - a);
            let (x, y) = (mixed(seen.x, disc.x), mixed(seen.y, disc.y));
            let [xx, xy, yy] = stated(spread);
            let doubt = far.min(3.0) * far.min(3.0) / 8.0;
            let disc = Disc { x, y, radius: seen.radius, ..disc };
            Found { disc, spread: [xx + doubt, xy, yy + doubt], confidence }
        }
        _ => Found { disc: seen, spread: [1.5, 0.0, 1.5], confidence },
    }
}

/// How much larger the errors of rendered tuning pictures are than points taken as
/// independent say (dimples, smears and patches reach over many), and what is left with
/// no noise at all, mm^2.
const ALIKE: f64 = 12.0;
const LEFT_MM2: f64 = 0.08;

fn stated(spread: [f64; 3]) -> [f64; 3] {
    [spread[0] * ALIKE + LEFT_MM2, spread[1] * ALIKE, spread[2] * ALIKE + LEFT_MM2]
}
