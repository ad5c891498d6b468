//! `evenfell`: what a weaver types, and what she gets.
//!
//! [`args`] is what was typed, [`job`] what it means once it is checked; each command has a file of
//! its own. Everything that measures lives in the library: here files are read and written,
//! and people are spoken to.

mod args;
mod batch;
mod commands;
mod compare_command;
mod demo;
#[cfg(feature = "desk")]
mod desk;
mod exit;
mod failures;
mod given;
mod in_order;
mod job;
mod names;
mod one;
mod outputs;
mod plan_command;
mod progress;
mod results;
mod sheet_command;
mod stages;
mod unfinished;
mod yardage_command;

use std::process::ExitCode;

use clap::Parser;

use args::{Cli, Command};
use exit::Outcome;

fn main() -> ExitCode {
    let outcome = match Cli::parse().command {
        Command::Demo(args) => demo::run(&args),
        #[cfg(feature = "desk")]
        Command::Desk(args) => desk::run(&args),
        Command::Measure(args) => args
            .into_job()
            .map_or_else(|error| Err(error.into()), |job| batch::run(&job)),
        Command::Compare(args) => compare_command::run(&args),
        Command::Yardage(args) => yardage_command::run(&args),
        Command::Plan(args) => plan_command::run(&args),
        Command::Sheet(args) => sheet_command::run(&args),
        Command::Schema { of } => commands::schema(of),
        Command::Completions { shell } => commands::completions(shell),
    };
    outcome.unwrap_or_else(|error| Outcome::from(&error)).into()
}
