//! Who belongs to a strand, and as what.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::{Fields, Value};
use super::person::Role;
use super::record::{Kind, Record, missing, need, need_name};
use super::text::Name;

/// Somebody who may read a strand, and write in it unless they are a reader.
///
/// It says something only as far as who owns the strand wrote it; see
/// `book::members`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Member {
    /// Their name.
    pub name: Name,
    /// What they are to the student.
    pub role: Role,
    /// The public key of their root.
    pub root: [u8; 32],
    /// They don't belong to it any more: what they wrote up to then stays.
    pub left: bool,
    /// When they left: how many changes of each of their devices count.
    pub counted: Vec<([u8; 16], u64)>,
}

impl Member {
    /// Somebody who belongs to it from now on.
    pub fn new(name: Name, role: Role, root: [u8; 32]) -> Self {
        Self { name, role, root, left: false, counted: Vec::new() }
    }
}

impl Record for Member {
    const KIND: Kind = Kind::MEMBER;

    /// Field 5 is 24 bytes for each device: its identity, and a number, big endian.
    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, Some(self.role.code()));
        f.put(3, Some(Value::Bytes(self.root.to_vec())));
        f.put(4, self.left.then_some(true));
        let counted = self.counted.iter().flat_map(|(device, upto)| {
            let mut bytes = device.to_vec();
            bytes.extend(upto.to_be_bytes());
            bytes
        });
        f.put(5, (!self.counted.is_empty()).then(|| Value::Bytes(counted.collect())));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        let root = match f.get(3) {
            Some(Value::Bytes(bytes)) => bytes.as_slice().try_into().ok(),
            _ => None,
        };
        let mut counted = Vec::new();
        if let Some(Value::Bytes(bytes)) = f.get(5) {
            for one in bytes.chunks_exact(24) {
                let (device, upto) = one.split_at(16);
                if let (Ok(device), Ok(upto)) = (device.try_into(), upto.try_into()) {
                    counted.push((device, u64::from_be_bytes(upto)));
                }
            }
        }
        Ok(Self {
            name: need_name(f, 1)?,
            role: need(f.whole(2).and_then(Role::from_code), "role")?,
            root: root.ok_or_else(|| missing("root"))?,
            left: f.bool(4) == Some(true),
            counted,
        })
    }
}
