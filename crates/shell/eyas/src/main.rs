//! `eyas`: from the bench to an everyday aircraft. The only crate that touches terminal and disk.

mod cli;
mod files;
mod json;
mod tasks;
mod tell;
mod web;

use std::process::ExitCode;

fn main() -> ExitCode {
    // An internal fault has its own exit status, so that scripts can tell it from wrong input.
    std::panic::catch_unwind(cli::run).unwrap_or_else(|_| ExitCode::from(tell::INTERNAL))
}
