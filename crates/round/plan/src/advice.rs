//! What must the pilot have before their eyes? Facts at a glance, cautions that this aircraft's numbers ask for, and
//! what to do when something goes wrong.
//!
//! Cautions and emergencies are common practice among model fliers, no source; thresholds are named where they stand.

use aircraft::Aircraft;
use aircraft::control::Axis;
use aircraft::controller::Acts;
use numerics::uncertain::Uncertain;
use predict::prediction::Prediction;

use crate::bench;
use crate::card::Fact;
use crate::choose::{fact, tenths};
use crate::expression::Expression;
use crate::names::Scope;
use crate::number;
use crate::panels;

/// Least static margin that a first flight is not warned of, per cent of the mean chord (common practice).
const FIRST_FLIGHT_MARGIN_PERCENT: f64 = 8.0;
/// Thrust over weight below which a hand launch has little to spare (common practice).
const LEAN_THRUST_TO_WEIGHT: f64 = 0.5;

/// Name of the fact that tells the wind.
pub(crate) const WIND_FACT: &str = "Wind planned for";

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
        name: WIND_FACT.to_owned(),
        text: format!(
            "{}, gusts {}{from}",
            number::exact(tenths(weather.wind_m_s), "m/s"),
            number::exact(tenths(weather.gust_m_s), "m/s")
        ),
    });
    facts
}

/// What stands against any flight of this aircraft as it is, whatever the day: each with number, limit and what to do.
pub(crate) fn against_flying(scope: &Scope<'_>, first: bool) -> Vec<String> {
    let stability = &scope.prediction.stability;
    let balance = scope.prediction.balance.cg_x_m;
    let mut out: Vec<String> =
        scope.prediction.against.iter().map(|why| why.trim_end_matches('.').to_owned()).collect();
    let margin = stability.static_margin_percent;
    if margin.value <= 0.0 && !out.iter().any(|why| why.contains("static margin")) {
        let by = match &stability.first_flight_range_x_m {
            Ok([_, aft]) if balance.value > *aft => format!("{} or more", mm(balance.value - aft)),
            _ => "until the margin is above zero with its doubt".to_owned(),
        };
        out.push(format!(
            "static margin {}: the aircraft is predicted to be unstable; move the balance point forward, {by}",
            number::with_doubt(margin.value, margin.sd, "percent")
        ));
    }
    if let Ok([forward, aft]) = &stability.first_flight_range_x_m
        && first
    {
        let (low, high) = (balance.value - 2.0 * balance.sd, balance.value + 2.0 * balance.sd);
        let outside = if low > *aft {
            Some((balance.value - aft, "forward"))
        } else if high < *forward {
            Some((forward - balance.value, "aft"))
        } else {
            None
        };
        if let Some((by, direction)) = outside {
            out.push(format!(
                "the balance point, {}, lies outside {} to {}, the range for a first flight: move it {} {direction}",
                number::with_doubt(balance.value * 1000.0, balance.sd * 1000.0, "mm"),
                mm(*forward),
                mm(*aft),
                mm(by)
            ));
        }
    }
    out
}

fn mm(x_m: f64) -> String {
    number::exact((x_m * 1000.0).round(), "mm")
}

/// What to say of an aircraft whose static margin is above zero, but not surely: two standard deviations below its
/// value it is unstable. None where the margin is surely above zero, or not above it at all.
#[must_use]
pub fn not_shown_stable(prediction: &Prediction) -> Option<String> {
    let margin = prediction.stability.static_margin_percent;
    (margin.value > 0.0 && margin.value - 2.0 * margin.sd <= 0.0).then(|| {
        format!(
            "Not shown to be stable: static margin {}, so it may be unstable. Move the balance point forward, or weigh, \
             balance and measure again until the low end is above zero.",
            number::with_doubt(margin.value, margin.sd, "percent")
        )
    })
}

/// Cautions, those that hold everywhere first; before them what is not shown to be stable.
pub(crate) fn cautions(
    aircraft: &Aircraft,
    scope: &Scope<'_>,
    first: bool,
    budget_s: Option<f64>,
) -> Vec<String> {
    let margin = scope.prediction.stability.static_margin_percent;
    let low_end = margin.value - 2.0 * margin.sd;
    let mut out: Vec<String> = not_shown_stable(scope.prediction).into_iter().collect();
    out.extend([
        "The law of the place, the field's rules and a club's instructor come before this card. Its numbers are \
         estimates."
            .to_owned(),
        "Nobody in the arc or the line of the propeller. Propeller off for bench work. Throttle locked until the \
         launch; whoever holds the model says when."
            .to_owned(),
        "Fly over nobody and nothing that can be hurt. Keep the model where you see how it banks.".to_owned(),
        "Lithium packs: charge watched, never a swollen or dented one, let it cool after the flight.".to_owned(),
    ]);
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
    if first && low_end > 0.0 && low_end < FIRST_FLIGHT_MARGIN_PERCENT {
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
            "Propeller behind: where it is thrown, it passes the hand that throws. Hold the model ahead of it, let go with the arm below, and \
             open the throttle only when the model has left the hand and the helper calls it."
                .to_owned(),
        );
    }
    match budget_s {
        Some(budget) => out.push(format!(
            "Land at the latest when {} of cruise are used, or at the pack voltage you chose, whichever comes first.",
            number::about(budget)
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
            number::coarse(glide.value, "m/s"),
            number::coarse(prediction.polar.best_glide_ratio.value, "")
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
    let trim = match (bench::captured(aircraft, Axis::Pitch), &prediction.speeds.cruise_elevator_rad) {
        (Some(captured), _) => format!(" Trim for cruise is {captured}."),
        (None, Ok(elevator)) => {
            let angles = panels::at_axis(aircraft, Axis::Pitch, Uncertain::exact(elevator.value));
            if angles.is_empty() {
                String::new()
            } else {
                format!(" Trim for cruise was predicted at {}.", panels::words(&angles))
            }
        }
        (None, Err(_)) => String::new(),
    };
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
