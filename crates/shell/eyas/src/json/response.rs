//! What do findings say of answers to the stick, gains, feel, derivatives, shaking and loops that swing?

use learn::derivatives::{Derivatives, Group};
use learn::feel::Feel;
use learn::findings::Learnt;
use learn::gains::MeasuredGains;
use learn::handling::Handling;
use learn::oscillation::Oscillations;
use learn::response::Response;
use learn::vibration::Vibration;
use serde_json::{Value, json};

use super::findings::{estimate, why, windows};
use super::prediction::AXES;
use super::{Object, number};

/// Writes everything of it into the document.
pub(super) fn write(o: &mut Object, h: &Handling) {
    o.set("response", by_axis(&h.response, response));
    o.set("gains", by_axis(&h.gains, gains));
    o.set("feel", by_axis(&h.feel, feel));
    o.set_or_why("derivatives", h.derivatives.as_ref().map(derivatives).map_err(why));
    o.set_or_why("vibration", h.vibration.as_ref().map(vibration).map_err(why));
    o.set_or_why("oscillation", h.oscillation.as_ref().map(oscillation).map_err(why));
}

fn by_axis<T>(list: &[Learnt<T>; 3], f: impl Fn(&T) -> Value) -> Value {
    let mut o = Object::default();
    for (axis, learnt) in AXES.iter().zip(list) {
        o.set_or_why(axis, learnt.as_ref().map(&f).map_err(why));
    }
    o.done()
}

fn response(r: &Response) -> Value {
    json!({
        "gain_deg_s_per_deg": estimate(&r.gain_deg_s_per_deg),
        "gain_deg_s_per_percent": r.gain_deg_s_per_percent.as_ref().map(estimate),
        "time_constant_s": estimate(&r.time_constant_s),
        "delay_s": estimate(&r.delay_s),
        "reference_speed_m_s": number(r.reference_speed_m_s),
        "speed_known": r.speed_known,
        "servo_lag_s": number(r.servo_s),
        "inputs": r.inputs,
        "good_inputs": r.good,
        "strokes": r.strokes,
        "explained_percent": number(100.0 * r.explained),
        "residual_deg_s": number(r.residual_deg_s),
        "enough": r.gain_deg_s_per_deg.enough,
    })
}

fn gains(g: &MeasuredGains) -> Value {
    json!({
        "feed_forward_s": estimate(&g.feed_forward_s),
        "proportional_s": estimate(&g.proportional_s),
        "integral": estimate(&g.integral),
        "largest_rate_deg_s": estimate(&g.largest_rate_deg_s),
        "servo_lag_s": number(g.lags.servo_s),
        "loop_delay_s": number(g.lags.delay_s),
        "reference_speed_m_s": number(g.reference_speed_m_s),
        "enough": g.proportional_s.enough,
    })
}

fn feel(f: &Feel) -> Value {
    let points: Vec<Value> = f
        .points
        .iter()
        .map(|p| {
            json!({
                "frequency_rad_s": number(p.frequency_rad_s),
                "direct_db": number(p.direct[0]),
                "direct_deg": number(p.direct[1]),
                "stabilized_db": number(p.stabilized[0]),
                "stabilized_deg": number(p.stabilized[1]),
                "coherence_direct": number(p.coherence[0]),
                "coherence_stabilized": number(p.coherence[1]),
                "added_db": number(p.added[0]),
                "added_deg": number(p.added[1]),
                "counts": p.counts,
            })
        })
        .collect();
    json!({
        "compared_with": f.control.word(),
        "outside_db": number(f.outside_db),
        "outside_deg": number(f.outside_deg),
        "inputs_direct": f.inputs[0],
        "inputs_stabilized": f.inputs[1],
        "enough": f.enough,
        "verdict": f.verdict,
        "windows_s": windows(&f.evidence),
        "frequencies": points,
    })
}

fn derivatives(d: &Derivatives) -> Value {
    let mut o = Object::default();
    for (name, group) in [("longitudinal", &d.longitudinal), ("lateral", &d.lateral)] {
        if let Err(reason) = group {
            o.set_or_why(name, Err(why(reason)));
        }
    }
    for one in d.all() {
        let mut value = estimate(&one.finding);
        if let Value::Object(fields) = &mut value {
            fields.insert("white_sd".into(), number(one.white_sd));
            fields.insert("equation_error".into(), one.equation_error.map_or(Value::Null, number));
            fields.insert("predicted".into(), number(one.predicted));
        }
        o.set(one.symbol, value);
    }
    let held = |g: &Learnt<Group>| g.as_ref().ok().map(|g| (g.mass_kg, g.airspeed_m_s));
    if let Some((mass_kg, airspeed_m_s)) = held(&d.longitudinal).or_else(|| held(&d.lateral)) {
        o.set("mass_kg", number(mass_kg));
        o.set("airspeed_m_s", number(airspeed_m_s));
    }
    o.done()
}

fn vibration(v: &Vibration) -> Value {
    let bands: Vec<Value> = v
        .bands
        .iter()
        .map(|b| {
            let lines: Vec<Value> = b
                .lines
                .iter()
                .map(|l| {
                    json!({
                        "frequency_hz": number(l.frequency_hz),
                        "amplitude_m_s2": number(l.amplitude_m_s2),
                        "order": l.cause.map(|c| c.order),
                        "blades": l.cause.map(|c| c.blades),
                        "true_frequency_hz": l.cause.map(|c| number(c.true_hz)),
                        "folded": l.cause.map(|c| c.folded),
                    })
                })
                .collect();
            json!({
                "throttle_from_percent": number(100.0 * b.throttle[0]),
                "throttle_to_percent": number(100.0 * b.throttle[1]),
                "seconds_s": number(b.seconds),
                "speed_rpm": b.rpm.map(|r| number(r[0])),
                "rms_x_m_s2": number(b.rms_m_s2[0]),
                "rms_y_m_s2": number(b.rms_m_s2[1]),
                "rms_z_m_s2": number(b.rms_m_s2[2]),
                "relative_sd": number(b.relative_sd),
                "lines": lines,
                "windows_s": windows(&b.evidence),
            })
        })
        .collect();
    json!({
        "rate_hz": number(v.rate_hz),
        "bands": bands,
        "enough": v.enough,
        "verdict": v.verdict,
    })
}

fn oscillation(found: &Oscillations) -> Value {
    let list: Vec<Value> = found
        .found
        .iter()
        .map(|o| {
            json!({
                "axis": o.axis.word(),
                "acts": o.control.word(),
                "gain": o.gain.word(),
                "frequency_hz": number(o.frequency_hz),
                "amplitude_deg_s": number(o.amplitude_deg_s),
                "growth_per_s": json!({
                    "value": number(o.growth_per_s),
                    "sd": number(o.growth_sd_per_s),
                    "from": "flown",
                }),
                "loop_gain_s": number(o.loop_gain_s),
                "over_limit_db": o.over_limit_db.map(number),
                "windows_s": windows(&[o.window]),
                "verdict": o.verdict,
            })
        })
        .collect();
    json!({
        "found": list,
        "watched_s": number(found.watched_s),
        "enough": found.enough,
        "verdict": found.verdict,
    })
}

#[cfg(test)]
mod tests {
    use learn::findings::NotLearnt;

    use super::*;

    #[test]
    fn what_was_not_found_is_null_with_its_reason_under_the_same_key() {
        let mut o = Object::default();
        write(&mut o, &Handling::none(&NotLearnt::NotExcited { why: "the roll stick was not moved".into() }));
        let document = o.done();
        for key in ["response", "gains", "feel"] {
            for axis in AXES {
                assert_eq!(document[key][axis], Value::Null);
                assert_eq!(document[key]["why"][axis], "the roll stick was not moved");
            }
        }
        for key in ["derivatives", "vibration", "oscillation"] {
            assert_eq!(document[key], Value::Null);
            assert_eq!(document["why"][key], "the roll stick was not moved");
        }
    }
}
