//! How does a small disturbance of a steady motion grow or die? Matrices by central differences of the equations that
//! fly, never a second set of formulas.

use nalgebra::{Complex, Matrix4, Matrix4x2, Vector4};
use numerics::Vec3;
use numerics::frames;

use crate::equations::acceleration;
use crate::forces::{Prepared, Surroundings};
use crate::state::{Controls, State};
use crate::trim::Trim;

/// A linear system: rate of the disturbance = `a` times disturbance + `b` times control.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear {
    /// System matrix, SI and rad.
    pub a: Matrix4<f64>,
    /// Control matrix, SI and rad.
    pub b: Matrix4x2<f64>,
}

impl Linear {
    /// Eigenvalues, 1/s.
    #[must_use]
    pub fn eigenvalues(&self) -> [Complex<f64>; 4] {
        let e = self.a.complex_eigenvalues();
        [e[0], e[1], e[2], e[3]]
    }
}

/// Longitudinal disturbances of a wings-level trim: forward velocity u and downward velocity w (body axes, m/s),
/// pitch rate q (rad/s), pitch angle (rad). Controls: elevator (rad), throttle that the propeller answers to (0 to 1).
#[must_use]
pub fn longitudinal(body: &Prepared, trim: &Trim, density_kg_m3: f64) -> Linear {
    let rate = |x: Vector4<f64>, c: [f64; 2]| {
        let mut state = trim.state;
        state.velocity_body_m_s += Vec3::new(x[0], 0.0, x[1]);
        state.rates_body_rad_s.y += x[2];
        state.ned_from_body = frames::ned_from_body(trim.bank_rad, trim.pitch_rad + x[3], 0.0);
        state.controls.elevator_rad += c[0];
        state.thrust_level += c[1];
        let (v, w, bank) = accelerations(body, &state, density_kg_m3, trim.bank_rad);
        let q = state.rates_body_rad_s;
        Vector4::new(v.x, v.z, w.y, q.y * bank.cos() - q.z * bank.sin())
    };
    differences(rate, [1e-3, 1e-3, 1e-4, 1e-4], [1e-4, 1e-3])
}

/// Lateral disturbances of a wings-level trim: sideward velocity v (body axes, m/s), roll rate p and yaw rate r
/// (rad/s), bank (rad). Controls: aileron and rudder (rad).
#[must_use]
pub fn lateral(body: &Prepared, trim: &Trim, density_kg_m3: f64) -> Linear {
    let rate = |x: Vector4<f64>, c: [f64; 2]| {
        let mut state = trim.state;
        let bank = trim.bank_rad + x[3];
        state.velocity_body_m_s.y += x[0];
        state.rates_body_rad_s += Vec3::new(x[1], 0.0, x[2]);
        state.ned_from_body = frames::ned_from_body(bank, trim.pitch_rad, 0.0);
        state.controls = Controls {
            aileron_rad: state.controls.aileron_rad + c[0],
            rudder_rad: state.controls.rudder_rad + c[1],
            ..state.controls
        };
        let (v, w, _) = accelerations(body, &state, density_kg_m3, bank);
        let q = state.rates_body_rad_s;
        let bank_rate = q.x + trim.pitch_rad.tan() * (q.y * bank.sin() + q.z * bank.cos());
        Vector4::new(v.y, w.x, w.z, bank_rate)
    };
    differences(rate, [1e-3, 1e-4, 1e-4, 1e-4], [1e-4, 1e-4])
}

fn accelerations(body: &Prepared, state: &State, density_kg_m3: f64, bank_rad: f64) -> (Vec3, Vec3, f64) {
    let around = Surroundings::still(density_kg_m3);
    let loads = body.loads(state, &around);
    let a = acceleration(body, state, &around, &loads);
    (a.velocity_body_m_s2, a.rates_body_rad_s2, bank_rad)
}

fn differences(
    rate: impl Fn(Vector4<f64>, [f64; 2]) -> Vector4<f64>,
    steps: [f64; 4],
    control_steps: [f64; 2],
) -> Linear {
    let mut a = Matrix4::zeros();
    for (j, h) in steps.into_iter().enumerate() {
        let mut x = Vector4::zeros();
        x[j] = h;
        a.set_column(j, &((rate(x, [0.0; 2]) - rate(-x, [0.0; 2])) / (2.0 * h)));
    }
    let mut b = Matrix4x2::zeros();
    for (j, h) in control_steps.into_iter().enumerate() {
        let (mut up, mut down) = ([0.0; 2], [0.0; 2]);
        if let (Some(u), Some(d)) = (up.get_mut(j), down.get_mut(j)) {
            *u = h;
            *d = -h;
        }
        let zero = Vector4::zeros();
        b.set_column(j, &((rate(zero, up) - rate(zero, down)) / (2.0 * h)));
    }
    Linear { a, b }
}
