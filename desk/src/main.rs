//! The laptop shell: a command line over the core.
//!
//! It computes nothing: a command turns words into a call of the core, and
//! prints what that says, as text for people or as JSON for programs.
//!
//! Exit codes: 0 done; 1 could not be done, and nothing was changed; 2 the
//! command was not understood.
//!
//! # Where to start
//! [`cli`] for the commands, `commands/` for what each does.

#![cfg_attr(
    test,
    allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test may stop at what it did not expect"
    )
)]

mod cli;
mod clock;
mod commands;
mod error;
mod keys;
mod output;
mod picture;
mod progress;
mod render;
mod serve;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    let cli = cli::Cli::parse();
    let json = cli.json;
    match commands::run(cli) {
        Ok(code) => code,
        Err(error) => {
            output::complain(&error, json);
            ExitCode::FAILURE
        }
    }
}
