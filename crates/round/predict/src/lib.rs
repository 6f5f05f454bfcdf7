//! What will it do? Lattice, derivatives, drive, performance, authority, modes, first gains: all predictions of an
//! aircraft in given air.

pub mod drive;
pub mod prediction;
