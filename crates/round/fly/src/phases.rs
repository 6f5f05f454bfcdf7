//! What was the aircraft doing when? Phases of a flight, by rule on the data.

use aircraft::finding::Window;

/// Kinds of phases.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PhaseKind {
    /// Not flying.
    Ground,
    /// The throw and the first seconds.
    Launch,
    /// Climbing.
    Climb,
    /// Straight and level.
    Straight,
    /// Turning steadily.
    Turn,
    /// Descending without power.
    Glide,
    /// The last descent.
    Landing,
    /// Anything else in the air.
    Other,
}

/// A phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// What kind.
    pub kind: PhaseKind,
    /// When.
    pub window: Window,
    /// How sure, 0 to 1.
    pub confidence: f64,
}
