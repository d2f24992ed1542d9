//! A picture made small and upright, for a screen to show it under handles and marks.
//!
//! The rule: what is shown has the upright picture's proportions, whatever the bytes said
//! of its turn; nothing of its other contents (place, time, camera) comes along. Start at
//! [`preview`].

use super::decode::decode;
use super::error::PhotoError;

/// The longest side of what is shown, pixels.
const LONGEST: usize = 1280;
/// Of 100; marks of powder stay clear, and the bytes few.
const JPEG_QUALITY: u8 = 80;

/// A small upright picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// Width and height of the upright picture that it shows, pixels.
    pub size_px: [usize; 2],
    /// The small picture, as JPEG.
    pub jpeg: Vec<u8>,
}

/// Makes a picture small and upright.
///
/// # Errors
/// As [`super::read`] for bytes that are no picture.
pub fn preview(bytes: &[u8]) -> Result<Preview, PhotoError> {
    let raw = decode(bytes)?;
    let (width, height) = raw.upright();
    let small = raw.shrunk(width.max(height).div_ceil(LONGEST), true);
    drop(raw);
    let (across, down) = (small.luma.width as u16, small.luma.height as u16);
    let mut jpeg = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut jpeg, JPEG_QUALITY);
    let written = match (&small.blue, &small.red) {
        (Some(blue), Some(red)) => {
            let planes = small.luma.data.iter().zip(&blue.data).zip(&red.data);
            let all: Vec<u8> = planes.flat_map(|((y, b), r)| [*y, *b, *r]).collect();
            encoder.encode(&all, across, down, jpeg_encoder::ColorType::Ycbcr)
        }
        _ => encoder.encode(&small.luma.data, across, down, jpeg_encoder::ColorType::Luma),
    };
    written.map_err(|error| PhotoError::Damaged { what: error.to_string() })?;
    Ok(Preview { size_px: [width, height], jpeg })
}
