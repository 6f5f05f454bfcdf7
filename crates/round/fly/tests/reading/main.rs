//! Recordings read from outside the crate: open data, invented variants, damage.

mod align;
mod damage;
mod export;
mod inputs;
mod invented;
mod mutations;
mod open_data;
mod phases;
mod sense;
mod tracks;
mod variants;
