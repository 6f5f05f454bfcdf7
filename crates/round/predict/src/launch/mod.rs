//! Will the launch work? Thousands of simulated launches over what is uncertain: the odds of a clean one, what drives
//! them, and what would help.

pub mod bands;
pub mod caution;
pub mod drivers;
pub mod flight;
pub mod help;
pub mod inputs;
pub mod landing;
pub mod odds;
pub mod outcome;
pub mod refuse;
pub mod rolling;
pub mod scene;
pub mod table;
pub mod tally;

pub use odds::{Odds, Study, odds, study};
