//! What it flies in: atmosphere, wind, gusts, daylight, and what weather reports and forecasts say.

pub mod atmosphere;
pub mod course;
pub mod daylight;
pub mod gusts;
pub mod instant;
pub mod metar;
pub mod taf;
pub mod weather;
pub mod wind;
pub mod zone;
