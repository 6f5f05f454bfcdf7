//! How carefully was it measured? Usual doubts by the tool, where the file gives none beside a number.

use numerics::units::RAD_PER_DEG;

/// Doubt of a length measured with a ruler, m (common practice, no source; as all doubts here).
pub const RULER_SD_M: f64 = 0.001;
/// Doubt of a length taken from the plan: built is not drawn, m.
pub const PLAN_SD_M: f64 = 0.003;
/// Doubt of a guessed length, m.
pub const GUESSED_SD_M: f64 = 0.01;
/// Doubt of a throw read from an angle gauge, rad.
pub const GAUGE_THROW_SD_RAD: f64 = 0.5 * RAD_PER_DEG;
/// Doubt of a throw measured with a ruler at the trailing edge, rad.
pub const RULER_THROW_SD_RAD: f64 = RAD_PER_DEG;
/// Doubt of a guessed throw, rad.
pub const GUESSED_THROW_SD_RAD: f64 = 3.0 * RAD_PER_DEG;

/// How weights and the balance point were come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weights {
    /// On a scale and a balance stand.
    Scale,
    /// Guessed, or taken from a catalog.
    Guessed,
}

/// Doubts of what was measured, one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Care {
    /// How weights and the balance point were come by.
    pub weights: Weights,
    /// Of a length of a surface (chord, span), m.
    pub length_sd_m: f64,
    /// Of a throw, rad.
    pub throw_sd_rad: f64,
    /// Of the largest lift coefficient, instead of the prediction's own.
    pub cl_max_sd: Option<f64>,
    /// Of the least drag coefficient as a share of it, instead of the prediction's own.
    pub drag_sd: Option<f64>,
    /// Of the thrust as a share of it, instead of the prediction's own where it names what matters most.
    pub thrust_sd: Option<f64>,
}

impl Default for Care {
    fn default() -> Self {
        Self {
            weights: Weights::Scale,
            length_sd_m: RULER_SD_M,
            throw_sd_rad: RULER_THROW_SD_RAD,
            cl_max_sd: None,
            drag_sd: None,
            thrust_sd: None,
        }
    }
}
