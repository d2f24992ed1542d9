//! The product as a person meets it: the built program, files and folders.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test may stop at what it did not expect"
)]

mod bench;
mod cli;
mod damage;
mod delivery;
mod demo;
mod erase;
mod export;
mod fly;
mod fly_batch;
mod kill;
mod kill_exchange;
mod looks;
#[cfg(feature = "parquet")]
mod parquet;
mod people;
mod photo;
mod plan;
mod serve;
mod snapshots;
mod trial;
mod watch;
#[cfg(feature = "object-store")]
mod watch_store;
