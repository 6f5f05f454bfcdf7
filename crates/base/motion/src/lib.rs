//! How it moves: the force-and-moment model, the state, the six-degree equations, trim and linearization, the
//! stabilizing controller, launch devices, whole flights.

pub mod actuators;
mod body;
pub mod details;
pub mod earth;
pub mod equations;
pub mod forces;
pub mod ground;
pub mod handling;
pub mod lane;
pub mod launch;
pub mod linear;
pub mod model;
pub mod simulate;
pub mod stabilizer;
mod stall;
pub mod state;
mod table;
pub mod trim;
