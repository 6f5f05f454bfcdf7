//! What will it do? Lattice, derivatives, drive, performance, authority, modes, first gains: all predictions of an
//! aircraft in given air.

pub mod air;
pub mod balance_range;
pub mod body;
pub mod control;
pub mod derivatives;
pub mod drive;
#[cfg(test)]
mod example;
pub mod gains;
pub mod lattice;
pub mod modes;
pub mod performance;
mod predict;
pub mod prediction;
pub mod section_table;
pub mod sections;
pub mod strips;
pub mod trim;

pub use predict::{Conditions, predict};
