//! How hard does the air roll the aircraft? Rolling gusts of Dryden turbulence against its own roll rate.

use std::f64::consts::PI;

use sky::gusts::Scales;

use super::{FLIGHT_HEIGHT_M, REPORT_HEIGHT_M, TURBULENCE_WIND_M, at_height};

/// Peak of three seconds over the mean in standard deviations of the wind (WMO TCP/1555, from memory: about 3).
const PEAK_FACTOR: f64 = 3.0;
/// Standard deviations within which the air stays but once in a few hundred times.
const SIGMAS: f64 = 3.0;

/// Rolling rate that the air brings and that must be met with aileron, rad/s, three standard deviations: of the mean
/// wind's turbulence, or of that which the gusts show if it is more.
#[must_use]
pub(crate) fn rolling_rad_s(span_m: f64, mean_m_s: f64, gust_m_s: f64) -> Option<f64> {
    let wind = at_height(mean_m_s, REPORT_HEIGHT_M, TURBULENCE_WIND_M);
    let usual = Scales::low_altitude(FLIGHT_HEIGHT_M, wind.max(1e-6))?;
    // The gusts show the part along the wind; the vertical part is smaller in the ratio of the model.
    let shown = (gust_m_s - mean_m_s).max(0.0) / PEAK_FACTOR * usual.vertical_sd_m_s / usual.along_sd_m_s;
    Some(SIGMAS * rolling_sd_rad_s(span_m, usual.vertical_sd_m_s.max(shown), usual.vertical_m))
}

/// Standard deviation of the rolling gust over a span b in vertical turbulence of standard deviation s and length L:
/// its spectrum over frequency w (MIL-F-8785C 3.7.5, s² 0.8 (πL/4b)^(1/3) / (V L) / (1 + (4bw/πV)²)), integrated over all
/// w, is s² 0.8 (πL/4b)^(1/3) π² / (8 b L): the airspeed V drops out.
fn rolling_sd_rad_s(span_m: f64, vertical_sd_m_s: f64, length_m: f64) -> f64 {
    let blunt = 0.8 * (PI * length_m / (4.0 * span_m)).cbrt();
    vertical_sd_m_s * (blunt * PI * PI / (8.0 * span_m * length_m)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rolling_gust_is_the_integral_of_its_spectrum() {
        // Numerical integral of the published spectrum at V = 13 m/s, b = 1.8 m, L = 60 m, s = 0.5 m/s.
        let (v, b, l, s) = (13.0, 1.8, 60.0, 0.5);
        let spectrum = |w: f64| {
            s * s / (v * l) * 0.8 * (PI * l / (4.0 * b)).cbrt() / (1.0 + (4.0 * b * w / (PI * v)).powi(2))
        };
        let step = 0.02;
        let integral: f64 = (0..2_000_000).map(|i| spectrum((f64::from(i) + 0.5) * step) * step).sum();
        // Cut off at 40 000 rad/s, which leaves out less than 1e-4 of it.
        assert!((integral.sqrt() / rolling_sd_rad_s(b, s, l) - 1.0).abs() < 2e-4);
    }
}
