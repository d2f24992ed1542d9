//! The decoder's fast paths against its plain ones.

use super::*;

/// Phones and laptops have other vector instructions than this machine; what a picture's
/// bytes decode to must not depend on them.
#[test]
fn the_plain_decoder_and_the_one_with_vector_instructions_give_the_same_pixels() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/photo/pictures");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let mut tried = 0;
    for path in paths.iter().filter(|path| path.extension().is_some_and(|e| e == "jpg")).step_by(6) {
        let bytes = std::fs::read(path).unwrap();
        let fast = jpeg(&bytes, DecoderOptions::default()).unwrap();
        let plain = jpeg(&bytes, DecoderOptions::new_safe()).unwrap();
        assert!(fast.data == plain.data, "{} differs", path.display());
        tried += 1;
    }
    assert!(tried >= 6, "{tried}");
}
