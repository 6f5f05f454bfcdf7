//! What it flies in: atmosphere, wind, gusts.

pub mod atmosphere;
pub mod gusts;
pub mod wind;
