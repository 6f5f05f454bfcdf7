//! Which way is positive? Written once, here; everything else links to this page.
//!
//! * **Builder's frame**: x aft from a datum the builder chooses, y to the right wing, z up. How an aircraft
//!   is measured on a bench; positions in the aircraft file are in it.
//! * **Body frame** (ISO 1151): origin at the centre of gravity, x forward, y right, z down; roll rate p,
//!   pitch rate q and yaw rate r positive by the right hand: right wing down, nose up, nose right.
//! * **Earth frame**: local north, east, down at the launch point.
//! * **Attitude**: `ned_from_body`, built from yaw, then pitch, then roll.
//! * **Angle of attack** positive with the air from below, **sideslip** positive with the air from the right.
//! * **Surface deflection**: positive deflection gives a negative moment. Elevator trailing edge down, rudder
//!   trailing edge left, aileron (right trailing edge down less left, halved) positive.
//! * **Stick demand** is the opposite: positive demand rolls right, pitches up, yaws right.
//! * **Wind** is told as where it blows from, degrees true; inside it is the velocity of the air, north-east-down.
//! * **Inertia products** `I_xz = ∫ x z dm`; the off-diagonal terms of a tensor are their negatives.

use crate::{Rotation, Vec3};

/// Turns a direction or difference in the builder's frame (x aft, y right, z up) into body axes (x forward,
/// y right, z down): half a turn about y, its own inverse.
#[must_use]
pub fn body_from_builder(v: Vec3) -> Vec3 {
    Vec3::new(-v.x, v.y, -v.z)
}

/// Turns a direction or difference in body axes into the builder's frame.
#[must_use]
pub fn builder_from_body(v: Vec3) -> Vec3 {
    body_from_builder(v)
}

/// Attitude from yaw (from north, clockwise seen from above), pitch (nose up) and roll (right wing down), rad.
#[must_use]
pub fn ned_from_body(roll_rad: f64, pitch_rad: f64, yaw_rad: f64) -> Rotation {
    Rotation::from_euler_angles(roll_rad, pitch_rad, yaw_rad)
}

/// Roll, pitch and yaw of an attitude, rad; roll and yaw in (-π, π], pitch in [-π/2, π/2].
#[must_use]
pub fn roll_pitch_yaw(ned_from_body: &Rotation) -> (f64, f64, f64) {
    ned_from_body.euler_angles()
}

/// Velocity of the air, north-east-down, for a wind told as speed and the true direction it blows from.
#[must_use]
pub fn wind_ned_m_s(speed_m_s: f64, from_rad: f64) -> Vec3 {
    Vec3::new(-speed_m_s * from_rad.cos(), -speed_m_s * from_rad.sin(), 0.0)
}

/// Speed and the true direction a wind blows from, rad in [0, 2π), of an air velocity north-east-down.
#[must_use]
pub fn wind_speed_and_from(wind_ned_m_s: Vec3) -> (f64, f64) {
    let speed = wind_ned_m_s.x.hypot(wind_ned_m_s.y);
    let from = (-wind_ned_m_s.y).atan2(-wind_ned_m_s.x);
    (speed, from.rem_euclid(std::f64::consts::TAU))
}

/// Brings an angle into (-π, π].
#[must_use]
pub fn wrap_rad(angle: f64) -> f64 {
    let wrapped = angle.rem_euclid(std::f64::consts::TAU);
    if wrapped > std::f64::consts::PI { wrapped - std::f64::consts::TAU } else { wrapped }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::RAD_PER_DEG;

    #[test]
    fn nose_up_points_the_body_x_axis_above_the_horizon() {
        let nose = ned_from_body(0.0, 0.3, 0.0) * Vec3::x();
        assert!(nose.z < 0.0, "down is positive, so up is negative: {nose}");
    }

    #[test]
    fn right_bank_lowers_the_right_wing() {
        let right_wing = ned_from_body(0.3, 0.0, 0.0) * Vec3::y();
        assert!(right_wing.z > 0.0);
    }

    #[test]
    fn yaw_of_ninety_degrees_points_east() {
        let nose = ned_from_body(0.0, 0.0, 90.0 * RAD_PER_DEG) * Vec3::x();
        assert!((nose - Vec3::y()).norm() < 1e-12);
    }

    #[test]
    fn a_north_wind_blows_south() {
        let air = wind_ned_m_s(5.0, 0.0);
        assert!((air - Vec3::new(-5.0, 0.0, 0.0)).norm() < 1e-12);
        let (speed, from) = wind_speed_and_from(wind_ned_m_s(4.2, 240.0 * RAD_PER_DEG));
        assert!((speed - 4.2).abs() < 1e-12 && (from - 240.0 * RAD_PER_DEG).abs() < 1e-12);
    }

    #[test]
    fn the_nose_in_the_builders_frame_is_forward_in_the_body() {
        assert_eq!(body_from_builder(Vec3::new(-1.0, 2.0, 3.0)), Vec3::new(1.0, 2.0, -3.0));
    }

    #[test]
    fn angles_wrap_to_the_half_open_interval() {
        assert!((wrap_rad(3.5 * std::f64::consts::PI) + 0.5 * std::f64::consts::PI).abs() < 1e-12);
        assert!((wrap_rad(-std::f64::consts::PI) - std::f64::consts::PI).abs() < 1e-12);
    }
}
