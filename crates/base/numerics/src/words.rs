//! How is a number written for people? One way for all: value ± two standard deviations, with as many digits as the
//! doubt leaves, and its unit.

/// No-break space, so that a number and its unit stay on one line.
const NBSP: char = '\u{a0}';
/// A true minus sign, as wide as the plus.
const MINUS: char = '\u{2212}';
/// More decimals than this are never of use to anybody on a field.
const MOST_DECIMALS: i32 = 6;

/// A value with two standard deviations and its unit, "11.7 ± 0.9 m/s"; without the doubt where `sd` is zero. The
/// unit is given as files write it ("deg", "us", "m/s") and comes out as people read it ("°", "µs", "m/s").
/// "unknown" where the value is not a number.
#[must_use]
pub fn with_doubt(value: f64, sd: f64, unit: &str) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let band = 2.0 * sd.abs();
    if !(band.is_finite() && band >= 0.5 * 10f64.powi(-MOST_DECIMALS)) {
        return format!("{}{}", plain(value), unit_after(unit));
    }
    let exponent = band.log10().floor() as i32;
    // A leading 1 keeps a second digit: 1.4 rounded to 1 would be off by a third.
    let decimals = if band / 10f64.powi(exponent) < 2.0 { 1 - exponent } else { -exponent };
    let doubt = rounded(band, decimals);
    let value = rounded(value, decimals);
    if unit_after(unit).starts_with(NBSP) || unit.is_empty() {
        format!("{value}{NBSP}±{NBSP}{doubt}{}", unit_after(unit))
    } else {
        format!("{value}{0}{NBSP}±{NBSP}{doubt}{0}", unit_after(unit))
    }
}

/// A value without doubt and without unit: three significant digits, all digits of a whole number.
#[must_use]
pub fn plain(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = 2 - value.abs().log10().floor() as i32;
    let text = rounded(value, decimals.clamp(0, MOST_DECIMALS));
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A value with its unit, without doubt.
#[must_use]
pub fn exact(value: f64, unit: &str) -> String {
    with_doubt(value, 0.0, unit)
}

/// A value to a fixed number of decimals, with a true minus sign and no "minus zero"; "unknown" where it is not
/// a number.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    rounded(value, i32::try_from(decimals).unwrap_or(MOST_DECIMALS))
}

/// Minutes and seconds, "4 min 20 s".
#[must_use]
pub fn duration(seconds: f64) -> String {
    if !seconds.is_finite() {
        return "unknown".to_owned();
    }
    let whole = seconds.round();
    if whole < 60.0 {
        return format!("{whole:.0}{NBSP}s");
    }
    let (minutes, rest) = ((whole / 60.0).floor(), whole % 60.0);
    if rest == 0.0 {
        format!("{minutes:.0}{NBSP}min")
    } else {
        format!("{minutes:.0}{NBSP}min {rest:.0}{NBSP}s")
    }
}

/// A unit as people read it.
#[must_use]
pub fn readable_unit(unit: &str) -> String {
    unit.replace("deg", "°")
        .replace("us", "µs")
        .replace("m2", "m²")
        .replace("m3", "m³")
        .replace("percent", "%")
}

fn unit_after(unit: &str) -> String {
    let unit = readable_unit(unit);
    match unit.chars().next() {
        None => String::new(),
        Some('°') => unit,
        Some(_) => format!("{NBSP}{unit}"),
    }
}

fn rounded(value: f64, decimals: i32) -> String {
    let decimals = decimals.min(MOST_DECIMALS);
    let text = if decimals >= 0 {
        format!("{:.*}", decimals.unsigned_abs() as usize, value.abs())
    } else {
        let step = 10f64.powi(-decimals);
        format!("{:.0}", (value.abs() / step).round() * step)
    };
    if value < 0.0 && text.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
        format!("{MINUS}{text}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(value: f64, sd: f64, unit: &str, text: &str) {
        assert_eq!(with_doubt(value, sd, unit).replace(NBSP, " "), text);
    }

    #[test]
    fn the_doubt_decides_the_digits() {
        // By hand: two standard deviations to one digit, or two where the first is a 1; the value to the same place.
        check(11.732, 0.44, "m/s", "11.7 ± 0.9 m/s");
        check(11.732, 0.07, "m/s", "11.73 ± 0.14 m/s");
        check(1234.0, 120.0, "s", "1200 ± 200 s");
        check(1234.0, 60.0, "s", "1230 ± 120 s");
        check(-0.004, 0.02, "m", "0.00 ± 0.04 m");
        check(-2.31, 0.2, "deg", "\u{2212}2.3° ± 0.4°");
        check(12.0, 2.5, "us", "12 ± 5 µs");
        check(3.2, 0.498, "", "3.2 ± 1.0");
    }

    #[test]
    fn a_number_without_doubt_keeps_three_digits() {
        check(4.0, 0.0, "m/s", "4 m/s");
        check(0.123_456, 0.0, "kg", "0.123 kg");
        check(1_234.4, 0.0, "g", "1234 g");
        check(99.96, 0.0, "", "100");
        check(f64::NAN, 0.1, "m", "unknown");
        check(5.0, f64::NAN, "m", "5 m");
        check(45.0, 0.0, "deg/s", "45°/s");
    }

    #[test]
    fn minutes_and_seconds() {
        assert_eq!(duration(59.6).replace(NBSP, " "), "1 min");
        assert_eq!(duration(260.0).replace(NBSP, " "), "4 min 20 s");
        assert_eq!(duration(9.0).replace(NBSP, " "), "9 s");
    }
}
