//! An invented flight that obeys its own laws exactly: bank makes the turn, attitude makes the rates, velocity makes
//! the position, and the specific force follows from all of them. Nothing in it was flown.

use std::f64::consts::PI;

use numerics::frames::{ned_from_body, wrap_rad};
use numerics::geodesy::LocalPlane;
use numerics::random::Random;
use numerics::{Rotation, Vec3};

/// Standard gravity, m/s².
const G: f64 = 9.80665;
/// Rows a second.
pub(crate) const RATE_HZ: f64 = 50.0;

/// One moment, in the program's own units, frames and signs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) t: f64,
    pub(crate) roll: f64,
    pub(crate) pitch: f64,
    pub(crate) yaw: f64,
    pub(crate) rates: Vec3,
    pub(crate) force: Vec3,
    pub(crate) velocity: Vec3,
    pub(crate) airspeed: f64,
    pub(crate) latitude: f64,
    pub(crate) longitude: f64,
    pub(crate) height: f64,
    pub(crate) stick: Vec3,
    pub(crate) throttle: f64,
    pub(crate) volts: f64,
    pub(crate) amps: f64,
    pub(crate) used_ah: f64,
}

impl Moment {
    pub(crate) fn ground_speed(&self) -> f64 {
        self.velocity.x.hypot(self.velocity.y)
    }

    pub(crate) fn course(&self) -> f64 {
        self.velocity.y.atan2(self.velocity.x)
    }
}

/// A step from 0 to 1 without a kink, over one unit.
fn step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * x * (10.0 - 15.0 * x + 6.0 * x * x)
}

/// A hump that rises over `edge` seconds at `from` and falls again at `to`.
fn hump(t: f64, from: f64, to: f64, edge: f64) -> f64 {
    step((t - from) / edge) - step((t - to) / edge)
}

fn bank(t: f64) -> f64 {
    let turns = 0.6 * hump(t, 10.0, 26.0, 1.2) - 0.5 * hump(t, 35.0, 55.0, 1.5)
        + 0.75 * hump(t, 70.0, 82.0, 1.0)
        - 0.4 * hump(t, 95.0, 110.0, 1.2);
    turns + 0.04 * (1.9 * t).sin()
}

fn climb_angle(t: f64) -> f64 {
    0.12 * hump(t, 4.0, 20.0, 3.0) - 0.10 * hump(t, 58.0, 68.0, 3.0) + 0.015 * (0.9 * t).sin()
}

fn speed(t: f64) -> f64 {
    14.0 + 1.5 * (0.11 * t).sin() - 1.0 * hump(t, 4.0, 20.0, 3.0)
}

/// Attitude at a time, given the heading: the nose a little above the path.
fn attitude(t: f64, yaw: f64) -> (f64, f64, Rotation) {
    let pitch = climb_angle(t) + 0.05 + 0.02 * (0.7 * t).sin();
    (bank(t), pitch, ned_from_body(bank(t), pitch, yaw))
}

/// The flight, with sensor noise of a fixed seed.
pub(crate) fn flight() -> Vec<Moment> {
    let wind = Vec3::new(2.0, -1.2, 0.0);
    let plane = LocalPlane::at(51.2, 4.3);
    let mut noise = Random::new(11, 0);
    let turn_rate = |t: f64| G * bank(t).tan() / speed(t);
    let air_velocity = |t: f64, yaw: f64| {
        let (g, v) = (climb_angle(t), speed(t));
        Vec3::new(g.cos() * yaw.cos(), g.cos() * yaw.sin(), -g.sin()) * v
    };
    let h = 1e-3;
    let (mut yaw, mut position, mut used) = (0.7, Vec3::new(0.0, 0.0, -30.0), 0.0);
    let mut moments = Vec::new();
    let rows = (120.0 * RATE_HZ) as usize;
    for i in 0..rows {
        let t = i as f64 / RATE_HZ;
        let (roll, pitch, body) = attitude(t, yaw);
        // Central differences of the smooth motion above give rates and accelerations.
        let (_, _, ahead) = attitude(t + h, yaw + turn_rate(t) * h);
        let (_, _, behind) = attitude(t - h, yaw - turn_rate(t) * h);
        let rates = (behind.inverse() * ahead).scaled_axis() / (2.0 * h);
        let acceleration = (air_velocity(t + h, yaw + turn_rate(t) * h)
            - air_velocity(t - h, yaw - turn_rate(t) * h))
            / (2.0 * h);
        let force = body.inverse() * (acceleration - Vec3::new(0.0, 0.0, G));
        let velocity = air_velocity(t, yaw) + wind;
        let (latitude, longitude) = plane.latitude_longitude_deg(position.x, position.y);
        // The stick leads the rate that it makes.
        let (_, _, later) = attitude(t + 0.15 + h, yaw + turn_rate(t) * (0.15 + h));
        let (_, _, late) = attitude(t + 0.15 - h, yaw + turn_rate(t) * (0.15 - h));
        let coming = (late.inverse() * later).scaled_axis() / (2.0 * h);
        let throttle = (0.55 + 2.0 * climb_angle(t)).clamp(0.0, 1.0);
        let amps = 4.0 + 18.0 * throttle * throttle;
        used += amps / RATE_HZ / 3600.0;
        let mut n = |sd: f64| sd * noise.normal();
        moments.push(Moment {
            t,
            roll: roll + n(0.004),
            pitch: pitch + n(0.004),
            yaw: wrap_rad(yaw + n(0.005)),
            rates: rates + Vec3::new(n(0.01), n(0.01), n(0.01)),
            force: force + Vec3::new(n(0.15), n(0.15), n(0.15)),
            velocity: velocity + Vec3::new(n(0.05), n(0.05), n(0.05)),
            airspeed: speed(t) + n(0.15),
            latitude,
            longitude,
            height: -position.z - 30.0 + n(0.02),
            stick: Vec3::new(0.4 * coming.x, 0.4 * coming.y, 0.4 * coming.z),
            throttle,
            volts: 12.4 - used * 0.9 - amps * 0.02 + n(0.01),
            amps: amps + n(0.1),
            used_ah: used,
        });
        // Heading and position go on in small steps.
        for k in 0..20 {
            let s = t + f64::from(k) / (20.0 * RATE_HZ);
            let ds = 1.0 / (20.0 * RATE_HZ);
            position += (air_velocity(s, yaw) + wind) * ds;
            yaw += turn_rate(s) * ds;
        }
    }
    moments
}

/// An angle in degrees from 0 to 360.
pub(crate) fn compass(rad: f64) -> f64 {
    (rad * 180.0 / PI).rem_euclid(360.0)
}
