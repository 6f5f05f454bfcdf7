//! How it moves: the force-and-moment model, the state, the six-degree equations, trim and linearisation.

pub mod equations;
pub mod forces;
pub mod ground;
pub mod linear;
pub mod model;
pub mod state;
pub mod trim;
