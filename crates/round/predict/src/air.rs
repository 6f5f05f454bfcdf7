//! What air is it in?

/// Density and viscosity of the air flown in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

impl Air {
    /// Reynolds number of a length at a speed.
    #[must_use]
    pub fn reynolds(&self, speed_m_s: f64, length_m: f64) -> f64 {
        self.density_kg_m3 * speed_m_s * length_m / self.viscosity_pa_s
    }
}
