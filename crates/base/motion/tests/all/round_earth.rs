//! Check cases of NASA/TM-2015-218675 on the turning ellipsoid: places, velocities and attitudes within the spread of
//! the published simulations (`reference/nasa-6dof/states.csv`).

use motion::earth::{Plane, TURNING_RAD_S};
use motion::equations::{Inputs, step};
use motion::forces::{Prepared, Surroundings};
use motion::model::ForceModel;
use motion::state::State;
use numerics::units::{DEG_PER_RAD, M_PER_FT, RAD_PER_DEG};
use numerics::{Rotation, Vec3, frames};
use sky::atmosphere;

use crate::check_cases::{brick, sphere};

const STATES: &str = include_str!("../../../../../reference/nasa-6dof/states.csv");

/// Columns of the table after case, simulation and time.
const NAMES: [&str; 9] = [
    "altitude, ft",
    "longitude, deg",
    "latitude, deg",
    "north, ft/s",
    "east, ft/s",
    "down, ft/s",
    "yaw, deg",
    "pitch, deg",
    "roll, deg",
];
/// What is allowed beside the spread of the simulations: rounding of the table, of the inertias and constants, and
/// atmospheres that differ in the fifth digit (of the thousand degrees that the damped brick turns, a hundredth).
const ROUNDING: [f64; 9] = [0.02, 2e-7, 1e-7, 1e-3, 1e-3, 1e-3, 0.01, 0.01, 0.01];

/// Least and greatest of a column over the simulations of a case at a time.
fn spread(case: &str, time_s: f64, column: usize, without: Option<&str>) -> (f64, f64) {
    let mut range = (f64::INFINITY, f64::NEG_INFINITY);
    for line in STATES.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[0] == case && Some(cells[1]) != without && cells[2].parse::<f64>().unwrap() == time_s {
            let value: f64 = cells[3 + column].parse().unwrap();
            range = (range.0.min(value), range.1.max(value));
        }
    }
    assert!(range.0.is_finite(), "no rows of case {case} at {time_s} s");
    range
}

struct Case<'a> {
    name: &'a str,
    model: ForceModel,
    height_ft: f64,
    velocity_ned_ft_s: Vec3,
    rates_deg_s: Vec3,
    wind_ned_ft_s: Vec3,
    yaw_deg: f64,
    without: Option<&'a str>,
    columns: &'a [usize],
}

#[track_caller]
fn check_case(case: &Case) {
    let plane = Plane::at(0.0);
    let body = Prepared::new(&case.model).unwrap();
    let turning = plane.turning_ned_rad_s();
    assert!((turning - TURNING_RAD_S * Vec3::x()).norm() < 1e-12);
    let attitude = frames::ned_from_body(0.0, 0.0, case.yaw_deg * RAD_PER_DEG);
    // The attitude is counted from the plane as it stood in space at the begin, and so are the rates; forces go from
    // the plane to the body and back by it, so that the path does not depend on it.
    let mut state = State {
        position_ned_m: Vec3::new(0.0, 0.0, -case.height_ft * M_PER_FT),
        velocity_body_m_s: attitude.inverse_transform_vector(&(case.velocity_ned_ft_s * M_PER_FT)),
        ned_from_body: attitude,
        rates_body_rad_s: case.rates_deg_s * RAD_PER_DEG,
        ..State::at_rest()
    };
    let dt = 0.01;
    let mut seen = 0;
    for i in 1..=3000_u32 {
        state = step(&body, &state, &Inputs::default(), dt, |_, s| {
            let (_, _, height_m) = plane.geodetic(s.position_ned_m);
            let density = atmosphere::standard(height_m).unwrap().density_kg_m3;
            let free = plane.acceleration_ned_m_s2(s.position_ned_m, s.velocity_ned_m_s());
            Surroundings {
                gravity_m_s2: 0.0,
                wind_ned_m_s: case.wind_ned_ft_s * M_PER_FT,
                air_rates_body_rad_s: s.ned_from_body.inverse_transform_vector(&turning),
                outside_force_body_n: s.ned_from_body.inverse_transform_vector(&free) * case.model.mass_kg,
                ..Surroundings::still(density)
            }
        });
        let t = f64::from(i) * dt;
        if ![500, 1000, 2000, 3000].contains(&i) {
            continue;
        }
        seen += 1;
        let (latitude, longitude, height_m) = plane.geodetic(state.position_ned_m);
        let local = plane.local_from_plane(state.position_ned_m);
        let velocity = local * state.velocity_ned_m_s() / M_PER_FT;
        let turned = Rotation::new(-turning * t) * state.ned_from_body;
        let here = Rotation::from_rotation_matrix(&local) * turned;
        let (roll, pitch, yaw) = frames::roll_pitch_yaw(&here);
        let is = [
            height_m / M_PER_FT,
            longitude * DEG_PER_RAD,
            latitude * DEG_PER_RAD,
            velocity.x,
            velocity.y,
            velocity.z,
            yaw * DEG_PER_RAD,
            pitch * DEG_PER_RAD,
            roll * DEG_PER_RAD,
        ];
        for column in case.columns {
            let (low, high) = spread(case.name, t.round(), *column, case.without);
            let (value, more) = (is[*column], ROUNDING[*column]);
            assert!(
                (low - more..=high + more).contains(&value),
                "case {}, {} s, {}: {value} outside {low} to {high}",
                case.name,
                t.round(),
                NAMES[*column]
            );
        }
    }
    assert_eq!(seen, 4);
}

const PATH: [usize; 6] = [0, 1, 2, 3, 4, 5];

fn at_rest(name: &str, model: ForceModel) -> Case<'_> {
    Case {
        name,
        model,
        height_ft: 30_000.0,
        velocity_ned_ft_s: Vec3::zeros(),
        rates_deg_s: Vec3::zeros(),
        wind_ned_ft_s: Vec3::zeros(),
        yaw_deg: 0.0,
        without: None,
        columns: &PATH,
    }
}

#[test]
fn a_sphere_without_drag_falls_and_drifts_east() {
    check_case(&at_rest("01", sphere(0.0)));
}

#[test]
fn a_sphere_with_drag_falls_as_the_simulations_do() {
    check_case(&at_rest("06", sphere(0.1)));
}

#[test]
fn a_steady_wind_from_the_west_carries_the_sphere_east() {
    check_case(&Case { wind_ned_ft_s: Vec3::new(0.0, 20.0, 0.0), ..at_rest("07", sphere(0.1)) });
}

#[test]
fn a_cannonball_flies_east_as_the_simulations_do() {
    check_case(&Case {
        height_ft: 0.0,
        velocity_ned_ft_s: Vec3::new(0.0, 1000.0, -1000.0),
        yaw_deg: 90.0,
        ..at_rest("09", sphere(0.1))
    });
}

#[test]
fn an_undamped_brick_has_the_attitude_of_the_simulations() {
    // Simulation 02 stands apart from the others by degrees and is left out. Rates are with respect to space.
    check_case(&Case {
        rates_deg_s: Vec3::new(10.0, 20.0, 30.0),
        without: Some("02"),
        columns: &[0, 1, 3, 4, 5, 6, 7, 8],
        ..at_rest("02", brick(0.0))
    });
}

#[test]
fn a_damped_brick_has_the_attitude_of_the_simulations() {
    check_case(&Case {
        rates_deg_s: Vec3::new(10.0, 20.0, 30.0),
        columns: &[0, 1, 3, 4, 5, 6, 7, 8],
        ..at_rest("03", brick(-1.0))
    });
}
