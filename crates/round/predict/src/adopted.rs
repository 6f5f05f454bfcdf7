//! What do measurements and flights put in the place of a prediction?

use aircraft::limits::Flown;
use aircraft::{Aircraft, Known, Origin};
use motion::model::Aerodynamics;
use numerics::units::G_M_S2;
use sky::atmosphere;

use crate::lattice::Solved;

/// Relative doubt of the computed lift slope (judgement, no source; a lattice alone is better on clean wings).
pub(crate) const LIFT_SLOPE_SD: f64 = 0.04;

/// Puts the factors that flights taught into coefficients.
pub(crate) fn factors(flown: &Flown, a: &mut Aerodynamics) {
    if let Some(factor) = flown.lift_factor {
        // Lift and its moment grow together, so that the neutral point stays.
        a.cl0 *= factor.value;
        a.derivatives.CLa *= factor.value;
        a.derivatives.Cma *= factor.value;
    }
    if let Some(factor) = flown.drag_factor {
        a.cd0 *= factor.value;
        a.induced *= factor.value;
        a.derivatives.CDde *= factor.value;
    }
    let d = &mut a.derivatives;
    let [roll, pitch, yaw] = flown.control_factor;
    if let Some(factor) = roll {
        d.Clda *= factor.value;
        d.Cnda *= factor.value;
        d.CYda *= factor.value;
    }
    if let Some(factor) = pitch {
        d.Cmde *= factor.value;
        d.CLde *= factor.value;
    }
    if let Some(factor) = yaw {
        d.Cndr *= factor.value;
        d.Cldr *= factor.value;
        d.CYdr *= factor.value;
    }
}

/// Coefficients with what was measured and flown put in, and told.
pub(crate) struct Adopted {
    pub(crate) aerodynamics: Aerodynamics,
    pub(crate) slope: Known,
    pub(crate) cl_max: Known,
    pub(crate) cd0_sd: f64,
    pub(crate) drag_from: Origin,
}

impl Adopted {
    pub(crate) fn of(aircraft: &Aircraft, solved: &Solved, mass_kg: f64, remarks: &mut Vec<String>) -> Self {
        let mut a = solved.aerodynamics;
        let flown = &aircraft.flown;
        let mut slope = Known::predicted(solved.cl_slope_per_rad, LIFT_SLOPE_SD * solved.cl_slope_per_rad);
        let mut tell = |what: &str, factor: Known| {
            remarks.push(format!(
                "{what} x {:.2} ± {:.2}, as adopted from flights.",
                factor.value,
                2.0 * factor.sd
            ));
        };
        if let Some(factor) = flown.lift_factor {
            slope = Known {
                value: slope.value * factor.value,
                sd: solved.cl_slope_per_rad * factor.sd,
                from: Origin::Flown,
            };
            tell("Lift slope", factor);
        }
        let (mut cd0_sd, mut drag_from) = (solved.cd0.sd, solved.cd0.from);
        if let Some(factor) = flown.drag_factor {
            cd0_sd = factor.sd * solved.cd0.value / factor.value;
            drag_from = Origin::Flown;
            tell("Drag", factor);
        }
        for (what, factor) in ["aileron", "elevator", "rudder"].iter().zip(flown.control_factor) {
            if let Some(factor) = factor {
                tell(&format!("Effect of the {what}"), factor);
            }
        }
        factors(flown, &mut a);
        let mut cl_max = solved.cl_max;
        if let Some(measured) = aircraft.limits.stall_m_s {
            // The stated speed is taken as of standard sea-level air and the present mass.
            let density = atmosphere::SEA_LEVEL_DENSITY_KG_M3;
            let value = 2.0 * mass_kg * G_M_S2 / (density * a.area_m2 * measured.value.powi(2));
            remarks.push(format!(
                "The {} stall speed of {:.1} m/s (taken as of sea-level air and this mass) replaces the predicted largest lift: {value:.2} instead of {:.2}.",
                measured.from.word(),
                measured.value,
                cl_max.value
            ));
            cl_max = Known { value, sd: 2.0 * value * measured.sd / measured.value, from: measured.from };
            a.validity.alpha_high_rad += (value - a.cl_max) / a.derivatives.CLa;
            a.cl_max = value;
        }
        Self { aerodynamics: a, slope, cl_max, cd0_sd, drag_from }
    }

    /// A number that rests on drag, with the origin of the drag.
    pub(crate) fn drag_known(&self, known: Known) -> Known {
        Known { from: self.drag_from, ..known }
    }
}
