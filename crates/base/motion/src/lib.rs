//! How it moves: the force-and-moment model, the state, the six-degree equations, trim and linearisation.

pub mod model;
