//! What came back: recordings read, mapped, cleaned and cut into phases; and the simulated flight that writes one.

pub mod align;
mod clock;
pub mod csv;
pub mod decimate;
pub mod derive;
pub mod export;
pub mod inputs;
pub mod map;
pub mod merge;
pub mod phases;
pub mod propose;
pub mod quality;
pub mod read;
pub mod recording;
pub mod resample;
pub mod sense;
pub mod simulated;
mod thin;
mod tracks;
pub mod unpack;
pub mod words;
