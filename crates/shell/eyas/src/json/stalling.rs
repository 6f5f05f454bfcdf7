//! What does `eyas predict --json` print of lift through the stall and of trimmed flight?

use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;
use predict::stalling::{Curve, Trimmed};
use serde_json::{Map, Value, json};

use super::prediction::why;
use super::{Object, known, number};

/// Lift curves, first stall, trimmed polar, load along the span, effectiveness; or why there are none.
pub(crate) fn stalling(p: &Prediction) -> Value {
    let s = match &p.stalling {
        Ok(s) => s,
        Err(reason) => return json!({"model": "simple section model", "why": why(reason)}),
    };
    let mut o = Object::default();
    o.set("model", "lattice coupled to computed sections");
    o.set("clean", curve(&s.clean));
    o.set_or_why("flaps", s.flaps.as_ref().map(curve).map_err(why));
    o.set("level_flight", s.level.iter().map(trimmed).collect::<Vec<_>>());
    o.set(
        "loading",
        s.loading
            .iter()
            .map(|l| {
                json!({
                    "surface": l.surface, "half_span_share": number(l.half_span_share), "CL": number(l.cl),
                    "CL_limit": l.cl_limit.map(number),
                })
            })
            .collect::<Vec<_>>(),
    );
    let effect: Map<String, Value> = s
        .effectiveness
        .iter()
        .map(|(name, share)| (name.clone(), share.map_or(Value::Null, number)))
        .collect();
    o.set("effectiveness", effect);
    o.done()
}

fn curve(c: &Curve) -> Value {
    json!({
        "cl_max": known(c.cl_max, 1.0),
        "stall_m_s": known(c.stall_m_s, 1.0),
        "flap_deg": number(c.flap_rad * DEG_PER_RAD),
        "alpha_deg": number(c.alpha_at_max_rad * DEG_PER_RAD),
        "elevator_deg": number(c.elevator_at_max_rad * DEG_PER_RAD),
        "elevator_to_spare": c.elevator_to_spare,
        "first_stall": c.first.as_ref().map(|f| json!({
            "surface": f.surface, "along_m": number(f.along_m), "half_span_share": number(f.half_span_share),
            "section_CL": number(f.section_lift), "alpha_deg": number(f.alpha_rad * DEG_PER_RAD),
            "at_aileron": c.starts_at_aileron,
        })),
        "stalled_percent": number(100.0 * c.stalled_share),
        "aileron_stalled_percent": c.aileron_share.map(|s| number(100.0 * s)),
        "rows": c.rows.iter().map(trimmed).collect::<Vec<_>>(),
    })
}

fn trimmed(r: &Trimmed) -> Value {
    json!({
        "airspeed_m_s": number(r.speed_m_s), "alpha_deg": number(r.alpha_rad * DEG_PER_RAD), "CL": number(r.cl),
        "CD": number(r.cd), "CD_induced": number(r.cd_induced), "elevator_deg": number(r.elevator_rad * DEG_PER_RAD),
    })
}
