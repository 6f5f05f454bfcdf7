//! How would it go? One of the example scripts, flown in simulation with this aircraft, for trying the round out.

use aircraft::Aircraft;
use fly::simulated::script::Script;

use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::round;
use crate::tell::{Kind, Trouble};

/// Scripts to choose from.
pub(crate) const FLIGHTS: [(&str, &str, &str); 2] = [
    (
        "first",
        "A first flight: up, a look at the trims, and down again",
        include_str!("../../../../../examples/first-flight.toml"),
    ),
    (
        "second",
        "A second flight: wind, stick movements, a stall, a glide",
        include_str!("../../../../../examples/second-flight.toml"),
    ),
];

/// Wind of a simulated flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Blows {
    /// Mean speed, m/s.
    pub(crate) speed_m_s: f64,
    /// Where it comes from, degrees true.
    pub(crate) from_deg: f64,
}

/// The script of a flight in this wind. What it hides from the builder is left out where this aircraft has no such
/// surface.
pub(crate) fn script(aircraft: &Aircraft, flight: &str, wind: Blows) -> Result<Script, Trouble> {
    let (_, _, text) = FLIGHTS.iter().find(|(word, ..)| *word == flight).ok_or_else(|| {
        Trouble::new(
            Kind::Input,
            "the flight cannot be flown",
            "there is no such script",
            "choose one of the list",
        )
    })?;
    if !(0.0..=15.0).contains(&wind.speed_m_s) || !(0.0..=360.0).contains(&wind.from_deg) {
        return Err(Trouble::new(
            Kind::Input,
            "the flight cannot be flown in this wind",
            format!(
                "{} m/s from {} degrees is outside 0 to 15 m/s and 0 to 360 degrees",
                wind.speed_m_s, wind.from_deg
            ),
            "choose a wind that a model flies in",
        ));
    }
    let mut script = round::script(text, "the built-in script")?;
    script.hidden.offsets.retain(|o| aircraft.movables.iter().any(|m| m.name == o.movable));
    script.wind.speed_m_s = wind.speed_m_s;
    script.wind.from_rad = wind.from_deg.to_radians();
    Ok(script)
}

/// Flies it; the recording as CSV. `go_on` is told how far it is and says whether to go on.
pub(crate) fn fly(
    fetched: &Fetched,
    script: &Script,
    go_on: &dyn Fn(f64, &str) -> bool,
) -> Result<String, Trouble> {
    let stopped = || Trouble::new(Kind::No, "the flight was given up", "you stopped it", "start it again");
    let air = Air { height_m: Some(script.place.elevation_m), ..Air::default() };
    if !go_on(0.05, "predicting the aircraft") {
        return Err(stopped());
    }
    let prediction = forecast(&fetched.aircraft, &air)?;
    let model = round::model_as_described(&fetched.aircraft, &prediction, &air)?;
    if !go_on(0.3, "flying") {
        return Err(stopped());
    }
    let flight = round::flight(&fetched.aircraft, &model, script)?;
    if !go_on(0.9, "writing the recording") {
        return Err(stopped());
    }
    Ok(flight.to_csv())
}
