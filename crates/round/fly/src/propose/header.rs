//! What does a header say? The words and the unit in it, and the quantity that they name in plain language.

use crate::map::Axes;
use crate::recording::Quantity;
use crate::words::{self, Dimension};

mod vocabulary;

use vocabulary::{HARMLESS, NOT_MEASURED, UNIT_ENDS};

/// What a header names.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reading {
    /// The quantity.
    pub(super) quantity: Quantity,
    /// The unit word, if the header names one that the quantity may be told in.
    pub(super) unit: Option<&'static str>,
    /// Which way its axes point, if the header says so.
    pub(super) axes: Option<Axes>,
    /// Whether the header leaves the direction of the axis open (x, y, z without more).
    pub(super) open_axis: bool,
    /// How sure, 0 to 1.
    pub(super) sure: f64,
    /// Words that were not understood.
    pub(super) unknown: Vec<String>,
}

/// What came of a header.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Heard {
    /// It names a quantity.
    Quantity(Reading),
    /// It names one, but not as measured, or not which; the reason.
    Not(String),
    /// It says nothing known.
    Nothing,
}

/// The words of a header in lower case: cut at anything that is not a letter or digit, between small and capital
/// letters and between letters and digits.
pub(super) fn tokens(header: &str) -> Vec<String> {
    let text = header
        .replace("°C", " degc ")
        .replace("°F", " degf ")
        .replace('°', " deg ")
        .replace('%', " percent ")
        .replace(['µ', 'μ'], "u")
        .replace('²', "2");
    let mut list: Vec<String> = Vec::new();
    let mut word = String::new();
    let mut last: Option<char> = None;
    for c in text.chars() {
        let cut = match last {
            Some(l) => (l.is_lowercase() && c.is_uppercase()) || l.is_ascii_digit() != c.is_ascii_digit(),
            None => false,
        };
        if !c.is_alphanumeric() || cut {
            if !word.is_empty() {
                list.push(std::mem::take(&mut word));
            }
            last = None;
        }
        if c.is_alphanumeric() {
            word.extend(c.to_lowercase());
            last = Some(c);
        }
    }
    if !word.is_empty() {
        list.push(word);
    }
    // Units that are written with a small prefix and a capital letter fall apart at it.
    join_split_units(list)
}

fn join_split_units(list: Vec<String>) -> Vec<String> {
    let mut joined: Vec<String> = Vec::new();
    for word in list {
        let whole = joined.last().map(|last| format!("{last}{word}"));
        match whole {
            Some(w) if ["mah", "mv", "ma", "kpa", "hpa"].contains(&w.as_str()) => {
                joined.pop();
                joined.push(w);
            }
            _ => joined.push(word),
        }
    }
    joined
}

/// Reads a header.
pub(super) fn read(header: &str) -> Heard {
    let all = tokens(header);
    if all.is_empty() {
        return Heard::Nothing;
    }
    let mut best = Heard::Nothing;
    // First with the end taken for a unit, then with all of it taken for words ("volts", "rpm").
    for (words_, units) in split_unit(&all) {
        match name(&words_, &units) {
            Heard::Nothing => {}
            found @ Heard::Quantity(_) => return found,
            not @ Heard::Not(_) => {
                if best == Heard::Nothing {
                    best = not;
                }
            }
        }
    }
    best
}

/// The unit words that a header may end in, whatever it names: for the time column.
pub(super) fn unit_end(header: &str) -> Option<&'static str> {
    let all = tokens(header);
    UNIT_ENDS.iter().find(|(end, _)| ends_with(&all, end)).and_then(|(_, words)| words.first()).copied()
}

fn ends_with(all: &[String], end: &[&str]) -> bool {
    all.len() >= end.len() && all.iter().skip(all.len() - end.len()).zip(end).all(|(a, b)| a == b)
}

type Split = (Vec<String>, Option<&'static [&'static str]>);

fn split_unit(all: &[String]) -> Vec<Split> {
    let mut list: Vec<Split> = Vec::new();
    for (end, units) in UNIT_ENDS {
        if ends_with(all, end) && all.len() > end.len() {
            list.push((all.iter().take(all.len() - end.len()).cloned().collect(), Some(*units)));
        }
    }
    list.push((all.to_vec(), None));
    list
}

/// A bag of words from which those that name something are taken out.
struct Bag {
    words: Vec<String>,
}

impl Bag {
    fn take(&mut self, any: &[&str]) -> bool {
        let before = self.words.len();
        self.words.retain(|w| !any.contains(&w.as_str()));
        self.words.len() < before
    }

    fn has(&self, any: &[&str]) -> bool {
        self.words.iter().any(|w| any.contains(&w.as_str()))
    }
}

fn name(all: &[String], units: &Option<&'static [&'static str]>) -> Heard {
    let mut bag = Bag { words: all.to_vec() };
    let axes = if bag.take(&["flu"]) {
        Some(Axes::ForwardLeftUp)
    } else if bag.take(&["frd"]) {
        Some(Axes::ForwardRightDown)
    } else {
        None
    };
    let fits = |d: Dimension| units.is_some_and(|u| u.iter().any(|u| words::unit_of(d, u).is_some()));
    let Some((quantity, open_axis, turned)) = quantity(&mut bag, &fits) else {
        return Heard::Nothing;
    };
    let dimension = words::dimension(&quantity);
    let unit = units.and_then(|list| list.iter().find_map(|u| words::unit_of(dimension, u).map(|u| u.word)));
    if units.is_some() && unit.is_none() {
        return Heard::Nothing;
    }
    let unit = unit.or_else(|| unit_in_word(all, dimension));
    let what = words::word(&quantity);
    if let Some(word) = bag.words.iter().find(|w| NOT_MEASURED.contains(&w.as_str())) {
        return Heard::Not(format!("\"{word}\" says that it is not the measured {what} itself"));
    }
    let unknown: Vec<String> =
        bag.words.iter().filter(|w| !HARMLESS.contains(&w.as_str())).cloned().collect();
    let sure = match unknown.len() {
        0 => 0.95,
        1 => 0.7,
        _ => 0.4,
    };
    Heard::Quantity(Reading {
        quantity,
        unit,
        axes: axes.or(turned),
        open_axis: open_axis && axes.is_none(),
        sure,
        unknown,
    })
}

/// Units that are the name itself.
fn unit_in_word(all: &[String], dimension: Dimension) -> Option<&'static str> {
    let has = |w: &str| all.iter().any(|a| a == w);
    match dimension {
        Dimension::Voltage if has("volts") => Some("V"),
        Dimension::Current if has("amps") || has("amperes") => Some("A"),
        Dimension::Charge if has("mah") => Some("mAh"),
        Dimension::Revolutions if has("rpm") => Some("rpm"),
        Dimension::Count => Some("count"),
        _ => None,
    }
}

/// Takes the words of a quantity out of the bag: the quantity, whether the direction of its axis is open, and the
/// axes that the word itself implies (a climb speed is upward).
fn quantity(bag: &mut Bag, fits: &dyn Fn(Dimension) -> bool) -> Option<(Quantity, bool, Option<Axes>)> {
    use Quantity as Q;
    let plain = |q: Quantity| Some((q, false, None));
    if bag.has(&["servo", "servos"]) || (bag.has(&["output", "out"]) && fits(Dimension::Pulse)) {
        bag.take(&["servo", "servos", "output", "out", "pulse", "pwm", "width"]);
        if bag.has(NOT_MEASURED) || bag.has(&["voltage", "volts", "current", "temperature", "rail"]) {
            return None;
        }
        let name = bag.words.join(" ");
        bag.words.clear();
        return (!name.is_empty()).then_some((Q::Servo(name), false, None));
    }
    if bag.has(&["stick", "sticks"]) {
        bag.take(&["stick", "sticks", "demand", "command", "cmd"]);
        let axis = if bag.take(&["roll", "aileron"]) {
            Q::StickRoll
        } else if bag.take(&["pitch", "elevator"]) {
            Q::StickPitch
        } else if bag.take(&["yaw", "rudder"]) {
            Q::StickYaw
        } else if bag.take(&["throttle"]) {
            Q::Throttle
        } else {
            return None;
        };
        return plain(axis);
    }
    // The trade's abbreviations of the three controls: pulses are the servo's, anything else the stick's.
    if let Some(servo) = control_abbreviated(&bag.words) {
        bag.words.clear();
        return plain(if fits(Dimension::Pulse) {
            Q::Servo(servo.to_owned())
        } else {
            match servo {
                "aileron" => Q::StickRoll,
                "elevator" => Q::StickPitch,
                _ => Q::StickYaw,
            }
        });
    }
    if let [s, number] = bag.words.as_slice()
        && s == "s"
        && number.chars().all(|c| c.is_ascii_digit())
    {
        let name = number.clone();
        bag.words.clear();
        return plain(Q::Servo(name));
    }
    if bag.take(&["throttle", "thr"]) {
        bag.take(&["stick", "demand"]);
        return plain(Q::Throttle);
    }
    if let Some(q) = body_axes(bag, fits) {
        return Some(q);
    }
    if let Some(q) = over_ground(bag, fits) {
        return Some(q);
    }
    if bag.take(&["lat", "latitude"]) {
        return plain(Q::Latitude);
    }
    if bag.take(&["lon", "lng", "longitude"]) {
        return plain(Q::Longitude);
    }
    let above_start = ["home", "ground", "launch", "start", "agl", "relative", "rel", "takeoff", "field"];
    if bag.has(&["alt", "altitude", "height", "hgt"]) {
        let height = bag.take(&["height", "hgt"]);
        bag.take(&["alt", "altitude"]);
        bag.take(&["above", "point"]);
        let relative = bag.take(&above_start);
        let sea = bag.take(&["msl", "amsl", "asl", "sea", "ellipsoid", "ellipsoidal"]);
        return plain(if (height && !sea) || relative { Q::Height } else { Q::Altitude });
    }
    if bag.has(&["pressure"]) && (bag.has(&["static", "baro", "barometric", "ambient", "absolute"])) {
        bag.take(&["pressure", "static", "baro", "barometric", "ambient", "absolute"]);
        return plain(Q::StaticPressure);
    }
    if bag.has(&["temp", "temperature"]) && bag.has(&["air", "ambient", "outside"]) {
        bag.take(&["temp", "temperature", "air", "ambient", "outside"]);
        return plain(Q::Temperature);
    }
    if bag.take(&["rpm"]) || (fits(Dimension::Revolutions) && bag.take(&["motor", "prop", "propeller"])) {
        return plain(Q::Rpm);
    }
    if (bag.has(&["used", "consumed", "drawn"]) && bag.has(&["charge", "capacity", "mah", "battery"]))
        || (fits(Dimension::Charge) && bag.has(&["used", "consumed", "drawn"]))
    {
        bag.take(&["used", "consumed", "drawn", "charge", "capacity", "mah"]);
        return plain(Q::ChargeUsed);
    }
    if bag.take(&["volts", "voltage", "vbat", "vbatt"]) {
        return plain(Q::Volts);
    }
    let pack = !bag.words.is_empty()
        && bag.words.iter().all(|w| ["pack", "battery", "batt", "bat"].contains(&w.as_str()));
    if pack && fits(Dimension::Voltage) {
        return plain(Q::Volts);
    }
    if pack && fits(Dimension::Current) {
        return plain(Q::Amps);
    }
    if bag.words == ["baro"] {
        bag.words.clear();
        return plain(if fits(Dimension::Pressure) { Q::StaticPressure } else { Q::Altitude });
    }
    if bag.take(&["amps", "amperes", "current", "curr"]) {
        return plain(Q::Amps);
    }
    if bag.take(&["sats", "satellites"]) {
        return plain(Q::Satellites);
    }
    if bag.words == ["acts"] {
        bag.words.clear();
        return plain(Q::Acts);
    }
    None
}

/// Which control a header abbreviates, by the name of its surface.
fn control_abbreviated(words: &[String]) -> Option<&'static str> {
    match words {
        [one] => match one.as_str() {
            "ail" => Some("aileron"),
            "ele" | "elev" => Some("elevator"),
            "rud" => Some("rudder"),
            _ => None,
        },
        _ => None,
    }
}

/// The servo that a header abbreviates, should its values be pulses.
pub(super) fn servo_abbreviated(header: &str) -> Option<Quantity> {
    control_abbreviated(&tokens(header)).map(|name| Quantity::Servo(name.to_owned()))
}

/// Angles, rates and forces in body axes.
fn body_axes(bag: &mut Bag, fits: &dyn Fn(Dimension) -> bool) -> Option<(Quantity, bool, Option<Axes>)> {
    use Quantity as Q;
    let rate =
        bag.take(&["rate", "gyro", "gyroscope", "angular", "omega", "rates"]) || fits(Dimension::AngularRate);
    let force = bag.take(&["accel", "accelerometer", "acceleration", "acc", "specific", "force"]);
    bag.take(if rate { &["velocity", "speed"] } else { &[] });
    let symbol = |bag: &mut Bag, words: &[&str], x: Quantity, y: Quantity, z: Quantity| {
        let picked = words.iter().position(|w| bag.words.iter().any(|b| b == w))?;
        let word = words.get(picked).copied()?;
        bag.take(&[word]);
        Some(match picked {
            0 => x,
            1 => y,
            _ => z,
        })
    };
    if rate && !force {
        for (words, open) in [
            (&["roll", "pitch", "yaw"][..], false),
            (&["p", "q", "r"][..], false),
            (&["wx", "wy", "wz"][..], true),
            (&["gx", "gy", "gz"][..], true),
            (&["x", "y", "z"][..], true),
        ] {
            if let Some(q) = symbol(bag, words, Q::RollRate, Q::PitchRate, Q::YawRate) {
                return Some((q, open, None));
            }
        }
        return None;
    }
    if !rate
        && bag.words.len() == 1
        && !fits(Dimension::Pressure)
        && let Some(q) = symbol(bag, &["p", "q", "r"], Q::RollRate, Q::PitchRate, Q::YawRate)
    {
        return Some((q, true, None));
    }
    if force || fits(Dimension::SpecificForce) {
        for words in [&["ax", "ay", "az"][..], &["x", "y", "z"][..], &["fx", "fy", "fz"][..]] {
            if let Some(q) = symbol(bag, words, Q::ForceX, Q::ForceY, Q::ForceZ) {
                return Some((q, true, None));
            }
        }
        return None;
    }
    if fits(Dimension::Speed) || fits(Dimension::Pulse) {
        return None;
    }
    if let Some(q) = symbol(bag, &["ax", "ay", "az"], Q::ForceX, Q::ForceY, Q::ForceZ) {
        return Some((q, true, None));
    }
    if bag.take(&["roll", "bank", "phi"]) {
        return Some((Q::Roll, false, None));
    }
    if bag.take(&["pitch", "theta"]) {
        return Some((Q::Pitch, false, None));
    }
    if bag.take(&["yaw", "heading", "psi", "hdg"]) {
        return Some((Q::Yaw, false, None));
    }
    if bag.words == ["nose"] && fits(Dimension::Angle) {
        // Where the nose points: left in the bag as not understood, so that it stands only if the yaw rate says so.
        bag.words = vec!["(where the nose points)".to_owned()];
        return Some((Q::Yaw, false, None));
    }
    None
}

/// Speeds and directions over ground and through the air.
fn over_ground(bag: &mut Bag, fits: &dyn Fn(Dimension) -> bool) -> Option<(Quantity, bool, Option<Axes>)> {
    use Quantity as Q;
    let up = Some(Axes::UpPositive);
    if bag.take(&["airspeed", "ias"]) || (bag.has(&["air"]) && bag.take(&["speed"])) {
        return Some((Q::Airspeed, false, None));
    }
    if bag.words == ["pitot"] && !fits(Dimension::Pressure) {
        bag.words.clear();
        return Some((Q::Airspeed, false, None));
    }
    if bag.take(&["climb", "vario"]) {
        bag.take(&["rate", "speed", "velocity"]);
        return Some((Q::VelocityDown, false, up));
    }
    if bag.take(&["sink"]) {
        bag.take(&["rate", "speed", "velocity"]);
        return Some((Q::VelocityDown, false, None));
    }
    if bag.has(&["vertical"]) && bag.take(&["speed", "velocity", "vel"]) {
        bag.take(&["vertical"]);
        // Up or down positive: the data has to tell.
        return Some((Q::VelocityDown, true, None));
    }
    if bag.take(&["vn"]) {
        return Some((Q::VelocityNorth, false, None));
    }
    if bag.take(&["ve"]) {
        return Some((Q::VelocityEast, false, None));
    }
    if bag.take(&["vd"]) {
        return Some((Q::VelocityDown, false, None));
    }
    let moving = bag.has(&["v", "vel", "velocity", "speed"]);
    if moving || fits(Dimension::Speed) {
        for (word, q, axes) in [
            (&["north", "n"][..], Q::VelocityNorth, None),
            (&["east", "e"][..], Q::VelocityEast, None),
            (&["down", "d"][..], Q::VelocityDown, None),
            (&["up", "u"][..], Q::VelocityDown, up),
        ] {
            if bag.take(word) {
                bag.take(&["v", "vel", "velocity", "speed", "ground"]);
                return Some((q, false, axes));
            }
        }
    }
    if bag.take(&["groundspeed", "sog"]) || (bag.has(&["ground", "gps", "gnss"]) && bag.take(&["speed"])) {
        bag.take(&["ground"]);
        return Some((Q::GroundSpeed, false, None));
    }
    if bag.take(&["course", "cog", "track"]) {
        bag.take(&["ground", "angle"]);
        return Some((Q::Course, false, None));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(header: &str, expected: Option<(Quantity, Option<&str>)>) {
        let got = match read(header) {
            Heard::Quantity(r) if r.sure >= 0.6 => Some((r.quantity, r.unit)),
            _ => None,
        };
        assert_eq!(got, expected, "{header}");
    }

    #[test]
    fn plain_words_name_quantities_and_units() {
        use Quantity as Q;
        check("Roll (deg)", Some((Q::Roll, Some("deg"))));
        check("bank angle [°]", Some((Q::Roll, Some("deg"))));
        check("roll_rate_deg_s", Some((Q::RollRate, Some("deg/s"))));
        check("q_rad_s", Some((Q::PitchRate, Some("rad/s"))));
        check("wz_flu_rad_s", Some((Q::YawRate, Some("rad/s"))));
        check("az_flu_m_s2", Some((Q::ForceZ, Some("m/s2"))));
        check("Accel Z (g)", Some((Q::ForceZ, Some("g"))));
        check("groundspeed_m_s", Some((Q::GroundSpeed, Some("m/s"))));
        check("Ground Speed km/h", Some((Q::GroundSpeed, Some("km/h"))));
        check("pitot_airspeed_m_s", Some((Q::Airspeed, Some("m/s"))));
        check("v_north_m_s", Some((Q::VelocityNorth, Some("m/s"))));
        check("climb_m_s", Some((Q::VelocityDown, Some("m/s"))));
        check("height_above_home_m", Some((Q::Height, Some("m"))));
        check("alt_m", Some((Q::Altitude, Some("m"))));
        check("lat_deg", Some((Q::Latitude, Some("deg"))));
        check("throttle_0_1", Some((Q::Throttle, Some("fraction"))));
        check("voltage_V", Some((Q::Volts, Some("V"))));
        check("Battery volts", Some((Q::Volts, Some("V"))));
        check("current_A", Some((Q::Amps, Some("A"))));
        check("used mAh", Some((Q::ChargeUsed, Some("mAh"))));
        check("pack_v", Some((Q::Volts, Some("V"))));
        check("pack_a", Some((Q::Amps, Some("A"))));
        check("rpm", Some((Q::Rpm, Some("rpm"))));
        check("static_pressure_Pa", Some((Q::StaticPressure, Some("Pa"))));
        check("Servo left aileron (us)", Some((Q::Servo("left aileron".into()), Some("us"))));
        check("theta_rad", Some((Q::Pitch, Some("rad"))));
        check("heading", Some((Q::Yaw, None)));
        check("Pitot", Some((Q::Airspeed, None)));
        check("pitot_kmh", Some((Q::Airspeed, Some("km/h"))));
        check("Baro (m)", Some((Q::Altitude, Some("m"))));
        check("baro_hPa", Some((Q::StaticPressure, Some("hPa"))));
        check("Thr", Some((Q::Throttle, None)));
        check("Curr (A)", Some((Q::Amps, Some("A"))));
        check("Ail", Some((Q::StickRoll, None)));
        check("Ele", Some((Q::StickPitch, None)));
        check("Rud_us", Some((Q::Servo("rudder".into()), Some("us"))));
        check("S3", Some((Q::Servo("3".into()), None)));
        check("nose (rad)", Some((Q::Yaw, Some("rad"))));
    }

    #[test]
    fn what_is_not_the_measured_thing_is_not_taken_for_it() {
        for header in [
            "airspeed_cmd_m_s",
            "roll_cmd_deg",
            "target pitch (deg)",
            "tunnel_airspeed_m_s",
            "wind_x_m_s",
            "current_raw",
            "ch1_us",
            "vel_x_m_s",
            "mx",
            "mode",
            "engine_failed",
            "qw",
            "mag heading (deg)",
            "motor temperature (°C)",
            "pitch trim",
            "roll gain",
            "speed accuracy m/s",
            "J",
            "CP",
            "",
        ] {
            check(header, None);
        }
    }
}
