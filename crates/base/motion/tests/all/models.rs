//! Bodies for the tests.

use motion::details::Details;
use motion::model::{Aerodynamics, Derivatives, ForceModel, Thrust, Validity};
use numerics::units::{KG_PER_LB, KG_PER_SLUG, M_PER_FT};
use numerics::{Mat3, Vec3};

/// A body without aerodynamics but drag.
pub(crate) fn lump(mass_kg: f64, inertia_kg_m2: Mat3, area_m2: f64, cd: f64) -> ForceModel {
    ForceModel {
        mass_kg,
        inertia_kg_m2,
        aerodynamics: Aerodynamics {
            area_m2,
            mean_chord_m: 1.0,
            span_m: 1.0,
            cl0: 0.0,
            cd0: cd,
            cl_least_drag: 0.0,
            induced: 0.0,
            cm0: 0.0,
            cl_max: 1.0,
            cl_min: -1.0,
            derivatives: Derivatives::default(),
            validity: Validity { alpha_low_rad: -3.2, alpha_high_rad: 3.2, beta_rad: 1.6 },
        },
        thrust: None,
        details: Details::default(),
    }
}

/// An invented model of 1.5 kg and 1.6 m span; every number is made up to be plausible.
pub(crate) fn invented() -> ForceModel {
    let throttle = vec![0.0, 0.5, 1.0];
    let airspeed_m_s = vec![0.0, 10.0, 20.0, 30.0];
    let table = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        throttle.iter().flat_map(|t| airspeed_m_s.iter().map(|v| f(*t, *v)).collect::<Vec<f64>>()).collect()
    };
    ForceModel {
        mass_kg: 1.5,
        inertia_kg_m2: Mat3::new(0.095, 0.0, -0.004, 0.0, 0.085, 0.0, -0.004, 0.0, 0.165),
        aerodynamics: Aerodynamics {
            area_m2: 0.352,
            mean_chord_m: 0.22,
            span_m: 1.6,
            cl0: 0.3,
            cd0: 0.035,
            cl_least_drag: 0.1,
            induced: 0.055,
            cm0: 0.03,
            cl_max: 1.25,
            cl_min: -0.8,
            derivatives: Derivatives {
                CLa: 4.9,
                CLq: 6.5,
                CLde: 0.42,
                Cma: -0.65,
                Cmq: -11.5,
                Cm_alphadot: -4.0,
                Cmde: -1.15,
                CYb: -0.35,
                CYp: -0.05,
                CYr: 0.22,
                CYdr: 0.16,
                Clb: -0.06,
                Clp: -0.46,
                Clr: 0.12,
                Clda: -0.24,
                Cldr: 0.008,
                Cnb: 0.075,
                Cnp: -0.045,
                Cnr: -0.1,
                Cnda: 0.012,
                Cndr: -0.065,
                ..Derivatives::default()
            },
            validity: Validity { alpha_low_rad: -0.15, alpha_high_rad: 0.2, beta_rad: 0.25 },
        },
        thrust: Some(Thrust {
            thrust_n: table(&|t, v| 11.0 * t * t * (1.0 - v / 32.0)),
            current_a: table(&|t, _| 22.0 * t * t * t),
            rpm: table(&|t, _| 8200.0 * t),
            volts: table(&|t, _| 12.4 - 0.6 * t),
            throttle: throttle.clone(),
            airspeed_m_s: airspeed_m_s.clone(),
            direction: Vec3::x(),
            at_m: Vec3::zeros(),
            spool_up_s: 0.25,
            capacity_ah: 2.2,
        }),
        details: Details::default(),
    }
}

/// The NAVION of Nelson, Flight Stability and Automatic Control, 2nd ed., appendix B, at 176 ft/s at sea level, about
/// its stability axes: angle of attack zero in trim, where CL is 0.41 and CD 0.05. CDa of 0.33 is written as the
/// slope of a parabola. The book's longitudinal matrix leaves CLq and CL_alphadot out.
pub(crate) fn navion() -> (ForceModel, f64, f64) {
    let speed_m_s = 176.0 * M_PER_FT;
    let density_kg_m3 = 0.002_378 * KG_PER_SLUG / M_PER_FT.powi(3);
    let slug_ft2 = KG_PER_SLUG * M_PER_FT * M_PER_FT;
    let (cl, cd, cl_a, cd_a) = (0.41, 0.05, 4.44, 0.33);
    let induced = cd_a / (2.0 * cl * cl_a);
    let weight_n = 2750.0 * KG_PER_LB * numerics::units::G_M_S2;
    let model = ForceModel {
        mass_kg: 2750.0 * KG_PER_LB,
        inertia_kg_m2: Mat3::from_diagonal(&Vec3::new(
            1048.0 * slug_ft2,
            3000.0 * slug_ft2,
            3530.0 * slug_ft2,
        )),
        aerodynamics: Aerodynamics {
            area_m2: 184.0 * M_PER_FT * M_PER_FT,
            mean_chord_m: 5.7 * M_PER_FT,
            span_m: 33.4 * M_PER_FT,
            cl0: cl,
            cd0: cd - induced * cl * cl,
            cl_least_drag: 0.0,
            induced,
            cm0: 0.0,
            cl_max: 1.6,
            cl_min: -1.0,
            derivatives: Derivatives {
                CLa: cl_a,
                Cma: -0.683,
                Cmq: -9.96,
                Cm_alphadot: -4.36,
                // Only to let the trim solver settle the angle of attack; no effect on the free motion.
                Cmde: -0.923,
                CYb: -0.564,
                Clb: -0.074,
                Cnb: 0.071,
                Clp: -0.41,
                Cnp: -0.0575,
                Clr: 0.107,
                Cnr: -0.125,
                ..Derivatives::default()
            },
            validity: Validity { alpha_low_rad: -0.2, alpha_high_rad: 0.25, beta_rad: 0.3 },
        },
        // The book takes the thrust as constant over speed.
        thrust: Some(Thrust {
            throttle: vec![0.0, 1.0],
            airspeed_m_s: vec![0.0, 200.0],
            thrust_n: vec![0.0, 0.0, weight_n, weight_n],
            current_a: vec![0.0; 4],
            rpm: vec![0.0; 4],
            volts: vec![0.0; 4],
            direction: Vec3::x(),
            at_m: Vec3::zeros(),
            spool_up_s: 0.0,
            capacity_ah: 1.0,
        }),
        details: Details::default(),
    };
    (model, speed_m_s, density_kg_m3)
}
