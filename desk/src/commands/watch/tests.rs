//! What every place has to keep to; a store keeps to it in `store/tests.rs`.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test may stop at what it did not expect"
)]

use std::fs;
use std::io::Read;

use chalkface_core::book::BookError;

use super::place::{Folder, Place};

fn put(place: &dyn Place, name: &str, bytes: &[u8]) {
    place
        .put(name, &mut |path| {
            fs::write(path, bytes).unwrap();
            Ok(())
        })
        .unwrap();
}

fn read(place: &dyn Place, name: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    place.open(name).unwrap()?.read_to_end(&mut bytes).unwrap();
    Some(bytes)
}

fn names(place: &dyn Place) -> Vec<String> {
    place.files().unwrap().into_iter().map(|file| file.name).collect()
}

/// Puts, lists and reads files, `big` of so many bytes.
pub(super) fn keeps_to_it(place: &dyn Place, big: usize) {
    assert!(names(place).is_empty());
    put(place, "b-1.chalk", b"one");
    put(place, "a-2.chalk", b"two");
    put(place, "notes.txt", b"not looked at");
    assert_eq!(names(place), ["a-2.chalk", "b-1.chalk"]);
    assert_eq!(read(place, "b-1.chalk").unwrap(), b"one");
    assert!(read(place, "c-3.chalk").is_none());
    // Written anew it looks different, even at the same length; the other one doesn't.
    let state = |at: usize| place.files().unwrap()[at].state.clone();
    let before = [state(0), state(1)];
    std::thread::sleep(std::time::Duration::from_millis(20));
    put(place, "b-1.chalk", b"eno");
    assert_eq!((state(0) == before[0], state(1) == before[1]), (true, false));
    assert_eq!(read(place, "b-1.chalk").unwrap(), b"eno");
    // What could not be written changes nothing there.
    assert!(place.put("b-1.chalk", &mut |_| Err(BookError::NeedsGuardian)).is_err());
    assert_eq!(read(place, "b-1.chalk").unwrap(), b"eno");
    // Neither few nor many bytes are any different.
    for length in [1, big] {
        let bytes: Vec<u8> = (0..length).map(|n| (n * 31 % 251) as u8).collect();
        put(place, "size.chalk", &bytes);
        assert!(read(place, "size.chalk").unwrap() == bytes, "{length} bytes came back otherwise");
    }
    assert!(place.shown("a-2.chalk").ends_with("a-2.chalk"));
}

#[test]
fn a_folder_keeps_whole_files_and_tells_new_from_old() {
    let folder = tempfile::tempdir().unwrap();
    keeps_to_it(&Folder::new(folder.path()).unwrap(), 100_000);
    assert!(Folder::new(&folder.path().join("nowhere")).is_err());
}
