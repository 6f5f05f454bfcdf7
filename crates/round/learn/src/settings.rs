//! How finely is a change set? To steps that a servo and a mounting can be set to, with the doubt to two digits.

/// Changes of a servo center below this move nothing, µs: the dead band of a usual servo (common practice, no source).
pub(crate) const DEAD_BAND_US: f64 = 2.0;
/// Step in which angles are set, deg.
pub(crate) const ANGLE_STEP_DEG: f64 = 0.1;

/// The nearest whole number of steps.
pub(crate) fn to_step(value: f64, step: f64) -> f64 {
    let steps = (value / step).round();
    // Dividing by the whole number of steps in one keeps 0.1 from becoming 0.30000000000000004.
    let in_one = (1.0 / step).round();
    let set = if in_one > 0.0 { steps / in_one } else { steps * step };
    // No minus zero.
    set + 0.0
}

/// A doubt to two significant digits.
pub(crate) fn to_two_digits(sd: f64) -> f64 {
    if !(sd.is_finite() && sd > 0.0) {
        return sd;
    }
    let digits = 1 - sd.log10().floor() as i32;
    if digits >= 0 {
        let scale = 10f64.powi(digits);
        (sd * scale).round() / scale
    } else {
        let scale = 10f64.powi(-digits);
        (sd / scale).round() * scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_whole_steps_and_doubts_two_digits() {
        assert_eq!(to_step(1507.995, 1.0).to_string(), "1508");
        assert_eq!(to_step(2.96, 0.1).to_string(), "3");
        assert_eq!(to_step(0.34, 0.1).to_string(), "0.3");
        assert_eq!(to_step(-0.04, 0.1).to_string(), "0");
        assert_eq!(to_two_digits(0.123_456).to_string(), "0.12");
        assert_eq!(to_two_digits(123.456).to_string(), "120");
        assert_eq!(to_two_digits(1.96).to_string(), "2");
        assert_eq!(to_two_digits(0.0).to_string(), "0");
    }
}
