//! Whole motions of a model: trim that holds, turns, the slow swing, wind.

use motion::equations::{Inputs, step};
use motion::forces::{Prepared, Surroundings};
use motion::linear::longitudinal;
use motion::model::ForceModel;
use motion::state::State;
use motion::trim::{Hold, NoTrim, straight, turn};
use numerics::units::{DEG_PER_RAD, G_M_S2};
use numerics::{Vec3, frames};

use crate::check;
use crate::models::invented;

const DENSITY: f64 = 1.225;

fn body(model: &ForceModel) -> Prepared {
    Prepared::new(model).unwrap()
}

fn fly(body: &Prepared, state: &State, inputs: &Inputs, seconds: f64, wind: Vec3) -> Vec<State> {
    let dt = 0.005;
    let mut now = *state;
    let mut all = vec![now];
    for _ in 0..(seconds / dt).round() as usize {
        now = step(body, &now, inputs, dt, |_, _| Surroundings {
            wind_ned_m_s: wind,
            ..Surroundings::still(DENSITY)
        });
        all.push(now);
    }
    all
}

#[test]
fn a_steady_glide_has_the_angle_of_drag_over_lift() {
    // In unaccelerated flight without thrust, tan(descent) = CD/CL and the resultant of both carries the weight.
    let model = invented();
    let body = body(&ForceModel { thrust: None, ..model });
    let trim = straight(&body, 11.0, Hold::Throttle(0.0), DENSITY).unwrap();
    check("descent", -trim.climb_angle_rad, (trim.cd / trim.cl).atan(), 1e-8);
    let pressure = 0.5 * DENSITY * 121.0 * 0.352;
    check("carried", pressure * trim.cl.hypot(trim.cd), 1.5 * G_M_S2, 1e-6);
    let last = *fly(&body, &trim.state, &Inputs::default(), 20.0, Vec3::zeros()).last().unwrap();
    check("speed kept", last.velocity_body_m_s.norm(), 11.0, 1e-6);
    let sunk = 20.0 * 11.0 * -trim.climb_angle_rad.sin();
    check("height lost", -last.height_m(), sunk, 1e-4);
}

#[test]
fn a_level_trim_flies_level_and_straight_with_its_throttle() {
    let body = body(&invented());
    let trim = straight(&body, 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap();
    assert!((0.2..0.9).contains(&trim.inputs.throttle));
    let last = *fly(&body, &trim.state, &trim.inputs, 30.0, Vec3::zeros()).last().unwrap();
    check("height", last.height_m(), 0.0, 1e-4);
    check("north", last.position_ned_m.x, 390.0, 1e-3);
    check("east", last.position_ned_m.y, 0.0, 1e-6);
}

#[test]
fn wind_carries_the_aircraft_and_nothing_else() {
    // Galilei: in a steady wind the motion through the air is the same, and the air moves on.
    let body = body(&invented());
    let wind = frames::wind_ned_m_s(4.0, 240.0_f64.to_radians());
    let mut start = straight(&body, 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap().state;
    start.controls.aileron_rad += 0.01;
    let inputs = Inputs { throttle: 0.6 };
    let calm = fly(&body, &start, &inputs, 8.0, Vec3::zeros());
    let mut blown = start;
    blown.velocity_body_m_s += start.ned_from_body.inverse_transform_vector(&wind);
    let blown = fly(&body, &blown, &inputs, 8.0, wind);
    let (c, b) = (calm.last().unwrap(), blown.last().unwrap());
    let drift = b.position_ned_m - c.position_ned_m - wind * 8.0;
    assert!(drift.norm() < 1e-6, "{drift}");
    let over = b.velocity_ned_m_s() - c.velocity_ned_m_s() - wind;
    assert!(over.norm() < 1e-7, "{over}");
}

#[test]
fn a_coordinated_turn_has_the_rate_radius_and_load_of_its_bank() {
    // Closed form: g tan(bank)/V, V²/(g tan bank), 1/cos(bank): 12 m/s at 45 degrees give 46.823 deg/s, 14.684 m,
    // 1.41421, for the bank about the flight path. Here it is about the body's axis, pitched up by some 5 degrees:
    // the difference is of the order of 1 - cos(pitch), under 1 %.
    let body = body(&invented());
    for side in [1.0, -1.0] {
        let bank = side * 45.0_f64.to_radians();
        let trim = turn(&body, 12.0, Hold::ClimbAngle(0.0), bank, DENSITY).unwrap();
        let rate = trim.turn_rate_rad_s * DEG_PER_RAD;
        check("rate of turn, deg/s", rate, side * 46.823, 0.47);
        check("load factor", trim.load_factor, 2.0_f64.sqrt(), 0.0142);
        // Flown once round: back where it was, and the track is that wide.
        let seconds = std::f64::consts::TAU / trim.turn_rate_rad_s.abs();
        let round = fly(&body, &trim.state, &trim.inputs, seconds, Vec3::zeros());
        let east = round.iter().map(|s| s.position_ned_m.y * side);
        let width = east.fold(0.0, f64::max);
        check("diameter, m", width, 2.0 * 14.684, 0.4);
        let last = round.last().unwrap().position_ned_m;
        assert!(last.norm() < 0.15, "round to within a step's way: {last}");
    }
}

/// Period of the slow swing as flown with fixed controls after a disturbance of 5 % in speed, and as linearized, s.
fn slow_swing_s(model: &ForceModel, speed: f64) -> (f64, f64) {
    let body = body(model);
    let trim = straight(&body, speed, Hold::Throttle(0.0), DENSITY).unwrap();
    let mut start = trim.state;
    start.velocity_body_m_s *= 1.05;
    let flown = fly(&body, &start, &Inputs::default(), 50.0, Vec3::zeros());
    // Times at which the airspeed crosses that of the trim downward.
    let fast = |s: &State| s.velocity_body_m_s.norm() - speed;
    let crossings: Vec<f64> = flown
        .windows(2)
        .enumerate()
        .filter(|(_, w)| fast(&w[0]) > 0.0 && fast(&w[1]) <= 0.0)
        .map(|(i, w)| 0.005 * (i as f64 + fast(&w[0]) / (fast(&w[0]) - fast(&w[1]))))
        .collect();
    assert!(crossings.len() >= 4, "{crossings:?}");
    let flown_s = (crossings.last().unwrap() - crossings[0]) / (crossings.len() - 1) as f64;
    let slow = longitudinal(&body, &trim, DENSITY)
        .eigenvalues()
        .iter()
        .filter(|e| e.im > 0.0)
        .map(|e| e.im)
        .fold(f64::INFINITY, f64::min);
    (flown_s, std::f64::consts::TAU / slow)
}

/// The invented model as a glider with little drag.
fn sailplane() -> ForceModel {
    let mut model = invented();
    model.aerodynamics.cd0 = 0.008;
    model.aerodynamics.induced = 0.018;
    model.thrust = None;
    model
}

#[test]
fn the_slow_swing_has_lanchesters_period() {
    // Lanchester: sqrt(2) pi V / g, for an aircraft that swings at one angle of attack: with little drag, and so
    // stable that its pitch damping does not matter. 10 % for what is left of both.
    let mut model = sailplane();
    model.aerodynamics.derivatives.Cma = -4.0;
    model.aerodynamics.derivatives.Cmq = -3.0;
    let (flown, linear) = slow_swing_s(&model, 15.0);
    let lanchester = 2.0_f64.sqrt() * std::f64::consts::PI * 15.0 / G_M_S2;
    check("Lanchester's period", lanchester, 6.7957, 1e-4);
    check("period", flown, lanchester, 0.1 * lanchester);
    check("linear period", linear, flown, 0.02 * flown);
}

#[test]
fn pitch_damping_slows_the_swing_by_the_root_of_maneuver_over_static_margin() {
    // Textbook second approximation of the phugoid: frequency² = Lanchester's times static over maneuver margin, the
    // latter greater by -Cmq rho S c / (4 m). A light model with a long tail swings half as slow again.
    let model = sailplane();
    let (flown, linear) = slow_swing_s(&model, 15.0);
    let a = &model.aerodynamics;
    let fixed = -a.derivatives.Cma / a.derivatives.CLa;
    let damping = -a.derivatives.Cmq * DENSITY * a.area_m2 * a.mean_chord_m / (4.0 * 1.5);
    let slower = ((fixed + damping) / fixed).sqrt();
    assert!(slower > 1.4);
    let expected = 2.0_f64.sqrt() * std::f64::consts::PI * 15.0 / G_M_S2 * slower;
    check("period", flown, expected, 0.1 * expected);
    check("linear period", linear, flown, 0.02 * flown);
}

#[test]
fn what_cannot_be_trimmed_is_refused_with_the_reason() {
    let body = body(&invented());
    let level = Hold::ClimbAngle(0.0);
    // Stall speed is sqrt(2 m g / (rho S CLmax)) = 7.39 m/s.
    let slow = straight(&body, 6.0, level, DENSITY);
    assert!(matches!(slow, Err(NoTrim::Stalled { .. } | NoTrim::NotBalanced { .. })), "{slow:?}");
    let fast = straight(&body, 29.0, level, DENSITY);
    assert!(matches!(fast, Err(NoTrim::Thrust { .. })), "{fast:?}");
    let outside = straight(&body, 40.0, Hold::Throttle(0.5), DENSITY);
    assert!(matches!(outside, Err(NoTrim::OutsideTable { .. })), "{outside:?}");
}

#[test]
fn a_thrust_line_below_the_balance_point_is_held_with_down_elevator() {
    let mut model = invented();
    let plain = straight(&body(&model), 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap();
    // A pull below the balance point lifts the nose; elevator down (positive) answers.
    model.thrust.as_mut().unwrap().at_m = Vec3::new(0.3, 0.0, 0.05);
    let low = straight(&body(&model), 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap();
    assert!(low.state.controls.elevator_rad > plain.state.controls.elevator_rad + 0.005);
    // A pull to the right of it yaws left; rudder right (negative deflection) answers.
    model.thrust.as_mut().unwrap().at_m = Vec3::new(0.3, 0.05, 0.0);
    let right = straight(&body(&model), 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap();
    assert!(right.state.controls.rudder_rad < -0.005);
}
