//! Does it leave the ground within its run? The ground run of a rolling take-off along its heading: thrust, drag, lift,
//! and what the wheels' ground holds back.

use motion::forces::{Drive, Prepared};
use motion::state::Controls;
use numerics::Vec3;
use numerics::units::G_M_S2;

/// Step of the run, s: the speed changes by a few per cent of itself in a step.
const STEP_S: f64 = 0.02;
/// Longest run, s.
const LONGEST_S: f64 = 60.0;

/// Way over the ground until the airspeed of lift-off is reached, m; `None` where it never is.
#[must_use]
pub fn ground_run_m(
    body: &Prepared,
    resistance: f64,
    lift_off_m_s: f64,
    headwind_m_s: f64,
    throttle: f64,
    density_kg_m3: f64,
) -> Option<f64> {
    let m = &body.model;
    let spool_s = m.thrust.as_ref().map_or(0.0, |t| t.spool_up_s);
    let rate = |speed: f64, level: f64| {
        let airspeed = (speed + headwind_m_s).max(0.0);
        let drive = m.thrust.as_ref().map_or(Drive::default(), |t| t.nearest(level, airspeed));
        let air = Vec3::new(airspeed, 0.0, 0.0);
        let loads = body.loads_with(air, Vec3::zeros(), &Controls::default(), density_kg_m3, drive);
        let force = loads.air_force_body_n + loads.thrust_body_n;
        let on_wheels = (m.mass_kg * G_M_S2 + force.z).max(0.0);
        (force.x - resistance * on_wheels) / m.mass_kg
    };
    let (mut speed, mut way, mut level, mut time) = (0.0_f64, 0.0, 0.0_f64, 0.0);
    while speed + headwind_m_s < lift_off_m_s {
        if time > LONGEST_S {
            return None;
        }
        let share = if spool_s > 0.0 { 1.0 - (-STEP_S / spool_s).exp() } else { 1.0 };
        level += (throttle - level) * share;
        // The midpoint rule.
        let half = (speed + 0.5 * STEP_S * rate(speed, level)).max(0.0);
        let next = (speed + STEP_S * rate(half, level)).max(0.0);
        way += 0.5 * (speed + next) * STEP_S;
        speed = next;
        time += STEP_S;
    }
    Some(way)
}

#[cfg(test)]
mod tests {
    use super::*;
    use motion::model::{Aerodynamics, Derivatives, ForceModel, Thrust};

    #[test]
    fn a_run_without_drag_is_that_of_constant_acceleration() {
        // No lift, no drag: a = T/m - mu g; way = v²/(2 a). T = 8 N, m = 1.5 kg, mu = 0.1, v = 10 m/s:
        // a = 5.3333 - 0.98067 = 4.35267, way = 11.4872 m. Against 4 m/s of wind 6 m/s do: 4.1354 m.
        let aerodynamics = Aerodynamics {
            cl0: 0.0,
            cd0: 0.0,
            cl_least_drag: 0.0,
            induced: 0.0,
            cm0: 0.0,
            derivatives: Derivatives::default(),
            ..crate::example::aerodynamics()
        };
        let thrust = Thrust {
            throttle: vec![0.0, 1.0],
            airspeed_m_s: vec![0.0, 30.0],
            thrust_n: vec![0.0, 0.0, 8.0, 8.0],
            current_a: vec![0.0; 4],
            rpm: vec![0.0; 4],
            volts: vec![0.0; 4],
            direction: Vec3::x(),
            at_m: Vec3::zeros(),
            spool_up_s: 0.0,
            capacity_ah: 2.0,
        };
        let model = ForceModel {
            mass_kg: 1.5,
            inertia_kg_m2: crate::example::inertia_kg_m2(),
            aerodynamics,
            thrust: Some(thrust),
            details: motion::details::Details::default(),
        };
        let body = Prepared::new(&model).unwrap();
        for (wind, expected) in [(0.0, 11.4872), (4.0, 4.1354)] {
            let way = ground_run_m(&body, 0.1, 10.0, wind, 1.0, 1.225).unwrap();
            // The last step goes past the speed by up to a g h = 0.087 m/s, or 0.2 m.
            assert!(way >= expected - 1e-3 && way < expected + 0.21, "{way}, expected {expected}");
        }
        assert!(ground_run_m(&body, 0.6, 10.0, 0.0, 1.0, 1.225).is_none(), "held back by 5.9 m/s² of 5.3");
    }
}
