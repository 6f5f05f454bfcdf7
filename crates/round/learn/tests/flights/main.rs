//! Flights with known answers: closed forms, open recordings, simulated flights.

mod built;
mod closed_form;
#[path = "../../../fly/tests/simulated/model.rs"]
mod model;
mod open_flights;
mod simulated;
