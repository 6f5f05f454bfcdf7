//! What do motor, speed controller and pack give? First-order equations, in closed form.
//!
//! Motor: voltage = speed / kv + current · resistance; torque = (current - no-load current) · 60/(2π kv). The speed
//! controller passes the fraction `throttle` of the pack's voltage to the motor and takes the same fraction of the
//! motor's current from the pack. It does not brake: the motor's current is never negative.

use aircraft::drive::{Drive, Motor};

use crate::drive::pack;
use crate::prediction::{NotPredicted, Outcome};

/// Motor, speed controller and pack at a state of charge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Electrics {
    /// The motor.
    pub motor: Motor,
    /// Number of motors on the pack.
    pub motors: f64,
    /// Resistance of one speed controller, ohm.
    pub controller_ohm: f64,
    /// Open-circuit voltage of the pack, V.
    pub open_circuit_v: f64,
    /// Resistance of the pack, ohm.
    pub pack_ohm: f64,
}

/// Electric state of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Electric {
    /// Current in each motor, A.
    pub motor_a: f64,
    /// Current of the pack, A.
    pub pack_a: f64,
    /// Voltage of the pack under that load, V.
    pub pack_v: f64,
    /// Torque of each shaft, N m.
    pub torque_nm: f64,
}

impl Electrics {
    /// Of a drive with its pack charged to `charge` (0 to 1).
    #[must_use]
    pub fn of(drive: &Drive, charge: f64) -> Self {
        Self {
            motor: drive.motor,
            motors: drive.hubs_m.len().max(1) as f64,
            controller_ohm: drive.speed_controller_ohm,
            open_circuit_v: pack::at_rest_v(&drive.pack, charge),
            pack_ohm: pack::resistance_ohm(&drive.pack, charge),
        }
    }

    /// State at a throttle (0 to 1) and shaft speed (rad/s).
    #[must_use]
    pub fn at(&self, throttle: f64, turning_rad_s: f64) -> Electric {
        let kv = kv_rad_s_v(&self.motor);
        let ohm =
            self.motor.resistance_ohm + self.controller_ohm + self.motors * throttle.powi(2) * self.pack_ohm;
        let motor_a = ((throttle * self.open_circuit_v - turning_rad_s / kv) / ohm).max(0.0);
        let pack_a = self.motors * throttle * motor_a;
        Electric {
            motor_a,
            pack_a,
            pack_v: self.open_circuit_v - pack_a * self.pack_ohm,
            torque_nm: (motor_a - self.motor.no_load_a) / kv,
        }
    }

    /// Throttle (0 to 1) and pack current (A) that keep every shaft at a speed (rad/s) with a current in each motor (A):
    /// with the pack's sag, `t E - n t² R I = speed/kv + I (motor + controller)`, the smaller root.
    ///
    /// # Errors
    /// When full throttle does not suffice.
    pub fn holding(&self, turning_rad_s: f64, motor_a: f64) -> Outcome<(f64, f64)> {
        let needed_v = turning_rad_s / kv_rad_s_v(&self.motor)
            + motor_a * (self.motor.resistance_ohm + self.controller_ohm);
        let sag_v = self.motors * motor_a * self.pack_ohm;
        let square = self.open_circuit_v.powi(2) - 4.0 * sag_v * needed_v;
        // Not a number where even the least throttle takes more than the pack gives.
        let throttle = 2.0 * needed_v / (self.open_circuit_v + square.sqrt());
        if throttle <= 1.0 {
            Ok((throttle, self.motors * throttle * motor_a))
        } else {
            Err(NotPredicted::NoSolution {
                why: format!(
                    "{needed_v:.1} V are needed behind the speed controller and a pack of {:.1} V at rest gives {:.1} V at {:.1} A",
                    self.open_circuit_v,
                    self.open_circuit_v - sag_v,
                    self.motors * motor_a
                ),
            })
        }
    }
}

/// Speed constant in rad/s per volt; its inverse is the torque constant in N m per ampere.
#[must_use]
pub fn kv_rad_s_v(motor: &Motor) -> f64 {
    motor.kv_rpm_v * numerics::units::RAD_S_PER_RPM
}

/// Motor at a voltage and current at its terminals: speed rpm, torque N m, shaft power W, efficiency.
#[must_use]
pub fn at_current(motor: &Motor, volts: f64, amps: f64) -> (f64, f64, f64, f64) {
    let rpm = motor.kv_rpm_v * (volts - amps * motor.resistance_ohm);
    let torque_nm = (amps - motor.no_load_a) / kv_rad_s_v(motor);
    let power_w = torque_nm * rpm * numerics::units::RAD_S_PER_RPM;
    (rpm, torque_nm, power_w, power_w / (volts * amps))
}

/// Current of best efficiency at a voltage, A, and that efficiency: `sqrt(I0 V/R)` and `(1 - sqrt(I0 R/V))²`.
#[must_use]
pub fn best_efficiency(motor: &Motor, volts: f64) -> (f64, f64) {
    (
        (motor.no_load_a * volts / motor.resistance_ohm).sqrt(),
        (1.0 - (motor.no_load_a * motor.resistance_ohm / volts).sqrt()).powi(2),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const MOTOR: Motor = Motor { kv_rpm_v: 1000.0, resistance_ohm: 0.05, no_load_a: 1.0, limit_a: None };

    #[track_caller]
    fn check(got: f64, expected: f64, relative: f64) {
        assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
    }

    #[test]
    fn the_first_order_motor_by_hand() {
        // n = kv (V - I R); Q = 60/(2π kv) (I - I0): kv 1000, R 0.05, I0 1, 11.1 V at 10 and 20 A.
        for (amps, rpm, torque, power, eta) in
            [(10.0, 10_600.0, 0.085_944, 95.4, 0.859_46), (20.0, 10_100.0, 0.181_437, 191.9, 0.864_41)]
        {
            let got = at_current(&MOTOR, 11.1, amps);
            check(got.0, rpm, 1e-9);
            check(got.1, torque, 1e-5);
            check(got.2, power, 1e-5);
            check(got.3, eta, 1e-5);
        }
        // sqrt(I0 V/R) = 14.8997 A, (1 - sqrt(I0 R/V))² = 0.87027; and it is where the efficiency is flat.
        let (amps, eta) = best_efficiency(&MOTOR, 11.1);
        check(amps, 14.8997, 1e-5);
        check(eta, 0.870_27, 1e-5);
        assert!(at_current(&MOTOR, 11.1, amps + 0.5).3 < eta && at_current(&MOTOR, 11.1, amps - 0.5).3 < eta);
    }

    #[test]
    fn the_whole_chain_agrees_with_the_motor_equations_at_its_own_voltage() {
        let electrics = Electrics {
            motor: MOTOR,
            motors: 2.0,
            controller_ohm: 0.01,
            open_circuit_v: 12.0,
            pack_ohm: 0.02,
        };
        let (throttle, rpm) = (0.7, 6000.0);
        let e = electrics.at(throttle, rpm * numerics::units::RAD_S_PER_RPM);
        // Two motors each take the throttle's share of their current from the pack; the voltage left behind the
        // controller must drive the motor's equation to the same speed.
        check(e.pack_a, 2.0 * throttle * e.motor_a, 1e-12);
        let terminal = throttle * e.pack_v - e.motor_a * 0.01;
        check(at_current(&MOTOR, terminal, e.motor_a).0, rpm, 1e-9);
        check(at_current(&MOTOR, terminal, e.motor_a).1, e.torque_nm, 1e-9);
        // And back: the throttle that holds this shaft is the one it came from.
        let (back, pack_a) = electrics.holding(rpm * numerics::units::RAD_S_PER_RPM, e.motor_a).unwrap();
        check(back, throttle, 1e-9);
        check(pack_a, e.pack_a, 1e-9);
        assert!(electrics.holding(13_000.0 * numerics::units::RAD_S_PER_RPM, 5.0).is_err());
    }
}
