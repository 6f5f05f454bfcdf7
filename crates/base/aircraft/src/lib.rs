//! What flies: geometry, surfaces, linkages, masses, drive, controller, and what is known of each.
//! The aircraft file is read and written in [`schema`]; everything else is plain data and geometry.

pub mod balance;
pub mod care;
pub mod control;
pub mod controller;
pub mod drag;
pub mod drive;
pub mod finding;
pub mod fuselage;
pub mod geometry;
pub mod inertia;
pub mod known;
pub mod limits;
pub mod mass;
pub mod movable;
pub mod revise;
pub mod schema;
pub mod section;
pub mod settings;
pub mod start;
pub mod surface;
pub mod template;
mod whole;

pub use known::{Known, Origin};
pub use whole::{Aircraft, Layout};
