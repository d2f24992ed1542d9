//! Signatures that were found good before, so that they are not checked again.
//!
//! Who a person's devices are is read from the same few statements with every
//! file and every screen of people: of sending and taking in small files, three
//! fifths of the time went into checking them. The rule that must hold: an answer is
//! the one that checking gives. What was not found good is checked every time.
//! Start at [`is_signed_as_before`].

use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

use sha2::{Digest, Sha256};

use super::keys::{PublicKey, SignatureBytes, is_signed};

/// So many are remembered: 32 bytes each. A book of a thousand people has about as many statements.
const MOST: usize = 2_000;

/// Digests of signer, signature and message.
static PROVEN: Mutex<BTreeSet<[u8; 32]>> = Mutex::new(BTreeSet::new());

/// As [`is_signed`], at once for what was found good before.
pub(super) fn is_signed_as_before(signer: &PublicKey, message: &[u8], signature: &SignatureBytes) -> bool {
    let what: [u8; 32] =
        Sha256::new().chain_update(signer).chain_update(signature).chain_update(message).finalize().into();
    if proven(|all| all.contains(&what)) {
        return true;
    }
    let good = is_signed(signer, message, signature);
    if good {
        proven(|all| {
            if all.len() >= MOST {
                all.clear();
            }
            all.insert(what);
        });
    }
    good
}

/// A set is whole between any two calls, so a lock that a panic left is as good as any.
fn proven<T>(with: impl FnOnce(&mut BTreeSet<[u8; 32]>) -> T) -> T {
    with(&mut PROVEN.lock().unwrap_or_else(PoisonError::into_inner))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sync::RootKey;

    #[test]
    fn a_signature_is_as_good_or_bad_the_second_time_whatever_of_it_was_changed() {
        let (root, other) = (RootKey::from_entropy([1; 16]), RootKey::from_entropy([2; 16]));
        let signature = root.sign(b"message");
        for _ in 0..2 {
            assert!(is_signed_as_before(&root.public(), b"message", &signature));
            assert!(!is_signed_as_before(&root.public(), b"massage", &signature));
            assert!(!is_signed_as_before(&other.public(), b"message", &signature));
            for at in 0..signature.len() {
                let mut changed = signature;
                changed[at] ^= 1;
                assert!(!is_signed_as_before(&root.public(), b"message", &changed), "byte {at}");
            }
        }
    }

    #[test]
    fn more_signatures_than_are_remembered_are_still_told_from_bad_ones() {
        let root = RootKey::from_entropy([3; 16]);
        let signed: Vec<_> = (0..MOST + 10).map(|n| (n.to_le_bytes(), root.sign(&n.to_le_bytes()))).collect();
        assert!(signed.iter().all(|(message, by)| is_signed_as_before(&root.public(), message, by)));
        assert!(proven(|all| all.len()) <= MOST);
        let crossed = signed.iter().zip(&signed[1..]);
        assert!(crossed.take(50).all(|((message, _), (_, by))| !is_signed_as_before(
            &root.public(),
            message,
            by
        )));
    }
}
