//! What does the drive give? Propeller, motor and pack matched, in given air.

pub mod bench;
pub mod blade;
mod crossing;
pub mod envelope;
pub mod home;
pub mod limits;
pub mod map;
#[cfg(test)]
mod measured;
pub mod motor;
pub mod operating;
pub mod pack;
pub mod powered;
pub mod propeller;
pub mod section;
pub mod slipstream;
#[cfg(test)]
mod tunnel;

use std::sync::Arc;

use aircraft::drive::Drive;

use crate::drive::bench::Correction;
use crate::drive::map::Map;
use crate::drive::motor::Electrics;
use crate::drive::operating::Running;
use crate::drive::propeller::Blades;
use crate::prediction::{NotPredicted, Outcome};

/// State of charge that thrust, current and top speed hold for: after the climb of a flight begun with a full pack.
pub const CHARGE: f64 = 0.8;

/// The drive in air of this density (kg/m³) and viscosity (Pa s), its pack at `charge` (0 to 1), corrected by its
/// bench measurements; with remarks.
///
/// # Errors
/// When the description lacks a number that is needed.
pub fn running(
    drive: &Drive,
    charge: f64,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
) -> Outcome<(Running, Vec<String>)> {
    running_with(drive, charge, density_kg_m3, viscosity_pa_s, None)
}

/// The propeller of a drive on its grid, to be handed to [`running_with`] as often as that drive is asked for.
#[must_use]
pub fn map(drive: &Drive) -> Option<Arc<Map>> {
    let p = &drive.propeller;
    let sound = [p.diameter_m, p.pitch_m, f64::from(p.blades)].iter().all(|v| *v > 0.0 && v.is_finite());
    sound.then(|| Arc::new(Map::of(&Blades::typical(p))))
}

/// The same with the grid of a propeller; where it is another propeller's a new one is made.
///
/// # Errors
/// As [`running`].
pub fn running_with(
    drive: &Drive,
    charge: f64,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
    known: Option<&Arc<Map>>,
) -> Outcome<(Running, Vec<String>)> {
    for (value, what) in [
        (drive.propeller.diameter_m, "the propeller's diameter"),
        (drive.propeller.pitch_m, "the propeller's pitch"),
        (f64::from(drive.propeller.blades), "the number of propeller blades"),
        (drive.motor.kv_rpm_v, "the motor's speed constant (kv)"),
        (drive.motor.resistance_ohm, "the motor's winding resistance"),
        (f64::from(drive.pack.cells), "the number of cells of the pack"),
        (drive.pack.capacity_ah, "the capacity of the pack"),
    ] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(NotPredicted::Missing { what: format!("{what}, above zero, in [drive]") });
        }
    }
    let blades = Blades::typical(&drive.propeller);
    let mut running = Running {
        electrics: Electrics::of(drive, charge),
        map: match known.filter(|map| map.is_of(&blades)) {
            Some(map) => Arc::clone(map),
            None => Arc::new(Map::of(&blades)),
        },
        blades,
        density_kg_m3,
        viscosity_pa_s,
        correction: Correction::unmeasured(&drive.propeller),
    };
    let (correction, mut remarks) = bench::correct(drive, &running);
    running.correction = correction;
    let class = blade::class_of(&drive.propeller).word();
    if drive.propeller.class.is_none() {
        remarks.push(format!(
            "The kind of propeller blade is not stated: \"{class}\" is guessed from diameter and pitch. class = in [drive.propeller] (sport, efficient, light, broad, wood, slow-fly) and blade_chord_mm, the chord at 75 % of the radius, make thrust and current surer."
        ));
    }
    if correction.rows == 0 {
        let [thrust, power] = propeller::doubts(&drive.propeller);
        remarks.push(format!(
            "The propeller is modelled as a \"{class}\" one of its diameter, pitch and blade count (thrust ± {:.0} %, power ± {:.0} % at one standard deviation); a bench measurement of pull, amps, volts and rpm narrows that.",
            thrust * 100.0,
            power * 100.0
        ));
    }
    let ratio = drive.propeller.pitch_m / drive.propeller.diameter_m;
    if !(0.35..=1.1).contains(&ratio) || !(0.1..=0.5).contains(&drive.propeller.diameter_m) {
        remarks.push(format!(
            "A propeller of {:.0} mm with a pitch of {ratio:.2} diameters lies outside the measured ones (diameter 100 to 500 mm, pitch 0.35 to 1.1 diameters): thrust and power may be off by more.",
            drive.propeller.diameter_m * 1e3
        ));
    }
    Ok((running, remarks))
}
