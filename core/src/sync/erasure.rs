//! What an erasure says: that something is gone, and nothing else.
//!
//! An erasure is a change of kind 16 whose record number is a *tag*: a hash of
//! what it is about, which nobody can turn round, since a record's number has 62
//! random bits. Its body is `[{1: scope}]`, and it replaces nothing:
//! ```text
//! tag    the first 16 bytes of SHA-256("chalkface erased 1" + strand + u16 kind
//!        + record), as a UUID of version 8 (RFC 9562); kind and record are zeros
//!        for all of the strand
//! scope  1 the record, by whoever wrote it   2 what its author's person wrote
//!        of it                               3 all of the strand
//! ```
//! The rule that must hold: what is erased stays so; no later write, and no copy
//! of an earlier one, brings it back. Who may say so stands in `book::members`,
//! what becomes of the signatures in [`run`](super::run). Start at [`tag`].

use sha2::{Digest, Sha256};

use super::change::Body;
use crate::model::record::coded;
use crate::model::{Kind, RecordId, StrandId, Value};

coded!(
    /// How much an erasure takes.
    Scope, "scope" {
        /// The record, whoever wrote it.
        Record = 1 "the record",
        /// What the person who says so wrote of the record.
        Own = 2 "what its writer wrote",
        /// All of the strand.
        Strand = 3 "all",
    }
);

const SCOPE: u16 = 1;

/// What names a record in an erasure.
pub fn tag(strand: StrandId, kind: Kind, record: RecordId) -> RecordId {
    let digest = Sha256::new()
        .chain_update("chalkface erased 1")
        .chain_update(strand.bytes())
        .chain_update(kind.0.to_be_bytes())
        .chain_update(record.bytes())
        .finalize();
    let mut bytes = [0; 16];
    for (to, from) in bytes.iter_mut().zip(digest) {
        *to = from;
    }
    RecordId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}

/// What names all of a strand in an erasure.
pub fn tag_of_all(strand: StrandId) -> RecordId {
    tag(strand, Kind(0), RecordId::from_bytes([0; 16]))
}

/// Whether records of a kind may be erased one by one: who belongs to a strand,
/// and what was erased, are said for good.
pub fn may_go(kind: Kind) -> bool {
    ![Kind::MEMBER, Kind::ERASURE].contains(&kind)
}

/// The body of an erasure.
pub fn body(scope: Scope) -> Body {
    let fields = [(SCOPE, Value::from(scope.code()))].into_iter().collect();
    Body { fields, replaces: Vec::new() }
}

/// The scope that a body says, if it is that of an erasure.
pub fn scope(of: &Body) -> Option<Scope> {
    let only = of.fields.len() == 1 && of.replaces.is_empty();
    of.fields.whole(SCOPE).filter(|_| only).and_then(Scope::from_code)
}
