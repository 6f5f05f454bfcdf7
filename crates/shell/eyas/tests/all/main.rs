//! The command line from outside: what it prints, leaves and returns.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod bad_input;
mod bench;
mod day;
mod documents;
mod launch;
mod round;
mod templates;
mod unfit;
mod upkeep;
