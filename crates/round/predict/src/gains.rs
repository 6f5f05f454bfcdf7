//! With which gains should the stabilizing loop begin? Feed-forward from the steady rate, proportional and integral
//! from a stated phase and gain margin of the predicted response with servo lag and loop delay.
//!
//! One axis at a time, at the reference speed: roll by its single time constant, pitch by the short period, yaw by the
//! Dutch roll with wings held level. The integral time is the longest of what the response itself and the lags of
//! loop and servo take; then the proportional gain is the largest that keeps both margins.
//!
//! Yaw only damps: in a banked turn the aircraft must yaw, and an integral, or more damping than the tail's wagging asks
//! for, would work the rudder against the turn. Its proportional gain brings the Dutch roll to a damping ratio of 0.7,
//! within the same margins.

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad, panel_gain};
use aircraft::controller::Gains;
use aircraft::mass::Balance;
use nalgebra::Complex;

use crate::control::{self, ShortPeriod};
use crate::performance::Flying;
use crate::prediction::{NotPredicted, Outcome};

/// Least phase margin, rad (60 degrees).
pub const PHASE_MARGIN_RAD: f64 = std::f64::consts::FRAC_PI_3;
/// Least gain margin, as a factor (6 dB).
pub const GAIN_MARGIN: f64 = 1.995_262_314_968_879_5;
/// Damping ratio that the yaw loop gives the Dutch roll.
pub const YAW_DAMPING: f64 = 0.7;
/// Turn of the servo arm whose time at rated speed stands for the servo's lag, rad (15 degrees: a small correction;
/// judgement without a source).
pub const SERVO_STEP_RAD: f64 = 0.261_799_387_799_149_4;

/// Which parts of the loop an axis begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parts {
    /// Feed-forward, proportional and integral: roll and pitch.
    Holding,
    /// Feed-forward and proportional: yaw.
    Damping,
}

/// Turning rate per surface deflection in the sense of the demand, `(n0 + n1 s)/(d0 + d1 s + d2 s²)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Numerator, rising powers.
    pub numerator: [f64; 2],
    /// Denominator, rising powers.
    pub denominator: [f64; 3],
}

/// What stands between gyro and surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lags {
    /// Time constant of the servo, s.
    pub servo_s: f64,
    /// Delay of the loop, its half period included, s.
    pub delay_s: f64,
}

impl Response {
    /// First order: a steady rate per rad of surface (1/s) that comes with a time constant (s).
    #[must_use]
    pub fn first_order(steady_per_s: f64, time_constant_s: f64) -> Self {
        Self { numerator: [steady_per_s, 0.0], denominator: [1.0, time_constant_s, 0.0] }
    }

    /// The rate of a two-state motion by its surface, signed as the demand (against the deflection).
    #[must_use]
    pub fn of_two_states(s: &ShortPeriod) -> Self {
        let [[a11, a12], [a21, a22]] = s.a;
        Self {
            numerator: [-(a21 * s.b[0] - a11 * s.b[1]), -s.b[1]],
            denominator: [a11 * a22 - a12 * a21, -(a11 + a22), 1.0],
        }
    }

    /// Steady rate per rad of surface, 1/s.
    #[must_use]
    pub fn steady_per_s(&self) -> f64 {
        self.numerator[0] / self.denominator[0]
    }

    /// Whether it settles by itself.
    #[must_use]
    pub fn settles(&self) -> bool {
        let [d0, d1, d2] = self.denominator;
        d0 > 0.0 && d1 > 0.0 && d2 >= 0.0
    }

    fn at(&self, s: Complex<f64>) -> Complex<f64> {
        let [n0, n1] = self.numerator;
        let [d0, d1, d2] = self.denominator;
        (s * n1 + n0) / (s * s * d2 + s * d1 + d0)
    }
}

/// First gains of an axis.
///
/// # Errors
/// When the axis does not settle by itself, its surface does not turn it the right way, or no gain keeps the margins.
pub fn first_gains(axis: &str, response: &Response, lags: &Lags, parts: Parts) -> Outcome<Gains> {
    let steady = response.steady_per_s();
    if !response.settles() {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "the aircraft does not settle in {axis} by itself at the reference speed: bring stability in order (balance point, fin) before a loop is tuned on it"
            ),
        });
    }
    if !(steady > 0.0 && steady.is_finite()) {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "the surface gives a steady rate of {steady:.2} per second in {axis} for a demand: check its mix and throw"
            ),
        });
    }
    let [d0, d1, d2] = response.denominator;
    let integral_per_s = match parts {
        Parts::Holding => 1.0 / (d1 / d0).max((d2 / d0).sqrt()).max(lags.servo_s + lags.delay_s),
        Parts::Damping => 0.0,
    };
    let proportional_s = largest_proportional(response, lags, integral_per_s).ok_or_else(|| {
        NotPredicted::NoSolution {
            why: format!(
                "no proportional gain in {axis} keeps a phase margin of 60 degrees and a gain margin of 6 dB with a servo lag of {:.0} ms and a delay of {:.0} ms: a faster servo or loop is needed",
                lags.servo_s * 1e3,
                lags.delay_s * 1e3
            ),
        }
    })?;
    let proportional_s = match parts {
        Parts::Holding => proportional_s,
        Parts::Damping => proportional_s.min(damping_gain(response)),
    };
    Ok(Gains {
        feed_forward_s: 1.0 / steady,
        proportional_s,
        integral: proportional_s * integral_per_s,
        derivative_s2: 0.0,
    })
}

/// Proportional gain (s) that brings the damping ratio to [`YAW_DAMPING`] without lags: the positive root of
/// `(d1 + P n1)² = 4 ζ² d2 (d0 + P n0)`; zero where the ratio is there already.
fn damping_gain(response: &Response) -> f64 {
    let ([n0, n1], [d0, d1, d2]) = (response.numerator, response.denominator);
    let wanted = 4.0 * YAW_DAMPING * YAW_DAMPING * d2;
    let (a, b, c) = (n1 * n1, 2.0 * d1 * n1 - wanted * n0, d1 * d1 - wanted * d0);
    if c >= 0.0 || a <= 0.0 {
        return 0.0;
    }
    (-b + (b * b - 4.0 * a * c).sqrt()) / (2.0 * a)
}

/// Logarithm of the size, and unwrapped phase, of the loop with a proportional gain of one.
fn open_loop(response: &Response, lags: &Lags, integral_per_s: f64) -> Vec<(f64, f64)> {
    const POINTS: usize = 1500;
    let (low, high): (f64, f64) = (1e-2, 1e3);
    let mut turned = 0.0;
    let mut before: Option<f64> = None;
    (0..POINTS)
        .map(|i| {
            let w = low * (high / low).powf(i as f64 / (POINTS - 1) as f64);
            let s = Complex::new(0.0, w);
            // The delay is added as an angle, so that only the smooth part is unwrapped.
            let value = response.at(s) * (s.inv() * integral_per_s + 1.0) / (s * lags.servo_s + 1.0);
            let phase = value.arg();
            if let Some(before) = before {
                if phase - before > std::f64::consts::PI {
                    turned -= std::f64::consts::TAU;
                } else if phase - before < -std::f64::consts::PI {
                    turned += std::f64::consts::TAU;
                }
            }
            before = Some(phase);
            (value.norm().ln(), phase + turned - w * lags.delay_s)
        })
        .collect()
}

fn keeps_margins(curve: &[(f64, f64)], gain: f64) -> bool {
    let more = gain.ln();
    curve.windows(2).all(|pair| {
        let [(l0, phase0), (l1, phase1)] = pair else {
            return true;
        };
        let (l0, l1) = (l0 + more, l1 + more);
        let gain_crossing = (l0 > 0.0) != (l1 > 0.0);
        let phase_at = phase0 + (phase1 - phase0) * l0 / (l0 - l1);
        if gain_crossing && phase_at < -std::f64::consts::PI + PHASE_MARGIN_RAD {
            return false;
        }
        let (q0, q1) = (phase0 + std::f64::consts::PI, phase1 + std::f64::consts::PI);
        let phase_crossing = (q0 > 0.0) != (q1 > 0.0);
        let size_at = l0 + (l1 - l0) * q0 / (q0 - q1);
        !(phase_crossing && size_at > -GAIN_MARGIN.ln())
    })
}

/// Largest proportional gain (s) that keeps both margins; absent when none does.
fn largest_proportional(response: &Response, lags: &Lags, integral_per_s: f64) -> Option<f64> {
    let curve = open_loop(response, lags, integral_per_s);
    // From a hundred thousandth to a hundred times the gain that makes steady rate error and deflection equal.
    let unit = 1.0 / response.steady_per_s();
    let at = |k: f64| unit * 10.0_f64.powf(2.0 - 7.0 * k / 280.0);
    let first = (0..=280).map(f64::from).find(|k| keeps_margins(&curve, at(*k)))?;
    // Between the last that fails and the first that keeps, halve.
    let (mut good, mut bad) = (first, first - 1.0);
    for _ in 0..30 {
        let middle = 0.5 * (good + bad);
        if keeps_margins(&curve, at(middle)) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(at(good))
}

/// First gains of all axes at the reference speed, and what the reader must know of them.
pub(crate) fn gains(
    aircraft: &Aircraft,
    flying: &Flying,
    balance: &Balance,
    cruise_m_s: f64,
    remarks: &mut Vec<String>,
) -> [Outcome<Gains>; 3] {
    let speed = aircraft.controller.reference_speed_m_s.unwrap_or(cruise_m_s);
    let inertia = &balance.inertia_kg_m2;
    let cd = flying.at(speed, 1.0).cd;
    [(Axis::Roll, 0), (Axis::Pitch, 1), (Axis::Yaw, 2)].map(|(axis, index)| {
        let name = axis.word();
        let throw = axis_throw_rad(aircraft, axis).ok_or_else(|| NotPredicted::Missing {
            what: format!("a [[movable]] with a share of {name} in its mix"),
        })?;
        let lags = lags(aircraft, axis)?;
        let (response, parts) = match axis {
            Axis::Roll => (
                Response::first_order(
                    control::roll_rate_rad_s(&flying.aerodynamics, speed, -1.0),
                    control::roll_time_constant_s(flying, inertia[(0, 0)], speed),
                ),
                Parts::Holding,
            ),
            Axis::Pitch => (
                Response::of_two_states(&control::short_period(flying, inertia[(1, 1)], speed, cd)),
                Parts::Holding,
            ),
            Axis::Yaw | Axis::Flap => (
                Response::of_two_states(&control::flat_yaw(flying, inertia[(2, 2)], speed)),
                Parts::Damping,
            ),
        };
        let mut gains = first_gains(name, &response, &lags, parts)?;
        let largest = aircraft.controller.largest_rate_rad_s.get(index).copied().unwrap_or(0.0);
        if largest > 0.0 && gains.feed_forward_s * largest > throw.least_rad() {
            remarks.push(format!(
                "In {name} the full throw of {:.0}° gives {:.0}°/s at {speed:.1} m/s, less than the largest commanded rate of {:.0}°/s: command less.",
                throw.least_rad().to_degrees(),
                (throw.least_rad() / gains.feed_forward_s).to_degrees(),
                largest.to_degrees()
            ));
            if axis == Axis::Yaw {
                // A rudder slips the aircraft more than it turns it: undoing that steady rate would keep the rudder
                // at its stop. Full throw at the largest rate is as much as a demand may take.
                gains.feed_forward_s = throw.least_rad() / largest;
                remarks.push(format!(
                    "The feed-forward in yaw is limited to {:.2} s, full throw at the largest commanded rate.",
                    gains.feed_forward_s
                ));
            }
        }
        Ok(gains)
    })
}

/// Servo lag of the slowest servo that answers an axis, and the loop's delay with half its period (the surface holds
/// between two iterations).
///
/// # Errors
/// When no servo that answers the axis states its speed.
pub fn lags(aircraft: &Aircraft, axis: Axis) -> Outcome<Lags> {
    let slowest = aircraft
        .movables
        .iter()
        .filter(|m| [false, true].iter().any(|left| panel_gain(aircraft, m, axis, *left) != 0.0))
        .flat_map(|m| std::iter::once(&m.servo).chain(m.servo_left.as_ref()))
        .map(|servo| servo.speed_rad_s)
        .fold(f64::INFINITY, f64::min);
    if !(slowest > 0.0 && slowest.is_finite()) {
        return Err(NotPredicted::Missing {
            what: format!("the speed of the servos that answer {} ([movable.servo])", axis.word()),
        });
    }
    let half_period_s =
        if aircraft.controller.loop_hz > 0.0 { 0.5 / aircraft.controller.loop_hz } else { 0.0 };
    Ok(Lags { servo_s: SERVO_STEP_RAD / slowest, delay_s: aircraft.controller.delay_s + half_period_s })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{flat_yaw, short_period};
    use crate::performance::Flying;

    const LAGS: Lags = Lags { servo_s: 0.025, delay_s: 0.006 };

    /// Margins by an independent way: the Nyquist distance on a dense linear sweep, closed-form loop per axis.
    /// Returns the least phase margin (degrees) over gain crossings and the least gain margin (dB).
    fn margins(response: &Response, lags: &Lags, gains: &Gains) -> (f64, f64) {
        let (mut phase_margin, mut gain_margin) = (f64::INFINITY, f64::INFINITY);
        let value = |w: f64| -> Complex<f64> {
            let s = Complex::new(0.0, w);
            let controller = Complex::new(gains.proportional_s, -gains.integral / w);
            let plant = (s * response.numerator[1] + response.numerator[0])
                / (s * (s * response.denominator[2] + response.denominator[1]) + response.denominator[0]);
            controller * plant * (-s * lags.delay_s).exp() / (Complex::new(1.0, 0.0) + s * lags.servo_s)
        };
        let step = 0.005;
        let mut before = value(0.01);
        let mut w = 0.01;
        while w < 400.0 {
            w += step;
            let now = value(w);
            if (before.norm() > 1.0) != (now.norm() > 1.0) {
                phase_margin = phase_margin.min((now.arg() + std::f64::consts::PI).to_degrees());
            }
            // The negative real axis is crossed downwards-to-upwards: from third to second quadrant.
            if before.re < 0.0 && now.re < 0.0 && before.im.signum() != now.im.signum() {
                gain_margin = gain_margin.min(-20.0 * now.norm().log10());
            }
            before = now;
        }
        (phase_margin, gain_margin)
    }

    fn flying() -> Flying {
        Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 }
    }

    #[test]
    fn every_axis_keeps_its_margins_and_uses_one_up() {
        let roll = Response::first_order(12.0, 0.06);
        let pitch = Response::of_two_states(&short_period(&flying(), 0.13, 15.0, 0.04));
        let yaw = Response::of_two_states(&flat_yaw(&flying(), 0.21, 15.0));
        for (axis, response, parts) in
            [("roll", roll, Parts::Holding), ("pitch", pitch, Parts::Holding), ("yaw", yaw, Parts::Damping)]
        {
            let gains = first_gains(axis, &response, &LAGS, parts).unwrap();
            assert_eq!(gains.integral == 0.0, parts == Parts::Damping);
            let (phase, gain) = margins(&response, &LAGS, &gains);
            assert!(phase > 59.5 && gain > 5.95, "{axis}: {phase} deg, {gain} dB");
            if parts == Parts::Holding {
                assert!(phase < 60.5 || gain < 6.05, "{axis}: {phase} deg, {gain} dB");
            } else {
                // Closed loop without lags: s² + (d1 + P n1) s + d0 + P n0.
                let ([n0, n1], [d0, d1, _]) = (response.numerator, response.denominator);
                let p = gains.proportional_s;
                let damping = 0.5 * (d1 + p * n1) / (d0 + p * n0).sqrt();
                assert!(d1 / (2.0 * d0.sqrt()) < 0.5, "the example wags");
                assert!((damping - 0.7).abs() < 1e-9, "{damping}");
            }
            // Closed form: feed-forward undoes the steady rate.
            assert!((gains.feed_forward_s * response.steady_per_s() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn roll_by_the_closed_form_of_a_canceled_pole() {
        // With integral time = time constant the loop is (P K/τ)/s, servo lag and delay. Phase margin 60 degrees:
        // 90 - ω T_d - atan(ω T_s) = 60 (T_d as an angle) gives ω, and size one there gives P.
        let (k, tau) = (12.0, 0.06);
        let gains = first_gains("roll", &Response::first_order(k, tau), &LAGS, Parts::Holding).unwrap();
        let left = |w: f64| w * LAGS.delay_s + (w * LAGS.servo_s).atan() - std::f64::consts::FRAC_PI_6;
        let w = numerics::roots::root(left, 1.0, 100.0, 1e-12).unwrap();
        let p = w * tau / k * (1.0 + (w * LAGS.servo_s).powi(2)).sqrt();
        assert!((gains.proportional_s / p - 1.0).abs() < 2e-3, "{} {p}", gains.proportional_s);
        assert!((gains.integral / (p / tau) - 1.0).abs() < 2e-3);
    }

    #[test]
    fn a_slower_loop_gets_a_smaller_gain() {
        let response = Response::first_order(12.0, 0.06);
        let slow = Lags { servo_s: 0.05, delay_s: 0.03 };
        let (fast, slow) = (
            first_gains("roll", &response, &LAGS, Parts::Holding).unwrap(),
            first_gains("roll", &response, &slow, Parts::Holding).unwrap(),
        );
        assert!(slow.proportional_s < fast.proportional_s);
    }

    #[test]
    fn an_axis_that_does_not_settle_gets_no_gain() {
        let mut unstable = flying();
        unstable.aerodynamics.derivatives.Cma = 2.0;
        let response = Response::of_two_states(&short_period(&unstable, 0.13, 15.0, 0.04));
        assert!(matches!(
            first_gains("pitch", &response, &LAGS, Parts::Holding),
            Err(NotPredicted::NoSolution { .. })
        ));
    }
}
