//! What must the pilot have before their eyes? Facts at a glance, cautions that this aircraft's numbers ask for, and
//! what to do when something goes wrong.
//!
//! Cautions and emergencies are common practice among model fliers, no source; thresholds are named where they stand.

use aircraft::Aircraft;
use aircraft::controller::Acts;
use numerics::units::DEG_PER_RAD;

use crate::card::Fact;
use crate::choose::fact;
use crate::expression::Expression;
use crate::names::Scope;
use crate::number;

/// Least static margin that a first flight is not warned of, per cent of the mean chord (common practice).
const FIRST_FLIGHT_MARGIN_PERCENT: f64 = 8.0;
/// Thrust over weight below which a hand launch has little to spare (common practice).
const LEAN_THRUST_TO_WEIGHT: f64 = 0.5;

/// Facts at a glance.
pub(crate) fn facts(aircraft: &Aircraft, scope: &Scope<'_>) -> Vec<Fact> {
    let mut facts = Vec::new();
    for (name, value, unit) in [
        ("Mass", "mass.total_kg", "kg"),
        ("Balance point from the datum", "1000 * balance.cg_x_m", "mm"),
        ("Static margin", "balance.static_margin_percent", "percent"),
        ("Stall", "speeds.stall_m_s", "m/s"),
        ("Approach", "1.3 * speeds.stall_m_s", "m/s"),
        ("Cruise", "speeds.cruise_m_s", "m/s"),
        ("Best glide", "speeds.best_glide_m_s", "m/s"),
        ("Cruise throttle", "drive.cruise_throttle_percent", "percent"),
    ] {
        if aircraft.drive.is_none() && value.starts_with("drive.") {
            continue;
        }
        // Written here and held by a test, so that a reading error cannot reach a user.
        if let Ok(value) = Expression::read(value) {
            facts.push(fact(name, &value, unit, scope));
        }
    }
    let weather = scope.weather;
    let from =
        weather.from_deg.map_or(String::new(), |from| format!(" from {:03.0}°", from.rem_euclid(360.0)));
    facts.push(Fact {
        name: "Wind planned for".to_owned(),
        text: format!(
            "{}, gusts {}{from}",
            number::exact(weather.wind_m_s, "m/s"),
            number::exact(weather.gust_m_s, "m/s")
        ),
    });
    facts
}

/// Cautions, those that hold everywhere first.
pub(crate) fn cautions(
    aircraft: &Aircraft,
    scope: &Scope<'_>,
    first: bool,
    budget_s: Option<f64>,
) -> Vec<String> {
    let mut out = vec![
        "The law of the place, the field's rules and a club's instructor come before this card. Its numbers are \
         estimates."
            .to_owned(),
        "Nobody in the arc or the line of the propeller. Propeller off for bench work. Throttle locked until the \
         launch; whoever holds the model says when."
            .to_owned(),
        "Fly over nobody and nothing that can be hurt. Keep the model where you see how it banks.".to_owned(),
        "Lithium packs: charge watched, never a swollen or dented one, let it cool after the flight.".to_owned(),
    ];
    if first {
        out.push(
            "First flight: an experienced pilot on the sticks or beside you, calm air, an empty field, one helper and \
             no other audience near."
                .to_owned(),
        );
    }
    let prediction = scope.prediction;
    let balance = prediction.balance.cg_x_m;
    if let Ok([forward, aft]) = &prediction.stability.first_flight_range_x_m {
        let mm = |x: f64| number::exact((x * 1000.0).round(), "mm");
        let outside = if balance.value < *forward {
            Some((forward - balance.value, "aft"))
        } else if balance.value > *aft {
            Some((balance.value - aft, "forward"))
        } else {
            None
        };
        if let (Some((by, direction)), true) = (outside, first) {
            out.push(format!(
                "The balance point at {} lies outside {} to {}, the range for a first flight: move it {} {direction} \
                 before you fly.",
                mm(balance.value),
                mm(*forward),
                mm(*aft),
                mm(by)
            ));
        }
    }
    let margin = prediction.stability.static_margin_percent;
    if first && margin.value - 2.0 * margin.sd < FIRST_FLIGHT_MARGIN_PERCENT {
        out.push(format!(
            "Static margin {}: its low end is under {}. A tail-heavy model is the surest way to lose one; weigh and \
             balance again, nose down a little if in doubt.",
            number::with_doubt(margin.value, margin.sd, "percent"),
            number::exact(FIRST_FLIGHT_MARGIN_PERCENT, "percent")
        ));
    }
    match &prediction.drive {
        Ok(drive) => {
            let ratio = drive.thrust_to_weight;
            if ratio.value - 2.0 * ratio.sd < LEAN_THRUST_TO_WEIGHT {
                out.push(format!(
                    "Static thrust over weight {}: little to spare for a hand launch. Measure the pull on the bench, \
                     wait for steady wind.",
                    number::with_doubt(ratio.value, ratio.sd, "")
                ));
            }
        }
        Err(_) if aircraft.drive.is_none() => {}
        Err(why) => out.push(format!("Thrust and current are not predicted: {}.", crate::names::reason(why))),
    }
    if aircraft.drive.as_ref().is_some_and(|d| d.pusher) {
        out.push(
            "Propeller behind: it passes the hand that throws. Hold the model ahead of it, let go with the arm below, and \
             open the throttle only when the model has left the hand and the helper calls it."
                .to_owned(),
        );
    }
    match budget_s {
        Some(budget) => out.push(format!(
            "Land at the latest when {} of cruise are used, or at the pack voltage you chose, whichever comes first.",
            number::duration(budget)
        )),
        None if aircraft.drive.is_some() => out.push(
            "How long the pack lasts is not predicted: time the flight, land after a third of what you expect, and \
             measure what was used."
                .to_owned(),
        ),
        None => {}
    }
    if let Some(limit) = aircraft.limits.never_exceed_m_s {
        out.push(format!("Never faster than {}.", number::exact(limit, "m/s")));
    }
    out
}

/// What to do when something goes wrong: what happened, what to do.
pub(crate) fn emergencies(aircraft: &Aircraft, scope: &Scope<'_>) -> Vec<(String, String)> {
    let prediction = scope.prediction;
    let position = |acts: Acts| {
        aircraft.controller.switch.iter().find(|p| p.acts == acts).map(|p| format!(" (switch: {})", p.name))
    };
    let mut out = Vec::new();
    let level = position(Acts::Level).map_or(String::new(), |switch| {
        format!(" If level was checked on the ground, change to it{switch} and take the hands off.")
    });
    out.push((
        "Lost sight of which way it banks".to_owned(),
        format!(
            "Throttle back, stick still, look for the wing that drops; small roll input and see which wing answers.{level} \
             Helper: keep eyes on it and say what you see."
        ),
    ));
    let glide = prediction.speeds.best_glide_m_s;
    out.push((
        "Motor stops or fades".to_owned(),
        format!(
            "Nose down at once to about {}. Throttle locked. Land into the wind on what lies ahead; turn back only with \
             height to spare: it sinks 1 m for about {} m flown in still air.",
            number::exact(glide.value, "m/s"),
            number::exact(prediction.polar.best_glide_ratio.value.round(), "")
        ),
    ));
    let direct = position(Acts::Direct).map_or(String::new(), |switch| format!("Change to direct{switch}. "));
    out.push((
        "Shakes or swings harder and harder".to_owned(),
        format!(
            "{direct}Throttle back, stick to the middle and still, nose gently up to lose speed. Wings level, land soon. \
             Do not chase the swing."
        ),
    ));
    let failsafe = aircraft.controller.failsafe_throttle.map_or(
        "The failsafe throttle is not in the aircraft file: find out on the ground what it does.".to_owned(),
        |throttle| format!("Failsafe holds {} throttle.", number::exact(throttle * 100.0, "percent")),
    );
    out.push((
        "Radio link lost".to_owned(),
        format!(
            "Throttle stick down, hold the transmitter high, walk towards the model. Helper: time it, watch where it goes \
             down, keep people away. {failsafe}"
        ),
    ));
    let trim = prediction.speeds.cruise_elevator_rad.as_ref().ok().map_or(String::new(), |e| {
        format!(" Elevator for cruise was predicted at {}.", number::exact(e.value * DEG_PER_RAD, "deg"))
    });
    out.push((
        "Nose pitches up or down hard after launch".to_owned(),
        format!(
            "Hold it with the stick, throttle to half, wings level, land straight ahead if it is low. No trimming below \
             20 m.{trim}"
        ),
    ));
    out.push((
        "Somebody walks in, or another aircraft comes".to_owned(),
        "Give way downward and away from people, climb-out only where it is clear, land when told."
            .to_owned(),
    ));
    out
}
