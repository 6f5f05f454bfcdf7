//! Recordings read from outside the crate: open data, invented variants, damage.

mod invented;
mod open_data;
mod variants;
