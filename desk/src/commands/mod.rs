//! What each command does. One file a command.

mod book;
mod brief;
mod compare;
mod delivery;
mod demo;
mod erase;
mod exchange;
mod export;
mod fly;
mod homework;
mod list;
mod pattern;
mod people;
mod photo;
mod plan;
mod record;
mod record_photo;
mod setting;
mod student;
mod today;
mod trial;
mod watch;
mod what_if;

use std::process::ExitCode;

use clap::CommandFactory;

use crate::cli::{Cli, Command};
use crate::error::DeskError;
use crate::keys::Keys;

/// Runs a command and answers the exit code.
///
/// # Errors
/// Why it could not be done; nothing was changed then.
pub fn run(cli: Cli) -> Result<ExitCode, DeskError> {
    let Cli { book: path, keys, json, command } = cli;
    let keys = Keys::of(&path, keys.as_deref());
    match command {
        Command::Book(command) => return book::run(&path, &keys, json, command),
        Command::Photo(options) => return photo::run(json, &options),
        Command::Demo(options) => demo::run(json, &options)?,
        Command::Student(command) => student::run(&path, &keys, json, command)?,
        Command::Record(command) => record::run(&path, json, command)?,
        Command::Card(options) => people::card(&path, &keys, json, &options)?,
        Command::Meet(options) => people::meet(&path, &keys, json, &options)?,
        Command::People(options) => people::people(&path, &keys, json, &options)?,
        Command::Backup(options) => people::backup(&path, json, &options)?,
        Command::Restore => people::restore(&path, &keys, json)?,
        Command::Send(options) => exchange::send(&path, &keys, json, &options)?,
        Command::Receive(options) => exchange::receive(&path, &keys, json, &options)?,
        Command::Erase(options) => erase::run(&path, &keys, json, &options)?,
        Command::Export(options) => export::export(&path, &keys, json, &options)?,
        Command::Import(options) => export::import(&path, &keys, json, &options)?,
        Command::Watch(options) => watch::run(&path, &keys, json, &options)?,
        Command::Pattern(options) => pattern::run(json, &options)?,
        Command::Compare(options) => compare::run(json, &options)?,
        Command::Fly(options) => fly::run(json, &options)?,
        Command::Delivery(options) => delivery::run(&options)?,
        Command::WhatIf(options) => what_if::run(&path, json, &options)?,
        Command::Brief(options) => brief::run(&path, json, &options)?,
        Command::Drills(options) => plan::drills(&path, json, &options)?,
        Command::Plan(options) => plan::run(&path, &keys, json, *options)?,
        Command::Today(options) => today::run(&path, json, options)?,
        Command::Trial(options) => trial::run(&path, json, *options)?,
        Command::Feel(options) => trial::feel(&path, json, &options)?,
        Command::Serve { port } => crate::serve::run(&path, keys, json, port)?,
        Command::List => list::run(&path, json)?,
        Command::Completions { shell } => {
            clap_complete::generate(shell, &mut Cli::command(), "chalkface", &mut std::io::stdout());
        }
    }
    Ok(ExitCode::SUCCESS)
}
