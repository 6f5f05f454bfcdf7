//! What came back: recordings read, mapped, cleaned and cut into phases; and the simulated flight that writes one.

pub mod phases;
pub mod recording;
