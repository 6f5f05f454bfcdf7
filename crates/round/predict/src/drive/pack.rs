//! How does the pack empty? Voltage at rest and resistance over the state of charge, and the time that a load takes
//! to bring it down.

use aircraft::drive::Pack;

use crate::drive::blade::interpolated;
use crate::prediction::{NotPredicted, Outcome};

/// State of charge below which no flight is counted on: cells that go lower are harmed (common practice, no source).
pub const EMPTY: f64 = 0.05;

/// Voltage of one cell under load below which a lithium-polymer pack is near its end and speed controllers begin to cut
/// power, V (common practice, no source).
pub const LOWEST_CELL_V: f64 = 3.3;

/// Pieces into which a discharge is cut.
const STEPS: u32 = 20;

/// Voltage of a lithium-polymer cell at rest at a state of charge (0 to 1), V. The curve is common practice without a
/// source; between 0.05 and 0.8 it agrees within 0.04 V with that of a measured polymer cell (Chen and Rincón-Mora,
/// IEEE Transactions on Energy Conversion 21 (2006) 504), which rests at 4.10 V when full; packs for models are charged
/// to 4.20 V.
#[must_use]
pub fn cell_at_rest_v(charge: f64) -> f64 {
    const CELL: [(f64, f64); 12] = [
        (0.0, 3.30),
        (0.05, 3.55),
        (0.1, 3.65),
        (0.2, 3.72),
        (0.3, 3.76),
        (0.4, 3.79),
        (0.5, 3.82),
        (0.6, 3.86),
        (0.7, 3.91),
        (0.8, 3.97),
        (0.9, 4.07),
        (1.0, 4.20),
    ];
    interpolated(&CELL, charge)
}

/// Voltage of a pack at rest at a state of charge (0 to 1), V.
#[must_use]
pub fn at_rest_v(pack: &Pack, charge: f64) -> f64 {
    f64::from(pack.cells) * cell_at_rest_v(charge)
}

/// Resistance of a pack at a state of charge, ohm: the stated one, growing towards empty as that of a measured polymer
/// cell (Chen and Rincón-Mora 2006: 0.1562 exp(-24.37 s) + 0.07446 ohm).
#[must_use]
pub fn resistance_ohm(pack: &Pack, charge: f64) -> f64 {
    pack.resistance_ohm.value * (1.0 + 0.1562 / 0.07446 * (-24.37 * charge).exp())
}

/// A moment of a discharge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// Time since it began, s.
    pub time_s: f64,
    /// State of charge, 0 to 1.
    pub charge: f64,
    /// Voltage of the pack under the load, V.
    pub volts: f64,
    /// Current, A.
    pub current_a: f64,
}

/// A discharge from one state of charge to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Discharge {
    /// Moments of it, the first at the beginning, the last at the end.
    pub rows: Vec<Drawn>,
    /// Why it ended before the state of charge asked for: the load could no longer be carried.
    pub ended_early: Option<NotPredicted>,
}

impl Discharge {
    /// Time from beginning to end, s.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.rows.last().map_or(0.0, |row| row.time_s)
    }
}

/// Discharge of a pack between two states of charge (0 to 1) under a load that tells the current (A) it draws from a
/// source of a voltage at rest (V) and a resistance (ohm). Simpson's rule over charge for the time: dt = Q ds / I.
///
/// # Errors
/// When the load cannot be carried even at the beginning.
pub fn discharge(
    pack: &Pack,
    from_charge: f64,
    to_charge: f64,
    load: impl Fn(f64, f64) -> Outcome<f64>,
) -> Outcome<Discharge> {
    let at = |charge: f64| -> Outcome<Drawn> {
        let (rest_v, ohm) = (at_rest_v(pack, charge), resistance_ohm(pack, charge));
        let current_a = load(rest_v, ohm)?;
        if current_a <= 0.0 || current_a.is_nan() {
            return Err(NotPredicted::NoSolution {
                why: "the load draws no current, so that the pack never empties".to_owned(),
            });
        }
        Ok(Drawn { time_s: 0.0, charge, volts: rest_v - current_a * ohm, current_a })
    };
    let mut last = at(from_charge)?;
    let mut rows = vec![last];
    let share = (from_charge - to_charge).max(0.0) / f64::from(STEPS);
    let step_c = share * pack.capacity_ah * 3600.0;
    for step in 1..=STEPS {
        let charge = from_charge - share * f64::from(step);
        let (middle, next) = match (at(charge + 0.5 * share), at(charge)) {
            (Ok(middle), Ok(next)) => (middle, next),
            (Err(why), _) | (_, Err(why)) => return Ok(Discharge { rows, ended_early: Some(why) }),
        };
        let slowness = (1.0 / last.current_a + 4.0 / middle.current_a + 1.0 / next.current_a) / 6.0;
        last = Drawn { time_s: last.time_s + step_c * slowness, ..next };
        rows.push(last);
    }
    Ok(Discharge { rows, ended_early: None })
}

/// Current at which a pack gives a power, A: the smaller root of `I (E - I R) = P`.
///
/// # Errors
/// When the power exceeds `E²/(4 R)`, which no load can draw from it.
pub fn current_for_power_a(open_circuit_v: f64, ohm: f64, power_w: f64) -> Outcome<f64> {
    let most_w = open_circuit_v.powi(2) / (4.0 * ohm);
    if power_w > most_w {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "{power_w:.0} W is asked of a pack of {open_circuit_v:.1} V and {:.0} mΩ, which can give {most_w:.0} W at most",
                ohm * 1e3
            ),
        });
    }
    // Written so that a small resistance does not cancel.
    Ok(2.0 * power_w / (open_circuit_v + (open_circuit_v.powi(2) - 4.0 * ohm * power_w).sqrt()))
}

/// Open-circuit voltage (V) and resistance (ohm) of a source from its voltage under two currents.
#[must_use]
pub fn two_point_resistance(volts: [f64; 2], amps: [f64; 2]) -> (f64, f64) {
    let ohm = (volts[0] - volts[1]) / (amps[1] - amps[0]);
    (volts[0] + ohm * amps[0], ohm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use aircraft::Known;

    fn pack() -> Pack {
        Pack { cells: 3, capacity_ah: 2.2, resistance_ohm: Known::stated(0.02, 0.005), limit_a: None }
    }

    #[track_caller]
    fn check(got: f64, expected: f64, relative: f64) {
        assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
    }

    #[test]
    fn the_cell_at_rest_beside_a_measured_one() {
        // Chen and Rincón-Mora 2006, polymer cell: -1.031 exp(-35 s) + 3.685 + 0.2156 s - 0.1178 s² + 0.3201 s³.
        for i in 1..=16 {
            let s = 0.05 * f64::from(i);
            let measured =
                -1.031 * (-35.0 * s).exp() + 3.685 + 0.2156 * s - 0.1178 * s * s + 0.3201 * s.powi(3);
            assert!((cell_at_rest_v(s) - measured).abs() < 0.04, "{s}: {} {measured}", cell_at_rest_v(s));
        }
        check(cell_at_rest_v(1.0), 4.2, 1e-12);
    }

    #[test]
    fn a_constant_current_empties_it_in_charge_over_current() {
        // 70 % of 2.2 Ah at 8 A: 693 s. Charge drawn up to any row is current times time.
        let d = discharge(&pack(), 1.0, 0.3, |_, _| Ok(8.0)).unwrap();
        check(d.time_s(), 0.7 * 2.2 * 3600.0 / 8.0, 1e-12);
        assert!(d.ended_early.is_none());
        for row in &d.rows {
            assert!(((1.0 - row.charge) * 2.2 * 3600.0 - 8.0 * row.time_s).abs() < 1e-6);
            check(
                row.volts,
                3.0 * cell_at_rest_v(row.charge) - 8.0 * resistance_ohm(&pack(), row.charge),
                1e-12,
            );
        }
        // 2.2 Ah at 20 A last 6.600 min without Peukert's loss, which is small for lithium-polymer (exponent 1.0 to
        // 1.05, from memory) and left out.
        check(discharge(&pack(), 1.0, 0.0, |_, _| Ok(20.0)).unwrap().time_s() / 60.0, 6.6, 1e-12);
    }

    #[test]
    fn a_constant_power_from_a_stiff_pack_takes_energy_over_power() {
        let stiff = Pack { resistance_ohm: Known::stated(0.0, 0.0), ..pack() };
        let t = discharge(&stiff, 1.0, 0.3, |v, r| current_for_power_a(v, r, 80.0)).unwrap().time_s();
        // 2.2 Ah x 0.7 at a mean of 3 x 3.914 V (trapezoid of the resting curve's table over that part:
        // (3.76/2 + 3.79 + 3.82 + 3.86 + 3.91 + 3.97 + 4.07 + 4.20/2)/7) over 80 W.
        check(t, 2.2 * 0.7 * 3.0 * 3.914 * 3600.0 / 80.0, 1e-3);
    }

    #[test]
    fn a_load_that_the_sagging_pack_cannot_carry_ends_early_and_says_so() {
        // A load that needs 11.5 V at rest: three cells rest there at 3.8333 V, between half and 0.6 of the charge.
        let needs = |rest_v: f64, _: f64| {
            if rest_v >= 11.5 { Ok(5.0) } else { Err(NotPredicted::NoSolution { why: "too low".to_owned() }) }
        };
        let d = discharge(&pack(), 1.0, 0.3, needs).unwrap();
        let end = d.rows.last().unwrap().charge;
        assert!(d.ended_early.is_some() && end > 0.53 && end < 0.58, "{end}");
        assert!(discharge(&pack(), 0.4, 0.3, needs).is_err());
    }

    #[test]
    fn pack_resistance_and_the_most_a_pack_can_give() {
        // Ohm: 12.0 V at 2 A and 11.1 V at 20 A are 12.10 V and 0.0500 ohm.
        let (e, r) = two_point_resistance([12.0, 11.1], [2.0, 20.0]);
        check(e, 12.1, 1e-9);
        check(r, 0.05, 1e-9);
        // Maximum power transfer: E²/(4R) at E/(2R).
        let most = e * e / (4.0 * r);
        check(current_for_power_a(e, r, most * (1.0 - 1e-12)).unwrap(), e / (2.0 * r), 1e-5);
        assert!(current_for_power_a(e, r, most * 1.001).is_err());
        let amps = current_for_power_a(e, r, 100.0).unwrap();
        check(amps * (e - amps * r), 100.0, 1e-12);
    }
}
