//! What does `eyas predict --json` print?

use aircraft::Known;
use aircraft::controller::Gains;
use motion::model::Derivatives;
use numerics::units::{DEG_PER_RAD, G_M_S2};
use predict::prediction::{NotPredicted, Outcome, Prediction};
use serde_json::{Value, json};

use super::{Object, authority, known, number, stalling};

/// Names of the axes in order, as keys.
pub(crate) const AXES: [&str; 3] = ["roll", "pitch", "yaw"];

/// The reason in a sentence.
pub(crate) fn why(reason: &NotPredicted) -> String {
    plan::names::reason(reason)
}

fn outcome_known(outcome: &Outcome<Known>, factor: f64) -> Result<Value, String> {
    outcome.as_ref().map(|k| known(*k, factor)).map_err(why)
}

fn outcome_number(outcome: &Outcome<f64>, factor: f64) -> Result<Value, String> {
    outcome.as_ref().map(|v| number(v * factor)).map_err(why)
}

fn outcome_range(outcome: &Outcome<[f64; 2]>) -> Result<Value, String> {
    outcome.as_ref().map(|[a, b]| json!([number(*a), number(*b)])).map_err(why)
}

/// The whole document.
pub(crate) fn document(name: &str, p: &Prediction) -> Value {
    json!({
        "aircraft": name,
        "air": {"density_kg_m3": number(p.density_kg_m3)},
        "mass": {"total_kg": known(p.balance.total_kg, 1.0), "inertia_kg_m2": inertia(p)},
        "balance": balance(p),
        "geometry": {
            "wing_area_m2": number(p.geometry.wing_area_m2),
            "mean_chord_m": number(p.geometry.mean_chord_m),
            "mean_chord_x_m": number(p.geometry.mean_chord_x_m),
            "span_m": number(p.geometry.span_m),
            "aspect_ratio": number(p.geometry.aspect_ratio),
            "wing_loading_kg_m2": number(p.geometry.wing_loading_kg_m2),
        },
        "lift": {
            "slope_per_rad": known(p.lift.slope_per_rad, 1.0),
            "cl_max": known(p.lift.cl_max, 1.0),
            "zero_lift_alpha_deg": number(p.lift.zero_lift_alpha_rad * DEG_PER_RAD),
        },
        "stalling": stalling::stalling(p),
        "speeds": speeds(p),
        "polar": {
            "span_efficiency": number(p.polar.span_efficiency),
            "best_glide_ratio": known(p.polar.best_glide_ratio, 1.0),
            "least_sink_m_s": known(p.polar.least_sink_m_s, 1.0),
            "rows": p.polar.rows.iter().map(|[v, cl, cd, sink, elevator]| json!({
                "airspeed_m_s": number(*v), "CL": number(*cl), "CD": number(*cd),
                "sink_m_s": number(*sink), "elevator_deg": number(elevator * DEG_PER_RAD),
            })).collect::<Vec<_>>(),
        },
        "derivatives": derivatives(&p.model.aerodynamics.derivatives),
        "control": control(p),
        "authority": authority::authority(p),
        "drive": drive(p),
        "modes": p.modes.iter().map(authority::mode).collect::<Vec<_>>(),
        "motions": authority::motions(&p.motions),
        "gains": gains(p),
        "doubts": authority::doubts(p),
        "against": p.against,
        "cautions": p.cautions,
        "panels": p.panels,
        "remarks": p.remarks,
    })
}

fn inertia(p: &Prediction) -> Value {
    let i = &p.balance.inertia_kg_m2;
    json!({
        "xx": number(i[(0, 0)]), "yy": number(i[(1, 1)]), "zz": number(i[(2, 2)]),
        "xy": number(-i[(0, 1)]), "xz": number(-i[(0, 2)]), "yz": number(-i[(1, 2)]),
    })
}

fn balance(p: &Prediction) -> Value {
    let mut o = Object::default();
    o.set("cg_x_m", known(p.balance.cg_x_m, 1.0));
    o.set("cg_z_m", number(p.balance.cg_m.z));
    o.set("neutral_point_x_m", known(p.stability.neutral_point_x_m, 1.0));
    o.set("static_margin_percent", known(p.stability.static_margin_percent, 1.0));
    o.set_or_why("range_x_m", outcome_range(&p.stability.range_x_m));
    o.set_or_why("first_flight_range_x_m", outcome_range(&p.stability.first_flight_range_x_m));
    o.set("limits", authority::limits(p));
    o.set("remarks", p.balance.remarks.clone());
    o.done()
}

fn speeds(p: &Prediction) -> Value {
    let s = &p.speeds;
    let mut o = Object::default();
    o.set("stall_m_s", known(s.stall_m_s, 1.0));
    for (bank, v) in [30, 45, 60].iter().zip(s.stall_banked_m_s) {
        o.set(&format!("stall_bank_{bank}_m_s"), number(v));
    }
    let flaps = p.stalling.as_ref().map_err(Clone::clone).and_then(|s| s.flaps.clone());
    o.set_or_why("stall_flaps_m_s", flaps.map(|f| known(f.stall_m_s, 1.0)).map_err(|reason| why(&reason)));
    o.set("least_sink_m_s", known(s.least_sink_m_s, 1.0));
    o.set("best_glide_m_s", known(s.best_glide_m_s, 1.0));
    o.set("cruise_m_s", known(s.cruise_m_s, 1.0));
    o.set_or_why("top_m_s", outcome_known(&s.top_m_s, 1.0));
    o.set("cruise_pitch_deg", known(s.cruise_pitch_rad, DEG_PER_RAD));
    o.set_or_why("cruise_elevator_deg", outcome_known(&s.cruise_elevator_rad, DEG_PER_RAD));
    o.done()
}

fn control(p: &Prediction) -> Value {
    let c = &p.control;
    let mut o = Object::default();
    o.set_or_why("roll_rate_deg_s", outcome_known(&c.roll_rate_rad_s, DEG_PER_RAD));
    o.set_or_why("roll_helix", outcome_number(&c.roll_helix, 1.0));
    o.set_or_why("time_to_bank_45_s", outcome_number(&c.time_to_bank_45_s, 1.0));
    o.set_or_why("roll_rate_deg_s_per_deg", outcome_number(&c.roll_rate_per_rad_s, 1.0));
    o.set_or_why("roll_time_constant_s", outcome_number(&c.roll_time_constant_s, 1.0));
    o.set_or_why("pitch_rate_deg_s_per_deg", outcome_number(&c.pitch_rate_per_rad_s, 1.0));
    o.set_or_why("elevator_left_at_stall_deg", outcome_number(&c.elevator_left_at_stall_rad, DEG_PER_RAD));
    for (axis, throw) in AXES.iter().zip(c.throws_rad) {
        o.set_or_why(
            &format!("{axis}_throw_deg"),
            throw.map(|t| number(t * DEG_PER_RAD)).ok_or_else(|| format!("no movable takes {axis} demand")),
        );
    }
    o.done()
}

fn drive(p: &Prediction) -> Value {
    let mut o = Object::default();
    match &p.drive {
        Ok(d) => {
            o.set("static_thrust_n", known(d.static_thrust_n, 1.0));
            o.set("static_pull_g", known(d.static_thrust_n, 1000.0 / G_M_S2));
            o.set("static_current_a", known(d.static_current_a, 1.0));
            o.set("static_rpm", known(d.static_rpm, 1.0));
            o.set("thrust_to_weight", known(d.thrust_to_weight, 1.0));
            o.set_or_why("cruise_current_a", outcome_known(&d.cruise_current_a, 1.0));
            o.set_or_why("cruise_throttle_percent", outcome_number(&d.cruise_throttle, 100.0));
            o.set_or_why("endurance_s", outcome_known(&d.endurance_s, 1.0));
            o.set_or_why("range_m", outcome_known(&d.range_m, 1.0));
            o.set_or_why("climb_m_s", outcome_known(&d.climb_m_s, 1.0));
            super::drive::more(&mut o, d);
        }
        Err(reason) => {
            for key in
                ["static_thrust_n", "static_current_a", "static_rpm", "thrust_to_weight", "endurance_s"]
            {
                o.set_or_why(key, Err(why(reason)));
            }
        }
    }
    o.done()
}

fn gains(p: &Prediction) -> Value {
    let mut o = Object::default();
    for (axis, outcome) in AXES.iter().zip(&p.gains) {
        o.set_or_why(axis, outcome.as_ref().map(one_gain).map_err(why));
    }
    o.done()
}

fn one_gain(g: &Gains) -> Value {
    json!({
        "feed_forward_deg_per_deg_s": number(g.feed_forward_s),
        "proportional_deg_per_deg_s": number(g.proportional_s),
        "integral_deg_per_deg": number(g.integral),
        "derivative_deg_per_deg_s2": number(g.derivative_s2),
    })
}

#[rustfmt::skip]
fn derivatives(d: &Derivatives) -> Value {
    let mut o = Object::default();
    for (name, value) in [
        ("CLa", d.CLa), ("CLq", d.CLq), ("CLde", d.CLde), ("CLdf", d.CLdf),
        ("CDde", d.CDde), ("CDdf", d.CDdf),
        ("Cma", d.Cma), ("Cmq", d.Cmq), ("Cm_alphadot", d.Cm_alphadot), ("Cmde", d.Cmde), ("Cmdf", d.Cmdf),
        ("CYb", d.CYb), ("CYp", d.CYp), ("CYr", d.CYr), ("CYda", d.CYda), ("CYdr", d.CYdr),
        ("Clb", d.Clb), ("Clp", d.Clp), ("Clr", d.Clr), ("Clda", d.Clda), ("Cldr", d.Cldr),
        ("Cnb", d.Cnb), ("Cnp", d.Cnp), ("Cnr", d.Cnr), ("Cnda", d.Cnda), ("Cndr", d.Cndr),
    ] {
        o.set(name, number(value));
    }
    o.done()
}
