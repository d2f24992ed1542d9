//! Keys: a person's root and a device's pair, made from entropy that the
//! caller brings, and the text in which a laptop keeps the pair.
//!
//! The rule that must hold: secrets are in no book, no file and no message;
//! only [`DeviceKeys::to_text`] and [`RootKey::phrase`] give them out, for the
//! shell to keep and for the person to write down. What they are for stands in
//! core/decisions/007-keys-and-runs.md. Start at [`DeviceKeys`].

use std::fmt::{self, Debug};

use age::secrecy::ExposeSecret;
use bech32::{Bech32, Hrp};
use bip39::{Language, Mnemonic};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};

use crate::model::AuthorId;

/// A public key's bytes: ed25519 (RFC 8032) or X25519 (RFC 7748).
pub type PublicKey = [u8; 32];
/// A signature's bytes: ed25519 (RFC 8032).
pub type SignatureBytes = [u8; 64];

/// Why keys could not be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum KeyError {
    /// The file is something else, or was changed.
    #[error("these are not the keys of a device ({0}); give the file that was made with the book")]
    NotKeys(&'static str),
    /// The words are not twelve of the list, or one of them is wrong.
    #[error("these are not the twelve words of a person ({0}); check their order and spelling")]
    NotAPhrase(String),
}

/// The key of a person, behind their twelve words. It signs which devices
/// are theirs, and nothing else.
#[derive(Clone)]
pub struct RootKey {
    entropy: [u8; 16],
    signing: SigningKey,
}

impl Debug for RootKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RootKey")
    }
}

impl RootKey {
    /// The key that grows from these unpredictable bytes.
    pub fn from_entropy(entropy: [u8; 16]) -> Self {
        Self { entropy, signing: grown("chalkface root 1", &entropy) }
    }

    /// The key behind twelve words. Upper and lower case and spaces don't matter.
    ///
    /// # Errors
    /// [`KeyError::NotAPhrase`] that names the first word that isn't in the list.
    pub fn from_phrase(phrase: &str) -> Result<Self, KeyError> {
        let low: Vec<String> = phrase.split_whitespace().map(str::to_lowercase).collect();
        if low.len() != 12 {
            return Err(KeyError::NotAPhrase(format!("{} words", low.len())));
        }
        if let Some(word) = low.iter().find(|word| Language::English.find_word(word).is_none()) {
            return Err(KeyError::NotAPhrase(format!("{word:?} is not in the list")));
        }
        let entropy = Mnemonic::parse_in_normalized(Language::English, &low.join(" "))
            .ok()
            .and_then(|words| <[u8; 16]>::try_from(words.to_entropy()).ok())
            .ok_or_else(|| KeyError::NotAPhrase("one of them is another word of the list".into()))?;
        Ok(Self::from_entropy(entropy))
    }

    /// The twelve words, by the English list and checksum of BIP 39.
    pub fn phrase(&self) -> String {
        // Sixteen bytes always have a phrase.
        Mnemonic::from_entropy(&self.entropy).map(|words| words.to_string()).unwrap_or_default()
    }

    /// Its public half: who the person is.
    pub fn public(&self) -> PublicKey {
        self.signing.verifying_key().to_bytes()
    }

    pub(super) fn sign(&self, message: &[u8]) -> SignatureBytes {
        self.signing.sign(message).to_bytes()
    }
}

/// The keys of one device: one signs, one opens what is sealed to it.
#[derive(Clone)]
pub struct DeviceKeys {
    author: AuthorId,
    signing: SigningKey,
    sealing: age::x25519::Identity,
    sealing_public: PublicKey,
}

impl Debug for DeviceKeys {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "DeviceKeys of {}", self.author)
    }
}

const HEADING: &str = "# Chalkface: the keys of one device. Keep this file to yourself, and make no copy.";

impl DeviceKeys {
    /// The keys of a device that grow from these unpredictable bytes.
    ///
    /// # Errors
    /// None that can happen with the crates as they are; they are not hidden.
    pub fn from_entropy(author: AuthorId, entropy: &[u8; 32]) -> Result<Self, KeyError> {
        let signing = grown("chalkface signing 1", entropy);
        let secret = digest("chalkface sealing 1", entropy);
        let text = bech32::encode_upper::<Bech32>(age_secret()?, &secret)
            .map_err(|_| KeyError::NotKeys("the sealing key"))?;
        Self::assemble(author, signing, &text)
    }

    fn assemble(author: AuthorId, signing: SigningKey, sealing: &str) -> Result<Self, KeyError> {
        let sealing: age::x25519::Identity =
            sealing.parse().map_err(|_| KeyError::NotKeys("the line AGE-SECRET-KEY"))?;
        let sealing_public = bech32::decode(&sealing.to_public().to_string())
            .ok()
            .and_then(|(_, bytes)| bytes.try_into().ok())
            .ok_or(KeyError::NotKeys("the line AGE-SECRET-KEY"))?;
        Ok(Self { author, signing, sealing, sealing_public })
    }

    /// The device that they belong to, by the number that it began with.
    pub fn author(&self) -> AuthorId {
        self.author
    }

    /// The same keys for another number of the same device: one that came back
    /// from an old copy of its book.
    #[must_use]
    pub fn numbered(&self, author: AuthorId) -> Self {
        Self { author, ..self.clone() }
    }

    /// What its signatures are checked with.
    pub fn signing_public(&self) -> PublicKey {
        self.signing.verifying_key().to_bytes()
    }

    /// What is sealed to it.
    pub fn sealing_public(&self) -> PublicKey {
        self.sealing_public
    }

    pub(super) fn identity(&self) -> &age::x25519::Identity {
        &self.sealing
    }

    pub(super) fn sign(&self, message: &[u8]) -> SignatureBytes {
        self.signing.sign(message).to_bytes()
    }

    /// Sixteen bytes that only these keys give for `what`: the start of SHA-256 over both.
    pub(super) fn seed(&self, what: &[u8; 32]) -> [u8; 16] {
        let whole = Sha256::new()
            .chain_update("chalkface seed 2")
            .chain_update(self.signing.as_bytes())
            .chain_update(what)
            .finalize();
        let mut seed = [0; 16];
        seed.iter_mut().zip(whole).for_each(|(to, from)| *to = from);
        seed
    }

    /// The text to keep them as: an age identity file, with ours in comments.
    pub fn to_text(&self) -> String {
        format!(
            "{HEADING}\n# device: {}\n# signing: {}\n{}\n",
            self.author,
            data_encoding::HEXLOWER.encode(self.signing.as_bytes()),
            self.sealing.to_string().expose_secret()
        )
    }

    /// The keys that a text keeps.
    ///
    /// # Errors
    /// [`KeyError::NotKeys`] that says which line is missing or wrong.
    pub fn from_text(text: &str) -> Result<Self, KeyError> {
        let after = |start: &str| text.lines().find_map(|line| line.strip_prefix(start)).map(str::trim);
        let author = after("# device: ")
            .and_then(|id| id.parse().ok())
            .map(AuthorId)
            .ok_or(KeyError::NotKeys("the line \"# device:\""))?;
        let secret = after("# signing: ")
            .and_then(|hex| data_encoding::HEXLOWER.decode(hex.as_bytes()).ok())
            .and_then(|bytes| <[u8; 32]>::try_from(bytes).ok())
            .ok_or(KeyError::NotKeys("the line \"# signing:\""))?;
        let sealing = text
            .lines()
            .find(|line| line.starts_with("AGE-SECRET-KEY-1"))
            .ok_or(KeyError::NotKeys("the line AGE-SECRET-KEY"))?;
        Self::assemble(author, SigningKey::from_bytes(&secret), sealing.trim())
    }
}

/// The X25519 public key as age writes it.
pub(super) fn age_recipient(public: &PublicKey) -> Option<age::x25519::Recipient> {
    let hrp = Hrp::parse("age").ok()?;
    bech32::encode::<Bech32>(hrp, public).ok()?.parse().ok()
}

/// Whether `signature` is `signer`'s over `message`. Keys and signatures of
/// odd forms, which some checkers accept and others don't, are not.
pub(super) fn is_signed(signer: &PublicKey, message: &[u8], signature: &SignatureBytes) -> bool {
    VerifyingKey::from_bytes(signer)
        .is_ok_and(|key| key.verify_strict(message, &Signature::from_bytes(signature)).is_ok())
}

fn age_secret() -> Result<Hrp, KeyError> {
    Hrp::parse("age-secret-key-").map_err(|_| KeyError::NotKeys("the sealing key"))
}

fn digest(what_for: &str, entropy: &[u8]) -> [u8; 32] {
    Sha256::new().chain_update(what_for).chain_update(entropy).finalize().into()
}

fn grown(what_for: &str, entropy: &[u8]) -> SigningKey {
    SigningKey::from_bytes(&digest(what_for, entropy))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(n: u8) -> DeviceKeys {
        DeviceKeys::from_entropy(AuthorId::from_bytes([n; 16]), &[n; 32]).unwrap()
    }

    #[test]
    fn keys_survive_their_text_and_a_changed_text_is_refused_by_the_line() {
        let text = keys(1).to_text();
        let again = DeviceKeys::from_text(&text).unwrap();
        assert_eq!(again.to_text(), text);
        assert_eq!(again.sealing_public(), keys(1).sealing_public());
        assert_ne!(keys(1).signing_public(), keys(2).signing_public());
        for gone in ["# device", "# signing", "AGE-SECRET"] {
            let less: String =
                text.lines().filter(|line| !line.starts_with(gone)).collect::<Vec<_>>().join("\n");
            let Err(KeyError::NotKeys(what)) = DeviceKeys::from_text(&less) else { panic!("{gone}") };
            assert!(what.contains(gone), "{what}");
        }
        let wrong = text.replace("AGE-SECRET-KEY-1", "AGE-SECRET-KEY-1Q");
        assert!(DeviceKeys::from_text(&wrong).is_err());
    }

    #[test]
    fn nothing_secret_is_shown_by_debug() {
        let root = RootKey::from_entropy([9; 16]);
        let shown = format!("{root:?} {:?}", keys(3));
        assert_eq!(shown, format!("RootKey DeviceKeys of {}", keys(3).author()));
    }

    #[test]
    fn the_phrase_of_a_published_vector_and_back() {
        // The second vector of the English list in the reference tests of BIP 39
        // (github.com/trezor/python-mnemonic, vectors.json).
        let phrase = "legal winner thank year wave sausage worth useful legal winner thank yellow";
        let root = RootKey::from_entropy([0x7f; 16]);
        assert_eq!(root.phrase(), phrase);
        let typed = phrase.to_uppercase().replace(' ', "  ");
        assert_eq!(RootKey::from_phrase(&typed).unwrap().public(), root.public());
    }

    #[test]
    fn a_wrong_word_is_named_and_swapped_words_are_noticed() {
        let phrase = RootKey::from_entropy([0x7f; 16]).phrase();
        let said = |text: &str| RootKey::from_phrase(text).unwrap_err().to_string();
        assert!(said(&phrase.replace("wave", "wawe")).contains("\"wawe\""));
        assert!(said("legal winner").contains("2 words"));
        assert!(said(&phrase.replacen("winner", "thank", 1)).contains("another word"));
    }

    #[test]
    fn a_signature_holds_for_its_message_and_signer_only() {
        let signature = keys(1).sign(b"message");
        assert!(is_signed(&keys(1).signing_public(), b"message", &signature));
        assert!(!is_signed(&keys(1).signing_public(), b"messagf", &signature));
        assert!(!is_signed(&keys(2).signing_public(), b"message", &signature));
    }

    #[test]
    fn signatures_are_those_of_rfc_8032() {
        // RFC 8032, section 7.1, test 2.
        let hex = |text: &str| data_encoding::HEXLOWER.decode(text.as_bytes()).unwrap();
        let secret = hex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb");
        let public = hex("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c");
        let signature = hex("92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
             085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00");
        let key = SigningKey::from_bytes(&secret.try_into().unwrap());
        assert_eq!(key.verifying_key().to_bytes().to_vec(), public);
        assert_eq!(key.sign(&[0x72]).to_bytes().to_vec(), signature);
        assert!(is_signed(&public.try_into().unwrap(), &[0x72], &signature.try_into().unwrap()));
    }
}
