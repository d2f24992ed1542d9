//! The kept corpora of the fuzzer, file by file, without any fuzzer: whatever a file
//! holds, the answer is a value or an error. The targets themselves are shared.

use std::path::Path;

type Target = (&'static str, fn(&[u8]));

include!("../fuzz/src/targets.rs");

#[test]
fn every_kept_file_of_every_target_is_a_value_or_an_error() {
    let corpora = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus");
    for (name, target) in TARGETS {
        let mut files: Vec<_> =
            std::fs::read_dir(corpora.join(name)).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        assert!(!files.is_empty(), "{name} has no corpus");
        let size: u64 = files.iter().map(|file| file.metadata().unwrap().len()).sum();
        assert!(size < 400_000, "{name}: corpora are kept small, and this one has {size} bytes");
        for file in files {
            let bytes = std::fs::read(&file).unwrap();
            target(&bytes);
            // A cut and a changed byte of each as well.
            target(&bytes[..bytes.len() / 2]);
            let mut changed = bytes.clone();
            if let Some(byte) = changed.get_mut(bytes.len() / 3) {
                *byte ^= 0x55;
            }
            target(&changed);
        }
    }
}

#[test]
fn an_envelope_with_wrong_checks_is_read_on_behind_them() {
    // Version 1 lay open: the golden file is one as it is.
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/v1/from-coach.chalk");
    let whole = std::fs::read(golden).unwrap();
    assert_eq!(mend(&whole), whole, "good checks stay as they are");
    let mut wrong = whole.clone();
    let at = wrong.len() - 60;
    wrong[at] ^= 1;
    assert!(chalkface_core::sync::file::FileReader::new(mend(&wrong).as_slice()).is_ok());
}
