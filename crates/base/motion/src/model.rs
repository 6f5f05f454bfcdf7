//! Which forces and moments act at a given motion? Plain data: `predict` fills one from the lattice; one
//! identified from recordings is to be the same type, comparable side by side.

use numerics::{Mat3, Vec3};

/// Aerodynamics of an aircraft as coefficients about the balance point, with their range of validity.
///
/// Axes and signs are those of `numerics::frames`. Moments and side force in body axes; lift and drag in the plane
/// of the wind. Angles in rad; rates as p b/2V, q c/2V, r b/2V; controls as axis deflections in rad, each positive
/// where it gives a negative moment. Lengths: mean chord for pitch, span for roll and yaw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aerodynamics {
    /// Reference area, m².
    pub area_m2: f64,
    /// Mean aerodynamic chord, m.
    pub mean_chord_m: f64,
    /// Span, m.
    pub span_m: f64,
    /// Lift coefficient at zero angle of attack, controls neutral.
    pub cl0: f64,
    /// Drag coefficient at the lift coefficient of least drag.
    pub cd0: f64,
    /// Lift coefficient at which drag is least.
    pub cl_least_drag: f64,
    /// Drag rise: d CD / d (CL - cl_least_drag)².
    pub induced: f64,
    /// Pitching moment coefficient at zero angle of attack, controls neutral.
    pub cm0: f64,
    /// Largest lift coefficient of the trimmed aircraft.
    pub cl_max: f64,
    /// Least (most negative) lift coefficient.
    pub cl_min: f64,
    /// Derivatives with angle of attack, rates and controls.
    pub derivatives: Derivatives,
    /// Where the linear part holds.
    pub validity: Validity,
}

/// Stability and control derivatives: per radian, body axes, rates made dimensionless with half-chord or half-span
/// over speed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[expect(non_snake_case, reason = "the field writes these symbols so, and scripts outside rely on them")]
#[allow(missing_docs, reason = "a coefficient and what it is differentiated by, by the field's symbols")]
pub struct Derivatives {
    pub CLa: f64,
    pub CLq: f64,
    pub CLde: f64,
    pub CLdf: f64,
    pub CDde: f64,
    pub CDdf: f64,
    pub Cma: f64,
    pub Cmq: f64,
    pub Cm_alphadot: f64,
    pub Cmde: f64,
    pub Cmdf: f64,
    pub CYb: f64,
    pub CYp: f64,
    pub CYr: f64,
    pub CYda: f64,
    pub CYdr: f64,
    pub Clb: f64,
    pub Clp: f64,
    pub Clr: f64,
    pub Clda: f64,
    pub Cldr: f64,
    pub Cnb: f64,
    pub Cnp: f64,
    pub Cnr: f64,
    pub Cnda: f64,
    pub Cndr: f64,
}

/// Where the linear coefficients hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Validity {
    /// Least angle of attack, rad.
    pub alpha_low_rad: f64,
    /// Largest angle of attack, rad: stall.
    pub alpha_high_rad: f64,
    /// Largest sideslip either way, rad.
    pub beta_rad: f64,
}

/// Thrust and current of the whole drive over throttle and airspeed: a table on a regular grid, bilinear between,
/// refusing outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Thrust {
    /// Throttle settings of the rows, growing, 0 to 1.
    pub throttle: Vec<f64>,
    /// Airspeeds of the columns, growing, m/s.
    pub airspeed_m_s: Vec<f64>,
    /// Thrust, N, row after row.
    pub thrust_n: Vec<f64>,
    /// Pack current, A, row after row.
    pub current_a: Vec<f64>,
    /// Propeller speed, rpm, row after row.
    pub rpm: Vec<f64>,
    /// Pack voltage under that load, V, row after row.
    pub volts: Vec<f64>,
    /// Direction of the pull in body axes, unit vector.
    pub direction: Vec3,
    /// Where it acts relative to the balance point, body axes, m.
    pub at_m: Vec3,
    /// Time constant of the thrust after a throttle step, s.
    pub spool_up_s: f64,
    /// Pack capacity, ampere-hours.
    pub capacity_ah: f64,
}

/// Everything that the equations of motion need of an aircraft.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceModel {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Inertia about the balance point, body axes, kg m²; off-diagonals negative products.
    pub inertia_kg_m2: Mat3,
    /// Aerodynamics about the balance point.
    pub aerodynamics: Aerodynamics,
    /// Drive, if there is one.
    pub thrust: Option<Thrust>,
    /// What the coefficients of the whole do not say: halves of the wing, slipstream, propeller, ground.
    pub details: crate::details::Details,
}
