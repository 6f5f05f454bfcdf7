//! An invented aircraft in coefficients, for the tests of this crate.

use motion::model::{Aerodynamics, Derivatives, Validity};
use numerics::Mat3;

/// A stable two-kilogram model of 0.4 m² and 1.8 m span; invented.
pub(crate) fn aerodynamics() -> Aerodynamics {
    Aerodynamics {
        area_m2: 0.4,
        mean_chord_m: 0.225,
        span_m: 1.8,
        cl0: 0.3,
        cd0: 0.028,
        cl_least_drag: 0.2,
        induced: 0.05,
        cm0: 0.03,
        cl_max: 1.25,
        cl_min: -0.7,
        derivatives: Derivatives {
            CLa: 4.8,
            CLq: 7.0,
            CLde: 0.35,
            CDde: 0.0,
            Cma: -0.6,
            Cmq: -10.0,
            Cm_alphadot: -3.5,
            Cmde: -1.0,
            CYb: -0.35,
            CYr: 0.2,
            CYdr: 0.15,
            Clb: -0.08,
            Clp: -0.5,
            Clr: 0.12,
            Clda: -0.3,
            Cldr: 0.01,
            Cnb: 0.07,
            Cnp: -0.04,
            Cnr: -0.1,
            Cnda: 0.01,
            Cndr: -0.07,
            ..Derivatives::default()
        },
        validity: Validity { alpha_low_rad: -0.15, alpha_high_rad: 0.2, beta_rad: 0.25 },
    }
}

/// Its inertia, kg m²; invented.
pub(crate) fn inertia_kg_m2() -> Mat3 {
    Mat3::new(0.10, 0.0, -0.004, 0.0, 0.13, 0.0, -0.004, 0.0, 0.21)
}
