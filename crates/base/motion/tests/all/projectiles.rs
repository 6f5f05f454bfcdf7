//! Bodies that fall and fly without lift.

use motion::equations::{Inputs, step};
use motion::forces::{Prepared, Surroundings};
use motion::state::State;
use numerics::units::G_M_S2;
use numerics::{Mat3, Vec3};

use crate::check;
use crate::models::{invented, lump};

/// One kilogram whose drag is `k` times the square of its speed, in air of 1.225 kg/m³.
fn ball(k: f64) -> Prepared {
    Prepared::new(&lump(1.0, Mat3::identity() * 0.01, 2.0 / 1.225, k)).unwrap()
}

fn air() -> Surroundings {
    Surroundings::still(1.225)
}

#[test]
fn without_drag_the_path_is_a_parabola() {
    let body = ball(0.0);
    let (vx, vz) = (11.0, -7.0);
    let mut state = State { velocity_body_m_s: Vec3::new(vx, 2.0, vz), ..State::at_rest() };
    for i in 1..=200_i32 {
        state = step(&body, &state, &Inputs::default(), 0.01, |_, _| air());
        let t = f64::from(i) * 0.01;
        // Rounding only: the method is exact for polynomials of the fourth degree.
        check("north", state.position_ned_m.x, vx * t, 1e-11);
        check("east", state.position_ned_m.y, 2.0 * t, 1e-11);
        let down = vz * t + 0.5 * G_M_S2 * t * t;
        check("down", state.position_ned_m.z, down, 1e-11);
    }
}

#[test]
fn a_drop_with_quadratic_drag_follows_the_hyperbolic_tangent() {
    // Closed form: v = vt tanh(g t / vt), y = vt²/g ln cosh(g t / vt), vt = sqrt(m g / k); k = 0.02, t = 3 s:
    // vt 22.14345, v 19.24063 m/s, y 35.16263 m.
    let body = ball(0.02);
    let terminal = (G_M_S2 / 0.02_f64).sqrt();
    check("terminal speed", terminal, 22.14345, 1e-5);
    let mut state = State::at_rest();
    for i in 1..=600_i32 {
        state = step(&body, &state, &Inputs::default(), 0.005, |_, _| air());
        let x = G_M_S2 * f64::from(i) * 0.005 / terminal;
        check("speed", state.velocity_body_m_s.z, terminal * x.tanh(), 1e-8);
        let fallen = terminal * terminal / G_M_S2 * x.cosh().ln();
        check("fallen", state.position_ned_m.z, fallen, 1e-8);
    }
    check("speed at 3 s", state.velocity_body_m_s.z, 19.24063, 1e-5);
    check("fallen at 3 s", state.position_ned_m.z, 35.16263, 1e-5);
}

#[test]
fn a_throw_with_quadratic_drag_lands_where_an_independent_integration_says() {
    // Source: scipy solve_ivp at 1e-11: 12 m/s, 20 degrees up, from 1.8 m, k/m 0.02 per m: lands after 1.14788 s
    // at 11.4721 m with 11.1444 m/s.
    let body = ball(0.02);
    let up = 20.0_f64.to_radians();
    let mut state = State {
        position_ned_m: Vec3::new(0.0, 0.0, -1.8),
        velocity_body_m_s: Vec3::new(12.0 * up.cos(), 0.0, -12.0 * up.sin()),
        ..State::at_rest()
    };
    let (dt, mut t) = (0.001, 0.0);
    while state.position_ned_m.z < 0.0 {
        state = step(&body, &state, &Inputs::default(), dt, |_, _| air());
        t += dt;
    }
    // Back along the last step to the ground.
    let back = state.position_ned_m.z / state.velocity_body_m_s.z;
    check("time", t - back, 1.14788, 2e-5);
    check("distance", state.position_ned_m.x - back * state.velocity_body_m_s.x, 11.4721, 2e-4);
    check("speed", state.velocity_body_m_s.norm(), 11.1444, 0.01);
}

#[test]
fn halving_the_step_divides_the_error_by_sixteen() {
    // Fourth order. A model thrown into a roll and a pull-up, one second, all six degrees and the spool-up at work.
    let body = Prepared::new(&invented()).unwrap();
    let end = |steps: u32| {
        let mut state = State {
            velocity_body_m_s: Vec3::new(13.0, 0.8, 0.5),
            rates_body_rad_s: Vec3::new(0.5, 0.3, -0.2),
            ..State::at_rest()
        };
        state.controls.aileron_rad = 0.03;
        state.controls.elevator_rad = -0.04;
        let inputs = Inputs { throttle: 0.3 };
        for _ in 0..steps {
            state = step(&body, &state, &inputs, 1.0 / f64::from(steps), |_, _| air());
        }
        state.to_vector()
    };
    let truth = end(3200);
    let ratio = (end(100) - truth).norm() / (end(200) - truth).norm();
    assert!((ratio / 16.0 - 1.0).abs() < 0.1, "{ratio}");
}
