//! What is done with bytes that come from elsewhere: each function may answer an error,
//! and must do nothing else.
//!
//! The same functions are run on the kept corpora by the ordinary tests
//! (tests/src/corpora.rs), without any fuzzer. Start at [`TARGETS`].

/// A target: what it is called, and what takes the bytes.
pub type Target = (&'static str, fn(&[u8]));

include!("targets.rs");
