//! Flights with known answers: closed forms, open recordings, simulated flights.

mod built;
mod closed_form;
