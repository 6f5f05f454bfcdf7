//! What stands against a flight? What forbids it as described, and what is not sure enough, each with number and limit.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::surface::{Role, Surface};
use numerics::units::DEG_PER_RAD;
use numerics::words::{exact, fixed, with_doubt};

use crate::prediction::{NotPredicted, Outcome, Prediction};

/// Static thrust over weight below which a hand launch has little to spare (common practice, no source).
pub const LEAST_THRUST_TO_WEIGHT: f64 = 0.5;
/// Top speed over stall speed below which there is hardly a speed to fly at (common practice, no source).
pub const LEAST_TOP_OVER_STALL: f64 = 1.3;

fn known(value: aircraft::Known, factor: f64, unit: &str) -> String {
    with_doubt(value.value * factor, value.sd * factor, unit)
}

/// What forbids a flight of the aircraft as described; the gravest first. Empty where nothing does.
#[must_use]
pub fn against(aircraft: &Aircraft, p: &Prediction) -> Vec<String> {
    let mut found = Vec::new();
    let s = &p.stability;
    let behind_m = p.balance.cg_x_m.value - s.neutral_point_x_m.value;
    if behind_m > 0.0 {
        found.push(format!(
            "The balance point lies {} mm behind the neutral point (static margin {} %): the nose runs away from where it points. Move the balance point forward by at least {} mm before any flight.",
            fixed(behind_m * 1e3, 0),
            fixed(s.static_margin_percent.value, 0),
            fixed((behind_m + crate::balance_range::FIRST_FLIGHT_MARGIN[0] * p.geometry.mean_chord_m) * 1e3, 0)
        ));
    }
    found.extend(crossing(aircraft));
    if let Err(NotPredicted::NoSolution { why }) = &s.range_x_m {
        found.push(format!("There is no balance point at which it can be flown: {why}."));
    }
    let stall = p.speeds.stall_m_s;
    match &p.speeds.top_m_s {
        Ok(top) if top.value <= stall.value => found.push(format!(
            "It stalls at {}, above its top speed of {}: the drive cannot keep it in the air. More pull, a larger wing or less mass.",
            known(stall, 1.0, "m/s"),
            known(*top, 1.0, "m/s")
        )),
        Err(NotPredicted::NoSolution { why }) => found.push(format!(
            "Thrust is below drag: {why}. It cannot hold level flight; more pull, less drag or less mass."
        )),
        _ => {}
    }
    if let Some(limit) = aircraft.limits.never_exceed_m_s
        && limit <= stall.value
    {
        found.push(format!(
            "It stalls at {}, above the never-exceed speed of {}.",
            known(stall, 1.0, "m/s"),
            exact(limit, "m/s")
        ));
    }
    if p.speeds.cruise_m_s.value <= stall.value {
        found.push(format!(
            "The stated cruise of {} is not above the stall speed of {}: fly faster, or carry less.",
            exact(p.speeds.cruise_m_s.value, "m/s"),
            known(stall, 1.0, "m/s")
        ));
    }
    if let Err(NotPredicted::NoSolution { why }) = &p.speeds.cruise_elevator_rad {
        found.push(format!("The elevator cannot trim it: {why}."));
    }
    let [roll, _, yaw] = p.control.throws_rad;
    if roll.is_none() && yaw.is_none() {
        found.push("Nothing turns it: no movable answers roll or yaw.".to_owned());
    }
    if p.control.throws_rad[1].is_none() {
        found.push("Nothing pitches it: no movable answers pitch.".to_owned());
    }
    if p.model.aerodynamics.derivatives.Cnb <= 0.0 {
        found.push(
            "It does not turn its nose into the wind (weathercock stability is negative): more fin, or a longer tail."
                .to_owned(),
        );
    }
    if let Err(NotPredicted::NoSolution { why }) = &p.drive {
        found.push(format!("The drive does not work as described: {why}."));
    }
    found
}

/// Wing, tailplane, V-tail or foreplane that run through each other: a slip in the places of the stations.
fn crossing(aircraft: &Aircraft) -> Vec<String> {
    const PIECES: u32 = 24;
    // Along the span: y, z, leading edge, trailing edge.
    let level: Vec<(&Surface, Vec<(f64, f64, f64, f64)>)> = aircraft
        .surfaces
        .iter()
        .filter(|s| s.role != Role::Fin)
        .map(|surface| {
            let from = surface.stations.first().map_or(0.0, |s| s.along_m);
            let pieces = (0..=PIECES).map(|i| {
                let along = from + surface.length_m() * f64::from(i) / f64::from(PIECES);
                let edge = surface.leading_edge_at(along);
                (edge.y, edge.z, edge.x, edge.x + surface.chord_at(along))
            });
            (surface, pieces.collect())
        })
        .collect();
    let mut found = Vec::new();
    for (i, (one, here)) in level.iter().enumerate() {
        for (other, there) in level.iter().skip(i + 1) {
            let touches = here.iter().any(|(y, z, front, back)| {
                let apart = 0.5 * other.length_m().max(one.length_m()) / f64::from(PIECES);
                there.iter().any(|(v, w, ahead, behind)| {
                    (y - v).abs() <= apart
                        && (z - w).abs() < 0.05 * (back - front)
                        && front < behind
                        && ahead < back
                })
            });
            if touches {
                found.push(format!(
                    "The surfaces \"{}\" and \"{}\" run through each other as described: check x and z of their stations.",
                    one.name, other.name
                ));
            }
        }
    }
    found
}

/// What is not sure enough, or leaves little to spare; it does not forbid a flight by itself.
#[must_use]
pub fn cautions(aircraft: &Aircraft, p: &Prediction) -> Vec<String> {
    let mut out = Vec::new();
    let margin = p.stability.static_margin_percent;
    if margin.value > 0.0 && margin.value - 2.0 * margin.sd <= 0.0 {
        out.push(format!(
            "It is not shown to be stable: the static margin is {}, which may be below zero.",
            known(margin, 1.0, "percent")
        ));
    }
    for (name, range) in [
        ("the range", &p.stability.range_x_m),
        ("the range for a first flight", &p.stability.first_flight_range_x_m),
    ] {
        balance_caution(name, range, p, &mut out);
    }
    let with_power = p.balance_limits.iter().find(|l| l.name == "aft, power on").map(|l| &l.x_m);
    if let (Some(Ok(aft)), Ok([_, without])) = (with_power, &p.stability.range_x_m)
        && aft.value < *without
        && p.balance.cg_x_m.value + 2.0 * p.balance.cg_x_m.sd > aft.value
    {
        out.push(format!(
            "With power the aft limit lies further forward, at {}: the balance point, {}, is not surely ahead of it.",
            known(*aft, 1000.0, "mm"),
            known(p.balance.cg_x_m, 1000.0, "mm")
        ));
    }
    if let Ok(drive) = &p.drive {
        if drive.thrust_to_weight.value < LEAST_THRUST_TO_WEIGHT {
            out.push(format!(
                "Static thrust is {} of the weight; a hand launch or a short strip has little to spare below half.",
                known(drive.thrust_to_weight, 1.0, "")
            ));
        }
        if let Some(motor) = aircraft.drive.as_ref() {
            let current = drive.static_current_a;
            for (what, limit) in [
                ("motor", motor.motor.limit_a),
                ("speed controller", motor.speed_controller_limit_a),
                ("pack", motor.pack.limit_a),
            ] {
                // The pack's current is shared by the motors and their speed controllers.
                let share = if what == "pack" { 1.0 } else { motor.hubs_m.len().max(1) as f64 };
                if let Some(limit) = limit.filter(|l| (current.value + 2.0 * current.sd) / share > *l) {
                    out.push(format!(
                        "Full throttle draws {}, which may pass the {what}'s limit of {}.",
                        with_doubt(current.value / share, current.sd / share, "A"),
                        exact(limit, "A")
                    ));
                }
            }
        }
    }
    if let Ok(top) = &p.speeds.top_m_s {
        let stall = p.speeds.stall_m_s;
        if top.value > stall.value && top.value < LEAST_TOP_OVER_STALL * stall.value {
            out.push(format!(
                "The top speed, {}, is less than {LEAST_TOP_OVER_STALL} times the stall speed, {}: a turn or a gust may stall it.",
                known(*top, 1.0, "m/s"),
                known(stall, 1.0, "m/s")
            ));
        }
        if let Some(limit) = aircraft.limits.never_exceed_m_s.filter(|l| top.value + 2.0 * top.sd > *l) {
            out.push(format!(
                "Level flight at full throttle reaches {}; the limit is {}.",
                known(*top, 1.0, "m/s"),
                exact(limit, "m/s")
            ));
        }
    }
    if let Ok(left) = &p.control.elevator_left_at_stall_rad
        && *left < 0.0
    {
        // In the degrees that a gauge on the surface itself reads.
        let (name, share) = aircraft
            .movables
            .iter()
            .map(|m| (m.name.as_str(), panel_gain(aircraft, m, Axis::Pitch, false).abs()))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or(("elevator", 1.0));
        out.push(format!(
            "The {name} runs out before the stall, by {}: it may not flare.",
            exact(-left * share * DEG_PER_RAD, "deg")
        ));
    }
    for servo in &p.authority.servos {
        if servo.stated_nm.is_some_and(|stated| stated < crate::hinge::ENOUGH * servo.torque_nm) {
            out.push(servo.sentence.clone());
        }
    }
    out
}

fn balance_caution(name: &str, range: &Outcome<[f64; 2]>, p: &Prediction, out: &mut Vec<String>) {
    let cg = p.balance.cg_x_m;
    match range {
        Ok([forward, aft]) => {
            let (low, high) = (cg.value - 2.0 * cg.sd, cg.value + 2.0 * cg.sd);
            if low < *forward || high > *aft {
                let lies = if high < *forward || low > *aft {
                    "lies outside"
                } else if cg.value < *forward || cg.value > *aft {
                    "lies, as far as is known, outside"
                } else {
                    "is not surely inside"
                };
                out.push(format!(
                    "The balance point, {}, {lies} {name}, {} to {} mm.",
                    known(cg, 1000.0, "mm"),
                    fixed(forward * 1000.0, 0),
                    fixed(aft * 1000.0, 0)
                ));
            }
        }
        Err(NotPredicted::Missing { what }) => {
            out.push(format!(
                "Whether it balances inside {name} is unknown: the aircraft file lacks {what}."
            ));
        }
        Err(NotPredicted::NoSolution { why }) => {
            out.push(format!("It has no balance point inside {name}: {why}."));
        }
    }
}
