//! What does `eyas predict --json` print of the drive at work: limits, climb, pack, the way home, the slipstream?

use numerics::units::DEG_PER_RAD;
use predict::drive::slipstream::{Slipstream, Wash};
use predict::prediction::{DrivePrediction, NotPredicted, Outcome};
use serde_json::{Value, json};

use super::prediction::why;
use super::{Object, known, number};

fn or_why<T>(outcome: &Outcome<T>, shape: impl Fn(&T) -> Value) -> Result<Value, String> {
    outcome.as_ref().map(shape).map_err(|reason: &NotPredicted| why(reason))
}

/// Adds the fields to those of the drive.
pub(crate) fn more(o: &mut Object, d: &DrivePrediction) {
    o.set("static_voltage_v", number(d.static_voltage_v));
    o.set_or_why("climb_deg", or_why(&d.climb_rad, |k| known(*k, DEG_PER_RAD)));
    o.set(
        "loads",
        d.loads
            .iter()
            .map(|l| {
                json!({
                    "part": l.part.word(),
                    "current_a": number(l.current_a),
                    "limit_a": number(l.limit_a),
                    "throttle_at_limit_percent": number(l.throttle * 100.0),
                })
            })
            .collect::<Vec<_>>(),
    );
    o.set_or_why(
        "envelope",
        or_why(&d.envelope, |rows| {
            rows.iter()
                .map(|r| {
                    json!({
                        "airspeed_m_s": number(r.speed_m_s),
                        "throttle_percent": r.throttle.map(|t| number(t * 100.0)),
                        "current_a": r.current_a.map(number),
                        "power_w": r.power_w.map(number),
                        "climb_m_s": number(r.climb_m_s),
                        "climb_deg": number(r.climb_rad * DEG_PER_RAD),
                    })
                })
                .collect()
        }),
    );
    o.set_or_why(
        "discharge",
        or_why(&d.discharge, |rows| {
            rows.iter()
                .map(|r| {
                    json!({
                        "time_s": number(r.time_s),
                        "charge_percent": number(r.charge * 100.0),
                        "voltage_v": number(r.volts),
                        "current_a": number(r.current_a),
                    })
                })
                .collect()
        }),
    );
    o.set_or_why(
        "home",
        or_why(&d.home, |h| {
            json!({
                "throttle_percent": number(h.throttle * 100.0),
                "airspeed_m_s": number(h.airspeed_m_s),
                "sink_m_s": number(h.sink_m_s),
                "height_m": number(h.height_m),
                "time_s": number(h.time_s),
                "ends_by": h.ends.word(),
                "rows": h.rows.iter().map(|[wind, distance]| json!({
                    "wind_m_s": number(*wind), "distance_m": number(*distance),
                })).collect::<Vec<_>>(),
            })
        }),
    );
    o.set_or_why("slipstream", or_why(&d.slipstream, slipstream));
}

fn slipstream(s: &Slipstream) -> Value {
    json!({
        "cruise": wash(&s.cruise),
        "slow": wash(&s.slow),
        "neutral_point_power_on_x_m": number(s.neutral_point_x_m),
        "shift_by_tail_m": number(s.by_tail_m),
        "shift_by_propeller_m": number(s.by_propeller_m),
    })
}

fn wash(w: &Wash) -> Value {
    json!({
        "airspeed_m_s": number(w.airspeed_m_s),
        "throttle_percent": number(w.throttle * 100.0),
        "thrust_n": number(w.thrust_n),
        "added_m_s": number(w.added_m_s),
        "horizontal_share": w.horizontal_share.map(number),
        "vertical_share": w.vertical_share.map(number),
        "horizontal_pressure": w.horizontal_pressure.map(number),
        "vertical_pressure": w.vertical_pressure.map(number),
        "elevator_factor": w.elevator_factor.map(number),
        "rudder_factor": w.rudder_factor.map(number),
    })
}
