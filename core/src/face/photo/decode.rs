//! Bytes of a file -> one buffer of pixels, with how to turn it upright.
//!
//! The rule: nothing is reserved before the size that the header states was
//! checked, and there is one buffer of the size of the picture. What the file is
//! called does not matter, only what it is. Start at [`decode`].

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::error::PhotoError;
use super::exif::{Hints, hints};

/// The most pixels that are decoded: what the main cameras of phones take, twice over.
pub const MOST_PIXELS: u64 = 26_000_000;
/// The longest side that is decoded.
pub const MOST_SIDE: u64 = 12_000;
/// The shortest side that can show a mark: on a face that fills it a mark is 50 pixels across.
pub const LEAST_SIDE: u64 = 240;

/// How the three numbers of a pixel are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Colours {
    /// Only brightness.
    Grey,
    /// Brightness and two differences of colour (ITU-R BT.601, full range, as in JFIF).
    Ycc,
    /// Red, green, blue.
    Rgb,
}

/// A decoded picture as it was stored.
#[derive(Debug)]
pub(super) struct Raw {
    /// Pixels across, as stored.
    pub width: usize,
    /// Pixels down, as stored.
    pub height: usize,
    /// How the numbers are meant.
    pub colours: Colours,
    /// One or three numbers a pixel, row by row.
    pub data: Vec<u8>,
    /// How to turn it upright, and the lens.
    pub hints: Hints,
}

impl Raw {
    /// Numbers a pixel.
    pub fn step(&self) -> usize {
        match self.colours {
            Colours::Grey => 1,
            Colours::Ycc | Colours::Rgb => 3,
        }
    }
}

/// Decodes a JPEG or PNG.
///
/// # Errors
/// [`PhotoError`] for everything that is no still picture of a usable size in one of
/// these formats, whole.
pub(super) fn decode(bytes: &[u8]) -> Result<Raw, PhotoError> {
    match bytes {
        [] => Err(PhotoError::Empty),
        [0xff, 0xd8, 0xff, ..] => guarded(|| jpeg(bytes, DecoderOptions::default())),
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => guarded(|| png(bytes)),
        _ => Err(other(bytes)),
    }
}

/// Runs a decoder; should it panic on bytes that nobody thought of, that is an error too.
fn guarded(decode: impl FnOnce() -> Result<Raw, PhotoError>) -> Result<Raw, PhotoError> {
    catch_unwind(AssertUnwindSafe(decode)).unwrap_or_else(|_| Err(damaged("the decoder gave up")))
}

#[allow(clippy::needless_pass_by_value, reason = "it is what map_err hands on")]
fn damaged(what: impl ToString) -> PhotoError {
    let what: String = what.to_string().chars().filter(|c| !c.is_control()).take(120).collect();
    PhotoError::Damaged { what }
}

/// Refuses sizes that can't be used, before anything is reserved.
fn check_size(width: u64, height: u64) -> Result<(), PhotoError> {
    if width > MOST_SIDE || height > MOST_SIDE || width.saturating_mul(height) > MOST_PIXELS {
        return Err(PhotoError::TooLarge { width, height, most: MOST_PIXELS, side: MOST_SIDE });
    }
    if width.min(height) < LEAST_SIDE {
        return Err(PhotoError::TooSmall { width, height, least: LEAST_SIDE });
    }
    Ok(())
}

fn jpeg(bytes: &[u8], options: DecoderOptions) -> Result<Raw, PhotoError> {
    // Strict: a picture that is cut short is told, not filled with grey. Scans are
    // limited because a small file can ask for many over the whole picture.
    let options = options
        .set_max_width(MOST_SIDE as usize)
        .set_max_height(MOST_SIDE as usize)
        .jpeg_set_max_scans(32)
        .set_strict_mode(true);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    if let Some((width, height)) = jpeg_size(bytes) {
        check_size(width, height)?;
    }
    decoder.decode_headers().map_err(|error| damaged(format!("{error:?}")))?;
    let info = decoder.info().ok_or_else(|| damaged("no header"))?;
    let (width, height) = (usize::from(info.width), usize::from(info.height));
    check_size(width as u64, height as u64)?;
    let (colours, out) = match decoder.input_colorspace() {
        Some(ColorSpace::Luma) => (Colours::Grey, ColorSpace::Luma),
        Some(ColorSpace::YCbCr) => (Colours::Ycc, ColorSpace::YCbCr),
        Some(ColorSpace::RGB) => (Colours::Rgb, ColorSpace::RGB),
        Some(ColorSpace::CMYK | ColorSpace::YCCK) => return Err(PhotoError::PrintColours),
        other => return Err(damaged(format!("colours {other:?}"))),
    };
    let hints = decoder.exif().map(|exif| hints(exif)).unwrap_or_default();
    decoder.set_options(options.jpeg_set_out_colorspace(out));
    let data = decoder.decode().map_err(|error| damaged(format!("{error:?}")))?;
    whole(Raw { width, height, colours, data, hints })
}

/// The size in a JPEG's frame header (ISO/IEC 10918-1, B.2.2), so that it is told also
/// where the decoder stops at it.
fn jpeg_size(bytes: &[u8]) -> Option<(u64, u64)> {
    let mut at = 2_usize;
    loop {
        let [0xff, marker, high, low] = *bytes.get(at..at.checked_add(4)?)? else { return None };
        match marker {
            0xff => at += 1,
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                let [_, h1, h0, w1, w0] = *bytes.get(at + 4..at + 9)? else { return None };
                return Some((
                    u64::from(u16::from_be_bytes([w1, w0])),
                    u64::from(u16::from_be_bytes([h1, h0])),
                ));
            }
            0xda | 0xd9 => return None,
            _ => at += 2 + usize::from(u16::from_be_bytes([high, low])),
        }
    }
}

fn png(bytes: &[u8]) -> Result<Raw, PhotoError> {
    let mut decoder = png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: 64 << 20 });
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    // 16 bits a channel are read by their upper eight, palettes and few bits spread out.
    decoder.set_transformations(png::Transformations::EXPAND | png::Transformations::STRIP_16);
    let header = decoder.read_header_info().map_err(damaged)?;
    check_size(u64::from(header.width), u64::from(header.height))?;
    let mut reader = decoder.read_info().map_err(damaged)?;
    let info = reader.info();
    if info.animation_control.is_some_and(|control| control.num_frames > 1) {
        return Err(PhotoError::Animated);
    }
    let (width, height) = (info.width as usize, info.height as usize);
    let hints = info.exif_metadata.as_deref().map(hints).unwrap_or_default();
    let interlaced = info.interlaced;
    let (colour, depth) = reader.output_color_type();
    if depth != png::BitDepth::Eight {
        return Err(damaged("an unknown depth"));
    }
    let (colours, step, stored) = match colour {
        png::ColorType::Grayscale => (Colours::Grey, 1, 1),
        png::ColorType::GrayscaleAlpha => (Colours::Grey, 1, 2),
        png::ColorType::Rgb => (Colours::Rgb, 3, 3),
        png::ColorType::Rgba => (Colours::Rgb, 3, 4),
        png::ColorType::Indexed => return Err(damaged("a palette without colours")),
    };
    let mut data = Vec::new();
    if interlaced {
        let size = reader.output_buffer_size().ok_or_else(|| damaged("its size"))?;
        let mut whole = vec![0; size];
        reader.next_frame(&mut whole).map_err(damaged)?;
        data.reserve_exact(width * height * step);
        for pixel in whole.chunks_exact(stored).take(width * height) {
            data.extend(pixel.iter().take(step));
        }
    } else {
        data.reserve_exact(width * height * step);
        while let Some(row) = reader.next_row().map_err(damaged)? {
            if data.len() >= width * height * step {
                break;
            }
            if stored == step {
                data.extend_from_slice(row.data());
            } else {
                row.data().chunks_exact(stored).for_each(|pixel| data.extend(pixel.iter().take(step)));
            }
        }
    }
    whole(Raw { width, height, colours, data, hints })
}

/// Refuses a buffer that is not of the stated size.
fn whole(raw: Raw) -> Result<Raw, PhotoError> {
    if raw.data.len() == raw.width * raw.height * raw.step() {
        Ok(raw)
    } else {
        Err(damaged("rows are missing"))
    }
}

/// What the bytes are, where they are neither JPEG nor PNG.
fn other(bytes: &[u8]) -> PhotoError {
    const AS_JPEG: &str =
        "save or share it as JPEG (on most phones: a setting of the camera, \"most compatible\")";
    let still = |format| PhotoError::OtherFormat { format, todo: AS_JPEG };
    let at = |n: usize, what: &[u8]| bytes.get(n..n + what.len()) == Some(what);
    if at(4, b"ftyp") {
        return match bytes.get(8..12) {
            Some(b"heic" | b"heix" | b"heim" | b"heis" | b"mif1" | b"msf1" | b"hevc") => still("HEIC"),
            Some(b"avif" | b"avis") => still("AVIF"),
            _ => PhotoError::OtherFormat { format: "a film", todo: "choose a still picture" },
        };
    }
    if at(0, b"GIF8") {
        return PhotoError::OtherFormat { format: "GIF", todo: "choose the photo itself, as JPEG or PNG" };
    }
    if at(0, b"RIFF") && at(8, b"WEBP") {
        return still("WebP");
    }
    if at(0, b"II*\0") || at(0, b"MM\0*") {
        return still("TIFF or a camera's raw format");
    }
    if at(0, b"BM") && bytes.len() > 26 {
        return still("BMP");
    }
    if at(0, b"%PDF") {
        return PhotoError::OtherFormat { format: "PDF", todo: "choose the photo itself, as JPEG or PNG" };
    }
    PhotoError::NotAPicture
}

#[cfg(test)]
mod tests;
