//! What does the controller make of the sticks? Straight through, a rate loop, or an attitude loop around it.

use aircraft::controller::{Acts, Controller, Gains};
use numerics::Vec3;

use super::handling::Handling;
use super::servos::Demand;

/// What the controller reads of its own sensors, in its own axes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reading {
    /// Roll angle, rad.
    pub roll_rad: f64,
    /// Pitch angle, rad.
    pub pitch_rad: f64,
    /// Rates, rad/s.
    pub rates_rad_s: Vec3,
}

/// The controller's loops.
pub(super) struct Stabilizer {
    gains: [Gains; 3],
    level_per_s: f64,
    largest_rate_rad_s: [f64; 3],
    largest_angle_rad: [f64; 2],
    throw_rad: [f64; 3],
    speed_m_s: f64,
    integral_rad: [f64; 3],
    before_rad_s: Vec3,
    acts: Acts,
}

impl Stabilizer {
    /// Gains come from the script, else from the aircraft's file, else from the model: feed-forward the inverse of the
    /// steady rate per deflection, proportional a third of it, integral so that it takes over in half a second.
    pub(super) fn new(
        controller: &Controller,
        handling: &Handling,
        script_gains: [Option<Gains>; 3],
    ) -> Self {
        let mut gains = [Gains::default(); 3];
        for (axis, gain) in gains.iter_mut().enumerate() {
            let rate = handling.rate_per_rad_s.get(axis).copied().unwrap_or(0.0);
            let first = if rate > 1e-3 {
                let share = if axis == 2 { 0.3 } else { 1.0 };
                Gains {
                    feed_forward_s: share / rate,
                    proportional_s: 0.35 * share / rate,
                    integral: if axis == 2 { 0.0 } else { 0.7 / rate },
                    derivative_s2: 0.0,
                }
            } else {
                Gains::default()
            };
            *gain = script_gains
                .get(axis)
                .copied()
                .flatten()
                .or_else(|| controller.gains.get(axis).copied().flatten())
                .unwrap_or(first);
        }
        Self {
            gains,
            level_per_s: if controller.level_per_s > 0.0 { controller.level_per_s } else { 4.0 },
            largest_rate_rad_s: controller.largest_rate_rad_s,
            largest_angle_rad: controller.largest_angle_rad,
            throw_rad: handling.throw_rad,
            speed_m_s: handling.speed_m_s,
            integral_rad: [0.0; 3],
            before_rad_s: Vec3::zeros(),
            acts: Acts::Direct,
        }
    }

    /// Largest rates that the sticks command, rad/s.
    pub(super) fn largest_rate_rad_s(&self) -> [f64; 3] {
        self.largest_rate_rad_s
    }

    /// Largest angles that the sticks command [roll, pitch], rad.
    pub(super) fn largest_angle_rad(&self) -> [f64; 2] {
        self.largest_angle_rad
    }

    /// Demands to the mixer for stick positions, one loop of `dt_s` later.
    pub(super) fn demand(&mut self, acts: Acts, sticks: &Demand, reading: &Reading, dt_s: f64) -> Demand {
        if acts != self.acts {
            // What one kind of loop has gathered is not what another needs.
            self.integral_rad = [0.0; 3];
            self.acts = acts;
        }
        let command = match acts {
            Acts::Direct => {
                self.before_rad_s = reading.rates_rad_s;
                return *sticks;
            }
            Acts::Rate => self.rate_command(sticks, reading),
            Acts::Level => self.level_command(sticks, reading),
        };
        let mut demand = Demand::zeros();
        for (axis, gains) in self.gains.iter().enumerate() {
            let throw = self.throw_rad.get(axis).copied().unwrap_or(0.0);
            let Some(integral) = self.integral_rad.get_mut(axis) else {
                continue;
            };
            if throw <= 0.0 {
                continue;
            }
            let error = command[axis] - reading.rates_rad_s[axis];
            let turning = (reading.rates_rad_s[axis] - self.before_rad_s[axis]) / dt_s;
            let before_integral = gains.feed_forward_s * command[axis] + gains.proportional_s * error
                - gains.derivative_s2 * turning;
            // Gathers only while the surface still has way to go, and never more than half the throw.
            let full = before_integral + *integral;
            if full.abs() < throw || full * error < 0.0 {
                *integral = (*integral + gains.integral * error * dt_s).clamp(-0.5 * throw, 0.5 * throw);
            }
            demand[axis] = ((before_integral + *integral) / throw).clamp(-1.0, 1.0);
        }
        self.before_rad_s = reading.rates_rad_s;
        demand
    }

    /// Rates that go with a steady turn at the bank it reads, rad/s: pitch and yaw.
    fn turn_rates(&self, reading: &Reading) -> (f64, f64) {
        let bank = reading.roll_rad.clamp(-1.2, 1.2);
        let turn = numerics::units::G_M_S2 * bank.tan() / self.speed_m_s;
        let level = reading.pitch_rad.cos();
        (turn * bank.sin() * level, turn * bank.cos() * level)
    }

    fn rate_command(&self, sticks: &Demand, reading: &Reading) -> Vec3 {
        let [roll, pitch, yaw] = self.largest_rate_rad_s;
        // Yaw follows the turn, so that its damping does not fight it; pitch is the pilot's.
        let (_, turn_yaw) = self.turn_rates(reading);
        Vec3::new(roll * sticks.x, pitch * sticks.y, yaw * sticks.z + turn_yaw)
    }

    fn level_command(&self, sticks: &Demand, reading: &Reading) -> Vec3 {
        let [largest_roll, largest_pitch, largest_yaw] = self.largest_rate_rad_s;
        let [angle_roll, angle_pitch] = self.largest_angle_rad;
        let (turn_pitch, turn_yaw) = self.turn_rates(reading);
        let roll = self.level_per_s * (angle_roll * sticks.x - reading.roll_rad);
        let pitch = self.level_per_s * (angle_pitch * sticks.y - reading.pitch_rad) * reading.roll_rad.cos()
            + turn_pitch;
        let limit = |rate: f64, most: f64| if most > 0.0 { rate.clamp(-most, most) } else { rate };
        Vec3::new(limit(roll, largest_roll), limit(pitch, largest_pitch), largest_yaw * sticks.z + turn_yaw)
    }
}
