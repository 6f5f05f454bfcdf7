//! What does the aircraft do when its sections have boundary layers? The lattice coupled, strip by strip, to section
//! tables: lift curve through the stall, where it stalls first, profile drag, what surfaces are worth at low Reynolds
//! numbers.

mod balanced;
mod curve;
mod forward;
mod linear;
mod needed;
mod reduced;
mod section;
mod state;
mod tables;
mod whole;

pub use curve::{Coupling, Flight, LiftCurve, Place, State, StripState};
pub use forward::Held;
pub use needed::{Needed, needed};
pub(crate) use reduced::Reduced;
pub use tables::Tables;
pub use whole::Coupled;
pub(crate) use whole::{Ready, couple};
