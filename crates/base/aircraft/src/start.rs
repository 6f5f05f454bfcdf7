//! How does it get into the air?

use crate::known::Known;

/// How a flight begins, and what is known of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Start {
    /// By hand, on wheels or by a rubber band.
    pub how: How,
    /// Airspeed over the ground at which it leaves the hand or the rubber band in still air, m/s, if known.
    pub throw_speed_m_s: Option<Known>,
    /// Height over the ground at which it leaves the hand or the rubber band, m, if known.
    pub height_m: Option<f64>,
    /// What it rolls on, if it rolls and the file says so.
    pub ground: Option<Ground>,
    /// Length that there is to roll, m, if known.
    pub run_m: Option<f64>,
}

/// The way into the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum How {
    /// Thrown.
    #[default]
    Hand,
    /// On its wheels.
    Rolling,
    /// Pulled by a rubber band that is pegged to the ground.
    Bungee,
}

impl How {
    /// Every way with the word that the file uses for it.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Hand, "hand"), (Self::Rolling, "rolling"), (Self::Bungee, "bungee")];

    /// The word that the file uses.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(how, _)| *how == self).map_or("hand", |(_, word)| word)
    }
}

/// What the wheels roll on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Asphalt, concrete, hard earth.
    Hard,
    /// Grass cut short.
    ShortGrass,
    /// Grass as high as the wheels' axles.
    LongGrass,
}

impl Ground {
    /// Every ground with the word that the file uses for it.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Hard, "hard"), (Self::ShortGrass, "short grass"), (Self::LongGrass, "long grass")];

    /// Force that holds a rolling wheel back over the load on it. Small wheels feel grass more than large ones; common
    /// practice, no source.
    #[must_use]
    pub fn rolling_resistance(self) -> f64 {
        match self {
            Self::Hard => 0.04,
            Self::ShortGrass => 0.1,
            Self::LongGrass => 0.2,
        }
    }
}
