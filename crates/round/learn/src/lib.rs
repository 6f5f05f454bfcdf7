//! What did the flight teach? One file per question; [`learn()`] puts them all.

mod air;
pub mod answers;
mod battery;
pub mod blocks;
mod changes;
pub mod circle;
mod coloured;
mod endurance;
mod factors;
pub mod findings;
mod flight;
pub mod headings;
mod landing;
mod learn;
mod level_attitude;
mod limits;
mod loads;
pub mod more;
mod polar;
mod power;
mod servos;
mod settings;
mod stall;
mod straight;
pub mod through_air;
mod triangle;
mod trims;
pub mod wind;

pub use learn::{LearnFrom, learn, learn_from, learn_in_phases};
