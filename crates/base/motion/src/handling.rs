//! How strongly does the aircraft answer its sticks? What a pilot gets a feel for, and what first gains come from.

use crate::forces::Prepared;
use crate::linear;
use crate::trim::{self, Hold, NoTrim, Trim};
use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad};
use nalgebra::Matrix2;
use nalgebra::Vector2;

/// Answers at one airspeed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Handling {
    /// Airspeed they hold at, m/s.
    pub speed_m_s: f64,
    /// Straight and level flight at that speed.
    pub level: Trim,
    /// Steady rate for full stick [roll, pitch, yaw], rad/s, positive; yaw as if it did not weathercock: the rate that
    /// the rudder's moment balances against the damping.
    pub rate_per_stick_rad_s: [f64; 3],
    /// Steady rate per axis deflection [roll, pitch, yaw], 1/s, positive.
    pub rate_per_rad_s: [f64; 3],
    /// Time constant of the rate [roll, pitch, yaw], s.
    pub time_constant_s: [f64; 3],
    /// Sideward specific force for full yaw stick in steady sideslip, m/s², of either sign.
    pub side_force_per_stick_m_s2: f64,
    /// Axis throws at full stick [roll, pitch, yaw], rad; zero where nothing answers.
    pub throw_rad: [f64; 3],
}

impl Handling {
    /// Answers of an aircraft with a model, about level flight at a speed (m/s) and density (kg/m³).
    ///
    /// # Errors
    /// When it cannot fly level (or glide, without a drive) at that speed.
    pub fn of(
        aircraft: &Aircraft,
        body: &Prepared,
        speed_m_s: f64,
        density_kg_m3: f64,
    ) -> Result<Self, NoTrim> {
        let level = if body.model.thrust.is_some() {
            trim::straight(body, speed_m_s, Hold::ClimbAngle(0.0), density_kg_m3)?
        } else {
            trim::straight(body, speed_m_s, Hold::Throttle(0.0), density_kg_m3)?
        };
        let long = linear::longitudinal(body, &level, density_kg_m3);
        let side = linear::lateral(body, &level, density_kg_m3);
        // Two states (w, q) at constant speed and attitude: the fast part of pitch.
        let fast = Matrix2::new(long.a[(1, 1)], long.a[(1, 2)], long.a[(2, 1)], long.a[(2, 2)]);
        let drive = Vector2::new(long.b[(1, 0)], long.b[(2, 0)]);
        let pitch = fast.try_inverse().map_or(0.0, |inverse| -(inverse * drive).y);
        let damping = -0.5 * fast.trace();
        let roll = -side.b[(1, 0)] / side.a[(1, 1)];
        let yaw = -side.b[(2, 1)] / side.a[(2, 2)];
        let throw_rad = [Axis::Roll, Axis::Pitch, Axis::Yaw]
            .map(|axis| axis_throw_rad(aircraft, axis).map_or(0.0, |t| t.mean_rad()));
        let rate_per_rad_s = [roll, pitch, yaw].map(f64::abs);
        let mut rate_per_stick_rad_s = [0.0; 3];
        for ((stick, rad), throw) in rate_per_stick_rad_s.iter_mut().zip(rate_per_rad_s).zip(throw_rad) {
            *stick = rad * throw;
        }
        // Steady sideslip per rudder from the balance of yaw, and the side force that goes with it.
        let slip = -side.b[(2, 1)] / side.a[(2, 0)];
        let side_force = (side.a[(0, 0)] * slip + side.b[(0, 1)]) * -throw_rad[2];
        Ok(Self {
            speed_m_s,
            level,
            rate_per_stick_rad_s,
            rate_per_rad_s,
            time_constant_s: [
                -1.0 / side.a[(1, 1)],
                if damping > 0.0 { 1.0 / damping } else { 0.3 },
                -1.0 / side.a[(2, 2)],
            ],
            side_force_per_stick_m_s2: if side_force.is_finite() { side_force } else { 0.0 },
            throw_rad,
        })
    }
}
