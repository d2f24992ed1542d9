//! Writes the other languages' side of the bindings; see `tests/run` for how it is called.

fn main() {
    uniffi::uniffi_bindgen_main();
}
