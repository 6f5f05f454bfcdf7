//! Flights with known answers: closed forms, open recordings, simulated flights.
#![expect(clippy::unwrap_used, reason = "a test without its subject fails")]
#![expect(clippy::print_stdout, reason = "a test tells the numbers that it judges")]

mod answers;
mod built;
mod closed_form;
mod example;
mod fleet;
mod handling;
mod honest;
mod identification;
#[path = "../../../fly/tests/simulated/model.rs"]
mod model;
mod open_flights;
mod shaking;
mod simulated;
