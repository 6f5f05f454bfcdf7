//! Recordings read from outside the crate: open data, invented variants, damage.

mod open_data;
