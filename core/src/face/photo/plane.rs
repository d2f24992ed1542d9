//! Small pictures of one number a pixel, upright, and what they are made of.
//!
//! The rule: pixels count from the top-left corner of the top-left pixel, so the
//! middle of pixel (i, j) of a plane made smaller by f lies at ((i + 0.5) f, (j + 0.5) f)
//! of the upright picture. Start at [`Raw::shrunk`].
#![allow(clippy::indexing_slicing, reason = "loops run to the planes' own sizes")]

use super::decode::{Colours, Raw};

/// One number a pixel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plane<T> {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Row by row.
    pub data: Vec<T>,
}

impl<T: Copy> Plane<T> {
    /// A plane of one value.
    pub fn new(width: usize, height: usize, value: T) -> Self {
        Self { width, height, data: vec![value; width * height] }
    }

    /// The value of a pixel; the nearest one's beyond the edge.
    pub fn near(&self, x: i64, y: i64) -> T {
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        self.data[y * self.width + x]
    }
}

impl Plane<u8> {
    /// Between four pixels, at a place in pixels of this plane; the middle of the first is at 0.5.
    pub fn between(&self, x: f64, y: f64) -> f64 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (i, j) = (x.floor(), y.floor());
        let (u, v) = (x - i, y - j);
        let (i, j) = (i as i64, j as i64);
        let at = |di, dj| f64::from(self.near(i + di, j + dj));
        (at(0, 0) * (1.0 - u) + at(1, 0) * u) * (1.0 - v) + (at(0, 1) * (1.0 - u) + at(1, 1) * u) * v
    }
}

/// Brightness and, for colour, red less brightness and blue less brightness (128 is none).
#[derive(Debug, Clone)]
pub(super) struct Small {
    /// How many pixels of the upright picture one is, along a side.
    pub factor: usize,
    /// Brightness.
    pub luma: Plane<u8>,
    /// Difference of blue; none for a grey picture.
    pub blue: Option<Plane<u8>>,
    /// Difference of red; none for a grey picture.
    pub red: Option<Plane<u8>>,
}

impl Small {
    /// The same made smaller once more, by means over squares.
    pub fn shrunk(&self, factor: usize) -> Self {
        let factor = factor.max(1);
        let mean = |plane: &Plane<u8>| {
            let (across, down) = (plane.width / factor, plane.height / factor);
            let mut out = Plane::new(across, down, 0_u8);
            let all = (factor * factor) as u32;
            for j in 0..down {
                for i in 0..across {
                    let rows = (j * factor..(j + 1) * factor).map(|y| y * plane.width + i * factor);
                    let sum: u32 = rows.flat_map(|n| &plane.data[n..n + factor]).map(|v| u32::from(*v)).sum();
                    out.data[j * across + i] = ((sum + all / 2) / all) as u8;
                }
            }
            out
        };
        Self {
            factor: self.factor * factor,
            luma: mean(&self.luma),
            blue: self.blue.as_ref().map(mean),
            red: self.red.as_ref().map(mean),
        }
    }
}

impl Raw {
    /// The upright picture's width and height.
    pub fn upright(&self) -> (usize, usize) {
        if self.hints.turn.transpose { (self.height, self.width) } else { (self.width, self.height) }
    }

    /// The upright picture made smaller by a whole number, by means over squares.
    ///
    /// Rows and columns that don't fill a square at the upright right and bottom edges are left out.
    pub fn shrunk(&self, factor: usize, with_colour: bool) -> Small {
        let factor = factor.max(1);
        let turn = self.hints.turn;
        // Along stored axes: where the squares begin, so that they count from the upright corner.
        let (flip_x, flip_y) =
            if turn.transpose { (turn.mirror_y, turn.mirror_x) } else { (turn.mirror_x, turn.mirror_y) };
        let (across, down) = (self.width / factor, self.height / factor);
        let x0 = if flip_x { self.width - across * factor } else { 0 };
        let y0 = if flip_y { self.height - down * factor } else { 0 };
        let colours = if with_colour && self.colours != Colours::Grey { 3 } else { 1 };
        let mut planes: Vec<Plane<u8>> = (0..colours)
            .map(|_| if turn.transpose { Plane::new(down, across, 0) } else { Plane::new(across, down, 0) })
            .collect();
        let mut sums = vec![[0_u32; 3]; across];
        let half = (factor * factor / 2) as u32;
        for j in 0..down {
            sums.fill([0; 3]);
            for y in y0 + j * factor..y0 + (j + 1) * factor {
                self.add_row(y, x0, factor, colours, &mut sums);
            }
            for (i, sum) in sums.iter().enumerate() {
                let (i, j) = (if flip_x { across - 1 - i } else { i }, if flip_y { down - 1 - j } else { j });
                let place = if turn.transpose { i * down + j } else { j * across + i };
                for (plane, sum) in planes.iter_mut().zip(sum) {
                    plane.data[place] = ((sum + half) / (factor * factor) as u32).min(255) as u8;
                }
            }
        }
        let mut planes = planes.into_iter();
        let luma = planes.next().unwrap_or_else(|| Plane::new(0, 0, 0));
        Small { factor, luma, blue: planes.next(), red: planes.next() }
    }

    /// Adds one stored row to the sums over squares, as brightness and colour differences.
    fn add_row(&self, y: usize, x0: usize, factor: usize, colours: usize, sums: &mut [[u32; 3]]) {
        let step = self.step();
        let row = &self.data[y * self.width * step..(y + 1) * self.width * step];
        let row = &row[x0 * step..];
        match (self.colours, colours) {
            (Colours::Grey, _) => {
                for (sum, square) in sums.iter_mut().zip(row.chunks_exact(factor)) {
                    sum[0] += square.iter().map(|v| u32::from(*v)).sum::<u32>();
                }
            }
            (Colours::Ycc, 1) => {
                for (sum, square) in sums.iter_mut().zip(row.chunks_exact(3 * factor)) {
                    sum[0] += square.iter().step_by(3).map(|v| u32::from(*v)).sum::<u32>();
                }
            }
            (Colours::Ycc, _) => {
                for (sum, square) in sums.iter_mut().zip(row.chunks_exact(3 * factor)) {
                    for pixel in square.chunks_exact(3) {
                        for (sum, v) in sum.iter_mut().zip(pixel) {
                            *sum += u32::from(*v);
                        }
                    }
                }
            }
            (Colours::Rgb, _) => {
                for (sum, square) in sums.iter_mut().zip(row.chunks_exact(3 * factor)) {
                    for pixel in square.chunks_exact(3) {
                        let ycc = ycc([pixel[0], pixel[1], pixel[2]]);
                        for (sum, v) in sum.iter_mut().zip(ycc) {
                            *sum += v;
                        }
                    }
                }
            }
        }
    }
}

/// Brightness and colour differences by ITU-R BT.601 at full range (as in JFIF), in whole numbers.
fn ycc([r, g, b]: [u8; 3]) -> [u32; 3] {
    let (r, g, b) = (i32::from(r), i32::from(g), i32::from(b));
    let whole = |sum: i32| ((sum + 32_768) >> 16).clamp(0, 255) as u32;
    [
        whole(19_595 * r + 38_470 * g + 7_471 * b),
        whole(-11_059 * r - 21_709 * g + 32_768 * b + (128 << 16)),
        whole(32_768 * r - 27_439 * g - 5_329 * b + (128 << 16)),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::exif::{Hints, Turn};
    use super::*;

    /// A picture of 5 x 3 whose numbers tell their stored places.
    fn raw(code: u32) -> Raw {
        let hints = Hints { turn: Turn::of_exif(code), focal_35mm: None };
        Raw { width: 5, height: 3, colours: Colours::Grey, data: (0..15).collect(), hints }
    }

    #[test]
    fn all_eight_orientations_come_out_upright() {
        // The first upright row for each code, from the table of Exif 2.3: which stored
        // row and column are the visual top and left.
        let rows: [&[u8]; 8] = [
            &[0, 1, 2, 3, 4],
            &[4, 3, 2, 1, 0],
            &[14, 13, 12, 11, 10],
            &[10, 11, 12, 13, 14],
            &[0, 5, 10],
            &[10, 5, 0],
            &[14, 9, 4],
            &[4, 9, 14],
        ];
        for (code, row) in (1..).zip(rows) {
            let small = raw(code).shrunk(1, true);
            assert_eq!(&small.luma.data[..row.len()], row, "orientation {code}");
            assert_eq!(raw(code).upright(), (small.luma.width, small.luma.height));
        }
    }

    #[test]
    fn squares_count_from_the_upright_corner() {
        let mean = |code| raw(code).shrunk(2, true).luma;
        assert_eq!(mean(1).data, [3, 5]);
        // Turned half round: the stored right and bottom come first.
        assert_eq!(mean(3).data, [11, 9]);
    }

    #[test]
    fn small_again_is_the_mean_of_means() {
        let data = (0..48).collect();
        let hints = Hints { turn: Turn::of_exif(1), focal_35mm: None };
        let raw = Raw { width: 8, height: 6, colours: Colours::Grey, data, hints };
        let small = raw.shrunk(2, false).shrunk(2);
        assert_eq!((small.factor, small.luma.width, small.luma.height), (4, 2, 1));
        // Means of the upper left and right 4 x 4 of rows of eight: 13.5 and 17.5, rounded up once more.
        assert!(small.luma.data.iter().zip([13, 17]).all(|(v, mean)| (*v).abs_diff(mean) <= 1));
    }

    #[test]
    fn red_green_and_blue_become_the_published_brightness() {
        // ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B.
        assert_eq!(ycc([255, 255, 255]), [255, 128, 128]);
        assert_eq!(ycc([255, 0, 0])[0], 76);
        assert_eq!(ycc([0, 255, 0])[0], 150);
        assert_eq!(ycc([0, 0, 255])[..2], [29, 255]);
    }
}
