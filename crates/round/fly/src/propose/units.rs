//! Which units do the values of a column allow? Ranges that only one unit can have.

use numerics::statistics::{median, quantile};

use super::header::Reading;
use crate::words::{self, Dimension};

/// Units that are possible, scale of the numbers, and what speaks for them.
type Possible = (Vec<&'static str>, f64, Option<String>);

/// The units that header and values allow, the likelier first; an error says why the column cannot be used.
pub(super) fn possible(reading: &Reading, values: &[f64]) -> Result<Possible, String> {
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let largest = finite.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let least = finite.iter().fold(f64::INFINITY, |m, v| m.min(*v));
    let middle = median(&sampled(&finite));
    let whole = finite.iter().all(|v| v.fract() == 0.0);
    let dimension = words::dimension(&reading.quantity);
    if let Some(unit) = reading.unit {
        credible(dimension, unit, largest, middle)?;
        let scale = if dimension == Dimension::Geographic && largest > 1e6 && whole { 1e-7 } else { 1.0 };
        return Ok((vec![unit], scale, Some(format!("and the unit {unit}"))));
    }
    let plain = |units: Vec<&'static str>, why: String| Ok((units, 1.0, Some(why)));
    let unsure = |what: &str| Err(format!("the header names no unit and {what}"));
    match dimension {
        Dimension::Angle if largest > 400.0 => unsure("its values are no angles"),
        Dimension::Angle if largest > 6.6 => {
            plain(vec!["deg"], format!("values up to {largest:.0} are degrees"))
        }
        Dimension::Angle => {
            let jumps = finite
                .windows(2)
                .any(|w| matches!(w, [a, b] if ((b - a).abs() - std::f64::consts::TAU).abs() < 0.4));
            if jumps {
                return plain(vec!["rad"], "it jumps by a full turn of 6.28".to_owned());
            }
            Ok((vec!["rad", "deg"], 1.0, None))
        }
        Dimension::AngularRate => {
            let sizes: Vec<f64> = sampled(&finite).iter().map(|v| v.abs()).collect();
            if quantile(&sizes, 0.99) > 35.0 {
                return plain(vec!["deg/s"], format!("rates up to {largest:.0} are degrees a second"));
            }
            Ok((vec!["rad/s", "deg/s"], 1.0, None))
        }
        Dimension::SpecificForce => Ok((vec!["m/s2", "g", "mg"], 1.0, None)),
        Dimension::Geographic if largest > 1e6 && whole && largest <= 1.8e9 => Ok((
            vec!["deg"],
            1e-7,
            Some("whole numbers of this size are degrees times ten million".to_owned()),
        )),
        Dimension::Geographic if largest > 180.0 => unsure("its values are no degrees"),
        Dimension::Geographic if largest > 3.2 => {
            plain(vec!["deg"], format!("values about {middle:.3} are degrees"))
        }
        Dimension::Geographic => unsure("its values could be degrees or radians"),
        Dimension::Length => Ok((vec!["m", "ft", "cm", "mm"], 1.0, None)),
        Dimension::Speed => Ok((vec!["m/s", "km/h", "kt", "mph", "ft/s", "cm/s"], 1.0, None)),
        Dimension::Pressure => {
            let fits = words::units_of(dimension)
                .filter(|u| u.word != "mbar" && (50_000.0..=110_000.0).contains(&(middle * u.factor)))
                .map(|u| u.word)
                .collect::<Vec<_>>();
            if fits.len() == 1 {
                plain(fits, format!("about {middle:.0} is the pressure of the air"))
            } else {
                unsure("its values are not the pressure of the air in one unit only")
            }
        }
        Dimension::Temperature => unsure("temperatures could be in several"),
        Dimension::Demand if (800.0..=2200.0).contains(&middle) => {
            plain(vec!["us"], format!("values about {middle:.0} are pulses"))
        }
        Dimension::Demand | Dimension::Throttle if largest <= 1.05 => {
            plain(vec!["fraction"], format!("values up to {largest:.2} are fractions"))
        }
        Dimension::Throttle if least >= 800.0 && largest <= 2300.0 => {
            plain(vec!["us"], format!("values about {middle:.0} are pulses"))
        }
        Dimension::Demand | Dimension::Throttle if (5.0..=110.0).contains(&largest) => {
            plain(vec!["percent"], format!("values up to {largest:.0} are percent"))
        }
        Dimension::Demand | Dimension::Throttle => unsure("its values are no demand"),
        Dimension::Pulse if (700.0..=2400.0).contains(&middle) => {
            plain(vec!["us"], format!("values about {middle:.0} are pulses"))
        }
        Dimension::Pulse => unsure("its values are no pulses to a servo"),
        Dimension::Voltage if (2.5..=80.0).contains(&middle) => {
            plain(vec!["V"], format!("about {middle:.1} is a pack's voltage"))
        }
        Dimension::Voltage if (2500.0..=80_000.0).contains(&middle) => {
            plain(vec!["mV"], format!("about {middle:.0} is a pack's voltage in mV"))
        }
        Dimension::Voltage => unsure(&format!("{middle:.2} in the middle is no pack's voltage")),
        Dimension::Current if !whole && (1.0..=300.0).contains(&largest) => {
            plain(vec!["A"], format!("values up to {largest:.1} with decimals are amperes"))
        }
        Dimension::Current if whole && (3000.0..=300_000.0).contains(&largest) => {
            plain(vec!["mA"], format!("whole numbers up to {largest:.0} are milliamperes"))
        }
        Dimension::Current => unsure("its values could be amperes or milliamperes"),
        Dimension::Charge => unsure("its values could be Ah or mAh"),
        Dimension::Revolutions => unsure("its values could be turns a minute or a second"),
        Dimension::Count => plain(vec!["count"], "a count".to_owned()),
    }
}

/// Enough of the values to tell their middle by.
fn sampled(values: &[f64]) -> Vec<f64> {
    const ENOUGH: usize = 20_000;
    values.iter().copied().step_by((values.len() / ENOUGH).max(1)).collect()
}

/// No model of a few kilograms flies faster than this all the time, m/s (common practice, no source).
const FASTEST_M_S: f64 = 90.0;

/// Whether values in a declared unit can be what they are said to be at all.
fn credible(dimension: Dimension, unit: &str, largest: f64, middle: f64) -> Result<(), String> {
    let factor = words::unit_of(dimension, unit).map_or(1.0, |u| u.factor);
    let (kept, most) = (middle * factor, largest * factor);
    match dimension {
        Dimension::Voltage if most < 0.5 => Err(format!("{most} V at most is no pack's voltage")),
        Dimension::Voltage if !(1.0..=200.0).contains(&kept) => {
            Err(format!("{kept} V in the middle is no pack's voltage"))
        }
        Dimension::Pulse if !(500.0..=2500.0).contains(&kept) => {
            Err(format!("{kept} µs in the middle is no pulse to a servo"))
        }
        Dimension::Pressure if !(20_000.0..=115_000.0).contains(&kept) => {
            Err(format!("{kept} Pa in the middle is not the pressure of the air"))
        }
        Dimension::Speed if kept.abs() > FASTEST_M_S => {
            Err(format!("{kept:.0} m/s in the middle is no model's speed"))
        }
        Dimension::Speed if most > 400.0 => Err(format!("{most:.0} m/s is no model's speed")),
        Dimension::Demand | Dimension::Throttle if unit != "us" && most > 2.0 => {
            Err(format!("a demand of {most} is more than all of it"))
        }
        Dimension::Geographic if most > 360.0 && most < 1e6 => {
            Err(format!("{most} degrees are more than a full turn"))
        }
        Dimension::Current if most > 1000.0 => Err(format!("{most} A is more than a pack gives")),
        _ => Ok(()),
    }
}
