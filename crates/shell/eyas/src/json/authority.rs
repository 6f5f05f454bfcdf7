//! What does `eyas predict --json` print of throws, limits, motions, doubts and lines to enter?

use numerics::units::DEG_PER_RAD;
use predict::motions::{Motions, figures};
use predict::prediction::{Mode, Prediction};
use predict::scale::Line;
use serde_json::{Value, json};

use super::prediction::why;
use super::{Object, known, number};

/// Throws, what they do, throws to begin with, loads of the servos.
pub(crate) fn authority(p: &Prediction) -> Value {
    let a = &p.authority;
    let mut answers = Object::default();
    for answer in &a.answers {
        answers.set_or_why(answer.key, answer.value.as_ref().map(|v| number(*v)).map_err(why));
    }
    json!({
        "throws": a.throws.iter().map(|r| json!({
            "movable": r.movable, "side": r.side, "demand": r.demand,
            "throw_percent": number(100.0 * r.share),
            "deflection_deg": number(r.deflection_rad * DEG_PER_RAD), "way": r.way,
            "edge_mm": number(1e3 * r.edge_m),
            "pulse_us": r.pulse_us.map(number),
            "travel_percent": r.travel_share.map(|s| number(100.0 * s)),
        })).collect::<Vec<_>>(),
        "mixing": a.mixing,
        "answers": answers.done(),
        "recommended": a.recommended.iter().map(|r| {
            let mut o = Object::default();
            o.set("axis", r.axis.word());
            o.set("when", r.when);
            o.set("criterion", r.criterion);
            o.set_or_why("throw_deg", r.throw_rad.as_ref().map(|t| number(t * DEG_PER_RAD)).map_err(why));
            o.set("of_present_percent", r.share.map(|s| number(100.0 * s)));
            o.set("surfaces", r.edges.iter().map(|(name, rad, m)| json!({
                "movable": name, "deflection_deg": number(rad * DEG_PER_RAD), "edge_mm": number(1e3 * m),
            })).collect::<Vec<_>>());
            o.done()
        }).collect::<Vec<_>>(),
        "servos": a.servos.iter().map(|s| json!({
            "movable": s.movable, "side": s.side, "speed_m_s": number(s.speed_m_s),
            "needed_n_cm": number(100.0 * s.torque_nm),
            "stated_n_cm": s.stated_nm.map(|t| number(100.0 * t)),
            "sentence": s.sentence,
        })).collect::<Vec<_>>(),
    })
}

/// Limits of the balance point.
pub(crate) fn limits(p: &Prediction) -> Value {
    p.balance_limits
        .iter()
        .map(|limit| {
            let mut o = Object::default();
            o.set("name", limit.name);
            o.set_or_why("x_m", limit.x_m.as_ref().map(|x| known(*x, 1.0)).map_err(why));
            o.set("sentence", limit.sentence.clone());
            o.done()
        })
        .collect()
}

/// One motion.
pub(crate) fn mode(m: &Mode) -> Value {
    json!({
        "name": m.name,
        "frequency_rad_s": m.frequency_rad_s.map(number),
        "damping": m.damping.map(number),
        "time_constant_s": number(m.time_constant_s),
        "sentence": m.sentence,
    })
}

/// Motions at three balance points, with power and without.
pub(crate) fn motions(rows: &[Motions]) -> Value {
    rows.iter()
        .map(|row| {
            json!({
                "power": row.power, "place": row.place,
                "balance_x_m": number(row.balance_x_m),
                "static_margin_percent": number(row.static_margin_percent),
                "modes": row.modes.iter().map(|m| {
                    let mut value = mode(m);
                    value["figures"] = figures(m).into();
                    value
                }).collect::<Vec<_>>(),
            })
        })
        .collect()
}

/// What the doubts come from.
pub(crate) fn doubts(p: &Prediction) -> Value {
    p.doubts
        .iter()
        .map(|d| {
            let one = |i: &predict::doubts::Influence| json!({"input": i.input.word(), "sd": number(i.sd)});
            json!({
                "output": d.output, "unit": d.unit, "value": number(d.value), "sd": number(d.sd),
                "first": one(&d.first), "second": d.second.as_ref().map(one), "sentence": d.sentence,
            })
        })
        .collect()
}

/// Lines to enter.
pub(crate) fn lines(lines: &[Line]) -> Value {
    lines
        .iter()
        .map(|line| {
            let mut o = Object::default();
            o.set("quantity", line.quantity.clone());
            o.set("name", line.name.clone());
            o.set("unit", line.unit.clone());
            o.set_or_why("value", line.value.clone().map(number));
            o.done()
        })
        .collect()
}
