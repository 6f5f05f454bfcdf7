//! How does the state change, and where is it one step later? Rigid body in six degrees of freedom over a flat earth
//! that does not turn, with the full inertia tensor; fourth-order Runge-Kutta at a fixed step.

use numerics::Vec3;
use numerics::integrate::runge_kutta_4;

use crate::body::{Moving, Push, Stream, accelerations, quaternion_rate};
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
    let gravity = state.ned_from_body.inverse_transform_vector(&Vec3::new(0.0, 0.0, around.gravity_m_s2));
    let moving = Moving { velocity: state.velocity_body_m_s.into(), turning: state.rates_body_rad_s.into() };
    let stream = Stream::of(loads.air_velocity_body_m_s.into(), around.density_kg_m3);
    let push = Push {
        air_force: loads.air_force_body_n.into(),
        air_moment: loads.air_moment_body_nm.into(),
        pitch_per_alpha_rate: loads.pitch_per_alpha_rate_nms,
        thrust_force: loads.thrust_body_n.into(),
        thrust_moment: loads.thrust_moment_body_nm.into(),
        cl: loads.cl,
        cd: loads.cd,
        stalled: loads.stalled,
    };
    let outside = [around.outside_force_body_n.into(), around.outside_moment_body_nm.into()];
    let (rate, specific, alpha_rate_rad_s) =
        accelerations(&body.body, &moving, &stream, &push, outside, gravity.into());
    Acceleration {
        velocity_body_m_s2: rate.velocity.into(),
        rates_body_rad_s2: rate.turning.into(),
        specific_force_body_m_s2: specific.into(),
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
    let turn = quaternion_rate([q.w, q.i, q.j, q.k], w.into());
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
        turn[0],
        turn[1],
        turn[2],
        turn[3],
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
