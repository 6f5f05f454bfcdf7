//! What will it do? Lattice, derivatives, drive, performance, authority, modes, first gains: all predictions of an
//! aircraft in given air.

pub mod air;
pub mod body;
pub mod derivatives;
pub mod drive;
pub mod lattice;
pub mod prediction;
pub mod sections;
pub mod trim;
