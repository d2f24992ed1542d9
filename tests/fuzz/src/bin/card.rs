//! The fuzzer's target of this name; see the library.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| chalkface_fuzz::card(bytes));
