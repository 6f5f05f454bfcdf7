//! Bodies that nothing acts on.

use motion::equations::{Inputs, step};
use motion::forces::{Prepared, Surroundings};
use motion::state::State;
use numerics::{Mat3, Rotation, Vec3};

use crate::check;
use crate::models::lump;

/// Neither air nor gravity.
fn nothing() -> Surroundings {
    Surroundings { gravity_m_s2: 0.0, ..Surroundings::still(0.0) }
}

fn turned(inertia: Mat3, rates: Vec3, seconds: f64, dt: f64, mut each: impl FnMut(f64, &State)) {
    let body = Prepared::new(&lump(1.0, inertia, 1.0, 0.0)).unwrap();
    let mut state = State {
        rates_body_rad_s: rates,
        ned_from_body: numerics::frames::ned_from_body(0.4, -0.3, 1.1),
        ..State::at_rest()
    };
    let steps = (seconds / dt).round() as usize;
    for i in 0..steps {
        state = step(&body, &state, &Inputs::default(), dt, |_, _| nothing());
        each((i + 1) as f64 * dt, &state);
    }
}

#[test]
fn a_symmetric_top_nutates_at_the_closed_form_frequency() {
    // Euler: with I1 = I2 the third rate stays, and the first two turn in the body at (I3 - I1)/I1 w3 = 9 rad/s:
    // w1 = cos 9t, w2 = sin 9t. In space the axis of symmetry turns about the angular momentum at |H|/I1 =
    // sqrt(0.02² + 0.3²)/0.02 = 15.03330 rad/s.
    let inertia = Mat3::from_diagonal(&Vec3::new(0.02, 0.02, 0.05));
    let start = numerics::frames::ned_from_body(0.4, -0.3, 1.1);
    let momentum = start * Vec3::new(0.02, 0.0, 0.3);
    let about = nalgebra::Unit::new_normalize(momentum);
    turned(inertia, Vec3::new(1.0, 0.0, 6.0), 2.0, 0.001, |t, s| {
        let w = s.rates_body_rad_s;
        check("p", w.x, (9.0 * t).cos(), 1e-7);
        check("q", w.y, (9.0 * t).sin(), 1e-7);
        check("r", w.z, 6.0, 1e-9);
        let nutation = Rotation::from_axis_angle(&about, momentum.norm() / 0.02 * t);
        let axis = s.ned_from_body * Vec3::z();
        let expected = nutation * (start * Vec3::z());
        assert!((axis - expected).norm() < 1e-6, "{t}: {axis} {expected}");
    });
}

#[test]
fn a_free_asymmetric_body_keeps_energy_and_angular_momentum() {
    // Nothing acts: energy and the angular momentum in space are constants, to 1e-8 of themselves over 60 s. The
    // products of inertia are there to catch an equation that only knows the diagonal.
    let inertia = Mat3::new(0.09, 0.0, -0.012, 0.0, 0.12, 0.003, -0.012, 0.003, 0.18);
    let rates = Vec3::new(1.1, 0.3, 1.6);
    let energy = |w: &Vec3| 0.5 * w.dot(&(inertia * w));
    let start = numerics::frames::ned_from_body(0.4, -0.3, 1.1);
    let (energy_0, momentum_0) = (energy(&rates), start * (inertia * rates));
    let mut swing = 0.0_f64;
    turned(inertia, rates, 60.0, 0.002, |t, s| {
        let w = s.rates_body_rad_s;
        check("energy", energy(&w) / energy_0, 1.0, 1e-8);
        let momentum = s.ned_from_body * (inertia * w);
        assert!((momentum - momentum_0).norm() / momentum_0.norm() < 1e-8, "{t}");
        swing = swing.max((w - rates).norm());
    });
    assert!(swing > 0.5, "the rates must change, else nothing was tested");
}
