//! What did earlier flights leave to set by hand, and what did they find that stands in place of a prediction?

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};

use crate::card::Fact;
use crate::number;
use crate::outstanding::Outstanding;
use crate::panels;
use crate::places;

/// Work on the bench before the next flight, its caution first; nothing where there is none.
pub(crate) fn work(aircraft: &Aircraft, outstanding: &Outstanding) -> Vec<String> {
    if outstanding.bench_work.is_empty() {
        return Vec::new();
    }
    let mut out = vec![
        "Propeller off before anything is touched. A trim that is set at the linkage leaves the servo's center in the \
         aircraft file as it is: change one of the two, never both. Then the surface direction check again before the \
         launch."
            .to_owned(),
    ];
    out.extend(outstanding.bench_work.iter().map(|change| places::bench_work(aircraft, change)));
    out
}

/// How far each surface stood off its center in the last flight, where that waits for the bench: the prediction alone
/// would hide it.
pub(crate) fn trims_flown(aircraft: &Aircraft, outstanding: &Outstanding) -> Vec<Fact> {
    outstanding
        .bench_work
        .iter()
        .filter_map(|change| places::panel_of_change(aircraft, change))
        .map(|panel| Fact { name: "Flown last time, before the bench work".to_owned(), text: panel.words() })
        .collect()
}

/// The trim of an axis as a flight captured it, where every servo that answers the axis has its center from a flight:
/// then the surfaces trim at their neutral place and the prediction has nothing left to say.
pub(crate) fn captured(aircraft: &Aircraft, axis: Axis) -> Option<String> {
    let mut centers = Vec::new();
    for movable in &aircraft.movables {
        for left in [false, true] {
            let answers = panel_gain(aircraft, movable, axis, left) != 0.0;
            if !answers || (left && !panels::is_pair(aircraft, movable)) {
                continue;
            }
            let servo = movable.servo_of(left);
            // A servo center carries a doubt only after trim capture: before it, it is a setting.
            if servo.centre_sd_us <= 0.0 {
                return None;
            }
            centers.push(format!(
                "{} {}",
                servo.channel,
                number::with_doubt(servo.centre_us, servo.centre_sd_us.max(0.5), "us")
            ));
        }
    }
    (!centers.is_empty()).then(|| format!("at neutral, captured in flight: {}", centers.join(", ")))
}
