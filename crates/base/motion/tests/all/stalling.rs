//! Beyond the stall and beside the coefficients: halves of the wing, tumbling, slipstream, propeller, ground.

use motion::details::{Details, Spin, Wash};
use motion::equations::{Inputs, step};
use motion::forces::{Drive, Loads, Prepared, Surroundings};
use motion::model::ForceModel;
use motion::state::{Controls, State};
use numerics::Vec3;
use numerics::units::{RAD_PER_DEG, RAD_S_PER_RPM};
use proptest::prelude::*;

use crate::check;
use crate::models::invented;

const DENSITY: f64 = 1.225;
const SPEED: f64 = 12.0;

fn warped(asymmetry_deg: f64) -> ForceModel {
    ForceModel {
        details: Details { asymmetry_rad: asymmetry_deg * RAD_PER_DEG, ..Details::default() },
        ..invented()
    }
}

fn loads(model: &ForceModel, alpha: f64, rates: Vec3, drive: Drive, controls: Controls) -> Loads {
    let v = SPEED * Vec3::new(alpha.cos(), 0.0, alpha.sin());
    Prepared::new(model).unwrap().loads_with(v, rates, &controls, DENSITY, drive)
}

fn still(model: &ForceModel, alpha: f64, rates: Vec3) -> Loads {
    loads(model, alpha, rates, Drive::default(), Controls::default())
}

/// Rolling moment per roll rate, N m s.
fn roll_damping(alpha: f64) -> f64 {
    let model = warped(0.0);
    let moment = |p: f64| still(&model, alpha, Vec3::new(p, 0.0, 0.0)).air_moment_body_nm.x;
    (moment(0.1) - moment(-0.1)) / 0.2
}

#[test]
fn the_wing_damps_its_roll_below_the_stall_and_drives_it_at_the_stall() {
    // Below: Clp of the model, q S b Clp b/2V = 88.2 * 0.352 * 1.6 * -0.46 * 1.6/24 = -1.5234 N m s.
    check("attached", roll_damping(0.05), -1.5234, 1e-3);
    // Autorotation: where lift falls with the angle of attack, the wing that goes down is driven on.
    let strongest =
        (0..60).map(|i| roll_damping(0.2 + 0.004 * f64::from(i))).fold(f64::NEG_INFINITY, f64::max);
    assert!(strongest > 0.1, "{strongest}");
    // Far beyond, a plate: its normal force n = plate sin(alpha) on two halves at the arm y damps with plate
    // cos(alpha) where the line damped with CLa: always less.
    for alpha in [0.6, 0.9, 1.2] {
        let deep = roll_damping(alpha);
        assert!((-0.6..=0.0).contains(&deep), "{alpha}: {deep}");
    }
}

/// Held wings level in pitch and stalled, rolling free: roll rate after eight seconds.
fn rolled(model: &ForceModel, kick: f64) -> f64 {
    let body = Prepared::new(model).unwrap();
    let mut p = kick;
    for _ in 0..4000 {
        let v = SPEED * Vec3::new(0.34_f64.cos(), 0.0, 0.34_f64.sin());
        let l = body.loads_with(v, Vec3::new(p, 0.0, 0.0), &Controls::default(), DENSITY, Drive::default());
        p += l.air_moment_body_nm.x / 0.095 * 0.002;
    }
    p
}

#[test]
fn a_small_warp_decides_which_wing_drops_and_the_roll_settles_at_a_rate() {
    // The right half at the larger angle stalls first and drops: roll to the right. Without warp nothing begins.
    let (right, left, none) =
        (rolled(&warped(0.3), 0.0), rolled(&warped(-0.3), 0.0), rolled(&warped(0.0), 0.0));
    assert!(right > 1.0 && left < -1.0, "{right} {left}");
    check("mirror", right, -left, 1e-9);
    check("even", none, 0.0, 1e-12);
    // It is a rate that the roll settles at, from below or above, not a growth without end.
    check("from above", rolled(&warped(0.3), 2.0 * right), right, 0.05 * right);
}

#[test]
fn below_the_stall_the_warp_changes_nothing() {
    let (a, b) = (still(&warped(0.0), 0.08, Vec3::zeros()), still(&warped(1.0), 0.08, Vec3::zeros()));
    assert_eq!(a.air_moment_body_nm, b.air_moment_body_nm);
    assert_eq!(a.air_force_body_n, b.air_force_body_n);
}

#[test]
fn slip_stalls_the_windward_half_first_when_there_is_dihedral() {
    let model = warped(0.0);
    let body = Prepared::new(&model).unwrap();
    let (alpha, beta) = (0.27_f64, 0.1_f64);
    let v = SPEED * Vec3::new(alpha.cos() * beta.cos(), beta.sin(), alpha.sin() * beta.cos());
    let l = body.loads_with(v, Vec3::zeros(), &Controls::default(), DENSITY, Drive::default());
    let linear = l.flow.pressure_pa * 0.352 * 1.6 * -0.06 * beta.sin();
    assert!(l.air_moment_body_nm.x > linear, "the windward half has lost lift, so it rolls away less");
}

#[test]
fn the_slipstream_keeps_the_elevator_alive_without_speed() {
    // Momentum theory: dynamic pressure in the stream at rest is thrust over disc: 10 N / 0.05 m² = 200 Pa. Of the
    // elevator's moment 40 % lies in it: 200 * 0.4 * 0.352 * 0.22 * -1.15 * 0.2 = -1.4248 N m.
    let model = ForceModel {
        details: Details {
            wash: Some(Wash { disk_area_m2: 0.05, elevator_share: 0.4, rudder_share: 0.0 }),
            ..Details::default()
        },
        ..invented()
    };
    let body = Prepared::new(&model).unwrap();
    let controls = Controls { elevator_rad: 0.2, ..Controls::default() };
    let drive = Drive { thrust_n: 10.0, ..Drive::default() };
    let l = body.loads_with(Vec3::zeros(), Vec3::zeros(), &controls, DENSITY, drive);
    check("moment at rest", l.air_moment_body_nm.y, -1.4248, 1e-3);
    // Ratio of dynamic pressures at the tail at speed: 1 + T/(q A), for the share in the stream.
    let alive = |drive: Drive| {
        loads(&model, 0.03, Vec3::zeros(), drive, controls).air_moment_body_nm.y
            - loads(&model, 0.03, Vec3::zeros(), drive, Controls::default()).air_moment_body_nm.y
    };
    let pressure = 0.5 * DENSITY * SPEED * SPEED;
    check("ratio", alive(drive) / alive(Drive::default()), 1.0 + 0.4 * 200.0 / pressure, 1e-6);
}

#[test]
fn a_propeller_turning_right_rolls_left_and_precesses() {
    let spin = Spin { sense: 1.0, inertia_kg_m2: 4e-5, efficiency: 0.75 };
    let model = ForceModel { details: Details { spin: Some(spin), ..Details::default() }, ..invented() };
    let drive = Drive { thrust_n: 0.0, current_a: 20.0, rpm: 8000.0, volts: 11.0, outside_table: false };
    // Shaft: 0.75 * 220 W over 837.76 rad/s = 0.19695 N m, felt the other way round.
    let l = loads(&model, 0.0, Vec3::zeros(), drive, Controls::default());
    check("torque", l.thrust_moment_body_nm.x, -0.19695, 1e-4);
    // Gyroscope: H = 4e-5 * 837.76 along x. Nose up (q) needs H x ... : moment on the body H × w = (0, 0, H q): the nose
    // goes right when it is pulled up.
    let turning = loads(&model, 0.0, Vec3::new(0.0, 2.0, 0.0), drive, Controls::default());
    let moment = turning.thrust_moment_body_nm.z;
    check("precession", moment, 4e-5 * 8000.0 * RAD_S_PER_RPM * 2.0, 1e-9);
}

#[test]
fn near_the_ground_induced_drag_is_less_by_the_published_share() {
    // McCormick: (16 h/b)² / (1 + (16 h/b)²): at a tenth of the span 2.56/3.56 = 0.71910.
    let model = ForceModel { details: Details { ground_effect: true, ..Details::default() }, ..invented() };
    let body = Prepared::new(&model).unwrap();
    let state = State {
        velocity_body_m_s: SPEED * Vec3::new(0.08_f64.cos(), 0.0, 0.08_f64.sin()),
        ..State::at_rest()
    };
    let drag =
        |height_m: f64| body.loads(&state, &Surroundings { height_m, ..Surroundings::still(DENSITY) }).cd;
    let induced = drag(f64::INFINITY) - 0.035;
    check("share", (drag(0.16) - 0.035) / induced, 0.71910, 1e-4);
    assert!(drag(8.0) - 0.035 > 0.999 * induced);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn whatever_it_is_thrown_into_it_stays_bounded(
        alpha in -3.1..3.1_f64, beta in -1.5..1.5_f64, p in -20.0..20.0_f64, q in -20.0..20.0_f64, r in -20.0..20.0_f64,
        speed in 0.0..35.0_f64, elevator in -0.4..0.4_f64
    ) {
        let mut model = warped(0.5);
        model.details.spin = Some(Spin { sense: 1.0, inertia_kg_m2: 4e-5, efficiency: 0.75 });
        let body = Prepared::new(&model).unwrap();
        let mut state = State {
            velocity_body_m_s: speed * Vec3::new(alpha.cos() * beta.cos(), beta.sin(), alpha.sin() * beta.cos()),
            rates_body_rad_s: Vec3::new(p, q, r),
            ..State::at_rest()
        };
        state.controls = Controls { elevator_rad: elevator, aileron_rad: 0.1, rudder_rad: -0.2, flap_rad: 0.0 };
        let inertia = model.inertia_kg_m2;
        let turning = |s: &State| 0.5 * s.rates_body_rad_s.dot(&(inertia * s.rates_body_rad_s));
        let moving = |s: &State| 0.5 * 1.5 * s.velocity_body_m_s.norm_squared();
        let mut budget = turning(&state) + moving(&state);
        for _ in 0..1200 {
            let before = state;
            state = step(&body, &state, &Inputs { throttle: 0.7 }, 0.005, |_, _| Surroundings::still(DENSITY));
            // Still air only takes energy away: what turns and moves came from the begin, the fall, and the pull (at most
            // 11 N along the way, and a twentieth of that as torque).
            let way = (state.position_ned_m - before.position_ned_m).norm();
            budget += 1.5 * 9.80665 * (state.position_ned_m.z - before.position_ned_m.z);
            budget += 11.0 * way + 0.5 * state.rates_body_rad_s.norm() * 0.005;
            let (t, m) = (turning(&state), moving(&state));
            prop_assert!(t + m <= 1.02 * budget + 1.0, "{t} J turning, {m} J moving, {budget} J to have");
        }
    }
}
