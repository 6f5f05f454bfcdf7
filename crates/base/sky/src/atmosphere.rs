//! How thick is the air? The standard atmosphere by geometric height, moist air, density altitude, viscosity.
//!
//! ISO 2533:1975 (equal to the U.S. Standard Atmosphere 1976 below 32 km): a lapse of 6.5 K a geopotential kilometer
//! to 11 km, constant temperature to 20 km. Real air of a day is ideal gas with its vapor counted.

/// Standard temperature at sea level, K.
pub const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
/// Standard pressure at sea level, Pa.
pub const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;
/// Standard density at sea level, kg/m³.
pub const SEA_LEVEL_DENSITY_KG_M3: f64 = 1.225;
/// Specific gas constant of dry air, J/(kg K) (ISO 2533).
pub const GAS_CONSTANT_DRY_J_KG_K: f64 = 287.052_87;
/// Specific gas constant of water vapor, J/(kg K): 8.314 462 618 J/(mol K) over 18.015 28 g/mol.
pub const GAS_CONSTANT_VAPOR_J_KG_K: f64 = 461.523;
/// 0 °C in K.
pub const ZERO_CELSIUS_K: f64 = 273.15;

const GRAVITY_M_S2: f64 = 9.806_65;
const LAPSE_K_M: f64 = 0.006_5;
/// Nominal Earth radius that ISO 2533 uses between geometric and geopotential height, m.
const EARTH_RADIUS_M: f64 = 6_356_766.0;
const TROPOPAUSE_M: f64 = 11_000.0;
const LOWEST_M: f64 = -5_000.0;
const HIGHEST_M: f64 = 20_000.0;
const RATIO_OF_HEATS: f64 = 1.4;

/// Air of a place and time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Static pressure, Pa.
    pub pressure_pa: f64,
    /// Relative humidity, 0 to 1.
    pub relative_humidity: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Speed of sound (of dry air at this temperature), m/s.
    pub sound_speed_m_s: f64,
}

/// Why no air was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoAir {
    /// The height is outside -5 km to 20 km, where this model holds.
    Height {
        /// Geometric height asked for, m.
        height_m: f64,
    },
    /// The temperature is not one of weather (-100 °C to 60 °C).
    Temperature {
        /// Temperature asked for, K.
        temperature_k: f64,
    },
    /// The pressure is not positive, or the vapor alone would exceed it.
    Pressure {
        /// Pressure asked for, Pa.
        pressure_pa: f64,
    },
    /// The relative humidity is not between 0 and 1.
    Humidity {
        /// Relative humidity asked for.
        relative_humidity: f64,
    },
}

impl std::fmt::Display for NoAir {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Height { height_m } => write!(
                f,
                "the height {height_m:.0} m is outside -5000 m to 20000 m, where the standard atmosphere used here holds"
            ),
            Self::Temperature { temperature_k } => write!(
                f,
                "the temperature {:.1} °C is not one of weather (-100 °C to 60 °C); is it in the right unit?",
                temperature_k - ZERO_CELSIUS_K
            ),
            Self::Pressure { pressure_pa } => write!(
                f,
                "the pressure {:.1} hPa is not one of air; give the pressure at the field in hPa",
                pressure_pa / 100.0
            ),
            Self::Humidity { relative_humidity } => write!(
                f,
                "the relative humidity {:.0} % is not between 0 and 100 %",
                relative_humidity * 100.0
            ),
        }
    }
}

impl std::error::Error for NoAir {}

/// Geopotential height of a geometric height, both m above mean sea level.
#[must_use]
pub fn geopotential_m(geometric_m: f64) -> f64 {
    EARTH_RADIUS_M * geometric_m / (EARTH_RADIUS_M + geometric_m)
}

/// Geometric height of a geopotential height, both m above mean sea level.
#[must_use]
pub fn geometric_m(geopotential_m: f64) -> f64 {
    EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m)
}

/// Dry standard air at a geometric height above mean sea level, m.
///
/// # Errors
/// Below -5 km and above 20 km.
pub fn standard(height_m: f64) -> Result<Air, NoAir> {
    let geopotential = geopotential_m(height_m);
    if !(LOWEST_M..=HIGHEST_M).contains(&geopotential) {
        return Err(NoAir::Height { height_m });
    }
    let exponent = GRAVITY_M_S2 / (GAS_CONSTANT_DRY_J_KG_K * LAPSE_K_M);
    let below = geopotential.min(TROPOPAUSE_M);
    let temperature_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_M * below;
    let mut pressure_pa = SEA_LEVEL_PRESSURE_PA * (temperature_k / SEA_LEVEL_TEMPERATURE_K).powf(exponent);
    if geopotential > TROPOPAUSE_M {
        let scale_m = GAS_CONSTANT_DRY_J_KG_K * temperature_k / GRAVITY_M_S2;
        pressure_pa *= (-(geopotential - TROPOPAUSE_M) / scale_m).exp();
    }
    Ok(filled(temperature_k, pressure_pa, 0.0, pressure_pa / (GAS_CONSTANT_DRY_J_KG_K * temperature_k)))
}

/// Air of a temperature (K), static pressure at the place (Pa, not reduced to sea level) and relative humidity
/// (0 to 1): dry air and vapor as ideal gases, each with its part of the pressure.
///
/// Within 0.05 % of the real-gas formulation ASHRAE RP-1485 from 20 °C to 35 °C.
///
/// # Errors
/// When a value is not one of weather.
pub fn moist(temperature_k: f64, pressure_pa: f64, relative_humidity: f64) -> Result<Air, NoAir> {
    if !(173.15..=333.15).contains(&temperature_k) {
        return Err(NoAir::Temperature { temperature_k });
    }
    if !(0.0..=1.0).contains(&relative_humidity) {
        return Err(NoAir::Humidity { relative_humidity });
    }
    let vapor_pa = relative_humidity * saturation_pa(temperature_k);
    if !(pressure_pa.is_finite() && pressure_pa > 1_000.0 && pressure_pa > vapor_pa && pressure_pa < 2e5) {
        return Err(NoAir::Pressure { pressure_pa });
    }
    let density_kg_m3 = (pressure_pa - vapor_pa) / (GAS_CONSTANT_DRY_J_KG_K * temperature_k)
        + vapor_pa / (GAS_CONSTANT_VAPOR_J_KG_K * temperature_k);
    Ok(filled(temperature_k, pressure_pa, relative_humidity, density_kg_m3))
}

/// Air at a geometric height (m above mean sea level) with what was measured there; what was not measured (`None`)
/// is that of the standard atmosphere at that height, and dry.
///
/// # Errors
/// When the height is outside the standard atmosphere used here or a value is not one of weather.
pub fn at(
    height_m: f64,
    temperature_k: Option<f64>,
    pressure_pa: Option<f64>,
    relative_humidity: Option<f64>,
) -> Result<Air, NoAir> {
    let standard = standard(height_m)?;
    if temperature_k.is_none() && pressure_pa.is_none() && relative_humidity.is_none() {
        return Ok(standard);
    }
    moist(
        temperature_k.unwrap_or(standard.temperature_k),
        pressure_pa.unwrap_or(standard.pressure_pa),
        relative_humidity.unwrap_or(0.0),
    )
}

/// Pressure of saturated vapor over water, Pa. Magnus form with the coefficients of WMO No. 8 (Guide to
/// Instruments), 6.112 hPa, 17.62, 243.12 °C; holds from -45 °C to 60 °C.
#[must_use]
pub fn saturation_pa(temperature_k: f64) -> f64 {
    let celsius = temperature_k - ZERO_CELSIUS_K;
    611.2 * (17.62 * celsius / (243.12 + celsius)).exp()
}

/// Relative humidity (0 to 1) of air at a temperature with a dew point, both K.
#[must_use]
pub fn relative_humidity(temperature_k: f64, dew_point_k: f64) -> f64 {
    saturation_pa(dew_point_k) / saturation_pa(temperature_k)
}

/// Geopotential height in the standard atmosphere at which the density is this, m: the density altitude. Holds in
/// the troposphere (density above 0.3639 kg/m³); not a number otherwise.
#[must_use]
pub fn density_altitude_m(density_kg_m3: f64) -> f64 {
    let exponent = GRAVITY_M_S2 / (GAS_CONSTANT_DRY_J_KG_K * LAPSE_K_M) - 1.0;
    let height_m = SEA_LEVEL_TEMPERATURE_K / LAPSE_K_M
        * (1.0 - (density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3).powf(1.0 / exponent));
    if height_m <= TROPOPAUSE_M { height_m } else { f64::NAN }
}

/// Geopotential height in the standard atmosphere at which the pressure is this, m: the pressure altitude. Holds in
/// the troposphere; not a number otherwise.
#[must_use]
pub fn pressure_altitude_m(pressure_pa: f64) -> f64 {
    let exponent = GRAVITY_M_S2 / (GAS_CONSTANT_DRY_J_KG_K * LAPSE_K_M);
    let height_m = SEA_LEVEL_TEMPERATURE_K / LAPSE_K_M
        * (1.0 - (pressure_pa / SEA_LEVEL_PRESSURE_PA).powf(1.0 / exponent));
    if height_m <= TROPOPAUSE_M { height_m } else { f64::NAN }
}

/// Pressure at a geopotential height when the pressure reduced to sea level by the standard atmosphere (what an
/// altimeter is set to, QNH) is known, Pa.
#[must_use]
pub fn pressure_from_qnh_pa(qnh_pa: f64, geopotential_m: f64) -> f64 {
    let exponent = GRAVITY_M_S2 / (GAS_CONSTANT_DRY_J_KG_K * LAPSE_K_M);
    let at_station = (qnh_pa / SEA_LEVEL_PRESSURE_PA).powf(1.0 / exponent)
        - LAPSE_K_M * geopotential_m / SEA_LEVEL_TEMPERATURE_K;
    SEA_LEVEL_PRESSURE_PA * at_station.powf(exponent)
}

/// Dynamic viscosity of air at a temperature (K), Pa s. Sutherland's law with the constants of ISO 2533.
#[must_use]
pub fn viscosity_pa_s(temperature_k: f64) -> f64 {
    1.458e-6 * temperature_k.powf(1.5) / (temperature_k + 110.4)
}

fn filled(temperature_k: f64, pressure_pa: f64, relative_humidity: f64, density_kg_m3: f64) -> Air {
    Air {
        temperature_k,
        pressure_pa,
        relative_humidity,
        density_kg_m3,
        viscosity_pa_s: viscosity_pa_s(temperature_k),
        sound_speed_m_s: (RATIO_OF_HEATS * GAS_CONSTANT_DRY_J_KG_K * temperature_k).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tables print five or six digits.
    const TABLE_DIGITS: f64 = 5e-5;
    const M_PER_FT: f64 = 0.3048;

    #[track_caller]
    fn check(what: &str, got: f64, expected: f64, relative: f64) {
        assert!((got / expected - 1.0).abs() <= relative, "{what}: {got} against {expected}");
    }

    #[test]
    fn the_standard_atmosphere_by_geometric_height() {
        // ISO 2533 computed with ambiance 1.3.1 (PyPI): height m, T K, p Pa, rho kg/m³, sound m/s.
        for (h, t, p, rho, a) in [
            (0.0, 288.150, 101_325.0, 1.225_00, 340.294),
            (1000.0, 281.651, 89_876.3, 1.111_66, 336.435),
            (2000.0, 275.154, 79_501.4, 1.006_55, 332.532),
            (3000.0, 268.659, 70_121.1, 0.909_254, 328.584),
            (5000.0, 255.676, 54_048.3, 0.736_429, 320.545),
        ] {
            let air = standard(h).unwrap();
            check("temperature", air.temperature_k, t, TABLE_DIGITS);
            check("pressure", air.pressure_pa, p, TABLE_DIGITS);
            check("density", air.density_kg_m3, rho, TABLE_DIGITS);
            check("sound", air.sound_speed_m_s, a, TABLE_DIGITS);
        }
        check("viscosity", standard(0.0).unwrap().viscosity_pa_s, 1.789_38e-5, TABLE_DIGITS);
        check("viscosity at 5 km", standard(5000.0).unwrap().viscosity_pa_s, 1.628_25e-5, TABLE_DIGITS);
    }

    #[test]
    fn the_standard_atmosphere_of_the_flight_simulation_check_cases() {
        // NASA/TM-2015-218675, values embedded in cases 1 and 9 (U.S. Standard Atmosphere 1976), geometric heights.
        for (h, t, p, rho) in [
            (9_144.0, 228.799_4, 30_148.9, 0.459_040),
            (3_097.069_7, 268.028_85, 69_261.44, 0.900_209_7),
            (4_754.546_0, 257.268_55, 55_842.38, 0.756_155_2),
        ] {
            let air = standard(h).unwrap();
            check("temperature", air.temperature_k, t, TABLE_DIGITS);
            check("pressure", air.pressure_pa, p, TABLE_DIGITS);
            check("density", air.density_kg_m3, rho, TABLE_DIGITS);
        }
    }

    #[test]
    fn geopotential_and_geometric_heights_differ_and_convert_back() {
        // ISO 2533 closed form at 1000 m geopotential: T = 288.15 - 6.5, rho = 1.111643 kg/m³.
        let air = standard(geometric_m(1000.0)).unwrap();
        check("temperature", air.temperature_k, 281.65, 1e-9);
        check("density", air.density_kg_m3, 1.111_643, 1e-6);
        assert!((geopotential_m(geometric_m(2500.0)) - 2500.0).abs() < 1e-9);
    }

    #[test]
    fn moist_air_is_lighter_than_dry() {
        // CoolProp 8.0.0 HAPropsSI (ASHRAE RP-1485): T K, p Pa, relative humidity, rho kg/m³. 5e-4 is the
        // compressibility of air, which an ideal gas leaves out.
        for (t, p, rh, rho) in [
            (303.15, 1e5, 0.8, 1.134_82),
            (293.15, 101_325.0, 0.5, 1.199_36),
            (308.15, 95_000.0, 0.6, 1.059_88),
        ] {
            check("moist density", moist(t, p, rh).unwrap().density_kg_m3, rho, 5e-4);
            assert!(moist(t, p, rh).unwrap().density_kg_m3 < moist(t, p, 0.0).unwrap().density_kg_m3);
        }
        // 950 hPa, 30 °C, dew point 20 °C: partial pressures with a Magnus vapor pressure give 1.0815.
        let rh = relative_humidity(303.15, 293.15);
        check("dew point", moist(303.15, 95_000.0, rh).unwrap().density_kg_m3, 1.0815, 3e-3);
    }

    #[test]
    fn density_altitude_of_a_hot_day() {
        // Ideal gas and the inverted troposphere: 1013.25 hPa and 35 °C dry make 1.14549 kg/m³ and 694 m.
        let air = moist(308.15, 101_325.0, 0.0).unwrap();
        check("density", air.density_kg_m3, 1.145_49, 1e-5);
        check("density altitude", density_altitude_m(air.density_kg_m3), 694.0, 1e-3);
        // Pressure altitude 5000 ft and 30 °C: 0.968825 kg/m³ and 7801 ft by the same closed form.
        let pressure = standard(geometric_m(5000.0 * M_PER_FT)).unwrap().pressure_pa;
        let air = moist(303.15, pressure, 0.0).unwrap();
        check("density", air.density_kg_m3, 0.968_825, 1e-4);
        assert!((density_altitude_m(air.density_kg_m3) / M_PER_FT - 7801.0).abs() < 5.0);
    }

    #[test]
    fn low_pressure_gives_a_high_pressure_altitude() {
        // FAA-H-8083-25, table of pressure altitude against altimeter setting: 29.70 inHg at 0 ft gives +205 ft.
        let pressure = 29.70 * 3386.389;
        assert!((pressure_altitude_m(pressure) / M_PER_FT - 205.0).abs() < 1.0);
        // The reduction to sea level and back is an identity, and at standard QNH it is the atmosphere itself.
        assert!((pressure_from_qnh_pa(pressure, 0.0) - pressure).abs() < 1e-6);
        check("station pressure", pressure_from_qnh_pa(SEA_LEVEL_PRESSURE_PA, 1000.0), 89_874.56, 1e-6);
    }

    #[test]
    fn what_is_not_air_is_refused() {
        assert!(matches!(standard(25_000.0), Err(NoAir::Height { .. })));
        assert!(matches!(moist(20.0, 1e5, 0.5), Err(NoAir::Temperature { .. })));
        assert!(matches!(moist(293.0, 1013.0e-2, 0.5), Err(NoAir::Pressure { .. })));
        assert!(matches!(moist(293.0, 1e5, 60.0), Err(NoAir::Humidity { .. })));
    }
}
