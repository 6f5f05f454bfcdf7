//! How dense was the air? From what the recording holds of pressure, temperature and height.

use fly::recording::Quantity;
use numerics::statistics::median;
use numerics::uncertain::Uncertain;
use sky::atmosphere;

use crate::blocks::Blocks;

/// Gas constant of dry air, J/(kg K) (ISO 2533).
const GAS_CONSTANT_J_KG_K: f64 = 287.052_87;
/// Relative doubt of a density with a temperature that was not measured: 10 K of 288 (the seasons of one place).
const UNKNOWN_TEMPERATURE: f64 = 0.035;
/// With a sensor's temperature: 3 K, as it sits in a warm fuselage (common practice, no source).
const SENSED_TEMPERATURE: f64 = 0.01;
/// Where not even the height above the sea is known: places lie between 0 and 1000 m.
const UNKNOWN_HEIGHT: f64 = 0.05;

/// Air density over a flight, kg/m³, and in words where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Density {
    pub(crate) kg_m3: Uncertain,
    pub(crate) whence: &'static str,
}

/// The density of the air that was flown in.
pub(crate) fn density(blocks: &Blocks) -> Density {
    let middle = |q: &Quantity| {
        let known: Vec<f64> = blocks.column(q)?.iter().copied().filter(|v| v.is_finite()).collect();
        (!known.is_empty()).then(|| median(&known))
    };
    let pressure = middle(&Quantity::StaticPressure).filter(|p| (30_000.0..110_000.0).contains(p));
    let temperature = middle(&Quantity::Temperature).filter(|t| (230.0..330.0).contains(t));
    let altitude = middle(&Quantity::Altitude).filter(|h| (-400.0..6000.0).contains(h));
    let of = |kg_m3: f64, share: f64, whence| Density { kg_m3: Uncertain::new(kg_m3, share * kg_m3), whence };
    match (pressure, temperature, altitude) {
        (Some(p), Some(t), _) => {
            of(p / (GAS_CONSTANT_J_KG_K * t), SENSED_TEMPERATURE, "recorded pressure and temperature")
        }
        (Some(p), None, _) => of(
            p / (GAS_CONSTANT_J_KG_K * atmosphere::SEA_LEVEL_TEMPERATURE_K),
            UNKNOWN_TEMPERATURE,
            "recorded pressure, temperature not recorded",
        ),
        (None, t, Some(h)) => {
            let share = if t.is_some() { SENSED_TEMPERATURE } else { UNKNOWN_TEMPERATURE };
            let air = atmosphere::at(h, t, None, None);
            of(
                air.map_or(atmosphere::SEA_LEVEL_DENSITY_KG_M3, |a| a.density_kg_m3),
                share,
                "standard air at the recorded altitude",
            )
        }
        (None, _, None) => {
            of(atmosphere::SEA_LEVEL_DENSITY_KG_M3, UNKNOWN_HEIGHT, "standard air at sea level")
        }
    }
}
