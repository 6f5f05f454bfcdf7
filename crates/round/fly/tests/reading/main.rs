//! Recordings read from outside the crate: open data, invented variants, damage.

mod damage;
mod inputs;
mod invented;
mod open_data;
mod phases;
mod sense;
mod tracks;
mod variants;
