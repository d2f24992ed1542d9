//! One cell of the face map: its shape, its shade and its hatching.
//!
//! Invariant: a cell is painted only where it and the face's outline meet; the
//! hatching is drawn on lines that go through the whole picture, so that
//! neighbours of one band look like one field.
//!
//! Where to start: [`Tile::painted`].

use super::scene::{Item, Point, Role, Step, Style, at};

/// Most bands of loss that can be told apart.
pub(super) const BANDS: u32 = 6;
/// Opacity of each band's shade.
const SHADES: [f64; BANDS as usize] = [0.0, 0.10, 0.20, 0.31, 0.43, 0.56];
/// Distance between the hatch lines of each band, mm; nothing for the lowest.
const GAPS_MM: [Option<f64>; BANDS as usize] =
    [None, Some(3.4), Some(2.3), Some(1.55), Some(1.05), Some(0.7)];
const HUE: Role = Role::AccentB;

/// A cell on the scene.
pub(super) struct Tile {
    pub centre: Point,
    /// Width and height, mm.
    pub size: (f64, f64),
    /// 0 for the least loss.
    pub band: u32,
}

impl Tile {
    /// Shade, hatching and edge, inside a convex outline.
    pub fn painted(&self, outline: &[Point]) -> Vec<Item> {
        let shape = self.within(outline);
        if shape.len() < 3 {
            return Vec::new();
        }
        let band = (self.band.min(BANDS - 1)) as usize;
        let shade = SHADES.get(band).copied().unwrap_or(0.0);
        let mut steps: Vec<Step> = shape.iter().map(|to| Step::Line { to: *to }).collect();
        if let (Some(first), Some(to)) = (steps.first_mut(), shape.first()) {
            *first = Step::Move { to: *to };
        }
        steps.push(Step::Close);
        let path = |style| Item::Path { steps: steps.clone(), style };
        let mut items = vec![path(Style::fill(HUE).filled(HUE, shade))];
        if let Some(Some(gap)) = GAPS_MM.get(band) {
            items.extend(hatch(&shape, *gap));
        }
        items.push(path(Style::line(Role::Paper, 0.45)));
        items
    }

    /// The outline cut by the four edges of the cell (Sutherland and Hodgman's
    /// clipping of a polygon by half planes).
    fn within(&self, outline: &[Point]) -> Vec<Point> {
        let (x, y) = (self.centre.x_mm, self.centre.y_mm);
        let (w, h) = (0.5 * self.size.0, 0.5 * self.size.1);
        let edges: [(f64, f64, f64); 4] =
            [(1.0, 0.0, x + w), (-1.0, 0.0, w - x), (0.0, 1.0, y + h), (0.0, -1.0, h - y)];
        edges.iter().fold(outline.to_vec(), |shape, &(a, b, most)| {
            let beyond = |p: &Point| a * p.x_mm + b * p.y_mm - most;
            let mut kept = Vec::with_capacity(shape.len() + 2);
            for (from, to) in shape.iter().zip(shape.iter().cycle().skip(1)) {
                let (d0, d1) = (beyond(from), beyond(to));
                if d0 <= 0.0 {
                    kept.push(*from);
                }
                if (d0 <= 0.0) != (d1 <= 0.0) {
                    kept.push(between(*from, *to, d0 / (d0 - d1)));
                }
            }
            kept
        })
    }
}

fn between(from: Point, to: Point, share: f64) -> Point {
    at(from.x_mm + share * (to.x_mm - from.x_mm), from.y_mm + share * (to.y_mm - from.y_mm))
}

/// Lines x + y = constant, `gap` apart across, where they cross a convex shape.
fn hatch(shape: &[Point], gap_mm: f64) -> Vec<Item> {
    let step = gap_mm * core::f64::consts::SQRT_2;
    let sum = |p: &Point| p.x_mm + p.y_mm;
    let low = shape.iter().map(sum).fold(f64::INFINITY, f64::min);
    let high = shape.iter().map(sum).fold(f64::NEG_INFINITY, f64::max);
    let style = Style::line(HUE, 0.22);
    super::axis::multiples(low, high, step)
        .into_iter()
        .filter_map(|level| {
            let crossings: Vec<Point> = shape
                .iter()
                .zip(shape.iter().cycle().skip(1))
                .filter_map(|(from, to)| {
                    let (d0, d1) = (sum(from) - level, sum(to) - level);
                    ((d0 < 0.0) != (d1 < 0.0)).then(|| between(*from, *to, d0 / (d0 - d1)))
                })
                .collect();
            match crossings.as_slice() {
                [from, to] => Some(Item::line(*from, *to, style)),
                _ => None,
            }
        })
        .collect()
}

/// A sample of a band for the legend.
pub(super) fn swatch(place: Point, band: u32) -> Vec<Item> {
    let (w, h) = (3.6, 1.7);
    let corner = |x: f64, y: f64| at(place.x_mm + x * w, place.y_mm + y * h);
    let outline = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    let mut items = Tile { centre: place, size: (2.0 * w, 2.0 * h), band }.painted(&outline);
    items.push(Item::Rect {
        corner: corner(-1.0, -1.0),
        width_mm: 2.0 * w,
        height_mm: 2.0 * h,
        round_mm: 0.0,
        style: Style::line(Role::Ink, 0.25),
    });
    items
}

/// A frame around the best cell.
pub(super) fn best_sign(centre: Point, size: (f64, f64)) -> Vec<Item> {
    let frame = |style| Item::Rect {
        corner: at(centre.x_mm - 0.5 * size.0, centre.y_mm - 0.5 * size.1),
        width_mm: size.0,
        height_mm: size.1,
        round_mm: 0.8,
        style,
    };
    vec![frame(Style::line(Role::Paper, 1.3)), frame(Style::line(Role::Ink, 0.7))]
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn area(shape: &[Point]) -> f64 {
        let pairs = shape.iter().zip(shape.iter().cycle().skip(1));
        0.5 * pairs.map(|(a, b)| a.x_mm * b.y_mm - b.x_mm * a.y_mm).sum::<f64>().abs()
    }

    #[test]
    fn a_cell_is_cut_to_the_outline_and_lost_outside_of_it() {
        let outline = [at(0.0, 0.0), at(10.0, 0.0), at(0.0, 10.0)];
        let tile = |x, y| Tile { centre: at(x, y), size: (4.0, 4.0), band: 3 };
        assert!((area(&tile(3.0, 3.0).within(&outline)) - 16.0).abs() < 1e-9);
        assert!((area(&tile(5.0, 5.0).within(&outline)) - 8.0).abs() < 1e-9);
        assert!(tile(9.0, 9.0).painted(&outline).is_empty());
    }

    #[test]
    fn hatching_keeps_inside_its_cell_and_grows_closer_with_the_loss() {
        let square = [at(0.0, 0.0), at(8.0, 0.0), at(8.0, 5.0), at(0.0, 5.0)];
        let mut before = 0;
        for band in 0..BANDS {
            let items = Tile { centre: at(4.0, 2.5), size: (8.0, 5.0), band }.painted(&square);
            let lines = items.iter().filter_map(|item| match item {
                Item::Line { from, to, .. } => Some((from, to)),
                _ => None,
            });
            let mut count = 0;
            for (from, to) in lines {
                count += 1;
                for p in [from, to] {
                    assert!((-1e-9..=8.0 + 1e-9).contains(&p.x_mm) && (-1e-9..=5.0 + 1e-9).contains(&p.y_mm));
                }
            }
            assert!(band == 0 && count == 0 || count > before, "band {band}: {count} lines");
            before = count;
        }
    }
}
