//! Where is it, how does it move, and what is set? The state of the equations of motion and its vector form.

use nalgebra::{Quaternion, SVector};
use numerics::{Rotation, Vec3};

/// Deflections of the control axes, rad, each positive where it gives a negative moment (`numerics::frames`).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Controls {
    /// Aileron: right trailing edge down less left, halved.
    pub aileron_rad: f64,
    /// Elevator: trailing edge down.
    pub elevator_rad: f64,
    /// Rudder: trailing edge left.
    pub rudder_rad: f64,
    /// Flap: trailing edge down.
    pub flap_rad: f64,
}

/// State of the aircraft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Position north, east and down of the launch point, m.
    pub position_ned_m: Vec3,
    /// Velocity relative to the earth, body axes, m/s.
    pub velocity_body_m_s: Vec3,
    /// Attitude.
    pub ned_from_body: Rotation,
    /// Turning rates p, q, r relative to the earth, body axes, rad/s.
    pub rates_body_rad_s: Vec3,
    /// Deflections of the control axes; held during a step.
    pub controls: Controls,
    /// Throttle that the propeller answers to now, 0 to 1; follows the throttle set with the spool-up time.
    pub thrust_level: f64,
    /// Charge taken from the pack, ampere-hours.
    pub charge_used_ah: f64,
}

/// Length of the vector form.
pub const STATES: usize = 15;

/// The integrated part of a state as one vector: position (3), velocity (3), quaternion scalar first (4),
/// turning rates (3), thrust level, charge.
pub type Vector = SVector<f64, STATES>;

impl State {
    /// At the launch point, wings level, nose north, at rest, everything neutral.
    #[must_use]
    pub fn at_rest() -> Self {
        Self {
            position_ned_m: Vec3::zeros(),
            velocity_body_m_s: Vec3::zeros(),
            ned_from_body: Rotation::identity(),
            rates_body_rad_s: Vec3::zeros(),
            controls: Controls::default(),
            thrust_level: 0.0,
            charge_used_ah: 0.0,
        }
    }

    /// Height above the launch point, m.
    #[must_use]
    pub fn height_m(&self) -> f64 {
        -self.position_ned_m.z
    }

    /// Velocity relative to the earth, north-east-down, m/s.
    #[must_use]
    pub fn velocity_ned_m_s(&self) -> Vec3 {
        self.ned_from_body * self.velocity_body_m_s
    }

    /// Velocity relative to the air, body axes, m/s, in a wind (velocity of the air, north-east-down).
    #[must_use]
    pub fn air_velocity_body_m_s(&self, wind_ned_m_s: Vec3) -> Vec3 {
        self.velocity_body_m_s - self.ned_from_body.inverse_transform_vector(&wind_ned_m_s)
    }

    /// The integrated part as a vector.
    #[must_use]
    pub fn to_vector(&self) -> Vector {
        let (x, v, w) = (&self.position_ned_m, &self.velocity_body_m_s, &self.rates_body_rad_s);
        let q = self.ned_from_body.quaternion();
        Vector::from([
            x.x,
            x.y,
            x.z,
            v.x,
            v.y,
            v.z,
            q.w,
            q.i,
            q.j,
            q.k,
            w.x,
            w.y,
            w.z,
            self.thrust_level,
            self.charge_used_ah,
        ])
    }

    /// The state whose integrated part is a vector; the quaternion is brought back to unit length.
    #[must_use]
    pub fn from_vector(vector: &Vector, controls: Controls) -> Self {
        let s = vector;
        Self {
            position_ned_m: Vec3::new(s[0], s[1], s[2]),
            velocity_body_m_s: Vec3::new(s[3], s[4], s[5]),
            ned_from_body: Rotation::from_quaternion(Quaternion::new(s[6], s[7], s[8], s[9])),
            rates_body_rad_s: Vec3::new(s[10], s[11], s[12]),
            controls,
            thrust_level: s[13],
            charge_used_ah: s[14],
        }
    }
}
