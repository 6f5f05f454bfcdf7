//! Which limits does this aircraft set to a day, and where does each come from?
//!
//! Each limit has two numbers: up to `good` everything may be flown; up to `most` a part, as its words say; beyond it
//! nothing. First flights are held to the stricter ones. Shares of speeds and what the words call common practice have no
//! source; the rest is derived beside it.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use aircraft::Aircraft;
use aircraft::start::How;
use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;

use crate::number;

/// What a limit is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// Mean wind at 10 m, m/s.
    Wind,
    /// Speed over the ground home against the wind at the height of flight, m/s.
    Return,
    /// Gusts over the mean wind, m/s.
    GustSpread,
    /// Wind across the launch, gusts counted, m/s.
    CrossWind,
    /// Wind lost between 20 m and 2 m on an approach, m/s.
    Shear,
    /// Rolling of the air over the aircraft's own roll rate, per cent.
    Turbulence,
    /// Visibility, m.
    Visibility,
    /// Base of cloud above the field, m.
    CloudBase,
    /// Lowest temperature, °C.
    Coldest,
    /// Highest temperature, °C.
    Hottest,
    /// Daylight left after the flight, min.
    Daylight,
    /// Probability of a clean launch, per cent.
    LaunchOdds,
}

impl Key {
    /// Every key with the word that files and the command line use, its unit, whether more is worse, and what it is.
    pub const ALL: [(Self, &'static str, &'static str, bool, &'static str); 12] = [
        (Self::Wind, "wind_m_s", "m/s", true, "mean wind"),
        (Self::Return, "return_m_s", "m/s", false, "speed over the ground on the way home"),
        (Self::GustSpread, "gust_spread_m_s", "m/s", true, "gusts over the mean wind"),
        (Self::CrossWind, "cross_wind_m_s", "m/s", true, "wind across the launch"),
        (Self::Shear, "shear_m_s", "m/s", true, "wind lost between 20 m and 2 m"),
        (
            Self::Turbulence,
            "turbulence_percent",
            "percent",
            true,
            "rolling of the air over the roll rate at full stick",
        ),
        (Self::Visibility, "visibility_m", "m", false, "visibility"),
        (Self::CloudBase, "cloud_base_m", "m", false, "base of the cloud"),
        (Self::Coldest, "coldest_c", "°C", false, "temperature"),
        (Self::Hottest, "hottest_c", "°C", true, "temperature"),
        (Self::Daylight, "daylight_min", "min", false, "daylight left at the end of the flight"),
        (Self::LaunchOdds, "launch_percent", "percent", false, "low end of the odds of a clean launch"),
    ];

    fn row(self) -> (&'static str, &'static str, bool, &'static str) {
        Self::ALL
            .iter()
            .find(|(key, ..)| *key == self)
            .map_or(("", "", true, ""), |(_, word, unit, worse, what)| (word, unit, *worse, what))
    }

    /// The word that files and the command line use; ends in the unit.
    #[must_use]
    pub fn word(self) -> &'static str {
        self.row().0
    }

    /// Unit, as numbers are written.
    #[must_use]
    pub fn unit(self) -> &'static str {
        self.row().1
    }

    /// Whether a larger value is the worse one.
    #[must_use]
    pub fn more_is_worse(self) -> bool {
        self.row().2
    }

    /// What it is, in words.
    #[must_use]
    pub fn what(self) -> &'static str {
        self.row().3
    }

    /// The key of a word.
    #[must_use]
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, w, ..)| *w == word).map(|(key, ..)| *key)
    }

    /// Whether it spoils what is measured in the air: in such wind one may still trim, but not tune.
    #[must_use]
    pub fn spoils_measuring(self) -> bool {
        matches!(self, Self::Wind | Self::Return | Self::GustSpread | Self::Shear | Self::Turbulence)
    }

    /// A number of it for people.
    #[must_use]
    pub fn told(self, value: f64) -> String {
        match self {
            Self::Visibility | Self::CloudBase if value >= 5000.0 => number::exact(value / 1000.0, "km"),
            Self::Visibility | Self::CloudBase => number::exact((value / 10.0).round() * 10.0, "m"),
            Self::Coldest | Self::Hottest => format!("{}\u{a0}°C", number::fixed(value, 0)),
            Self::Daylight => hours(value.max(0.0)),
            Self::Turbulence => number::exact(value.round(), "percent"),
            Self::LaunchOdds => number::exact((10.0 * value).round() / 10.0, "percent"),
            _ => format!("{}\u{a0}{}", number::fixed(value, 1), self.unit()),
        }
    }
}

/// Minutes as people say them, "6 h 28 min".
fn hours(minutes: f64) -> String {
    let whole = minutes.floor();
    if whole < 120.0 {
        return format!("{whole:.0}\u{a0}min");
    }
    format!("{:.0}\u{a0}h {:.0}\u{a0}min", (whole / 60.0).floor(), whole % 60.0)
}

/// Where a limit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// Derived from this aircraft's predictions.
    Aircraft,
    /// Common practice, whatever the aircraft.
    Practice,
    /// `[limits]` of the aircraft file.
    File,
    /// The command line.
    CommandLine,
}

impl From {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Aircraft => "from this aircraft's numbers",
            Self::Practice => "common practice",
            Self::File => "aircraft file",
            Self::CommandLine => "command line",
        }
    }
}

/// A limit of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What of.
    pub key: Key,
    /// Up to here everything may be flown.
    pub good: f64,
    /// Up to here a part; beyond it nothing.
    pub most: f64,
    /// Where `most` comes from.
    pub from: From,
    /// How it follows, in words.
    pub why: String,
    /// What between `good` and `most` remains, and how.
    pub between: &'static str,
    /// What `most` was before the builder loosened it.
    pub loosened_from: Option<f64>,
}

impl Limit {
    /// That the builder loosened it, in a sentence.
    #[must_use]
    pub fn loosened(&self) -> Option<String> {
        let was = self.loosened_from?;
        Some(format!(
            "The limit of {} was loosened from {} to {} ({}).",
            self.key.what(),
            self.key.told(was),
            self.key.told(self.most),
            self.from.words()
        ))
    }
}

/// Limits that could not be derived, and why.
pub type NotKnown = (Key, String);

/// What the builder sets in place of what is derived: key, value, where from.
pub type Own = BTreeMap<Key, (f64, From)>;

/// Share of the contrast of the model against the sky that is left at its farthest, and the visibility for it: contrast
/// falls as exp(-3.912 d/V) (Koschmieder, 5 % at the visibility itself).
fn visibility_for(distance_m: f64, contrast: f64) -> f64 {
    -3.912 * distance_m / contrast.ln()
}

/// How far the model is flown, m: as the file says, or as far as its bank can be told: its span under 0.005 rad, a sixth
/// of the moon's width... (common practice: 200 spans).
fn distance_m(aircraft: &Aircraft, prediction: &Prediction) -> f64 {
    aircraft.limits.distance_m.unwrap_or(200.0 * prediction.geometry.span_m)
}

/// How high it is flown, m: as the file says, or 120 m.
fn height_m(aircraft: &Aircraft) -> f64 {
    aircraft.limits.height_m.unwrap_or(120.0)
}

/// What the aircraft file's `[limits]` say of a day.
#[must_use]
pub fn of_file(aircraft: &Aircraft) -> Own {
    let limits = &aircraft.limits;
    [
        (Key::Wind, limits.wind_m_s),
        (Key::GustSpread, limits.gust_spread_m_s),
        (Key::CrossWind, limits.cross_wind_m_s),
        (Key::Visibility, limits.visibility_m),
        (Key::CloudBase, limits.cloud_base_m),
        (Key::Coldest, limits.coldest_c),
        (Key::Hottest, limits.hottest_c),
    ]
    .into_iter()
    .filter_map(|(key, value)| value.map(|v| (key, (v, From::File))))
    .collect()
}

/// The limits of an aircraft, the builder's own ones laid over what is derived; and which cannot be derived.
#[must_use]
pub fn limits(
    aircraft: &Aircraft,
    prediction: &Prediction,
    first_flight: bool,
    own: &Own,
) -> (Vec<Limit>, Vec<NotKnown>) {
    let (mut limits, unknown) = derived(aircraft, prediction, first_flight);
    for limit in &mut limits {
        if let Some((value, from)) = own.get(&limit.key) {
            let worse = limit.key.more_is_worse();
            let looser = if worse { *value > limit.most } else { *value < limit.most };
            // A reserve for the calm of a first flight stays what it is: only the outer limit can be widened.
            if looser {
                limit.loosened_from = Some(limit.most);
            }
            limit.most = *value;
            limit.good = if worse { limit.good.min(*value) } else { limit.good.max(*value) };
            limit.from = *from;
            let before = limit.loosened_from.map_or(String::new(), |was| {
                format!("; loosened from {}, which follows thus: {}", limit.key.told(was), limit.why)
            });
            limit.why = format!("set by the builder ({}){before}", from.words());
        }
    }
    (limits, unknown)
}

const CALMER: &str = "trim and the direct-flight check remain, to an experienced pilot; what measures or tunes waits for \
                      calmer air";

fn derived(aircraft: &Aircraft, prediction: &Prediction, first: bool) -> (Vec<Limit>, Vec<NotKnown>) {
    let (cruise, stall) = (prediction.speeds.cruise_m_s.value, prediction.speeds.stall_m_s.value);
    let pick = |for_first: f64, later: f64| if first { for_first } else { later };
    let whose = if first { "first flight" } else { "later flight" };
    let mut unknown = Vec::new();
    let mut out = Vec::new();
    let mut put = |key: Key, good: f64, most: f64, from: From, why: String, between: &'static str| {
        out.push(Limit { key, good, most, from, why, between, loosened_from: None });
    };
    let share = |x: f64| number::fixed(x, 2);

    put(
        Key::Wind,
        cruise * pick(1.0 / 3.0, 0.4),
        0.5 * cruise,
        From::Aircraft,
        format!(
            "{} ({whose}) and 0.5 of the cruise speed, {}",
            share(pick(1.0 / 3.0, 0.4)),
            number::coarse(cruise, "m/s")
        ),
        CALMER,
    );
    put(
        Key::Return,
        cruise * pick(0.5, 0.4),
        0.25 * cruise,
        From::Aircraft,
        format!(
            "{} ({whose}) and 0.25 of the cruise speed left over the ground against the wind at {}, which is 1.31 times \
             that at 10 m over a grass field (logarithmic profile)",
            share(pick(0.5, 0.4)),
            number::exact(super::FLIGHT_HEIGHT_M, "m")
        ),
        "stay upwind and close",
    );
    put(
        Key::GustSpread,
        stall * pick(0.2, 0.3),
        stall * pick(0.35, 0.45),
        From::Aircraft,
        format!(
            "a lull takes the spread off the airspeed: {} and {} ({whose}) of the stall speed, {}; an approach at 1.3 times \
             it has 0.3 to spare",
            share(pick(0.2, 0.3)),
            share(pick(0.35, 0.45)),
            number::coarse(stall, "m/s")
        ),
        "trim and the direct-flight check remain, to an experienced pilot; fly the approach faster by half the spread; what \
         measures or tunes waits for steadier air",
    );
    cross_wind(aircraft, prediction, first, &mut put);
    put(
        Key::Shear,
        stall * pick(0.2, 0.3),
        0.4 * stall,
        From::Aircraft,
        format!(
            "what the wind loses near the ground is lost off the approach (logarithmic profile over grass: 0.40 of the wind \
             at 10 m): {} ({whose}) and 0.4 of the stall speed, {}",
            share(pick(0.2, 0.3)),
            number::coarse(stall, "m/s")
        ),
        "keep the speed up until the last two meters",
    );
    match &prediction.control.roll_rate_rad_s {
        Ok(rate) if rate.value > 0.0 => put(
            Key::Turbulence,
            pick(25.0, 35.0),
            50.0,
            From::Aircraft,
            format!(
                "three standard deviations of the rolling gusts (MIL-F-8785C) may take {} ({whose}) and 50\u{a0}% of the \
                 steady roll rate at full stick, {}",
                number::exact(pick(25.0, 35.0), "percent"),
                number::coarse(rate.value * DEG_PER_RAD, "deg/s")
            ),
            CALMER,
        ),
        // Without ailerons there is no roll rate to hold it against.
        Ok(_) => {}
        Err(why) => {
            if aircraft.movables.iter().any(|m| m.mix.roll != 0.0) {
                unknown.push((Key::Turbulence, crate::names::reason(why)));
            }
        }
    }
    let (distance, height) = (distance_m(aircraft, prediction), height_m(aircraft));
    let (contrast, least) = (pick(0.7, 0.5), pick(0.5, 0.3));
    put(
        Key::Visibility,
        visibility_for(distance, contrast).max(1500.0),
        visibility_for(distance, least).max(1500.0),
        From::Aircraft,
        format!(
            "at {}, the farthest it is flown, {} and {} ({whose}) of its contrast against the sky must be left \
             (Koschmieder), and no less than 1500\u{a0}m",
            number::exact(distance.round(), "m"),
            number::exact(100.0 * contrast, "percent"),
            number::exact(100.0 * least, "percent")
        ),
        "keep it closer than usual, where its bank is plain to see",
    );
    put(
        Key::CloudBase,
        height + pick(100.0, 50.0),
        pick(130.0, 100.0),
        From::Aircraft,
        format!(
            "{} above the greatest height, {}; below {} the highest test points have no room ({whose})",
            number::exact(pick(100.0, 50.0), "m"),
            number::exact(height, "m"),
            number::exact(pick(130.0, 100.0), "m")
        ),
        "stay well below the cloud",
    );
    put(
        Key::Coldest,
        pick(10.0, 5.0),
        pick(0.0, -10.0),
        From::Practice,
        format!("a cold lithium pack sags and gives less than it is predicted to ({whose})"),
        "keep the pack at 20\u{a0}°C or more until the launch, and land early",
    );
    put(
        Key::Hottest,
        35.0,
        45.0,
        From::Practice,
        "pack, motor and speed controller start warm and cool badly".to_owned(),
        "keep the pack in the shade; feel motor and pack after each flight",
    );
    put(
        Key::Daylight,
        pick(90.0, 60.0),
        pick(60.0, 30.0),
        From::Practice,
        format!(
            "a model must be seen, and looked for, in full light ({whose}); hills make the sunset earlier"
        ),
        "this flight alone, then pack up",
    );
    put(
        Key::LaunchOdds,
        pick(95.0, 90.0),
        pick(85.0, 80.0),
        From::Practice,
        format!("low end of the odds of a clean climb-out ({whose})"),
        "change what drives the failures first (eyas launch tells it)",
    );
    (out, unknown)
}

/// Cross-wind turns the nose: the sideslip at the speed of lift-off or release, and what the rudder can hold of it.
fn cross_wind(
    aircraft: &Aircraft,
    prediction: &Prediction,
    first: bool,
    put: &mut impl FnMut(Key, f64, f64, From, String, &'static str),
) {
    let speed = 1.2 * prediction.speeds.stall_m_s.value;
    let wanted = [if first { 10.0 } else { 15.0 }, 20.0_f64];
    let d = &prediction.model.aerodynamics.derivatives;
    let rolling = aircraft.start.how == How::Rolling;
    // Steady sideslip: Cnb beta + Cndr delta = 0; seven tenths of the throw, the rest is for gusts.
    let held = prediction.control.throws_rad[2]
        .filter(|_| rolling && d.Cnb > 0.0)
        .map(|throw| (0.7 * throw * d.Cndr / d.Cnb).abs() * 180.0 / PI);
    let capped = wanted.map(|deg| held.map_or(deg, |h| h.min(deg)));
    let across = capped.map(|deg| speed * deg.to_radians().tan());
    let rudder = held
        .map_or(String::new(), |h| format!("; seven tenths of the rudder hold {}", number::coarse(h, "deg")));
    put(
        Key::CrossWind,
        across[0],
        across[1],
        From::Aircraft,
        format!(
            "a sideslip of {} and {} at 1.2 times the stall speed, {}{rudder}",
            number::coarse(capped[0], "deg"),
            number::coarse(capped[1], "deg"),
            number::coarse(speed, "m/s")
        ),
        if rolling {
            "an experienced pilot, with the upwind wing held down; or another strip"
        } else {
            "launch into the wind instead of along the strip"
        },
    );
}
