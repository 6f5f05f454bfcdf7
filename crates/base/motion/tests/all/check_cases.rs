//! Dropped spheres and tumbling bricks of NASA/TM-2015-218675, in `reference/nasa-6dof`.

use motion::equations::{Inputs, step};
use motion::forces::{Prepared, Surroundings};
use motion::model::ForceModel;
use motion::state::State;
use numerics::units::{DEG_PER_RAD, G_M_S2, KG_PER_SLUG, M_PER_FT, RAD_PER_DEG};
use numerics::{Mat3, Vec3};
use sky::atmosphere;

use crate::check;
use crate::models::lump;

const RATES: &str = include_str!("../../../../../reference/nasa-6dof/rates.csv");
const HEIGHTS: &str = include_str!("../../../../../reference/nasa-6dof/heights.csv");
const START_FT: f64 = 30_000.0;

/// Least and greatest of a column over the simulations of a case at a time.
fn spread(table: &str, case: &str, time_s: f64, column: usize) -> (f64, f64) {
    let mut range = (f64::INFINITY, f64::NEG_INFINITY);
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[0] == case && cells[2].parse::<f64>().unwrap() == time_s {
            let value: f64 = cells[column].parse().unwrap();
            range = (range.0.min(value), range.1.max(value));
        }
    }
    assert!(range.0.is_finite(), "no rows of case {case} at {time_s} s");
    range
}

pub(crate) fn brick(damping: f64) -> ForceModel {
    let slug_ft2 = KG_PER_SLUG * M_PER_FT * M_PER_FT;
    let inertia = Vec3::new(0.001_894_22, 0.006_211_019, 0.007_194_665) * slug_ft2;
    let mass_kg = 0.155_404_754 * KG_PER_SLUG;
    let area_m2 = 0.222_22 * M_PER_FT * M_PER_FT;
    let mut model = lump(mass_kg, Mat3::from_diagonal(&inertia), area_m2, 0.0);
    model.aerodynamics.mean_chord_m = 0.666_67 * M_PER_FT;
    model.aerodynamics.span_m = 0.333_33 * M_PER_FT;
    let d = &mut model.aerodynamics.derivatives;
    (d.Clp, d.Cmq, d.Cnr) = (damping, damping, damping);
    model
}

pub(crate) fn sphere(cd: f64) -> ForceModel {
    let inertia = 3.6 * KG_PER_SLUG * M_PER_FT * M_PER_FT;
    let area_m2 = 0.196_349_5 * M_PER_FT * M_PER_FT;
    let mut model = lump(KG_PER_SLUG, Mat3::identity() * inertia, area_m2, cd);
    // The side force of a derivative in body axes is the drag of a ball that flies sideways.
    model.aerodynamics.derivatives.CYb = -cd;
    model
}

/// Falls from 30 000 ft under a gravity told by height (m), and shows every whole second.
fn fall(
    model: &ForceModel,
    rates_deg_s: [f64; 3],
    gravity: impl Fn(f64) -> f64,
    mut each_second: impl FnMut(f64, &State),
) {
    let body = Prepared::new(model).unwrap();
    let mut state = State {
        position_ned_m: Vec3::new(0.0, 0.0, -START_FT * M_PER_FT),
        rates_body_rad_s: Vec3::from(rates_deg_s) * RAD_PER_DEG,
        ..State::at_rest()
    };
    let dt = 0.005;
    for i in 1..=6000_u32 {
        state = step(&body, &state, &Inputs::default(), dt, |_, s| {
            let height_m = s.height_m();
            let density = atmosphere::standard(height_m).unwrap().density_kg_m3;
            Surroundings { gravity_m_s2: gravity(height_m), ..Surroundings::still(density) }
        });
        if i % 200 == 0 {
            each_second(f64::from(i) * dt, &state);
        }
    }
}

/// Gravity at the equator less the pull of the turning earth, by height: 32.0875 ft/s² at sea level (WGS-84), falling
/// by 3.08e-6 per second squared.
fn at_the_equator(height_m: f64) -> f64 {
    32.0875 * M_PER_FT - 3.08e-6 * height_m
}

#[track_caller]
fn check_rates(case: &str, damping: f64, times_s: &[f64], within_deg_s: f64) {
    let mut seen = 0;
    fall(&brick(damping), [10.0, 20.0, 30.0], at_the_equator, |t, s| {
        if !times_s.iter().any(|wanted| (wanted - t).abs() < 1e-6) {
            return;
        }
        seen += 1;
        for axis in 0..3 {
            let (low, high) = spread(RATES, case, t.round(), 3 + axis);
            let rate = s.rates_body_rad_s[axis] * DEG_PER_RAD;
            assert!(
                (low - within_deg_s..=high + within_deg_s).contains(&rate),
                "case {case}, axis {axis}, {t} s: {rate} outside {low} to {high}"
            );
        }
    });
    assert_eq!(seen, times_s.len());
}

#[test]
fn an_undamped_brick_tumbles_as_the_simulations_do() {
    // Their rates are with respect to inertial space, so the earth's turning does not show; 1e-4 deg/s is the
    // rounding of the inertias.
    check_rates("02", 0.0, &[1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 20.0, 30.0], 1e-4);
}

#[test]
fn a_damped_brick_slows_as_the_simulations_do() {
    // Damping works on rates relative to the air, which turns with the earth at 0.0042 deg/s: that much is allowed.
    check_rates("03", -1.0, &[1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 20.0, 30.0], 0.0042);
}

#[track_caller]
fn check_drop(case: &str, cd: f64, times_s: &[f64], gravity: impl Fn(f64) -> f64, relative: f64) {
    fall(&sphere(cd), [0.0; 3], gravity, |t, s| {
        if !times_s.iter().any(|wanted| (wanted - t).abs() < 1e-6) {
            return;
        }
        let (low, high) = spread(HEIGHTS, case, t.round(), 3);
        let expected = START_FT - 0.5 * (low + high);
        let fallen = START_FT - s.height_m() / M_PER_FT;
        check("fallen, ft", fallen, expected, relative * expected + (high - low));
    });
}

#[test]
fn spheres_fall_as_the_simulations_do_where_gravity_is_theirs() {
    // A flat earth that does not turn, but with the gravity of the place: 1e-4 for its linear fall with height.
    let times = [5.0, 10.0, 20.0, 30.0];
    check_drop("01", 0.0, &times, at_the_equator, 1e-4);
    check_drop("06", 0.1, &times, at_the_equator, 1e-4);
}

#[test]
fn with_one_gravity_for_all_heights_spheres_fall_a_little_wrong() {
    // Standard gravity is that of 45 degrees at sea level. At the equator, on the turning earth and from this height,
    // it is 0.56 % less at first and 0.4 % at the end: the fall comes out up to 0.6 % long.
    check_drop("01", 0.0, &[30.0], |_| G_M_S2, 6e-3);
    check_drop("06", 0.1, &[30.0], |_| G_M_S2, 6e-3);
    // With the gravity of the start kept, only its growth of 0.14 % on the way down is missing.
    let start = at_the_equator(START_FT * M_PER_FT);
    check_drop("01", 0.0, &[30.0], |_| start, 1e-3);
    check_drop("06", 0.1, &[30.0], |_| start, 1e-3);
}
