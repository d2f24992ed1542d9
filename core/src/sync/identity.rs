//! Which devices are a person's: signed statements that grow by union.
//!
//! The rule that must hold: what stands depends on which statements are
//! there, not on their order, and a statement without a good signature counts
//! for nothing. Why it is so stands in core/decisions/007-keys-and-runs.md.
//!
//! # Bytes
//! CBOR (RFC 8949), definite lengths. A statement is one array:
//! ```text
//! roster      [1, number, [device, ...], signature]           by the root
//! vouch       [2, number, by: 16 bytes, device, signature]    by a device
//! revocation  [3, number, by: 16 bytes, gone: 16 bytes, [kept: 16 bytes, ...], signature]
//! device      [identity: 16 bytes, signing key: 32 bytes, sealing key: 32 bytes]
//! signed      "chalkface statement 1", the root's 32 bytes, the array without
//!             its signature
//! ```
//! A roster's number is the time at which it was made, in ms since 1970, or
//! one more than the highest known. Start at [`Identity::devices`].

use std::collections::{BTreeMap, BTreeSet};

use minicbor::{Decoder, Encoder};

use super::change::decode_id;
use super::keys::{DeviceKeys, PublicKey, RootKey, SignatureBytes};
use super::proven::is_signed_as_before;
use crate::model::AuthorId;
use crate::model::fields::FieldsError;

/// The most statements that a person may have: each is a device got or lost.
pub const MOST_STATEMENTS: usize = 100;
/// The most devices that one statement may name.
const MOST_DEVICES: u64 = 32;

/// A device and its public keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Device {
    /// The identity under which it writes changes.
    pub author: AuthorId,
    /// What its signatures are checked with.
    pub signing: PublicKey,
    /// What is sealed to it.
    pub sealing: PublicKey,
}

impl Device {
    /// The public side of a device's keys.
    pub fn of(keys: &DeviceKeys) -> Self {
        Self { author: keys.author(), signing: keys.signing_public(), sealing: keys.sealing_public() }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Says {
    Roster(BTreeSet<Device>),
    Vouch { by: AuthorId, device: Device },
    Revoke { by: AuthorId, gone: AuthorId, kept: BTreeSet<AuthorId> },
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Statement {
    number: u64,
    says: Says,
    signature: SignatureBytes,
}

/// A person's public side: their root, and what was said of their devices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    root: PublicKey,
    statements: BTreeSet<Statement>,
}

impl Identity {
    /// A person whose devices are not known yet.
    pub fn unknown(root: PublicKey) -> Self {
        Self { root, statements: BTreeSet::new() }
    }

    /// A person's first roster: the device on which they begin; or, by the
    /// same words on another device, a new one in place of all before.
    ///
    /// `made_ms` is the time by the caller's clock.
    pub fn begin(&mut self, root: &RootKey, devices: &[Device], made_ms: i64) {
        let highest = self.number().unwrap_or(0);
        let number = (made_ms.max(1) as u64).max(highest.saturating_add(1));
        self.add(number, Says::Roster(devices.iter().copied().collect()), |message| root.sign(message));
    }

    /// `keys` says that `device` is the same person's. Whether that counts.
    pub fn vouch(&mut self, keys: &DeviceKeys, device: Device) -> bool {
        let number = self.number().unwrap_or(0);
        self.add(number, Says::Vouch { by: keys.author(), device }, |message| keys.sign(message));
        self.stands(device.author)
    }

    /// `keys` says that the device `gone` is lost; all others that stand stay.
    /// Whether that counts.
    pub fn revoke(&mut self, keys: &DeviceKeys, gone: AuthorId) -> bool {
        let kept = self.standing().into_iter().map(|device| device.author).filter(|a| *a != gone).collect();
        let number = self.number().unwrap_or(0);
        self.add(number, Says::Revoke { by: keys.author(), gone, kept }, |message| keys.sign(message));
        !self.stands(gone)
    }

    /// The person's root.
    pub fn root(&self) -> PublicKey {
        self.root
    }

    /// Takes in what another copy of the same person's statements says.
    pub fn merge(&mut self, other: &Self) {
        if other.root == self.root {
            self.statements.extend(other.statements.iter().cloned());
        }
    }

    /// Every device that ever was this person's, and whether it stands.
    pub fn devices(&self) -> Vec<(Device, bool)> {
        let mut ever: BTreeMap<AuthorId, Device> = BTreeMap::new();
        let mut standing = BTreeSet::new();
        let last = self.number();
        for number in self.numbers() {
            let epoch = self.epoch(number);
            if Some(number) == last {
                standing = epoch.standing();
            }
            // Who was first to use an identity keeps it.
            for (author, device) in epoch.vouched {
                ever.entry(author).or_insert(device);
            }
        }
        ever.into_values().map(|device| (device, standing.contains(&device))).collect()
    }

    /// The devices that stand.
    pub fn standing(&self) -> Vec<Device> {
        self.devices().into_iter().filter(|(_, stands)| *stands).map(|(device, _)| device).collect()
    }

    /// Whether a device stands.
    pub fn stands(&self, author: AuthorId) -> bool {
        self.standing().iter().any(|device| device.author == author)
    }

    /// A device, standing or not.
    pub fn device(&self, author: AuthorId) -> Option<Device> {
        self.devices().into_iter().map(|(device, _)| device).find(|device| device.author == author)
    }

    /// Its bytes: CBOR `[root, [statement, ...]]`.
    pub fn encode(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(64 + 200 * self.statements.len());
        let mut e = Encoder::new(&mut bytes);
        // Writing into a Vec can't fail: its error type is empty.
        let _ =
            e.array(2).and_then(|e| e.bytes(&self.root)).and_then(|e| e.array(self.statements.len() as u64));
        for statement in &self.statements {
            let _ = e.array(statement.says.items() + 1);
            statement.says.encode(statement.number, &mut e);
            let _ = e.bytes(&statement.signature);
        }
        bytes
    }

    /// The person from their bytes. Statements of newer kinds are left out,
    /// as are those whose signature can't be right whoever signed.
    ///
    /// # Errors
    /// [`FieldsError`] for bytes that are no person, or say more than anybody may.
    pub fn decode(bytes: &[u8]) -> Result<Self, FieldsError> {
        let mut d = Decoder::new(bytes);
        let identity = Self::decode_from(&mut d)?;
        if d.position() != bytes.len() {
            return Err(FieldsError("bytes left over".into()));
        }
        Ok(identity)
    }

    pub(super) fn decode_from(d: &mut Decoder<'_>) -> Result<Self, FieldsError> {
        if d.array()?.is_none_or(|n| n != 2) {
            return Err(FieldsError("no person".into()));
        }
        let mut identity = Self::unknown(decode_bytes(d)?);
        let count = d.array()?.unwrap_or(0);
        if count > MOST_STATEMENTS as u64 {
            return Err(FieldsError("more devices than anybody has".into()));
        }
        for _ in 0..count {
            let items = d.array()?.unwrap_or(0);
            identity.statements.extend(decode_statement(d, items)?);
        }
        let root = identity.root;
        identity.statements.retain(|s| !matches!(s.says, Says::Roster(_)) || s.is_by(&root, &root));
        Ok(identity)
    }

    fn add(&mut self, number: u64, says: Says, sign: impl FnOnce(&[u8]) -> SignatureBytes) {
        let signature = sign(&says.message(number, &self.root));
        self.statements.insert(Statement { number, says, signature });
    }

    /// The number of the roster that counts.
    fn number(&self) -> Option<u64> {
        self.numbers().into_iter().next_back()
    }

    fn numbers(&self) -> BTreeSet<u64> {
        self.statements.iter().filter(|s| matches!(s.says, Says::Roster(_))).map(|s| s.number).collect()
    }

    fn epoch(&self, number: u64) -> Epoch {
        let said: Vec<&Statement> = self.statements.iter().filter(|s| s.number == number).collect();
        let mut epoch = Epoch::default();
        for statement in &said {
            if let Says::Roster(devices) = &statement.says {
                epoch.vouched.extend(devices.iter().map(|device| (device.author, *device)));
                epoch.listed.extend(devices.iter().map(|device| device.author));
            }
        }
        // Vouches follow one another: until nobody new comes.
        loop {
            let before = epoch.vouched.len();
            for statement in &said {
                let Says::Vouch { by, device } = &statement.says else { continue };
                if epoch.vouched.contains_key(&device.author) {
                    continue;
                }
                let good =
                    epoch.vouched.get(by).is_some_and(|signer| statement.is_by(&signer.signing, &self.root));
                if good {
                    epoch.vouched.insert(device.author, *device);
                }
            }
            if epoch.vouched.len() == before {
                break;
            }
        }
        for statement in said {
            let (by, known) = match &statement.says {
                Says::Vouch { by, device } => (by, epoch.vouched.get(&device.author) == Some(device)),
                Says::Revoke { by, .. } => (by, true),
                Says::Roster(_) => continue,
            };
            let good =
                epoch.vouched.get(by).is_some_and(|signer| statement.is_by(&signer.signing, &self.root));
            match &statement.says {
                Says::Vouch { by, device } if good && known => {
                    epoch.vouches.push((*by, device.author));
                }
                Says::Revoke { gone, kept, .. } if good => {
                    epoch.revoked.entry(*gone).or_default().push(kept.clone());
                }
                _ => {}
            }
        }
        epoch
    }
}

/// What was said under one roster, with every signature checked.
#[derive(Default)]
struct Epoch {
    listed: BTreeSet<AuthorId>,
    vouched: BTreeMap<AuthorId, Device>,
    vouches: Vec<(AuthorId, AuthorId)>,
    /// Who was revoked, and whom each revocation keeps.
    revoked: BTreeMap<AuthorId, Vec<BTreeSet<AuthorId>>>,
}

impl Epoch {
    fn standing(&self) -> BTreeSet<Device> {
        let out = |author: &AuthorId| self.revoked.contains_key(author);
        // What a revoked device vouched for stays if every revocation of it says so.
        let keeps = |by: &AuthorId, whom: &AuthorId| {
            self.revoked.get(by).is_none_or(|all| all.iter().all(|kept| kept.contains(whom)))
        };
        let mut rooted: BTreeSet<AuthorId> = self.listed.clone();
        loop {
            let more: Vec<AuthorId> = self
                .vouches
                .iter()
                .filter(|(by, whom)| rooted.contains(by) && !rooted.contains(whom) && keeps(by, whom))
                .map(|(_, whom)| *whom)
                .collect();
            if more.is_empty() {
                break;
            }
            rooted.extend(more);
        }
        rooted
            .iter()
            .filter(|author| !out(author))
            .filter_map(|author| self.vouched.get(author))
            .copied()
            .collect()
    }
}

impl Statement {
    fn is_by(&self, signer: &PublicKey, root: &PublicKey) -> bool {
        is_signed_as_before(signer, &self.says.message(self.number, root), &self.signature)
    }
}

impl Says {
    fn items(&self) -> u64 {
        match self {
            Self::Roster(_) => 3,
            Self::Vouch { .. } => 4,
            Self::Revoke { .. } => 5,
        }
    }

    fn message(&self, number: u64, root: &PublicKey) -> Vec<u8> {
        let mut message = b"chalkface statement 1".to_vec();
        message.extend_from_slice(root);
        let mut e = Encoder::new(&mut message);
        let _ = e.array(self.items());
        self.encode(number, &mut e);
        message
    }

    fn encode(&self, number: u64, e: &mut Encoder<&mut Vec<u8>>) {
        let kind = match self {
            Self::Roster(_) => 1,
            Self::Vouch { .. } => 2,
            Self::Revoke { .. } => 3,
        };
        let _ = e.u8(kind).and_then(|e| e.u64(number));
        match self {
            Self::Roster(devices) => {
                let _ = e.array(devices.len() as u64);
                for device in devices {
                    encode_device(device, e);
                }
            }
            Self::Vouch { by, device } => {
                let _ = e.bytes(by.bytes());
                encode_device(device, e);
            }
            Self::Revoke { by, gone, kept } => {
                let _ = e.bytes(by.bytes()).and_then(|e| e.bytes(gone.bytes()));
                let _ = e.array(kept.len() as u64);
                for author in kept {
                    let _ = e.bytes(author.bytes());
                }
            }
        }
    }
}

fn decode_statement(d: &mut Decoder<'_>, items: u64) -> Result<Option<Statement>, FieldsError> {
    let (kind, number) = (d.u8()?, d.u64()?);
    let says = match (kind, items) {
        (1, 4) => {
            let mut devices = BTreeSet::new();
            for _ in 0..few(d.array()?)? {
                devices.insert(decode_device(d)?);
            }
            Says::Roster(devices)
        }
        (2, 5) => Says::Vouch { by: AuthorId::from_bytes(decode_id(d)?), device: decode_device(d)? },
        (3, 6) => {
            let by = AuthorId::from_bytes(decode_id(d)?);
            let gone = AuthorId::from_bytes(decode_id(d)?);
            let mut kept = BTreeSet::new();
            for _ in 0..few(d.array()?)? {
                kept.insert(AuthorId::from_bytes(decode_id(d)?));
            }
            Says::Revoke { by, gone, kept }
        }
        (1..=3, _) => return Err(FieldsError("a statement with too many or few items".into())),
        _ => {
            for _ in 2..items {
                d.skip()?;
            }
            return Ok(None);
        }
    };
    Ok(Some(Statement { number, says, signature: decode_bytes(d)? }))
}

fn few(count: Option<u64>) -> Result<u64, FieldsError> {
    count.filter(|n| *n <= MOST_DEVICES).ok_or_else(|| FieldsError("more devices than anybody has".into()))
}

fn encode_device(device: &Device, e: &mut Encoder<&mut Vec<u8>>) {
    let _ = e
        .array(3)
        .and_then(|e| e.bytes(device.author.bytes()))
        .and_then(|e| e.bytes(&device.signing))
        .and_then(|e| e.bytes(&device.sealing));
}

fn decode_device(d: &mut Decoder<'_>) -> Result<Device, FieldsError> {
    if d.array()? != Some(3) {
        return Err(FieldsError("no device".into()));
    }
    Ok(Device {
        author: AuthorId::from_bytes(decode_id(d)?),
        signing: decode_bytes(d)?,
        sealing: decode_bytes(d)?,
    })
}

/// Reads a byte string of one fixed length.
pub(super) fn decode_bytes<const N: usize>(d: &mut Decoder<'_>) -> Result<[u8; N], FieldsError> {
    d.bytes()?.try_into().map_err(|_| FieldsError(format!("a value that has not {N} bytes")))
}

#[cfg(test)]
mod tests;
