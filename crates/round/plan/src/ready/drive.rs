//! What does the drive do on the bench? Pull, speed and current against the prediction and the limits of its parts.

use aircraft::{Aircraft, Known};
use numerics::units::G_M_S2;
use predict::prediction::Prediction;

use super::items::item;
use super::{Expects, Item, Place};
use crate::number;

const CAUTION: &str = "The one bench check with the propeller on: model tied down or held fast by somebody else, nobody in the \
                       arc or the line of the propeller, eyes protected, a way to stop the motor at hand. Outdoors.";
/// Least share that a measurement may be off the prediction, beyond its own doubt (common practice: scales, winds and
/// the state of the pack).
const SHARE: f64 = 0.15;

pub(super) fn home(aircraft: &Aircraft, prediction: &Prediction) -> Vec<Item> {
    let Some(drive) = &aircraft.drive else {
        return Vec::new();
    };
    let around = |value: &Known, factor: f64, unit: &'static str| {
        let (center, sd) = (value.value * factor, value.sd * factor);
        let room = (SHARE * center).max(2.0 * sd);
        (center - room, center + room, format!("{} by the model", number::with_doubt(center, sd, unit)))
    };
    let between = |(low, high, from): (f64, f64, String), unit: &'static str| Expects::Between {
        low: low.max(0.0).round(),
        high: high.round(),
        unit,
        from,
        may_be_absent: false,
    };
    let unknown = |unit: &'static str, why: &predict::prediction::NotPredicted| Expects::Unknown {
        unit,
        why: crate::names::reason(why),
    };
    let how = "Full pack, full throttle for two seconds after it has settled.";
    let with = |id: &str, title: &str, expects: Expects| Item {
        caution: Some(CAUTION),
        expects,
        ..item(id, Place::Home, title, how)
    };
    let found = prediction.drive.as_ref();
    let pull = found.map_or_else(
        |why| unknown("g", why),
        |d| {
            let (low, high, from) = around(&d.static_thrust_n, 1000.0 / G_M_S2, "g");
            between((low, high, from), "g")
        },
    );
    let rpm =
        found.map_or_else(|why| unknown("rpm", why), |d| between(around(&d.static_rpm, 1.0, "rpm"), "rpm"));
    let current = found.map_or_else(
        |why| unknown("A", why),
        |d| {
            let (low, high, from) = around(&d.static_current_a, 1.0, "A");
            let motors = drive.hubs_m.len().max(1) as f64;
            let limits = [
                drive.motor.limit_a.map(|a| (a * motors, "motor")),
                drive.speed_controller_limit_a.map(|a| (a * motors, "speed controller")),
                drive.pack.limit_a.map(|a| (a, "pack")),
            ];
            let least = limits.into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0));
            match least.filter(|(limit, _)| *limit < high) {
                Some((limit, whose)) => between(
                    (
                        low.min(limit),
                        limit,
                        format!("{from}; the {whose} bears {}", number::exact(limit, "A")),
                    ),
                    "A",
                ),
                None => between((low, high, from), "A"),
            }
        },
    );
    vec![
        with("static_pull_g", "Static pull", pull),
        with("static_rpm", "Propeller speed standing still", rpm),
        with("static_current_a", "Pack current standing still", current),
    ]
}
