//! How does the state change, and where is it one step later? Rigid body in six degrees of freedom over a flat earth
//! that does not turn, with the full inertia tensor; fourth-order Runge-Kutta at a fixed step.

use numerics::Vec3;
use numerics::integrate::runge_kutta_4;

use crate::forces::{Loads, Prepared, Surroundings};
use crate::state::{State, Vector};

/// What is set from outside during a step, besides the control deflections of the state.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Inputs {
    /// Throttle, 0 to 1.
    pub throttle: f64,
}

/// Accelerations of the body in a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acceleration {
    /// Rate of change of the body components of velocity (relative to the earth), m/s².
    pub velocity_body_m_s2: Vec3,
    /// Rate of change of p, q, r, rad/s².
    pub rates_body_rad_s2: Vec3,
    /// What an accelerometer at the balance point feels: all forces but gravity over mass, body axes, m/s².
    pub specific_force_body_m_s2: Vec3,
    /// Rate of change of the angle of attack, rad/s, the wind taken as steady.
    pub alpha_rate_rad_s: f64,
}

/// Accelerations under given loads. The moment from the changing angle of attack is taken with the acceleration that
/// the forces give, so no equation is left implicit.
#[must_use]
pub fn acceleration(body: &Prepared, state: &State, around: &Surroundings, loads: &Loads) -> Acceleration {
    let force = loads.air_force_body_n + loads.thrust_body_n + around.outside_force_body_n;
    let specific = force / body.model.mass_kg;
    let gravity = state.ned_from_body.inverse_transform_vector(&Vec3::new(0.0, 0.0, around.gravity_m_s2));
    let w = state.rates_body_rad_s;
    let inertial = specific + gravity;
    let velocity_rate = inertial - w.cross(&state.velocity_body_m_s);

    // Seen from the body, a steady wind turns the other way: the air-relative velocity changes by the same forces
    // but with its own transport term.
    let v = loads.air_velocity_body_m_s;
    let v_rate = inertial - w.cross(&v);
    let in_symmetry_m2_s2 = v.x * v.x + v.z * v.z;
    let alpha_rate_rad_s =
        if in_symmetry_m2_s2 > 1e-6 { (v.x * v_rate.z - v.z * v_rate.x) / in_symmetry_m2_s2 } else { 0.0 };

    let moment = loads.air_moment_body_nm
        + loads.thrust_moment_body_nm
        + around.outside_moment_body_nm
        + Vec3::new(0.0, loads.pitch_per_alpha_rate_nms * alpha_rate_rad_s, 0.0);
    let momentum = body.model.inertia_kg_m2 * w;
    let rates_rate = body.inertia_inverse * (moment - w.cross(&momentum));
    Acceleration {
        velocity_body_m_s2: velocity_rate,
        rates_body_rad_s2: rates_rate,
        specific_force_body_m_s2: specific,
        alpha_rate_rad_s,
    }
}

/// Rate of change of the vector form of a state.
#[must_use]
pub fn rate(body: &Prepared, state: &State, inputs: &Inputs, around: &Surroundings) -> Vector {
    let loads = body.loads(state, around);
    let a = acceleration(body, state, around, &loads);
    let velocity = state.velocity_ned_m_s();
    let w = state.rates_body_rad_s;
    let q = state.ned_from_body.quaternion();
    let level_rate = body.model.thrust.as_ref().map_or(0.0, |t| {
        if t.spool_up_s > 0.0 { (inputs.throttle - state.thrust_level) / t.spool_up_s } else { 0.0 }
    });
    Vector::from([
        velocity.x,
        velocity.y,
        velocity.z,
        a.velocity_body_m_s2.x,
        a.velocity_body_m_s2.y,
        a.velocity_body_m_s2.z,
        0.5 * (-q.i * w.x - q.j * w.y - q.k * w.z),
        0.5 * (q.w * w.x + q.j * w.z - q.k * w.y),
        0.5 * (q.w * w.y + q.k * w.x - q.i * w.z),
        0.5 * (q.w * w.z + q.i * w.y - q.j * w.x),
        a.rates_body_rad_s2.x,
        a.rates_body_rad_s2.y,
        a.rates_body_rad_s2.z,
        level_rate,
        loads.drive.current_a / 3600.0,
    ])
}

/// The state one step of `dt_s` later. `around` tells the surroundings at a time within the step (s from its begin)
/// and a state; control deflections and throttle are held.
#[must_use]
pub fn step(
    body: &Prepared,
    state: &State,
    inputs: &Inputs,
    dt_s: f64,
    around: impl Fn(f64, &State) -> Surroundings,
) -> State {
    let controls = state.controls;
    let mut start = state.to_vector();
    if let Some(thrust) = &body.model.thrust
        && thrust.spool_up_s <= 0.0
    {
        // A drive without delay answers at once.
        start[13] = inputs.throttle;
    }
    let end = runge_kutta_4(&start, 0.0, dt_s, |t, vector| {
        let inside = State::from_vector(vector, controls);
        rate(body, &inside, inputs, &around(t, &inside))
    });
    State::from_vector(&end, controls)
}
