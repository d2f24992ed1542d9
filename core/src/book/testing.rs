//! For tests of all parts: books whose owners have keys and know each other.

#![allow(clippy::missing_panics_doc, reason = "a test may stop at what it did not expect")]

use crate::book::{Book, StudentEntry};
use crate::model::{AuthorId, Moment, Name, Now};
use crate::sync::{DeviceKeys, RootKey};

const AT: Now = Now { at: Moment { utc_ms: 1_700_000_000_000, offset_min: 60 }, entropy: [77; 16] };

/// The keys of a test's book: the same each time they are asked for.
pub fn keys(book: &Book) -> DeviceKeys {
    let of = |author: AuthorId| {
        let mut entropy = [0; 32];
        entropy[..16].copy_from_slice(author.bytes());
        DeviceKeys::from_entropy(author, &entropy).unwrap()
    };
    // A device that came back from an old copy keeps the keys that it began with.
    let Some(own) = book.identity().unwrap() else { return of(book.device()) };
    let this = own.device(book.device()).map(|device| device.signing);
    let began = own.devices().into_iter().map(|(device, _)| of(device.author));
    began.into_iter().find(|keys| Some(keys.signing_public()) == this).unwrap_or_else(|| of(book.device()))
}

/// The root of a test's person: the same each time it is asked for.
pub fn root(book: &Book) -> RootKey {
    RootKey::from_entropy(*book.device().bytes())
}

/// Makes two books' owners known to each other.
pub fn meet(one: &mut Book, other: &mut Book) {
    for book in [&mut *one, &mut *other] {
        if book.identity().unwrap().is_none() {
            let (keys, root) = (keys(book), root(book));
            book.begin_identity(&keys, &root, AT).unwrap();
        }
    }
    let (first, second) = (one.card(&keys(one), AT).unwrap(), other.card(&keys(other), AT).unwrap());
    one.meet(&second).unwrap();
    other.meet(&first).unwrap();
}

/// The file with a strand's news, or all of it.
pub fn file(book: &mut Book, student: &StudentEntry, to: &str, now: Now, all: bool) -> Vec<u8> {
    let (keys, mut bytes) = (keys(book), Vec::new());
    book.send(&keys, student, &Name::new(to).unwrap(), now, all, &mut bytes).unwrap();
    bytes
}

/// Takes a file in.
pub fn receive(book: &mut Book, file: &[u8], now: Now) -> crate::book::Receipt {
    let keys = keys(book);
    book.receive(Some(&keys), now, file).unwrap()
}
