//! Do motor, speed controller and pack bear full throttle? Currents standing still with a full pack, against the limits
//! that the file states, and how far the pack sags.

use aircraft::drive::Drive;

use crate::drive::crossing::crossing;
use crate::drive::motor::Electrics;
use crate::drive::operating::Running;
use crate::drive::pack::LOWEST_CELL_V;

/// A part of the drive that has a limit of current.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Each motor.
    Motor,
    /// Each speed controller.
    SpeedController,
    /// The pack.
    Pack,
}

impl Part {
    /// The word shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Motor => "motor",
            Self::SpeedController => "speed controller",
            Self::Pack => "pack",
        }
    }
}

/// A stated limit and what full throttle asks of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Whose limit.
    pub part: Part,
    /// Current through it at full throttle standing still with a full pack, A.
    pub current_a: f64,
    /// Its limit, A.
    pub limit_a: f64,
    /// Throttle at which the limit is met, standing still with a full pack; 1 where full throttle stays below it.
    pub throttle: f64,
}

/// The drive with its pack at another state of charge.
#[must_use]
pub fn charged(running: &Running, drive: &Drive, charge: f64) -> Running {
    Running { electrics: Electrics::of(drive, charge), ..running.clone() }
}

/// Every stated limit with its load.
#[must_use]
pub fn loads(drive: &Drive, running: &Running) -> Vec<Load> {
    let full = charged(running, drive, 1.0);
    [
        (Part::Motor, drive.motor.limit_a),
        (Part::SpeedController, drive.speed_controller_limit_a),
        (Part::Pack, drive.pack.limit_a),
    ]
    .into_iter()
    .filter_map(|(part, limit_a)| {
        let limit_a = limit_a?;
        let through = |throttle: f64| {
            let at = full.at(throttle, 0.0);
            if part == Part::Pack { at.current_a } else { at.motor_a }
        };
        let current_a = through(1.0);
        let throttle = if current_a > limit_a {
            crossing(|t| through(t) - limit_a, 0.0, 1.0, 1e-4).unwrap_or(1.0)
        } else {
            1.0
        };
        Some(Load { part, current_a, limit_a, throttle })
    })
    .collect()
}

/// What the reader must know of loads and sag, with numbers.
#[must_use]
pub fn remarks(drive: &Drive, running: &Running, loads: &[Load], reserve: f64) -> Vec<String> {
    let mut out: Vec<String> = loads
        .iter()
        .filter(|load| load.current_a > load.limit_a)
        .map(|load| {
            format!(
                "Full throttle standing still with a full pack takes {:.0} A from the {}, above its limit of {:.0} A, which is met at {:.0} % throttle: use a smaller propeller or less throttle (bench work with the propeller on: model held fast, nobody in its plane or ahead of it).",
                load.current_a,
                load.part.word(),
                load.limit_a,
                load.throttle * 100.0
            )
        })
        .collect();
    let cells = f64::from(drive.pack.cells);
    let low = charged(running, drive, reserve).at(1.0, 0.0);
    if low.volts < LOWEST_CELL_V * cells {
        out.push(format!(
            "At the reserve ({:.0} % of its charge) full throttle pulls the pack down to {:.1} V, {:.2} V a cell: below about {LOWEST_CELL_V:.1} V speed controllers begin to cut power. Land earlier, or take a pack of lower resistance.",
            reserve * 100.0,
            low.volts,
            low.volts / cells
        ));
    }
    let full = charged(running, drive, 1.0).at(1.0, 0.0);
    let usual = running.at(1.0, 0.0);
    out.push(format!(
        "Thrust and currents hold for a pack at {:.0} % of its charge; a full one starts with {:.0} % more thrust and {:.0} % more current.",
        super::CHARGE * 100.0,
        (full.thrust_n / usual.thrust_n - 1.0) * 100.0,
        (full.current_a / usual.current_a - 1.0) * 100.0
    ));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::operating::tests::{drive, running};

    #[test]
    fn a_limit_is_met_at_the_throttle_told() {
        let mut d = drive();
        d.motor.limit_a = Some(20.0);
        d.pack.limit_a = Some(500.0);
        let r = running(&d);
        let loads = loads(&d, &r);
        assert_eq!(loads.len(), 2);
        let motor = loads[0];
        assert!(motor.current_a > 20.0 && motor.throttle < 1.0);
        let at = charged(&r, &d, 1.0).at(motor.throttle, 0.0).motor_a;
        assert!((at - 20.0).abs() < 0.05, "{at}");
        assert!(loads[1].throttle == 1.0 && loads[1].part == Part::Pack);
        let told = remarks(&d, &r, &loads, 0.3);
        assert!(told.iter().any(|t| t.contains("limit of 20 A")) && !told.iter().any(|t| t.contains("500")));
    }

    #[test]
    fn a_pack_of_high_resistance_is_told_to_sag() {
        let mut d = drive();
        let calm = remarks(&d, &running(&d), &[], 0.3);
        assert!(!calm.iter().any(|t| t.contains("a cell")), "{calm:?}");
        d.pack.resistance_ohm = aircraft::Known::stated(0.12, 0.01);
        let told = remarks(&d, &running(&d), &[], 0.3);
        assert!(told.iter().any(|t| t.contains("a cell")), "{told:?}");
    }
}
