//! A contact card: who somebody is, for another device to know them by.
//!
//! ```text
//! card    [1, person, identity: 16 bytes, name, role (1 student, 2 coach,
//!         3 reader), made: ms since 1970 UTC, made: minutes local time is
//!         ahead, by: the device's 16 bytes, signature: 64 bytes]        CBOR
//! signed  "chalkface card 1", the array of the first eight items
//! text    "CHALK:", then the bytes in base 32 (RFC 4648, no padding)
//! ```
//! `person` is as in [`identity`](super::identity). The text has only letters
//! and digits that a QR code packs tightly; spaces, line ends and case don't
//! matter. The signature finds typing errors too. Start at [`Card::read`].

use data_encoding::BASE32_NOPAD;
use minicbor::{Decoder, Encoder};
use sha2::{Digest, Sha256};

use super::change::decode_id;
use super::identity::{Identity, decode_bytes};
use super::keys::{DeviceKeys, PublicKey, SignatureBytes, is_signed};
use crate::model::fields::FieldsError;
use crate::model::{AuthorId, Moment, Name, PersonId, Role};

const START: &str = "CHALK:";
/// The most letters that are looked at: a person with many devices fits.
pub const MOST_LETTERS: usize = 64 * 1024;

/// Why a card can't be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CardError {
    /// There is no card in the text.
    #[error("there is no contact card in this; it begins with {START}")]
    Foreign,
    /// No code can be read in a picture.
    #[error(
        "no code can be read in this picture; take it again, straight on, with the whole code and its white edge"
    )]
    NoCode,
    /// A letter is wrong or missing.
    #[error("the contact card is damaged ({0}); take it again, best as a picture or a file")]
    Damaged(String),
    /// A newer version made it.
    #[error("the contact card has version {0}, this program reads version 1; update it")]
    TooNew(u8),
}

/// Who somebody is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Card {
    /// Their root and devices.
    pub identity: Identity,
    /// Their identity in records.
    pub person: PersonId,
    /// Their name.
    pub name: Name,
    /// What they are.
    pub role: Role,
    /// When it was made, by their clock.
    pub made: Moment,
    by: AuthorId,
    signature: SignatureBytes,
}

impl Card {
    /// The card of a person, signed by one of their devices.
    pub fn new(
        keys: &DeviceKeys,
        identity: Identity,
        person: PersonId,
        name: Name,
        role: Role,
        made: Moment,
    ) -> Self {
        let mut card = Self { identity, person, name, role, made, by: keys.author(), signature: [0; 64] };
        card.signature = keys.sign(&card.message());
        card
    }

    /// The device that made it; it stands.
    pub fn by(&self) -> AuthorId {
        self.by
    }

    /// Its bytes.
    pub fn encode(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(512);
        let _ = Encoder::new(&mut bytes).array(9);
        self.encode_items(&mut bytes);
        let _ = Encoder::new(&mut bytes).bytes(&self.signature);
        bytes
    }

    /// Its text, for messages and QR codes.
    pub fn text(&self) -> String {
        format!("{START}{}", BASE32_NOPAD.encode(&self.encode()))
    }

    /// The card in a text, wherever it stands there.
    ///
    /// # Errors
    /// Any [`CardError`].
    pub fn read(text: &str) -> Result<Self, CardError> {
        let upper = |text: &str| -> String {
            text.chars()
                .take(MOST_LETTERS)
                .filter(|c| !c.is_whitespace())
                .map(|c| c.to_ascii_uppercase())
                .collect()
        };
        let all = upper(text);
        let (_, letters) = all.split_once(START).ok_or(CardError::Foreign)?;
        let end = letters.find(|c: char| !matches!(c, 'A'..='Z' | '2'..='7')).unwrap_or(letters.len());
        let letters = letters.get(..end).unwrap_or_default();
        let bytes = BASE32_NOPAD
            .decode(letters.as_bytes())
            .map_err(|error| CardError::Damaged(format!("near letter {}", error.position + 1)))?;
        Self::decode(&bytes)
    }

    /// The card from its bytes.
    ///
    /// # Errors
    /// [`CardError`] but for [`CardError::Foreign`] and [`CardError::NoCode`].
    pub fn decode(bytes: &[u8]) -> Result<Self, CardError> {
        let mut d = Decoder::new(bytes);
        let wrong = |error: FieldsError| CardError::Damaged(error.0);
        let items = d.array().map_err(FieldsError::from).map_err(wrong)?.unwrap_or(0);
        let version = d.u8().map_err(FieldsError::from).map_err(wrong)?;
        if version != 1 {
            return Err(CardError::TooNew(version));
        }
        if items != 9 {
            return Err(CardError::Damaged("its length".into()));
        }
        let card = Self::decode_items(&mut d).map_err(wrong)?;
        if d.position() != bytes.len() {
            return Err(CardError::Damaged("its end".into()));
        }
        let signer = card.identity.standing().into_iter().find(|device| device.author == card.by);
        if !signer.is_some_and(|device| is_signed(&device.signing, &card.message(), &card.signature)) {
            return Err(CardError::Damaged("its signature".into()));
        }
        Ok(card)
    }

    fn decode_items(d: &mut Decoder<'_>) -> Result<Self, FieldsError> {
        Ok(Self {
            identity: Identity::decode_from(d)?,
            person: PersonId::from_bytes(decode_id(d)?),
            name: Name::new(d.str()?).map_err(|refusal| FieldsError(refusal.to_string()))?,
            role: Role::from_code(d.i64()?).ok_or_else(|| FieldsError("an unknown role".into()))?,
            made: Moment { utc_ms: d.i64()?, offset_min: d.i16()? },
            by: AuthorId::from_bytes(decode_id(d)?),
            signature: decode_bytes(d)?,
        })
    }

    fn encode_items(&self, to: &mut Vec<u8>) {
        // Writing into a Vec can't fail: its error type is empty.
        let _ = Encoder::new(&mut *to).u8(1);
        to.extend(self.identity.encode());
        let _ = Encoder::new(to)
            .bytes(self.person.bytes())
            .and_then(|e| e.str(self.name.as_str()))
            .and_then(|e| e.i64(self.role.code()))
            .and_then(|e| e.i64(self.made.utc_ms))
            .and_then(|e| e.i16(self.made.offset_min))
            .and_then(|e| e.bytes(self.by.bytes()));
    }

    fn message(&self) -> Vec<u8> {
        let mut message = b"chalkface card 1".to_vec();
        let _ = Encoder::new(&mut message).array(8);
        self.encode_items(&mut message);
        message
    }
}

/// The check phrase of a person: six words of the English list of BIP 39, the
/// first 66 bits of SHA-256 over "chalkface check 1" and the root.
pub fn check_phrase(root: &PublicKey) -> String {
    let digest = Sha256::new().chain_update("chalkface check 1").chain_update(root).finalize();
    let bits = digest.iter().take(9).fold(0_u128, |bits, byte| bits << 8 | u128::from(*byte)) >> 6;
    let words: Vec<&str> = (0..6)
        .map(|n| (bits >> (55 - 11 * n)) as usize & 0x7ff)
        .filter_map(|at| bip39::Language::English.word_list().get(at).copied())
        .collect();
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sync::identity::Device;
    use crate::sync::keys::RootKey;
    use proptest::prelude::*;

    fn card() -> Card {
        let keys = DeviceKeys::from_entropy(AuthorId::from_bytes([3; 16]), &[3; 32]).unwrap();
        let root = RootKey::from_entropy([4; 16]);
        let mut identity = Identity::unknown(root.public());
        identity.begin(&root, &[Device::of(&keys)], 1_777_000_000_000);
        let made = Moment { utc_ms: 1_777_000_000_000, offset_min: 120 };
        let person = PersonId::from_bytes([5; 16]);
        Card::new(&keys, identity, person, Name::new("Ása O'Neil").unwrap(), Role::Coach, made)
    }

    #[test]
    fn a_card_survives_its_text_however_it_was_wrapped() {
        let text = card().text();
        assert!(text.len() < 700, "{}", text.len());
        let wrapped: String = text
            .to_lowercase()
            .chars()
            .enumerate()
            .flat_map(|(n, c)| (n % 60 == 0).then_some('\n').into_iter().chain([c]))
            .collect();
        assert_eq!(Card::read(&format!("Here it is:\n{wrapped}\n-- sent from a phone")), Ok(card()));
        assert_eq!(Card::read("CHALK without a colon"), Err(CardError::Foreign));
    }

    #[test]
    fn every_changed_byte_and_every_cut_is_noticed() {
        let bytes = card().encode();
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[at] ^= 1 << bit;
                assert!(Card::decode(&changed).is_err(), "byte {at} bit {bit}");
            }
            assert!(Card::decode(&bytes[..at]).is_err(), "cut at {at}");
        }
        assert_eq!(Card::decode(&bytes), Ok(card()));
    }

    #[test]
    fn a_check_phrase_is_six_words_and_another_for_another_person() {
        let phrase = check_phrase(&[7; 32]);
        assert_eq!(phrase.split(' ').count(), 6);
        assert_ne!(phrase, check_phrase(&[8; 32]));
    }

    proptest! {
        #[test]
        fn any_text_is_a_card_or_an_error(text in "(CHALK:)?[A-Z2-7 ]{0,80}", bytes in proptest::collection::vec(any::<u8>(), 0..80)) {
            let _ = Card::read(&text);
            let _ = Card::decode(&bytes);
        }
    }
}
