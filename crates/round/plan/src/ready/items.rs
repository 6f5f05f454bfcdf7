//! What is looked at and measured on airframe, linkages, switches and link? Tolerances are common practice, no source,
//! unless the words beside them say more.

use aircraft::Aircraft;
use aircraft::controller::Acts;
use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;

use super::{Expects, Item, Place};
use crate::directions;
use crate::number;
use crate::panels;

/// Least share of the throw that a measured throw may be off by, and least angle, degrees: what a ruler shows.
const THROW_SHARE: f64 = 0.1;
const THROW_DEG: f64 = 1.5;
/// Share that the scale may be off the file.
const MASS_SHARE: f64 = 0.03;
/// Voltage of a full lithium cell, V: from the last thirty hundredths short of it to what a charger's doubt adds.
const FULL_CELL_V: [f64; 2] = [4.10, 4.25];

pub(super) const PROPELLER: &str =
    "Propeller off: a motor that starts by itself cuts to the bone. Take it off before the pack goes in.";

pub(super) fn item(
    id: impl Into<String>,
    place: Place,
    title: impl Into<String>,
    how: impl Into<String>,
) -> Item {
    Item { id: id.into(), place, title: title.into(), how: how.into(), caution: None, expects: Expects::Done }
}

pub(super) fn slug(name: &str) -> String {
    name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect()
}

pub(super) fn home(aircraft: &Aircraft, prediction: &Prediction, first_flight: bool) -> Vec<Item> {
    let mut out = Vec::new();
    if aircraft.drive.is_some() {
        out.push(Item {
            caution: Some(PROPELLER),
            ..item(
                "propeller_off",
                Place::Home,
                "Propeller off",
                "Taken off, or the motor unplugged, for all that follows on the bench.",
            )
        });
    }
    out.push(mass(prediction));
    out.push(balance(aircraft, prediction, first_flight));
    for surface in &aircraft.surfaces {
        out.push(item(
            format!("surface.{}", slug(&surface.name)),
            Place::Home,
            format!("{}: whole and straight", surface.name),
            "Look along it for twist against the other side; press skin and spar, bend it gently by the tip; every joint and \
             bolt that holds it seated and locked.",
        ));
    }
    for movable in &aircraft.movables {
        let sides: &[bool] = if panels::is_pair(aircraft, movable) { &[false, true] } else { &[false] };
        for left in sides {
            let panel = match (sides.len(), *left) {
                (1, _) => movable.name.clone(),
                (_, false) => format!("right {}", movable.name),
                (_, true) => format!("left {}", movable.name),
            };
            out.push(Item {
                caution: aircraft.drive.as_ref().map(|_| PROPELLER),
                ..item(
                    format!("linkage.{}", slug(&panel)),
                    Place::Home,
                    format!("{panel}: hinge, horn, rod and servo"),
                    "Pull each hinge; clevis closed and secured; horn and servo screw tight. Full throw both ways without \
                     binding or humming; no more than 1 mm of play at the trailing edge.",
                )
            });
            throws(aircraft, movable, &panel, &mut out);
        }
    }
    directions_of(aircraft, prediction, &mut out);
    if aircraft.controller.switch.is_empty() {
        out.push(item(
            "switch",
            Place::Home,
            "Switch positions",
            "Move every switch through its positions and say aloud what each does before you look.",
        ));
    }
    for position in &aircraft.controller.switch {
        let does = match position.acts {
            Acts::Direct => "tilt the model by hand: no surface answers, the stick moves them as ever",
            Acts::Rate => {
                "turn the model by hand: surfaces answer while it turns, against the turn, and go back when it stops"
            }
            Acts::Level => {
                "tilt the model by hand: surfaces answer against the tilt and stay as long as it is tilted"
            }
        };
        out.push(Item {
            caution: aircraft.drive.as_ref().map(|_| PROPELLER),
            ..item(
                format!("switch.{}", slug(&position.name)),
                Place::Home,
                format!("Switch on \u{201c}{}\u{201d} acts {}", position.name, position.acts.word()),
                format!("With the stick at rest {does}."),
            )
        });
    }
    let throttle = aircraft.controller.failsafe_throttle.map_or(
        "The motor must do what you chose for it (the aircraft file does not tell it).".to_owned(),
        |t| format!("The motor must go to {} throttle.", number::exact(t * 100.0, "percent")),
    );
    out.push(Item {
        caution: aircraft.drive.as_ref().map(|_| PROPELLER),
        ..item(
            "failsafe",
            Place::Home,
            "Answer to a lost link",
            format!(
                "Propeller off, model held, throttle a quarter up. Switch the transmitter off. {throttle} Surfaces go where you \
                 chose. On again: control back within two seconds."
            ),
        )
    });
    out.push(item(
        "controller_mounting",
        Place::Home,
        "Controller fast in its place",
        "It cannot be moved by hand, its forward mark points forward, no wire pulls at it.",
    ));
    out
}

fn mass(prediction: &Prediction) -> Item {
    let total = prediction.balance.total_kg;
    let room = (MASS_SHARE * total.value).max(2.0 * total.sd);
    Item {
        expects: Expects::Between {
            low: ((total.value - room) * 1000.0).round(),
            high: ((total.value + room) * 1000.0).round(),
            unit: "g",
            from: format!("by the file {}", number::with_doubt(total.value * 1000.0, total.sd * 1000.0, "g")),
            may_be_absent: false,
        },
        ..item(
            "mass_g",
            Place::Home,
            "Mass, ready to fly",
            "On a scale, pack in and everything that flies with it.",
        )
    }
}

fn balance(aircraft: &Aircraft, prediction: &Prediction, first_flight: bool) -> Item {
    let stability = &prediction.stability;
    let (range, whose) = if first_flight {
        (&stability.first_flight_range_x_m, "range for a first flight")
    } else {
        (&stability.range_x_m, "range")
    };
    let expects = match range {
        Ok([forward, aft]) => Expects::Between {
            low: (forward * 1000.0).ceil(),
            high: (aft * 1000.0).floor(),
            unit: "mm",
            from: format!(
                "{whose}; the file has {}",
                number::with_doubt(
                    prediction.balance.cg_x_m.value * 1000.0,
                    prediction.balance.cg_x_m.sd * 1000.0,
                    "mm"
                )
            ),
            may_be_absent: false,
        },
        Err(why) => Expects::Unknown { unit: "mm", why: crate::names::reason(why) },
    };
    Item {
        expects,
        ..item(
            "balance_point_mm",
            Place::Home,
            "Balance point",
            format!(
                "Ready to fly, on a stand or two fingertips under the wing, level: how far aft of the datum ({}).",
                aircraft.datum
            ),
        )
    }
}

/// Full stick each way: the angle of the panel by the file.
fn throws(aircraft: &Aircraft, movable: &aircraft::movable::Movable, panel: &str, out: &mut Vec<Item>) {
    let Some(surface) = aircraft.surfaces.get(movable.surface) else {
        return;
    };
    let (up, down) = movable.throw_words(surface);
    for (way, throw_rad) in [(up, movable.throw_up_rad), (down, movable.throw_down_rad)] {
        if throw_rad <= 0.0 {
            continue;
        }
        let deg = throw_rad * DEG_PER_RAD;
        let room = (THROW_SHARE * deg).max(THROW_DEG);
        out.push(Item {
            caution: aircraft.drive.as_ref().map(|_| PROPELLER),
            expects: Expects::Between {
                low: ((deg - room) * 10.0).round() / 10.0,
                high: ((deg + room) * 10.0).round() / 10.0,
                unit: "deg",
                from: format!("throw in the file {}", number::coarse(deg, "deg")),
                may_be_absent: false,
            },
            ..item(
                format!("throw.{}.{way}_deg", slug(panel)),
                Place::Home,
                format!("{panel}: full throw, trailing edge {way}"),
                "With every demand that moves it at full stick; gauge at the trailing edge, from neutral.",
            )
        });
    }
}

/// Stick and disturbance: every surface the right way.
fn directions_of(aircraft: &Aircraft, prediction: &Prediction, out: &mut Vec<Item>) {
    let caution = aircraft.drive.as_ref().map(|_| PROPELLER);
    for line in directions::lines(aircraft, prediction.balance.cg_m) {
        out.push(Item {
            caution,
            ..item(
                format!("direction.{}", slug(line.stick)),
                Place::Home,
                format!("{}: every surface the right way", line.stick),
                format!("Seen from behind, switch on direct. {}: {}.", line.stick, line.answers()),
            )
        });
    }
    let steadies = aircraft.controller.switch.is_empty()
        || aircraft.controller.switch.iter().any(|p| p.acts != Acts::Direct);
    for line in directions::disturbances(aircraft, prediction.balance.cg_m).into_iter().filter(|_| steadies) {
        out.push(Item {
            caution,
            ..item(
                format!("direction.{}", slug(line.stick)),
                Place::Home,
                format!("{}: the controller answers against it", line.stick),
                format!(
                    "Switch on rate or level, stick at rest, model turned by hand. {}: {}.",
                    line.stick,
                    line.answers()
                ),
            )
        });
    }
}

pub(super) fn field(aircraft: &Aircraft) -> Vec<Item> {
    let place = Place::Field;
    let mut out = vec![
        item("assembly", place, "Put together whole", "Every bolt, pin, plug and band in its place; pull at wing and tail; nothing was hurt on the way."),
        Item {
            caution: aircraft.drive.as_ref().map(|_| "Nobody in the arc or the line of the propeller; model held fast."),
            ..item(
                "directions_again",
                place,
                "Surfaces the right way, once more",
                "Stick right, back, rudder right; then tilt the model: the same as at home. A plug can be swapped on the way.",
            )
        },
        Item {
            caution: Some("Motor off for the walk; model held by the helper."),
            expects: Expects::Between {
                low: 30.0,
                high: f64::INFINITY,
                unit: "m",
                from: "common practice with the reduced power that the radio has for it; its maker's number comes first".to_owned(),
                may_be_absent: false,
            },
            ..item(
                "control_range_m",
                place,
                "Range of control at reduced power",
                "Walk away with the transmitter in its range check until a surface twitches or stops; how far that was.",
            )
        },
        Item {
            expects: Expects::Between {
                low: 6.0,
                high: 100.0,
                unit: "",
                from: "common practice for a fix that holds".to_owned(),
                may_be_absent: true,
            },
            ..item(
                "satellites",
                place,
                "Satellites in the fix",
                "Wait until the position stands still and home is set where you stand; none if no receiver is fitted.",
            )
        },
    ];
    if let Some(limit) = aircraft.limits.distance_m {
        out.push(item(
            "area",
            place,
            "Room to fly",
            format!(
                "{} upwind and to each side over nobody; where to land if the motor stops, agreed.",
                number::exact(limit, "m")
            ),
        ));
    } else {
        out.push(item(
            "area",
            place,
            "Room to fly",
            "Open ground upwind and to each side over nobody; where to land if the motor stops, agreed.",
        ));
    }
    out
}

pub(super) fn launch(aircraft: &Aircraft) -> Vec<Item> {
    let place = Place::Launch;
    let mut out = Vec::new();
    if let Some(drive) = &aircraft.drive {
        let cells = f64::from(drive.pack.cells);
        out.push(Item {
            caution: Some("From now on the motor can start: throttle locked, nobody in the arc or the line of the propeller."),
            expects: Expects::Between {
                low: round2(FULL_CELL_V[0] * cells),
                high: round2(FULL_CELL_V[1] * cells),
                unit: "V",
                from: format!("{} full lithium cells at rest", drive.pack.cells),
                may_be_absent: false,
            },
            ..item("pack_voltage_v", place, "Pack voltage at rest", "Of the pack in the model, before the motor runs.")
        });
        out.push(Item {
            caution: Some("Model held down by the helper, nobody ahead of or beside the propeller."),
            ..item(
                "arming",
                place,
                "Motor armed on the pilot's word",
                "Unarmed: full throttle does nothing. Pilot says so, helper repeats, then it is armed; two seconds of full throttle, steady.",
            )
        });
    }
    out.push(item(
        "controls_free",
        place,
        "Controls free and the right way, last look",
        "Stick right, back, rudder right, all trims where they belong. Aloud, the helper looking.",
    ));
    let direct = aircraft.controller.switch.iter().find(|p| p.acts == Acts::Direct);
    out.push(item(
        "switch_drill",
        place,
        "Switch drill",
        direct.map_or(
            "Thumb finds the switch without looking: position for the launch, and back to direct.".to_owned(),
            |p| format!("Thumb finds the switch without looking: position for the launch, and back to \u{201c}{}\u{201d} (direct).", p.name),
        ),
    ));
    out.push(item(
        "recording",
        place,
        "Recording runs",
        "Started, and seen to write; clock or first movement noted.",
    ));
    out.push(item("people_clear", place, "Field and sky clear", "Nobody ahead, nobody under the first turn, no other aircraft near. Pilot, helper and card agree on the first point."));
    out
}

fn round2(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
