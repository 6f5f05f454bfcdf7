//! How does it fly with its drive? Cruise throttle and current, top speed, climb, endurance and range.

use aircraft::drive::Drive;
use aircraft::{Known, Origin};
use numerics::units::RAD_S_PER_RPM;

use crate::drive::crossing::crossing;
use crate::drive::home::{self, USUAL_HEIGHT_M};
use crate::drive::limits;
use crate::drive::motor::Electrics;
use crate::drive::operating::Running;
use crate::drive::pack::{self, Discharge};
use crate::drive::slipstream::Slipstream;
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

    /// Level flight at a speed from a full pack down to the reserve (0 to 1): shafts turn alike all the way, while the
    /// throttle opens as the pack's voltage falls and its resistance grows.
    ///
    /// # Errors
    /// When full throttle does not suffice even with a full pack.
    pub fn endurance(&self, drive: &Drive, speed_m_s: f64, reserve: f64) -> Outcome<Discharge> {
        let cruise = self.cruise(speed_m_s)?;
        let at = self.running.at(cruise.throttle, speed_m_s);
        let factor = self.running.correction.voltage_factor;
        pack::discharge(&drive.pack, 1.0, reserve, |rest_v, pack_ohm| {
            let electrics = Electrics { open_circuit_v: rest_v * factor, pack_ohm, ..self.running.electrics };
            electrics.holding(at.rpm * RAD_S_PER_RPM, at.motor_a).map(|(_, pack_a)| pack_a)
        })
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

/// What is asked of the drive beside its description.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Cruise airspeed, m/s.
    pub cruise_m_s: f64,
    /// Share of the pack kept in reserve, 0 to 1.
    pub reserve: f64,
    /// Throttle held when the radio link is lost, 0 to 1, if stated.
    pub failsafe_throttle: Option<f64>,
    /// Largest height that the file states, m.
    pub height_m: Option<f64>,
    /// Doubt of the drag.
    pub drag: DragDoubt,
    /// Whether flights have corrected the thrust.
    pub flown: bool,
}

/// Everything that is predicted of the drive, with doubts from the drive model's factors and from the drag; and what
/// the reader must know of it.
#[must_use]
pub fn predict(
    drive: &Drive,
    running: &Running,
    flying: &Flying,
    asked: &Asked,
    slipstream: Outcome<Slipstream>,
) -> (DrivePrediction, Vec<String>) {
    let Asked { cruise_m_s, reserve, drag, flown, .. } = *asked;
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
    let loads = limits::loads(drive, running);
    remarks.extend(limits::remarks(drive, running, &loads, reserve));

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
    let discharge = powered.endurance(drive, cruise_m_s, reserve);
    if let Ok(Discharge { rows, ended_early: Some(NotPredicted::NoSolution { why }) }) = &discharge {
        remarks.push(format!(
            "Level flight at cruise ends before the reserve, at {:.0} % of the charge: {why}.",
            rows.last().map_or(f64::NAN, |row| row.charge * 100.0)
        ));
    }
    let endurance_s = cruise.clone().and_then(|c| {
        let value = discharge.clone()?.time_s();
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
    let top = powered.top_m_s();
    let climb_rad = top.clone().map(|top_m_s| {
        let steepest = powered.steepest_m_s(top_m_s);
        let at_speed = |p: &Powered| Some(p.climb_rad(steepest));
        let by_drive = running
            .correction
            .spread(running, |r| [Powered { running: r, flying }.climb_rad(steepest), 0.0, 0.0]);
        Known {
            value: powered.climb_rad(steepest),
            sd: with_drag(&at_speed, by_drive[0]),
            from: origin(false),
        }
    });
    let home = home::home(
        drive,
        running,
        flying,
        cruise_m_s,
        reserve,
        asked.failsafe_throttle.unwrap_or(0.0),
        asked.height_m.unwrap_or(USUAL_HEIGHT_M),
    );
    if let Ok(home) = &home {
        remarks.push(home_remark(home, asked));
    }
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
            climb_rad,
            static_voltage_v: standing.volts,
            loads,
            envelope: top.map(|top_m_s| powered.envelope(top_m_s)),
            discharge: discharge.map(|d| d.rows),
            home,
            slipstream,
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

/// The flight home after a lost link in a sentence.
fn home_remark(home: &home::Home, asked: &Asked) -> String {
    let setting = if asked.failsafe_throttle.is_some() {
        format!("the failsafe's throttle of {:.0} %", home.throttle * 100.0)
    } else {
        "the motor stopped (no failsafe_throttle is stated)".to_owned()
    };
    let calm_m = home.rows.first().map_or(0.0, |row| row[1]);
    format!(
        "With the link lost at {:.0} m and {:.0} % of the charge, {setting} brings it home from {calm_m:.0} m in calm air, {:.0} m less for each m/s of wind against it; the {} ends it. That takes it to be pointed home; the rules of the place about distance and height go before.",
        home.height_m,
        asked.reserve * 100.0,
        home.time_s,
        home.ends.word()
    )
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
    fn endurance_lies_between_the_currents_at_its_ends() {
        let (r, f, d) = (running(&drive()), flying(), drive());
        let p = Powered { running: &r, flying: &f };
        let discharge = p.endurance(&d, 14.0, 0.3).unwrap();
        let (first, last) = (discharge.rows[0], discharge.rows[discharge.rows.len() - 1]);
        // The current grows as the voltage falls, with the power nearly the same.
        assert!(last.current_a > first.current_a && last.volts < first.volts);
        assert!((last.current_a * last.volts / (first.current_a * first.volts) - 1.0).abs() < 0.03);
        let charge_c = 0.7 * 2.2 * 3600.0;
        let t = discharge.time_s();
        assert!(t > charge_c / last.current_a && t < charge_c / first.current_a);
        // At the charge that the running drive has, the current is that of cruise.
        let cruise = p.cruise(14.0).unwrap();
        let near =
            discharge.rows.iter().min_by(|a, b| (a.charge - 0.8).abs().total_cmp(&(b.charge - 0.8).abs()));
        assert!((near.unwrap().current_a / cruise.current_a - 1.0).abs() < 0.01);
        // Energy over power: 0.7 of 2.2 Ah at rest voltages of 3 x 3.914 V in the mean, less what the pack's resistance
        // takes.
        let energy_j = charge_c * 3.0 * 3.914;
        assert!(t * cruise.power_w < energy_j && t * cruise.power_w > 0.93 * energy_j);
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
