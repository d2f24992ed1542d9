//! The brightness of a picture, upright and small: for what is not about the face, such
//! as a code that somebody holds up to the camera. Start at [`grey`].

use super::decode::decode;
use super::error::PhotoError;

/// Brightness, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grey {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// 0 is black, 255 white.
    pub luma: Vec<u8>,
}

/// The brightness of a JPEG or PNG, upright, made smaller by a whole number so that its
/// longer side has at most twice `about` pixels.
///
/// # Errors
/// A [`PhotoError`] for what is no picture of a usable size.
pub fn grey(bytes: &[u8], about: usize) -> Result<Grey, PhotoError> {
    let raw = decode(bytes)?;
    let (width, height) = raw.upright();
    let small = raw.shrunk(width.max(height) / about.max(1), false).luma;
    Ok(Grey { width: small.width, height: small.height, luma: small.data })
}
