//! Which words may a column map use? The plain words for quantities and units, with what they stand for.
//!
//! A quantity has a dimension; a unit word belongs to a dimension and turns a number into the unit that the
//! channel is kept in (SI, except that latitude and longitude stay in degrees, pulses in microseconds,
//! charge in ampere-hours and propeller speed in revolutions a minute).

use crate::recording::Quantity;

/// What kind of number a quantity is: which units it may be told in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Kept in rad.
    Angle,
    /// Kept in rad/s.
    AngularRate,
    /// Specific force, kept in m/s².
    SpecificForce,
    /// Latitude or longitude, kept in degrees.
    Geographic,
    /// Kept in m.
    Length,
    /// Kept in m/s.
    Speed,
    /// Kept in Pa.
    Pressure,
    /// Kept in K.
    Temperature,
    /// Demand of a stick with a middle, kept as -1 to 1.
    Demand,
    /// Throttle, kept as 0 to 1.
    Throttle,
    /// Pulse length, kept in µs.
    Pulse,
    /// Kept in V.
    Voltage,
    /// Kept in A.
    Current,
    /// Kept in ampere-hours.
    Charge,
    /// Kept in revolutions a minute.
    Revolutions,
    /// A plain number.
    Count,
}

/// A unit word: kept value = told value × `factor` + `offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The word in a column map.
    pub word: &'static str,
    /// Which dimension it belongs to.
    pub dimension: Dimension,
    /// Multiplies the told value.
    pub factor: f64,
    /// Is added after that.
    pub offset: f64,
    /// What it means, for the documentation.
    pub meaning: &'static str,
}

/// Degrees to radians.
const DEG: f64 = std::f64::consts::PI / 180.0;
/// Standard gravity, m/s² (exact by definition, CGPM 1901).
pub(crate) const G: f64 = 9.806_65;

const fn unit(word: &'static str, dimension: Dimension, factor: f64, meaning: &'static str) -> Unit {
    Unit { word, dimension, factor, offset: 0.0, meaning }
}

const fn shifted(
    word: &'static str,
    dimension: Dimension,
    factor: f64,
    offset: f64,
    meaning: &'static str,
) -> Unit {
    Unit { word, dimension, factor, offset, meaning }
}

/// Every unit word; the first of a dimension is the one it is kept in. Factors are exact by definition of the
/// units (international foot, nautical mile, avoirdupois pound) or follow from them.
pub const UNITS: &[Unit] = &[
    unit("rad", Dimension::Angle, 1.0, "radians"),
    unit("deg", Dimension::Angle, DEG, "degrees"),
    unit("turns", Dimension::Angle, 2.0 * std::f64::consts::PI, "full turns"),
    unit("rad/s", Dimension::AngularRate, 1.0, "radians a second"),
    unit("deg/s", Dimension::AngularRate, DEG, "degrees a second"),
    unit("mrad/s", Dimension::AngularRate, 1e-3, "thousandths of a radian a second"),
    unit("m/s2", Dimension::SpecificForce, 1.0, "metres a second squared"),
    unit("g", Dimension::SpecificForce, G, "standard gravity"),
    unit("mg", Dimension::SpecificForce, G * 1e-3, "thousandths of standard gravity"),
    unit("ft/s2", Dimension::SpecificForce, 0.3048, "feet a second squared"),
    unit("deg", Dimension::Geographic, 1.0, "degrees and decimals, north and east positive"),
    unit("rad", Dimension::Geographic, 1.0 / DEG, "radians"),
    unit("m", Dimension::Length, 1.0, "metres"),
    unit("km", Dimension::Length, 1000.0, "kilometres"),
    unit("cm", Dimension::Length, 0.01, "centimetres"),
    unit("mm", Dimension::Length, 0.001, "millimetres"),
    unit("ft", Dimension::Length, 0.3048, "feet"),
    unit("m/s", Dimension::Speed, 1.0, "metres a second"),
    unit("km/h", Dimension::Speed, 1.0 / 3.6, "kilometres an hour"),
    unit("kt", Dimension::Speed, 1852.0 / 3600.0, "knots"),
    unit("mph", Dimension::Speed, 0.447_04, "miles an hour"),
    unit("ft/s", Dimension::Speed, 0.3048, "feet a second"),
    unit("ft/min", Dimension::Speed, 0.3048 / 60.0, "feet a minute"),
    unit("cm/s", Dimension::Speed, 0.01, "centimetres a second"),
    unit("mm/s", Dimension::Speed, 0.001, "millimetres a second"),
    unit("Pa", Dimension::Pressure, 1.0, "pascals"),
    unit("hPa", Dimension::Pressure, 100.0, "hectopascals"),
    unit("kPa", Dimension::Pressure, 1000.0, "kilopascals"),
    unit("mbar", Dimension::Pressure, 100.0, "millibars, the same as hectopascals"),
    unit("psi", Dimension::Pressure, 6_894.757_293_168, "pounds-force a square inch"),
    unit("K", Dimension::Temperature, 1.0, "kelvins"),
    shifted("degC", Dimension::Temperature, 1.0, 273.15, "degrees Celsius"),
    shifted("degF", Dimension::Temperature, 5.0 / 9.0, 273.15 - 32.0 * 5.0 / 9.0, "degrees Fahrenheit"),
    unit("fraction", Dimension::Demand, 1.0, "-1 to 1"),
    unit("percent", Dimension::Demand, 0.01, "-100 to 100"),
    shifted("us", Dimension::Demand, 0.002, -3.0, "a pulse: 1000 is -1, 1500 the middle, 2000 is 1"),
    unit("fraction", Dimension::Throttle, 1.0, "0 to 1"),
    unit("percent", Dimension::Throttle, 0.01, "0 to 100"),
    shifted("us", Dimension::Throttle, 0.001, -1.0, "a pulse: 1000 is closed, 2000 is full"),
    unit("us", Dimension::Pulse, 1.0, "microseconds"),
    unit("ms", Dimension::Pulse, 1000.0, "milliseconds"),
    unit("V", Dimension::Voltage, 1.0, "volts"),
    unit("mV", Dimension::Voltage, 0.001, "millivolts"),
    unit("A", Dimension::Current, 1.0, "amperes"),
    unit("mA", Dimension::Current, 0.001, "milliamperes"),
    unit("Ah", Dimension::Charge, 1.0, "ampere-hours"),
    unit("mAh", Dimension::Charge, 0.001, "milliampere-hours"),
    unit("rpm", Dimension::Revolutions, 1.0, "revolutions a minute"),
    unit("rev/s", Dimension::Revolutions, 60.0, "revolutions a second"),
    unit("rad/s", Dimension::Revolutions, 30.0 / std::f64::consts::PI, "radians a second"),
    unit("count", Dimension::Count, 1.0, "a plain number"),
];

/// A quantity word with the quantity it stands for and what a map's reader should know of it.
#[derive(Debug, Clone)]
pub struct QuantityWord {
    /// The word in a column map.
    pub word: &'static str,
    /// What it stands for.
    pub quantity: Quantity,
    /// Which units it may be told in.
    pub dimension: Dimension,
    /// Sign and frame, in a phrase.
    pub meaning: &'static str,
}

/// Every quantity word but that of servos, which is `servo:` and the name of the channel.
#[must_use]
pub fn quantity_words() -> Vec<QuantityWord> {
    use Dimension as D;
    use Quantity as Q;
    [
        ("roll", Q::Roll, D::Angle, "right wing down positive"),
        ("pitch", Q::Pitch, D::Angle, "nose up positive"),
        ("yaw", Q::Yaw, D::Angle, "heading of the nose from true north, clockwise"),
        ("roll-rate", Q::RollRate, D::AngularRate, "p, right wing going down positive"),
        ("pitch-rate", Q::PitchRate, D::AngularRate, "q, nose going up positive"),
        ("yaw-rate", Q::YawRate, D::AngularRate, "r, nose going right positive"),
        ("force-x", Q::ForceX, D::SpecificForce, "specific force along the nose, forward positive"),
        ("force-y", Q::ForceY, D::SpecificForce, "specific force along the right wing"),
        (
            "force-z",
            Q::ForceZ,
            D::SpecificForce,
            "specific force downward in the body: about -1 g in level flight",
        ),
        ("latitude", Q::Latitude, D::Geographic, "north positive"),
        ("longitude", Q::Longitude, D::Geographic, "east positive"),
        ("altitude", Q::Altitude, D::Length, "above the sea or the ellipsoid"),
        ("height", Q::Height, D::Length, "above the launch point"),
        ("velocity-north", Q::VelocityNorth, D::Speed, "over ground, north positive"),
        ("velocity-east", Q::VelocityEast, D::Speed, "over ground, east positive"),
        (
            "velocity-down",
            Q::VelocityDown,
            D::Speed,
            "downward positive; axes = \"up-positive\" for a climb speed",
        ),
        ("ground-speed", Q::GroundSpeed, D::Speed, "over ground"),
        ("course", Q::Course, D::Angle, "of the track over ground from true north, clockwise"),
        ("airspeed", Q::Airspeed, D::Speed, "as the sensor tells it"),
        ("static-pressure", Q::StaticPressure, D::Pressure, "absolute"),
        ("air-temperature", Q::Temperature, D::Temperature, "of the outside air"),
        ("stick-roll", Q::StickRoll, D::Demand, "right wing down positive"),
        ("stick-pitch", Q::StickPitch, D::Demand, "nose up positive"),
        ("stick-yaw", Q::StickYaw, D::Demand, "nose right positive"),
        ("throttle", Q::Throttle, D::Throttle, "full is 1"),
        ("volts", Q::Volts, D::Voltage, "of the pack"),
        ("amps", Q::Amps, D::Current, "drawn from the pack"),
        ("charge-used", Q::ChargeUsed, D::Charge, "drawn from the pack so far"),
        ("rpm", Q::Rpm, D::Revolutions, "of the propeller"),
        ("acts", Q::Acts, D::Count, "how the stick acts: 0 direct, 1 rate, 2 level"),
        ("satellites", Q::Satellites, D::Count, "used for the position"),
    ]
    .into_iter()
    .map(|(word, quantity, dimension, meaning)| QuantityWord { word, quantity, dimension, meaning })
    .collect()
}

/// The dimension of a quantity.
#[must_use]
pub fn dimension(quantity: &Quantity) -> Dimension {
    if let Quantity::Servo(_) = quantity {
        return Dimension::Pulse;
    }
    quantity_words().into_iter().find(|w| w.quantity == *quantity).map_or(Dimension::Count, |w| w.dimension)
}

/// The word of a quantity.
#[must_use]
pub fn word(quantity: &Quantity) -> String {
    if let Quantity::Servo(name) = quantity {
        return format!("servo:{name}");
    }
    quantity_words()
        .into_iter()
        .find(|w| w.quantity == *quantity)
        .map_or_else(String::new, |w| w.word.to_owned())
}

/// The quantity of a word; `servo:NAME` for a servo.
#[must_use]
pub fn quantity(word: &str) -> Option<Quantity> {
    if let Some(name) = word.strip_prefix("servo:") {
        let name = name.trim();
        return (!name.is_empty()).then(|| Quantity::Servo(name.to_owned()));
    }
    quantity_words().into_iter().find(|w| w.word == word).map(|w| w.quantity)
}

/// The units that a dimension may be told in, the one it is kept in first.
pub fn units_of(dimension: Dimension) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |u| u.dimension == dimension)
}

/// The unit of a word within a dimension.
#[must_use]
pub fn unit_of(dimension: Dimension, word: &str) -> Option<&'static Unit> {
    units_of(dimension).find(|u| u.word == word)
}

/// The unit in which people read a dimension: degrees for angles, percent for the throttle, the kept one elsewhere.
#[must_use]
pub fn shown_unit(dimension: Dimension) -> Option<&'static Unit> {
    let wanted = match dimension {
        Dimension::Angle => unit_of(dimension, "deg"),
        Dimension::AngularRate => unit_of(dimension, "deg/s"),
        Dimension::Throttle | Dimension::Demand => unit_of(dimension, "percent"),
        Dimension::Temperature => unit_of(dimension, "degC"),
        _ => None,
    };
    wanted.or_else(|| units_of(dimension).next())
}

/// The source of a channel for a sentence: a header in quotation marks; what was computed says itself of what.
#[must_use]
pub fn column_text(source: &str) -> String {
    if source.contains('"') { source.to_owned() } else { format!("\"{source}\"") }
}

/// Of these words the one most like a mistyped one, if any is alike enough to be meant.
#[must_use]
pub(crate) fn nearest<'a>(typed: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let low = typed.to_lowercase();
    words
        .into_iter()
        .map(|w| (strsim::jaro_winkler(&low, &w.to_lowercase()), w))
        .filter(|(alike, _)| *alike > 0.7)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, w)| w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_comes_back_as_itself() {
        for w in quantity_words() {
            assert_eq!(quantity(w.word), Some(w.quantity.clone()));
            assert_eq!(word(&w.quantity), w.word);
            assert!(units_of(w.dimension).next().is_some_and(|u| u.factor == 1.0));
        }
        assert_eq!(quantity("servo:left aileron"), Some(Quantity::Servo("left aileron".into())));
        assert_eq!(quantity("servo: "), None);
    }

    #[test]
    fn unit_words_have_the_sizes_that_define_them() {
        // Definitions: international foot 0.3048 m, nautical mile 1852 m, mile 1609.344 m (BIPM SI brochure,
        // 9th edition, table 8; NIST SP 811 appendix B), freezing point of water 273.15 K = 32 °F.
        for (dimension, word, told, kept) in [
            (Dimension::Speed, "kt", 3600.0, 1852.0),
            (Dimension::Speed, "mph", 3600.0, 1609.344),
            (Dimension::Speed, "km/h", 3.6, 1.0),
            (Dimension::Length, "ft", 10.0, 3.048),
            (Dimension::Temperature, "degF", 32.0, 273.15),
            (Dimension::Temperature, "degF", 212.0, 373.15),
            (Dimension::Demand, "us", 2000.0, 1.0),
            (Dimension::Throttle, "us", 1000.0, 0.0),
            (Dimension::Angle, "deg", 180.0, std::f64::consts::PI),
            (Dimension::Revolutions, "rev/s", 1.0, 60.0),
        ] {
            let u = unit_of(dimension, word).unwrap();
            assert!((told * u.factor + u.offset - kept).abs() < 1e-9 * kept.abs().max(1.0), "{word}");
        }
    }
}
