//! What will it do? Lattice, derivatives, drive, performance, authority, modes, first gains: all predictions of an
//! aircraft in given air.

pub mod adopted;
pub mod against;
pub mod air;
pub mod authority;
pub mod balance_range;
pub mod body;
pub mod control;
pub mod coupled;
pub mod derivatives;
pub mod doubts;
pub mod drive;
#[cfg(test)]
mod example;
pub mod gains;
pub mod ground;
pub mod hinge;
pub mod lattice;
pub mod launch;
pub mod modes;
pub mod motions;
pub mod performance;
mod predict;
pub mod prediction;
mod prepared;
pub mod scale;
pub mod section_flow;
pub mod section_table;
pub mod sections;
pub mod sidewash;
pub mod stalling;
mod steady;
pub mod strips;
pub mod throws;
pub mod trim;

pub use predict::{Conditions, predict, predict_prepared, predict_with};
pub use prepared::Prepared;
