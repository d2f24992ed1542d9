//! Pictures that come out: the upright one, smaller, with handles and marks drawn on it;
//! the face laid flat.
//!
//! For a person to see what was read and where. The rule: shapes as well as colours,
//! each line dark with a light seam, so that it shows on powder and on the head. Start
//! at [`overlay`].
#![allow(clippy::indexing_slicing, reason = "loops run to the picture's own size")]

use super::camera::Pixel;
use super::decode::decode;
use super::error::PhotoError;
use super::plane::Small;
use super::rectify::Flat;
use super::{Mark, Photo, STEP_MM, WORKING_SIDE};

/// The longest side of what is drawn.
const LONGEST: usize = 1600;

/// Draws what was read of a picture.
///
/// # Errors
/// As [`super::read`] for bytes that are no picture.
pub fn overlay(bytes: &[u8], photo: &Photo) -> Result<Vec<u8>, PhotoError> {
    let raw = decode(bytes)?;
    let (width, height) = raw.upright();
    let small = raw.shrunk(width.max(height).div_ceil(LONGEST), true);
    drop(raw);
    let mut canvas = Canvas::of(&small);
    let per = 1.0 / small.factor as f64;
    let to = |at: Pixel| (at.x * per, at.y * per);
    let [heel, toe, crown, sole] = photo.handles.map(to);
    for (a, b) in [(heel, toe), (crown, sole)] {
        canvas.line(a, b, 1.0, [30, 60, 200]);
    }
    for at in [heel, toe, crown, sole] {
        canvas.ring(at, 7.0, 2.0, [30, 60, 200]);
    }
    // The toe's handle is a square.
    let square = [(-11.0, -11.0), (11.0, -11.0), (11.0, 11.0), (-11.0, 11.0)];
    for n in 0..4 {
        let corner = |n: usize| (toe.0 + square[n % 4].0, toe.1 + square[n % 4].1);
        canvas.line(corner(n), corner(n + 1), 1.5, [30, 60, 200]);
    }
    for mark in &photo.marks {
        let outline = outline(photo, mark);
        for pair in outline.windows(2) {
            canvas.line(to(pair[0]), to(pair[1]), 1.5, [200, 30, 30]);
        }
        let (x, y) = to(Pixel { x: mark.u_px, y: mark.v_px });
        canvas.line((x - 6.0, y), (x + 6.0, y), 1.0, [200, 30, 30]);
        canvas.line((x, y - 6.0), (x, y + 6.0), 1.0, [200, 30, 30]);
    }
    canvas.png()
}

/// The face laid flat, grey, two pixels a millimetre, heel on the left, crown on top.
fn laid_flat(bytes: &[u8], photo: &Photo) -> Result<(Vec<u8>, usize, usize), PhotoError> {
    let raw = decode(bytes)?;
    let (width, height) = raw.upright();
    let small = raw.shrunk((width.max(height) / WORKING_SIDE).max(1), false);
    drop(raw);
    let flat = Flat::of(&small, &photo.pose, &photo.face, STEP_MM);
    Ok((flat.grey(), flat.light.width, flat.light.height))
}

/// A small picture of the face laid flat, two pixels a millimetre, as a grey JPEG of about 6,000 bytes.
///
/// # Errors
/// As [`super::read`] for bytes that are no picture.
pub fn thumbnail(bytes: &[u8], photo: &Photo) -> Result<Vec<u8>, PhotoError> {
    let (grey, across, down) = laid_flat(bytes, photo)?;
    let mut jpeg = Vec::new();
    jpeg_encoder::Encoder::new(&mut jpeg, 70)
        .encode(&grey, across as u16, down as u16, jpeg_encoder::ColorType::Luma)
        .map_err(|error| PhotoError::Damaged { what: error.to_string() })?;
    Ok(jpeg)
}

/// The face laid flat as a grey PNG: two pixels a millimetre, the face's centre in its
/// middle, heel on the left, crown on top; each pixel the mean of four places in it.
///
/// # Errors
/// As [`super::read`] for bytes that are no picture.
pub fn flat_png(bytes: &[u8], photo: &Photo) -> Result<Vec<u8>, PhotoError> {
    let (grey, across, down) = laid_flat(bytes, photo)?;
    png_of(&grey, (across, down), png::ColorType::Grayscale)
}

fn png_of(data: &[u8], size: (usize, usize), colour: png::ColorType) -> Result<Vec<u8>, PhotoError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, size.0 as u32, size.1 as u32);
    encoder.set_color(colour);
    encoder.set_depth(png::BitDepth::Eight);
    let failed = |error: png::EncodingError| PhotoError::Damaged { what: error.to_string() };
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(data).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(bytes)
}

/// A mark's edge as the camera sees it.
fn outline(photo: &Photo, mark: &Mark) -> Vec<Pixel> {
    (0..=48)
        .filter_map(|n| {
            let turn = core::f64::consts::TAU * f64::from(n) / 48.0;
            let r = mark.diameter_mm / 2.0;
            photo.pose.see(&photo.face, mark.x_mm + r * libm::cos(turn), mark.y_mm + r * libm::sin(turn))
        })
        .collect()
}

struct Canvas {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Canvas {
    fn of(small: &Small) -> Self {
        let (width, height) = (small.luma.width, small.luma.height);
        let mut rgb = Vec::with_capacity(3 * width * height);
        for n in 0..width * height {
            let y = i32::from(small.luma.data[n]);
            let of = |plane: &Option<super::plane::Plane<u8>>| {
                plane.as_ref().map_or(0, |p| i32::from(p.data[n]) - 128)
            };
            let (b, r) = (of(&small.blue), of(&small.red));
            // ITU-R BT.601 at full range, in 1/65536.
            let whole = |v: i32| ((v + 32_768) >> 16).clamp(0, 255) as u8;
            rgb.push(whole((y << 16) + 91_881 * r));
            rgb.push(whole((y << 16) - 22_554 * b - 46_802 * r));
            rgb.push(whole((y << 16) + 116_130 * b));
        }
        Self { width, height, rgb }
    }

    /// Mixes a colour into the pixels within a distance of a shape, with a light seam about it.
    fn paint(
        &mut self,
        low: (f64, f64),
        high: (f64, f64),
        half: f64,
        rgb: [u8; 3],
        far: impl Fn(f64, f64) -> f64,
    ) {
        let from = |v: f64, most: usize| ((v - half - 3.0).floor().max(0.0) as usize).min(most);
        let to = |v: f64, most: usize| ((v + half + 3.0).ceil().max(0.0) as usize).min(most);
        for y in from(low.1, self.height)..to(high.1, self.height) {
            for x in from(low.0, self.width)..to(high.0, self.width) {
                let d = far(x as f64 + 0.5, y as f64 + 0.5);
                let ink = (half + 0.5 - d).clamp(0.0, 1.0);
                let seam = (half + 1.5 - d).clamp(0.0, 1.0) * 0.6;
                for (c, value) in rgb.iter().enumerate() {
                    let at = &mut self.rgb[(y * self.width + x) * 3 + c];
                    let lit = f64::from(*at) * (1.0 - seam) + 255.0 * seam;
                    *at = (lit * (1.0 - ink) + f64::from(*value) * ink).round() as u8;
                }
            }
        }
    }

    fn line(&mut self, a: (f64, f64), b: (f64, f64), half: f64, rgb: [u8; 3]) {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let long = (dx * dx + dy * dy).max(1e-9);
        self.paint((a.0.min(b.0), a.1.min(b.1)), (a.0.max(b.0), a.1.max(b.1)), half, rgb, |x, y| {
            let t = (((x - a.0) * dx + (y - a.1) * dy) / long).clamp(0.0, 1.0);
            let (u, v) = (x - a.0 - t * dx, y - a.1 - t * dy);
            (u * u + v * v).sqrt()
        });
    }

    fn ring(&mut self, at: (f64, f64), radius: f64, half: f64, rgb: [u8; 3]) {
        self.paint((at.0 - radius, at.1 - radius), (at.0 + radius, at.1 + radius), half, rgb, |x, y| {
            (((x - at.0) * (x - at.0) + (y - at.1) * (y - at.1)).sqrt() - radius).abs()
        });
    }

    fn png(self) -> Result<Vec<u8>, PhotoError> {
        png_of(&self.rgb, (self.width, self.height), png::ColorType::Rgb)
    }
}
