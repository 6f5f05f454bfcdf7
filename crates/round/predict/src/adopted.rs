//! What do measurements and flights put in the place of a prediction?

use aircraft::limits::Flown;
use aircraft::{Aircraft, Known, Origin};
use motion::model::Aerodynamics;
use numerics::uncertain::Uncertain;
use numerics::units::G_M_S2;
use sky::atmosphere;

use crate::lattice::Solved;

/// Relative doubt of the computed lift slope (judgement, no source; a lattice alone is better on clean wings).
pub(crate) const LIFT_SLOPE_SD: f64 = 0.04;

/// Doubt of a number that its file calls exact: nothing on a model is known better (judgement, no source).
const LEAST_SHARE: f64 = 0.02;

/// What is known of a number after a flight measured it: the mean of both weighed by one over the square of their doubts,
/// with the doubt that is left (normal conjugate update: Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5). Where
/// both are more than two standard deviations of their difference apart, at least one of the doubts is too small: both are
/// widened alike until they are two apart, so that a contradiction does not come out surer than either (the ratio of Birge,
/// Phys. Rev. 40, 207 (1932)).
#[must_use]
pub fn updated(known: Known, flown: Uncertain) -> Uncertain {
    let before = Uncertain::new(known.value, known.sd.max(LEAST_SHARE * known.value.abs()));
    if !(flown.value.is_finite() && flown.sd.is_finite() && flown.sd > 0.0) {
        return before;
    }
    let apart = (before.value - flown.value).abs() / before.sd.hypot(flown.sd);
    let wider = (0.5 * apart).max(1.0);
    let after = before.combined(flown);
    Uncertain::new(after.value, wider * after.sd)
}

/// Puts the factors that flights taught into coefficients.
pub fn factors(flown: &Flown, a: &mut Aerodynamics) {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_equally_sure_numbers_meet_in_the_middle_and_a_contradiction_stays_wide() {
        // By hand: weights 1/σ² are equal, so the mean is the middle and the doubt σ/√2.
        let known = |value, sd| Known { value, sd, from: Origin::Flown };
        let one = updated(known(1.0, 0.1), Uncertain::new(1.1, 0.1));
        assert!((one.value - 1.05).abs() < 1e-12 && (one.sd - 0.1 / 2.0_f64.sqrt()).abs() < 1e-12);
        // Twice as sure counts four times: (1 + 4 * 1.1) / 5.
        let two = updated(known(1.0, 0.2), Uncertain::new(1.1, 0.1));
        assert!((two.value - 1.08).abs() < 1e-12);
        // Eight standard deviations of the difference apart: four times as wide as agreement would leave it.
        let apart = 8.0 * 0.1 * 2.0_f64.sqrt();
        let three = updated(known(1.0, 0.1), Uncertain::new(1.0 + apart, 0.1));
        assert!((three.sd - 4.0 * 0.1 / 2.0_f64.sqrt()).abs() < 1e-12, "{}", three.sd);
        // What the flight does not tell changes nothing.
        assert_eq!(updated(known(1.0, 0.1), Uncertain::new(f64::NAN, 0.1)).value, 1.0);
    }
}
