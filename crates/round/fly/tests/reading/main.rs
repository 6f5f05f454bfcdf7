//! Recordings read from outside the crate: open data, invented variants, damage.
#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test that cannot go on fails, and reference data are files"
)]

mod align;
mod clocks;
mod damage;
mod export;
mod inputs;
mod invented;
mod layouts;
mod mutations;
mod open_data;
mod phases;
mod sense;
mod tracks;
mod variants;
