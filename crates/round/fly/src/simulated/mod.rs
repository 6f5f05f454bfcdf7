//! What would the controller have logged? A scripted flight, flown by a pilot model through sticks, controller, servos
//! and linkages with the equations of `motion`, and recorded with noise and flaws; the truth beside it.

mod flight;
mod pilot;
mod plan;
mod reading;
pub mod script;
mod sensors;
mod servos;
mod truth;

pub use flight::{Flight, NoFlight, fly};
pub use script::Script;
pub use truth::{Event, TruePulse, Truth};
