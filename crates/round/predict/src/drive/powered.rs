//! How does it fly with its drive? Cruise throttle and current, top speed, climb, endurance and range.

use aircraft::drive::Drive;
use aircraft::{Known, Origin};

use crate::drive::crossing::crossing;
use crate::drive::motor::{self, current_for_power_a};
use crate::drive::operating::Running;
use crate::performance::{Flying, golden_section};
use crate::prediction::{DrivePrediction, NotPredicted, Outcome};

/// Share of the pack kept in reserve where the file states none.
pub const RESERVE: f64 = 0.3;

/// An aircraft with its drive in the same air.
#[derive(Debug, Clone, Copy)]
pub struct Powered<'a> {
    /// The drive.
    pub running: &'a Running,
    /// The aircraft.
    pub flying: &'a Flying,
}

/// What it does at a cruise speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cruise {
    /// Throttle, 0 to 1.
    pub throttle: f64,
    /// Pack current, A.
    pub current_a: f64,
    /// Power that the pack gives, W.
    pub power_w: f64,
}

impl Powered<'_> {
    /// Thrust less drag at full throttle, N.
    #[must_use]
    pub fn surplus_n(&self, speed_m_s: f64) -> f64 {
        self.running.at(1.0, speed_m_s).thrust_n - self.flying.at(speed_m_s, 1.0).drag_n
    }

    /// Level flight at a speed.
    ///
    /// # Errors
    /// When full throttle does not suffice there.
    pub fn cruise(&self, speed_m_s: f64) -> Outcome<Cruise> {
        let drag_n = self.flying.at(speed_m_s, 1.0).drag_n;
        let left = |throttle: f64| self.running.at(throttle, speed_m_s).thrust_n - drag_n;
        let most_n = left(1.0) + drag_n;
        let throttle = crossing(left, 0.0, 1.0, 1e-6).ok_or_else(|| NotPredicted::NoSolution {
            why: format!(
                "level flight at {speed_m_s:.1} m/s takes {drag_n:.1} N and the drive gives {most_n:.1} N there at full throttle"
            ),
        })?;
        let at = self.running.at(throttle, speed_m_s);
        Ok(Cruise { throttle, current_a: at.current_a, power_w: at.current_a * at.volts })
    }

    /// Fastest level flight, m/s.
    ///
    /// # Errors
    /// When the drive cannot hold level flight at the speed of least drag.
    pub fn top_m_s(&self) -> Outcome<f64> {
        let slow = self.flying.best_glide().speed_m_s;
        let surplus = self.surplus_n(slow);
        if surplus <= 0.0 {
            return Err(NotPredicted::NoSolution {
                why: format!(
                    "at {slow:.1} m/s, where drag is least, full throttle lacks {:.1} N of thrust for level flight",
                    -surplus
                ),
            });
        }
        let mut fast = 1.5 * slow;
        while self.surplus_n(fast) > 0.0 && fast < 300.0 {
            fast *= 1.5;
        }
        crossing(|v| self.surplus_n(v), slow, fast, 1e-5 * fast).ok_or_else(|| NotPredicted::NoSolution {
            why: "no speed below 300 m/s at which drag meets full thrust".to_owned(),
        })
    }

    /// Best climb rate at full throttle (m/s) and the speed of it (m/s), no slower than 1.1 times stall; small path
    /// angles.
    ///
    /// # Errors
    /// When the drive cannot hold level flight.
    pub fn climb_m_s(&self) -> Outcome<(f64, f64)> {
        let top = self.top_m_s()?;
        let rate = |v: f64| self.surplus_n(v) * v / self.flying.weight_n();
        let slow = 1.1 * self.flying.stall_m_s();
        let speed = if top > slow { coarse_then_fine(|v| -rate(v), slow, top) } else { top };
        Ok((rate(speed), speed))
    }

    /// Time at a constant power from a full pack down to the reserve (0 to 1), s: the current grows as the voltage
    /// falls.
    ///
    /// # Errors
    /// When the pack cannot give that power.
    pub fn endurance_s(&self, drive: &Drive, power_w: f64, reserve: f64) -> Outcome<f64> {
        const STEPS: u32 = 20;
        let charge_c = drive.pack.capacity_ah * 3600.0;
        let share = (1.0 - reserve) / f64::from(STEPS);
        let mut time_s = 0.0;
        for step in 0..STEPS {
            let charge = reserve + share * (f64::from(step) + 0.5);
            let open = motor::open_circuit_v(&drive.pack, charge);
            time_s += share * charge_c / current_for_power_a(open, drive.pack.resistance_ohm.value, power_w)?;
        }
        Ok(time_s)
    }
}

/// Argument of the least value: a coarse look first, so that a hump does not mislead, then a golden section.
fn coarse_then_fine(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    const LOOKS: u32 = 8;
    let place = |i: u32| low + (high - low) * f64::from(i) / f64::from(LOOKS);
    let mut best = (0, f64::INFINITY);
    for i in 0..=LOOKS {
        let value = f(place(i));
        if value < best.1 {
            best = (i, value);
        }
    }
    golden_section(f, place(best.0.saturating_sub(1)), place((best.0 + 1).min(LOOKS)), 1e-3)
}

/// Relative standard deviation of the drag at a speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DragDoubt(pub f64);

/// Everything that is predicted of the drive, with doubts from the drive model's factors and from the drag; and what
/// the reader must know of it.
#[must_use]
pub fn predict(
    drive: &Drive,
    running: &Running,
    flying: &Flying,
    cruise_m_s: f64,
    reserve: f64,
    drag: DragDoubt,
    flown: bool,
) -> (DrivePrediction, Vec<String>) {
    let mut remarks = Vec::new();
    let powered = Powered { running, flying };
    let standing = running.at(1.0, 0.0);
    let measured = |pick: fn(&aircraft::drive::Bench) -> bool| {
        running.correction.rows > 0 && drive.bench.iter().any(|row| row.throttle >= 0.95 && pick(row))
    };
    let origin = |is_measured: bool| {
        if flown {
            Origin::Flown
        } else if is_measured {
            Origin::Measured
        } else {
            Origin::Predicted
        }
    };
    // Static values move together with the factors: one gradient each.
    let doubt = running.correction.spread(running, |r| {
        let at = r.at(1.0, 0.0);
        [at.thrust_n, at.current_a, at.rpm]
    });
    let static_thrust_n =
        Known { value: standing.thrust_n, sd: doubt[0], from: origin(measured(|r| r.pull_n.is_some())) };
    let static_current_a = Known {
        value: standing.current_a,
        sd: doubt[1],
        from: if measured(|r| r.amps.is_some()) { Origin::Measured } else { Origin::Predicted },
    };
    let static_rpm = Known {
        value: standing.rpm,
        sd: doubt[2],
        from: if measured(|r| r.rpm.is_some()) { Origin::Measured } else { Origin::Predicted },
    };
    limits(drive, running, standing.motor_a, standing.current_a, &mut remarks);

    let with_drag = |f: &dyn Fn(&Powered) -> Option<f64>, by_drive: f64| -> f64 {
        let moved = |factor: f64| {
            let mut flying = *flying;
            flying.aerodynamics.cd0 *= factor;
            flying.aerodynamics.induced *= factor;
            f(&Powered { running, flying: &flying })
        };
        match (moved(1.0 + drag.0), moved(1.0 - drag.0)) {
            (Some(more), Some(less)) => by_drive.hypot(0.5 * (more - less)),
            _ => by_drive,
        }
    };
    let cruise = powered.cruise(cruise_m_s);
    let cruise_doubt = running.correction.spread(running, |r| {
        let c = Powered { running: r, flying }.cruise(cruise_m_s);
        [c.as_ref().map_or(f64::NAN, |c| c.current_a), c.map_or(f64::NAN, |c| c.power_w), 0.0]
    });
    let current = |p: &Powered| p.cruise(cruise_m_s).ok().map(|c| c.current_a);
    let power = |p: &Powered| p.cruise(cruise_m_s).ok().map(|c| c.power_w);
    let cruise_current_a = cruise.clone().map(|c| Known {
        value: c.current_a,
        sd: with_drag(&current, finite(cruise_doubt[0], 0.2 * c.current_a)),
        from: origin(false),
    });
    let endurance_s = cruise.clone().and_then(|c| {
        let value = powered.endurance_s(drive, c.power_w, reserve)?;
        // Time goes with the inverse of power; 5 % for the capacity that a used pack still has (no source).
        let relative = with_drag(&power, finite(cruise_doubt[1], 0.2 * c.power_w)) / c.power_w;
        Ok(Known { value, sd: value * relative.hypot(0.05), from: origin(false) })
    });
    let range_m = endurance_s.clone().map(|t| Known {
        value: t.value * cruise_m_s,
        sd: t.sd * cruise_m_s,
        from: t.from,
    });
    let climb = powered.climb_m_s();
    let climb_m_s = climb.map(|(rate, speed)| {
        let at_speed = |p: &Powered| Some(p.surplus_n(speed) * speed / p.flying.weight_n());
        // At the best speed a small change of speed changes nothing, so the rate is differentiated in place.
        let by_drive = running.correction.spread(running, |r| {
            [Powered { running: r, flying }.surplus_n(speed) * speed / flying.weight_n(), 0.0, 0.0]
        });
        Known { value: rate, sd: with_drag(&at_speed, by_drive[0]), from: origin(false) }
    });
    if let Ok(climb) = climb_m_s.as_ref()
        && climb.value < 1.0
    {
        remarks.push(format!(
            "The best climb is {:.1} m/s only: a launch leaves little to spare; consider a larger propeller, another cell or less mass.",
            climb.value
        ));
    }
    (
        DrivePrediction {
            static_thrust_n,
            static_current_a,
            static_rpm,
            thrust_to_weight: Known {
                value: static_thrust_n.value / flying.weight_n(),
                sd: static_thrust_n.sd / flying.weight_n(),
                from: static_thrust_n.from,
            },
            cruise_current_a,
            cruise_throttle: cruise.map(|c| c.throttle),
            endurance_s,
            range_m,
            climb_m_s,
        },
        remarks,
    )
}

/// Top speed with its doubt.
///
/// # Errors
/// As [`Powered::top_m_s`].
pub fn top_speed(running: &Running, flying: &Flying, drag: DragDoubt, flown: bool) -> Outcome<Known> {
    let powered = Powered { running, flying };
    let value = powered.top_m_s()?;
    // Where two curves cross: doubt of their difference over the slope of the difference.
    let step = 0.02 * value;
    let slope = (powered.surplus_n(value + step) - powered.surplus_n(value - step)) / (2.0 * step);
    let by_drive = running.correction.spread(running, |r| [r.at(1.0, value).thrust_n, 0.0, 0.0]);
    let force = by_drive[0].hypot(drag.0 * flying.at(value, 1.0).drag_n);
    Ok(Known {
        value,
        sd: (force / slope).abs(),
        from: if flown { Origin::Flown } else { Origin::Predicted },
    })
}

fn finite(value: f64, otherwise: f64) -> f64 {
    if value.is_finite() { value } else { otherwise }
}

/// Currents against the limits that the file states.
fn limits(drive: &Drive, running: &Running, motor_a: f64, pack_a: f64, remarks: &mut Vec<String>) {
    let full = motor::open_circuit_v(&drive.pack, 1.0) / running.electrics.open_circuit_v;
    let mut told = |what: &str, amps: f64, limit: Option<f64>| {
        if let Some(limit) = limit
            && amps > limit
        {
            remarks.push(format!(
                "Full throttle standing still takes {amps:.0} A {what}, above its limit of {limit:.0} A: use a smaller propeller or less throttle (bench work with the propeller on: model held fast, nobody in its plane or ahead of it)."
            ));
        }
    };
    told("from the motor", motor_a, drive.motor.limit_a);
    told("from the speed controller", motor_a, drive.speed_controller_limit_a);
    told("from the pack", pack_a, drive.pack.limit_a);
    remarks.push(format!(
        "Thrust and currents hold for a pack at {:.0} % of its charge; a full one starts with {:.0} % more voltage and about {:.0} % more thrust.",
        super::CHARGE * 100.0,
        (full - 1.0) * 100.0,
        (full.powf(1.7) - 1.0) * 100.0
    ));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::operating::tests::{drive, running};

    fn flying() -> Flying {
        Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 }
    }

    #[test]
    fn thrust_meets_drag_in_cruise_and_at_top_speed() {
        let (r, f) = (running(&drive()), flying());
        let p = Powered { running: &r, flying: &f };
        let cruise = p.cruise(14.0).unwrap();
        let at = r.at(cruise.throttle, 14.0);
        assert!((at.thrust_n / f.at(14.0, 1.0).drag_n - 1.0).abs() < 1e-4);
        let top = p.top_m_s().unwrap();
        assert!(p.surplus_n(top - 0.1) > 0.0 && p.surplus_n(top + 0.1) < 0.0);
        // The pitch speed at no load bounds it: 1100 rpm/V x 11.91 V x 0.1524 m / 60 = 33.3 m/s.
        assert!(top > 14.0 && top < 33.3, "{top}");
        // Power flies: what the pack gives exceeds drag times speed.
        assert!(cruise.power_w > f.at(14.0, 1.0).drag_n * 14.0);
    }

    #[test]
    fn the_climb_is_the_surplus_power_over_weight() {
        let (r, f) = (running(&drive()), flying());
        let p = Powered { running: &r, flying: &f };
        let (rate, speed) = p.climb_m_s().unwrap();
        assert!((rate - p.surplus_n(speed) * speed / (2.0 * 9.80665)).abs() < 1e-9);
        for other in [0.8, 0.9, 1.1, 1.25] {
            let v = (other * speed).max(1.1 * f.stall_m_s());
            assert!(p.surplus_n(v) * v / f.weight_n() <= rate + 1e-6);
        }
    }

    #[test]
    fn endurance_of_a_stiff_pack_is_energy_over_power() {
        let (r, f) = (running(&drive()), flying());
        let p = Powered { running: &r, flying: &f };
        let mut d = drive();
        d.pack.resistance_ohm = Known::stated(0.0, 0.0);
        let t = p.endurance_s(&d, 80.0, 0.3).unwrap();
        // 2.2 Ah x 0.7 at a mean of 3 x 3.90 V (mean of the resting curve over that part, trapezoid of its table:
        // (3.76/2 + 3.79 + 3.82 + 3.86 + 3.91 + 3.97 + 4.07 + 4.20/2)/7 = 3.914) over 80 W.
        let by_hand = 2.2 * 0.7 * 3.0 * 3.914 * 3600.0 / 80.0;
        assert!((t / by_hand - 1.0).abs() < 2e-3, "{t} {by_hand}");
        assert!(p.endurance_s(&drive(), 5000.0, 0.3).is_err(), "more than E²/4R");
    }

    #[test]
    fn a_drive_that_is_too_weak_says_what_is_lacking() {
        let (r, mut f) = (running(&drive()), flying());
        f.mass_kg = 60.0;
        let p = Powered { running: &r, flying: &f };
        assert!(matches!(p.top_m_s(), Err(NotPredicted::NoSolution { .. })));
        assert!(p.climb_m_s().is_err());
    }
}
