//! How strongly do the surfaces turn it? Steady roll and pitch rates, how fast they come, what is left at the stall.

use aircraft::control::{Axis, axis_throw_rad};
use aircraft::mass::Balance;
use aircraft::{Aircraft, Known, Origin};
use motion::model::Aerodynamics;
use numerics::roots::root;

use crate::performance::Flying;
use crate::prediction::{Control, NotPredicted};

/// Relative doubt of the computed effect of a surface at low Reynolds numbers, gaps included (judgement, no source).
pub(crate) const CONTROL_SD: f64 = 0.15;

/// Steady roll rate for an aileron deflection (rad, right trailing edge down positive: rolls left) at a speed, rad/s:
/// `p = -(2V/b)(Clda/Clp) da`.
#[must_use]
pub fn roll_rate_rad_s(aero: &Aerodynamics, speed_m_s: f64, aileron_rad: f64) -> f64 {
    let d = &aero.derivatives;
    -(2.0 * speed_m_s / aero.span_m) * (d.Clda / d.Clp) * aileron_rad
}

/// Time constant of the roll, s: `-4 Ixx / (ρ V S b² Clp)`.
#[must_use]
pub fn roll_time_constant_s(flying: &Flying, inertia_xx_kg_m2: f64, speed_m_s: f64) -> f64 {
    let a = &flying.aerodynamics;
    -4.0 * inertia_xx_kg_m2
        / (flying.density_kg_m3 * speed_m_s * a.area_m2 * a.span_m.powi(2) * a.derivatives.Clp)
}

/// Time from level to a bank (rad) with the controls put over at once, s: the roll rate rises to its steady value
/// with the time constant, `φ = p (t - τ (1 - exp(-t/τ)))`. Absent when it never gets there.
#[must_use]
pub fn time_to_bank_s(rate_rad_s: f64, time_constant_s: f64, bank_rad: f64) -> Option<f64> {
    let (rate, tau) = (rate_rad_s.abs(), time_constant_s);
    if !(rate > 0.0 && tau > 0.0 && rate.is_finite()) {
        return None;
    }
    let bank = |t: f64| rate * (t - tau * (1.0 - (-t / tau).exp())) - bank_rad;
    root(bank, 0.0, bank_rad / rate + tau, 1e-9 * tau).ok()
}

/// Angle of attack and pitch rate after an elevator step, speed held: the two-state approximation of the short
/// period, rates per state and per rad of elevator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShortPeriod {
    /// Rates of [angle of attack, pitch rate] by each state, row by row, 1/s (SI and rad).
    pub a: [[f64; 2]; 2],
    /// Rates by elevator (trailing edge down), SI and rad.
    pub b: [f64; 2],
}

/// The short-period approximation at a speed; `cd` is the drag coefficient there.
#[must_use]
pub fn short_period(flying: &Flying, inertia_yy_kg_m2: f64, speed_m_s: f64, cd: f64) -> ShortPeriod {
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let force = flying.pressure_area_n(speed_m_s) / (flying.mass_kg * speed_m_s);
    let moment = flying.pressure_area_n(speed_m_s) * a.mean_chord_m / inertia_yy_kg_m2;
    let half = a.mean_chord_m / (2.0 * speed_m_s);
    let alpha_row = [-force * (d.CLa + cd), 1.0 - force * d.CLq * half];
    let alpha_by_elevator = -force * d.CLde;
    let lag = moment * d.Cm_alphadot * half;
    ShortPeriod {
        a: [alpha_row, [moment * d.Cma + lag * alpha_row[0], moment * d.Cmq * half + lag * alpha_row[1]]],
        b: [alpha_by_elevator, moment * d.Cmde + lag * alpha_by_elevator],
    }
}

/// Sideslip and yaw rate after a rudder step, wings held level: the two-state approximation of the Dutch roll.
#[must_use]
pub fn flat_yaw(flying: &Flying, inertia_zz_kg_m2: f64, speed_m_s: f64) -> ShortPeriod {
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let force = flying.pressure_area_n(speed_m_s) / (flying.mass_kg * speed_m_s);
    let moment = flying.pressure_area_n(speed_m_s) * a.span_m / inertia_zz_kg_m2;
    let half = a.span_m / (2.0 * speed_m_s);
    ShortPeriod {
        a: [[force * d.CYb, force * d.CYr * half - 1.0], [moment * d.Cnb, moment * d.Cnr * half]],
        b: [force * d.CYdr, moment * d.Cndr],
    }
}

impl ShortPeriod {
    /// Steady rate (second state) per rad of surface, 1/s. Not a number when the motion does not settle.
    #[must_use]
    pub fn steady_rate_per_rad_s(&self) -> f64 {
        let [[a11, a12], [a21, a22]] = self.a;
        let determinant = a11 * a22 - a12 * a21;
        if determinant <= 0.0 || a11 + a22 >= 0.0 {
            return f64::NAN;
        }
        (a21 * self.b[0] - a11 * self.b[1]) / determinant
    }
}

/// Elevator left beyond trim at the stall, rad trailing edge up (negative: it cannot be stalled level), of a throw up
/// of `up_rad`. Absent for an aircraft without elevator.
#[must_use]
pub fn elevator_left_at_stall_rad(flying: &Flying, up_rad: f64) -> Option<f64> {
    flying.trim(flying.aerodynamics.cl_max, 0.0).1.map(|elevator| up_rad + elevator)
}

/// Control authority at a speed, with its doubts.
pub(crate) fn authority(
    aircraft: &Aircraft,
    flying: &Flying,
    balance: &Balance,
    speed_m_s: f64,
    cd: f64,
) -> Control {
    let throws = [Axis::Roll, Axis::Pitch, Axis::Yaw].map(|axis| axis_throw_rad(aircraft, axis));
    let throws_rad = [
        throws[0].map(|t| t.mean_rad()),
        throws[1].map(|t| t.positive_demand_rad),
        throws[2].map(|t| t.mean_rad()),
    ];
    let a = &flying.aerodynamics;
    let missing = |axis: &str| NotPredicted::Missing {
        what: format!("a [[movable]] with a share of {axis} in its mix"),
    };
    let damped = if a.derivatives.Clp < 0.0 {
        Ok(())
    } else {
        Err(NotPredicted::NoSolution { why: "the wing does not damp roll".to_owned() })
    };
    let time_constant =
        damped.clone().map(|()| roll_time_constant_s(flying, balance.inertia_kg_m2[(0, 0)], speed_m_s));
    // Full right stick: the aileron goes negative, and it rolls right.
    let rate = throws_rad[0]
        .ok_or_else(|| missing("roll"))
        .and_then(|throw| damped.clone().map(|()| roll_rate_rad_s(a, speed_m_s, -throw)));
    let relative = aircraft.flown.control_factor[0].map_or(CONTROL_SD, |f| f.sd / f.value);
    Control {
        roll_helix: rate.clone().map(|p| p * a.span_m / (2.0 * speed_m_s)),
        time_to_bank_45_s: rate.clone().and_then(|p| {
            let tau = time_constant.clone()?;
            time_to_bank_s(p, tau, std::f64::consts::FRAC_PI_4).ok_or_else(|| NotPredicted::NoSolution {
                why: "the aileron does not roll the aircraft".to_owned(),
            })
        }),
        roll_rate_per_rad_s: rate.clone().map(|_| roll_rate_rad_s(a, speed_m_s, -1.0)),
        roll_rate_rad_s: rate.map(|p| Known {
            value: p,
            sd: p.abs() * relative,
            from: if aircraft.flown.control_factor[0].is_some() { Origin::Flown } else { Origin::Predicted },
        }),
        roll_time_constant_s: time_constant,
        pitch_rate_per_rad_s: throws_rad[1].ok_or_else(|| missing("pitch")).and_then(|_| {
            let steady =
                -short_period(flying, balance.inertia_kg_m2[(1, 1)], speed_m_s, cd).steady_rate_per_rad_s();
            if steady.is_finite() {
                Ok(steady)
            } else {
                Err(NotPredicted::NoSolution {
                    why: "the pitch rate does not settle: the aircraft is unstable at this balance point"
                        .to_owned(),
                })
            }
        }),
        elevator_left_at_stall_rad: throws_rad[1]
            .ok_or_else(|| missing("pitch"))
            .and_then(|up| elevator_left_at_stall_rad(flying, up).ok_or_else(|| missing("pitch"))),
        throws_rad,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::modes::navion;

    #[test]
    fn steady_roll_of_a_light_aircraft() {
        // Navion, Clda 0.134 per rad in the book's sign (size), 5 degrees: (Clda/|Clp|)(2V/b) da = 0.30058 rad/s;
        // τ = 0.11902 s. Here a positive aileron rolls left, so Clda is negative and the rate too.
        let (flying, inertia, steady) = navion();
        let mut aero = flying.aerodynamics;
        aero.derivatives.Clda = -0.134;
        let rate = roll_rate_rad_s(&aero, steady.speed_m_s, 5.0_f64.to_radians());
        assert!((rate + 0.300_58).abs() < 3e-5, "{rate}");
        let tau = roll_time_constant_s(&flying, inertia[(0, 0)], steady.speed_m_s);
        assert!((tau / 0.119_02 - 1.0).abs() < 1e-3, "{tau}");
    }

    #[test]
    fn the_time_to_bank_satisfies_its_own_closed_form() {
        let t = time_to_bank_s(2.0, 0.1, std::f64::consts::FRAC_PI_4).unwrap();
        // By hand: for t >> τ, t = φ/p + τ = 0.4927 s; exp(-4.9) 0.1 s = 0.7 ms less.
        assert!((t - (std::f64::consts::FRAC_PI_4 / 2.0 + 0.1 * (1.0 - (-t / 0.1).exp()))).abs() < 1e-9);
        assert!(t < 0.4927 && t > 0.491);
        assert!(time_to_bank_s(0.0, 0.1, 0.8).is_none());
    }

    #[test]
    fn pitch_rate_settles_where_a_simulation_of_the_two_states_ends() {
        let flying =
            Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let s = short_period(&flying, 0.13, 15.0, 0.04);
        let (mut alpha, mut q) = (0.0, 0.0);
        for _ in 0..100_000 {
            let da = s.a[0][0] * alpha + s.a[0][1] * q + s.b[0];
            let dq = s.a[1][0] * alpha + s.a[1][1] * q + s.b[1];
            alpha += 1e-4 * da;
            q += 1e-4 * dq;
        }
        assert!((s.steady_rate_per_rad_s() / q - 1.0).abs() < 1e-6);
        assert!(q < 0.0, "trailing edge down pitches down");
        // Rudder trailing edge left (positive) yaws left (negative).
        assert!(flat_yaw(&flying, 0.21, 15.0).steady_rate_per_rad_s() < 0.0);
    }

    #[test]
    fn what_is_left_of_the_elevator_at_the_stall() {
        let flying =
            Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let left = elevator_left_at_stall_rad(&flying, 0.4).unwrap();
        // Balance at CL 1.25 with 0.4 - left up: Cm must vanish.
        let elevator = left - 0.4;
        let a = &flying.aerodynamics;
        let alpha = (a.cl_max - a.cl0 - a.derivatives.CLde * elevator) / a.derivatives.CLa;
        assert!((a.cm0 + a.derivatives.Cma * alpha + a.derivatives.Cmde * elevator).abs() < 1e-12);
    }
}
