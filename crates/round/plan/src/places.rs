//! What does a place in the aircraft file mean, in words? `movable.elevator.servo.centre_us` is the servo center of the
//! elevator; and which question of a flight a change of it answers.

use aircraft::Aircraft;
use aircraft::finding::Change;
use aircraft::movable::{Movable, Servo};
use numerics::uncertain::Uncertain;

use crate::number;
use crate::panels::{self, PanelAngle};

/// A servo that a path names.
#[derive(Debug, Clone, Copy)]
pub struct ServoPlace<'a> {
    /// The movable that it drives.
    pub movable: &'a Movable,
    /// The servo.
    pub servo: &'a Servo,
    /// Whether it drives the left panel of a pair.
    pub left: bool,
}

/// The servo that a path of the aircraft file names: `movable.NAME.servo` or `movable.NAME.servo_left`, with or
/// without a key of it behind.
#[must_use]
pub fn servo<'a>(aircraft: &'a Aircraft, path: &str) -> Option<ServoPlace<'a>> {
    let rest = path.strip_prefix("movable.")?;
    aircraft.movables.iter().find_map(|movable| {
        let behind = rest.strip_prefix(movable.name.as_str())?.strip_prefix('.')?;
        match behind.split('.').next() {
            Some("servo") => Some(ServoPlace { movable, servo: &movable.servo, left: false }),
            Some("servo_left") => {
                movable.servo_left.as_ref().map(|servo| ServoPlace { movable, servo, left: true })
            }
            _ => None,
        }
    })
}

/// A place of the aircraft file in words ("Servo center of the left ruddervator"); the path itself where nothing
/// better is known.
#[must_use]
pub fn words(aircraft: &Aircraft, path: &str) -> String {
    if let Some(place) = servo(aircraft, path) {
        let panel = panels::of_panel(aircraft, place.movable, place.left, Uncertain::exact(0.0)).panel;
        match path.rsplit('.').next() {
            Some("centre_us") => return format!("Servo center of the {panel}"),
            Some("travel_us") => return format!("Servo travel of the {panel}"),
            Some("servo" | "servo_left") => return format!("Servo of the {panel}"),
            _ => {}
        }
    }
    if let Some((axis, part)) = path.strip_prefix("controller.gains.").and_then(|gain| gain.split_once('.')) {
        let part = match part {
            "feed_forward_s" => "Feed-forward",
            "proportional_s" => "Proportional gain",
            "integral" => "Integral gain",
            "derivative_s2" => "Derivative gain",
            other => other,
        };
        return format!("{part} in {axis}");
    }
    match path {
        "drive.pack.resistance_mohm" => "Resistance of the pack",
        "controller.mounting_pitch_deg" => "Mounting angle of the controller in pitch",
        "controller.mounting_roll_deg" => "Mounting angle of the controller in roll",
        "flown.drag_factor" => "Factor on the predicted drag",
        "flown.lift_factor" => "Factor on the predicted lift slope",
        "flown.thrust_factor" => "Factor on the predicted thrust",
        "flown.control_factor_roll" => "Factor on the predicted effect of the ailerons",
        "flown.control_factor_pitch" => "Factor on the predicted effect of the elevator",
        "flown.control_factor_yaw" => "Factor on the predicted effect of the rudder",
        "limits.stall_m_s" => "Stall speed",
        "limits.cruise_m_s" => "Cruise speed",
        other => other,
    }
    .to_owned()
}

/// Which yield of a test point a change of this place belongs to ("trims", "level_attitude").
#[must_use]
pub fn yielded_by(path: &str) -> Option<&'static str> {
    if path.starts_with("movable.") && path.ends_with(".centre_us") {
        Some("trims")
    } else if path.starts_with("controller.mounting_") {
        Some("level_attitude")
    } else if path == "limits.stall_m_s" {
        Some("stall")
    } else if path == "flown.drag_factor" {
        Some("polar")
    } else {
        None
    }
}

/// Where the panel of a servo stands at the pulse that a change asks for, seen from the pulse that the file has:
/// what the trim is in degrees of that panel. Absent where the change is of no servo center.
#[must_use]
pub fn panel_of_change(aircraft: &Aircraft, change: &Change) -> Option<PanelAngle> {
    if !change.path.ends_with(".centre_us") {
        return None;
    }
    let place = servo(aircraft, &change.path)?;
    let by = change.to - change.from?;
    let angle = |us: f64| place.movable.deflection_from_pulse(place.servo, place.servo.centre_us + us);
    let value = angle(by)?;
    let sd = match (angle(by + change.sd), angle(by - change.sd)) {
        (Some(high), Some(low)) => 0.5 * (high - low).abs(),
        _ => 0.0,
    };
    Some(panels::of_panel(aircraft, place.movable, place.left, Uncertain { value, sd }))
}

/// A change that is held back, as work on the bench: what to set, by how much, and why. The cautions stand beside it.
#[must_use]
pub fn bench_work(aircraft: &Aircraft, change: &Change) -> String {
    let mut out = words(aircraft, &change.path);
    let amount = |value: f64| match change.unit.as_str() {
        // A servo's dead band is about 2 us (common practice, no source): no digit below 1 us is worth its place.
        "us" => number::exact(value.round(), "us"),
        unit => number::exact((value * 10.0).round() / 10.0, unit),
    };
    match change.from {
        Some(from) => {
            let by = change.to - from;
            let more = if by < 0.0 { "less" } else { "more" };
            let told = if change.path.ends_with(".centre_us") {
                format!(
                    ": in straight flight the pulse stood at {}, {} {more} than its center of {}",
                    amount(change.to),
                    amount(by.abs()),
                    amount(from)
                )
            } else {
                format!(
                    ": the last flight asks for {} instead of {}, {} {more}",
                    amount(change.to),
                    amount(from),
                    amount(by.abs())
                )
            };
            out.push_str(&told);
            if let Some(panel) = panel_of_change(aircraft, change) {
                out.push_str(&format!(", which is {}", panel.words()));
            }
        }
        None => out.push_str(&format!(": the last flight asks for {}", amount(change.to))),
    }
    out.push('.');
    if let Some(why) = &change.held_back {
        out.push_str(&format!(" Held back, so do it by hand. {}", number::sentence(why)));
    }
    out.push_str(&format!(" Why: {}", number::sentence(&change.why)));
    out
}
