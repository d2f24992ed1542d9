//! A contact card in a picture: a QR code (ISO/IEC 18004) that another device shows, on
//! paper or on a screen. Start at [`read_picture`].

use super::card::{Card, CardError};

/// The card in a picture's brightness (0 black to 255 white, row by row). Codes of
/// something else beside it don't matter.
///
/// # Errors
/// [`CardError::NoCode`] where no code can be read, [`CardError::Foreign`] where none of
/// those that are there is a card, or what is wrong with the one that is.
pub fn read_picture(luma: &[u8], width: usize, height: usize) -> Result<Card, CardError> {
    if width == 0 || height == 0 || luma.len() != width.saturating_mul(height) {
        return Err(CardError::NoCode);
    }
    let at = |x: usize, y: usize| luma.get(y * width + x).copied().unwrap_or(255);
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, at);
    let mut found = CardError::NoCode;
    for grid in image.detect_grids() {
        let Ok((_, text)) = grid.decode() else { continue };
        match Card::read(&text) {
            Ok(card) => return Ok(card),
            // Something is wrong with a card: more to the point than that another code is none.
            Err(error) if found == CardError::NoCode || error != CardError::Foreign => found = error,
            Err(_) => {}
        }
    }
    Err(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{AuthorId, Moment, Name, PersonId, Role};
    use crate::sync::{Device, DeviceKeys, Identity, RootKey};

    fn card() -> Card {
        let keys = DeviceKeys::from_entropy(AuthorId::from_bytes([1; 16]), &[1; 32]).unwrap();
        let root = RootKey::from_entropy([2; 16]);
        let mut person = Identity::unknown(root.public());
        person.begin(&root, &[Device::of(&keys)], 1_000);
        let made = Moment { utc_ms: 1_772_000_000_000, offset_min: 60 };
        Card::new(&keys, person, PersonId::from_bytes([3; 16]), Name::new("Ása").unwrap(), Role::Coach, made)
    }

    /// A code with its quiet zone, `zoom` pixels a module, darkened toward one side as
    /// by a shadow.
    fn picture(text: &str, zoom: usize) -> (Vec<u8>, usize) {
        let code = fast_qr::QRBuilder::new(text).build().unwrap();
        let side = (code.size + 8) * zoom;
        let dark = |x: usize, y: usize| {
            let (x, y) = (x / zoom, y / zoom);
            (4..code.size + 4).contains(&x) && (4..code.size + 4).contains(&y) && code[y - 4][x - 4].value()
        };
        let mut luma = Vec::new();
        for y in 0..side {
            for x in 0..side {
                let light = 250 - 100 * x / side;
                luma.push(if dark(x, y) { light / 5 } else { light } as u8);
            }
        }
        (luma, side)
    }

    #[test]
    fn a_card_is_read_from_a_picture_with_a_shadow() {
        let (luma, side) = picture(&card().text(), 5);
        assert_eq!(read_picture(&luma, side, side), Ok(card()));
    }

    #[test]
    fn another_code_an_empty_picture_and_one_of_wrong_size_say_what_they_are() {
        let (luma, side) = picture("https://example.org", 5);
        assert_eq!(read_picture(&luma, side, side), Err(CardError::Foreign));
        assert_eq!(read_picture(&[200; 10_000], 100, 100), Err(CardError::NoCode));
        assert_eq!(read_picture(&[200; 10], 100, 100), Err(CardError::NoCode));
        assert_eq!(read_picture(&[], 0, 0), Err(CardError::NoCode));
    }
}
