//! Which recorded pulse belongs to which servo of the aircraft, and does it move as its stick says?

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::movable::{Movable, Panels, Servo};
use fly::recording::{Quantity, Recording};
use numerics::statistics::{mean, standard_deviation};
use numerics::words::fixed;

use crate::blocks::Blocks;

/// One servo of the aircraft.
pub(crate) struct Place<'a> {
    pub(crate) movable: &'a Movable,
    pub(crate) servo: &'a Servo,
    /// Name of the movable, and the side where each side has a servo.
    pub(crate) surface: String,
    /// Path of the servo in the aircraft file.
    pub(crate) path: String,
    left: bool,
}

/// Every servo of an aircraft.
pub(crate) fn places(aircraft: &Aircraft) -> Vec<Place<'_>> {
    let mut places = Vec::new();
    for movable in &aircraft.movables {
        let pair = movable.panels == Panels::Pair && movable.servo_left.is_some();
        places.push(Place {
            movable,
            servo: &movable.servo,
            surface: if pair { format!("{} right", movable.name) } else { movable.name.clone() },
            path: format!("movable.{}.servo", movable.name),
            left: false,
        });
        if let Some(left) = &movable.servo_left {
            places.push(Place {
                movable,
                servo: left,
                surface: format!("{} left", movable.name),
                path: format!("movable.{}.servo_left", movable.name),
                left: true,
            });
        }
    }
    places
}

/// The recorded channel of each place: the one of its name, or the only one whose name differs in nothing but case,
/// spaces, underscores and a leading "servo".
pub(crate) fn recorded(places: &[Place<'_>], recording: &Recording) -> Vec<Option<Quantity>> {
    let names = names(recording);
    places
        .iter()
        .map(|place| {
            let own = &place.servo.channel;
            if names.contains(&own.as_str()) {
                return Some(Quantity::Servo(own.clone()));
            }
            let like: Vec<&&str> = names.iter().filter(|n| plain(n) == plain(own)).collect();
            let rivals = places.iter().filter(|p| plain(&p.servo.channel) == plain(own)).count();
            match like.as_slice() {
                [one] if rivals == 1 => Some(Quantity::Servo((**one).to_owned())),
                _ => None,
            }
        })
        .collect()
}

/// Names under which servo pulses were recorded.
fn names(recording: &Recording) -> Vec<&str> {
    recording
        .channels
        .iter()
        .filter_map(|c| match &c.quantity {
            Quantity::Servo(name) => Some(name.as_str()),
            _ => None,
        })
        .collect()
}

fn plain(name: &str) -> String {
    let low: String = name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    match low.strip_prefix("servo") {
        Some(rest) if !rest.is_empty() => rest.to_owned(),
        _ => low,
    }
}

/// What is missing when no servo of the aircraft was recorded, and how to mend it.
pub(crate) fn none_recorded(places: &[Place<'_>], recording: &Recording) -> String {
    let quoted = |names: &[&str]| names.iter().map(|n| format!("\"{n}\"")).collect::<Vec<_>>().join(", ");
    let own: Vec<&str> = places.iter().map(|p| p.servo.channel.as_str()).collect();
    let names = names(recording);
    let Some(first) = own.first() else {
        return "servo pulses: the aircraft file names no servo".into();
    };
    if names.is_empty() {
        return format!(
            "servo pulses: the aircraft has {}, and no column of the recording is mapped to a servo; write \
             quantity = \"servo:{first}\" and unit = \"us\" for its column in the column map",
            quoted(&own)
        );
    }
    format!(
        "servo pulses under the names that the aircraft file gives ({}); recorded are {}: write quantity = \
         \"servo:{first}\" for the right column of the column map, or the recorded name as `channel` of the servo \
         in the aircraft file",
        quoted(&own),
        quoted(&names)
    )
}

/// Fewest blocks by which a servo is judged.
const FEWEST: usize = 40;
/// Spread of a demand below which nobody moved the stick.
const LEAST_SPREAD: f64 = 0.01;
/// A servo that goes with another stick at least this well, and with its own at most so, is another's.
const WITH_OTHER: f64 = 0.75;
const WITH_OWN: f64 = 0.4;

/// Why the channel taken for a place cannot be its servo's, if the sticks say so: it moves as the sticks ask of
/// another servo, or against them. Judged while the sticks act directly, where it was recorded how they act.
pub(crate) fn contradicted(
    which: usize,
    places: &[Place<'_>],
    channels: &[Option<Quantity>],
    aircraft: &Aircraft,
    recording: &Recording,
    blocks: &Blocks,
) -> Option<String> {
    let place = places.get(which)?;
    let quantity = channels.get(which)?.as_ref()?;
    let pulses = blocks.column(quantity)?;
    let own = follows(pulses, &asked(place, aircraft, blocks), blocks)?;
    if own >= WITH_OWN {
        return None;
    }
    let source = recording.channel(quantity).map_or("", |c| c.source.as_str());
    let other = places
        .iter()
        .enumerate()
        .filter(|(k, _)| *k != which)
        .filter_map(|(_, p)| Some((follows(pulses, &asked(p, aircraft, blocks), blocks)?, p)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match other {
        Some((with, other)) if with >= WITH_OTHER => Some(format!(
            "the pulse of \"{source}\" goes as the sticks ask of the {} (correlation {}), not of the {} ({}): write \
             quantity = \"servo:{}\" for that column of the map, and \"servo:{}\" for the one that moves it",
            other.surface,
            fixed(with, 2),
            place.surface,
            fixed(own, 2),
            other.servo.channel,
            place.servo.channel,
        )),
        _ if own <= -WITH_OTHER => Some(format!(
            "the pulse of \"{source}\" goes against what the sticks ask of the {} (correlation {}): check \
             `reversed` of the servo in the aircraft file and which column is mapped to it",
            place.surface,
            fixed(own, 2),
        )),
        _ => None,
    }
}

/// What the sticks ask of a servo, as a share of its travel, block by block; what was not recorded asks nothing.
fn asked(place: &Place<'_>, aircraft: &Aircraft, blocks: &Blocks) -> Vec<f64> {
    let sticks = [
        (Axis::Roll, Quantity::StickRoll),
        (Axis::Pitch, Quantity::StickPitch),
        (Axis::Yaw, Quantity::StickYaw),
    ];
    let mut sum = vec![0.0; blocks.count];
    // A positive demand asks for a negative deflection of the axis (the trailing edges that bring it about).
    let way = if place.servo.reversed { 1.0 } else { -1.0 };
    for (axis, stick) in sticks {
        let gain = way * panel_gain(aircraft, place.movable, axis, place.left);
        if let Some(column) = blocks.column(&stick)
            && gain != 0.0
        {
            for (s, v) in sum.iter_mut().zip(column) {
                *s += gain * v;
            }
        }
    }
    sum
}

/// Correlation of pulses with what is asked while the sticks act directly; absent where too little was asked.
fn follows(pulses: &[f64], asked: &[f64], blocks: &Blocks) -> Option<f64> {
    let acts = blocks.column(&Quantity::Acts);
    let direct = |i: usize| acts.is_none_or(|a| a.get(i).is_some_and(|v| *v < 0.5));
    let (p, a): (Vec<f64>, Vec<f64>) = pulses
        .iter()
        .zip(asked)
        .enumerate()
        .filter(|(i, (p, a))| direct(*i) && p.is_finite() && a.is_finite())
        .map(|(_, (p, a))| (*p, *a))
        .unzip();
    if p.len() < FEWEST {
        return None;
    }
    let (sp, sa) = (standard_deviation(&p), standard_deviation(&a));
    if !(sp > 0.0 && sa > LEAST_SPREAD) {
        return None;
    }
    let (mp, ma) = (mean(&p), mean(&a));
    let both: f64 = p.iter().zip(&a).map(|(x, y)| (x - mp) * (y - ma)).sum();
    Some(both / ((p.len() as f64 - 1.0) * sp * sa))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_differ_in_words_and_not_in_writing() {
        for (one, other, same) in [
            ("servo elevator", "Elevator", true),
            ("servo_servo_elevator", "servo elevator", false),
            ("Servo_1", "1", true),
            ("left aileron", "LEFT_AILERON", true),
            ("left aileron", "right aileron", false),
            ("servo", "servo", true),
        ] {
            assert_eq!(plain(one) == plain(other), same, "{one}, {other}");
        }
    }
}
