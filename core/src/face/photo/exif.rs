//! What a camera says about its picture: which way is up, and the lens.
//!
//! The rule: a hint that makes no sense counts as none; pictures are read without it.

use exif::{In, Reader, Tag};

/// How stored pixels become upright ones (Exif 2.3, tag Orientation).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Turn {
    /// Rows become columns, before anything is mirrored.
    pub transpose: bool,
    /// Then left and right change places.
    pub mirror_x: bool,
    /// Then top and bottom change places.
    pub mirror_y: bool,
}

impl Turn {
    /// The turn of an Exif orientation; 0 and unknown ones are none.
    pub fn of_exif(code: u32) -> Self {
        let of = |transpose, mirror_x, mirror_y| Self { transpose, mirror_x, mirror_y };
        match code {
            2 => of(false, true, false),
            3 => of(false, true, true),
            4 => of(false, false, true),
            5 => of(true, false, false),
            6 => of(true, true, false),
            7 => of(true, true, true),
            8 => of(true, false, true),
            _ => Self::default(),
        }
    }
}

/// What is said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Hints {
    /// Which way is up.
    pub turn: Turn,
    /// Focal length in mm of a lens with the same view on 36 x 24 mm film.
    pub focal_35mm: Option<f64>,
}

/// Reads the hints out of the bytes of an Exif block (a TIFF structure).
pub(super) fn hints(exif: &[u8]) -> Hints {
    // Some writers keep the block's own name in front.
    let tiff = exif.strip_prefix(b"Exif\0\0").unwrap_or(exif);
    let Ok(read) = Reader::new().read_raw(tiff.to_vec()) else { return Hints::default() };
    let number = |tag| read.get_field(tag, In::PRIMARY).and_then(|field| field.value.get_uint(0));
    Hints {
        turn: number(Tag::Orientation).map(Turn::of_exif).unwrap_or_default(),
        focal_35mm: number(Tag::FocalLengthIn35mmFilm).filter(|mm| (10..=300).contains(mm)).map(f64::from),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A TIFF block with one or two short entries.
    fn block(entries: &[(u16, u16)]) -> Vec<u8> {
        let mut bytes = b"MM\0*\0\0\0\x08".to_vec();
        bytes.extend((entries.len() as u16).to_be_bytes());
        for (tag, value) in entries {
            bytes.extend(tag.to_be_bytes());
            bytes.extend([0, 3, 0, 0, 0, 1]);
            bytes.extend(value.to_be_bytes());
            bytes.extend([0, 0]);
        }
        bytes.extend([0; 4]);
        bytes
    }

    #[test]
    fn the_orientation_is_read_with_and_without_the_blocks_name() {
        let plain = block(&[(0x0112, 6)]);
        let mut named = b"Exif\0\0".to_vec();
        named.extend(&plain);
        for bytes in [plain, named] {
            assert_eq!(hints(&bytes).turn, Turn { transpose: true, mirror_x: true, mirror_y: false });
        }
    }

    #[test]
    fn nonsense_is_no_hint() {
        assert_eq!(hints(b"MM\0*"), Hints::default());
        assert_eq!(hints(&[]), Hints::default());
        assert_eq!(hints(&block(&[(0x0112, 77)])), Hints::default());
    }
}
