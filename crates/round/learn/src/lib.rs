//! What did the flight teach? One file per question; [`learn()`] puts them all.

pub mod blocks;
pub mod circle;
mod coloured;
pub mod findings;
pub mod headings;
mod learn;
mod level_attitude;
mod limits;
mod servos;
mod settings;
mod straight;
pub mod through_air;
mod triangle;
mod trims;
pub mod wind;

pub use learn::{LearnFrom, learn, learn_from, learn_in_phases};
