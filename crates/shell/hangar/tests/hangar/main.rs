//! Does the hangar keep what it is given, through kills, damage, strangers and two writers?
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

mod child;
mod damage;
mod exchange;
mod full;
mod keeping;
mod kill;
mod opening;
mod upkeep;
mod writers;
