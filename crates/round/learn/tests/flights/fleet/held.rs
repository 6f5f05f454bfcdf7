//! Each finding of a flight against what was so.

use aircraft::finding::Finding;
use motion::forces::Prepared;
use motion::model::ForceModel;
use motion::trim::{self, Hold};
use numerics::frames::wrap_rad;
use numerics::units::{DEG_PER_RAD, G_M_S2, RAD_PER_DEG};
use sky::atmosphere::SEA_LEVEL_DENSITY_KG_M3;

use super::{Flown, Kind};

/// One number held against its truth.
pub(crate) struct Held {
    pub(crate) what: &'static str,
    pub(crate) error: f64,
    pub(crate) sd: f64,
    pub(crate) enough: bool,
    pub(crate) seed: u64,
}

/// What must be declined on one heading without a stick moved on purpose.
pub(crate) const DECLINED: [&str; 3] =
    ["one heading: wind without sensor", "one heading: level attitude", "no input: response"];

/// Every finding of a flight against its truth.
pub(crate) fn hold(flown: &Flown) -> Vec<Held> {
    let mut held = Vec::new();
    let truth = &flown.flight.truth;
    let found = &flown.found;
    let mut add = |what, finding: &Finding, error: f64| {
        held.push(Held { what, error, sd: finding.sd, enough: finding.enough, seed: truth.seed });
    };
    if let Ok(wind) = &found.wind {
        // The truth is told at the mean height of legs and turns, the finding at the median height of what it used;
        // between them lies the script's logarithmic profile.
        let height = wind.height_m.unwrap_or(truth.flying_height_m);
        let so = flown.script.wind.speed_at(height);
        add("wind speed, m/s", &wind.speed_m_s, wind.speed_m_s.value - so);
        if so > 1.0 {
            let off = wrap_rad(wind.from_deg.value * RAD_PER_DEG - truth.wind_from_rad) * DEG_PER_RAD;
            add("wind direction, deg", &wind.from_deg, off);
        }
        if let Some(factor) = &wind.airspeed_factor {
            add("airspeed factor", factor, factor.value - 1.0 / truth.airspeed_factor);
        }
    }
    if let Some(f) = estimate(flown, "wind_over_height", "at_10_m_m_s") {
        add("wind at 10 m, m/s", f, f.value - flown.script.wind.speed_at(10.0));
    }
    if let Some(f) = estimate(flown, "wind_over_height", "per_doubling_m_s") {
        let so = flown.script.wind.speed_at(80.0) - flown.script.wind.speed_at(40.0);
        add("wind growth, m/s", f, f.value - so);
    }
    if let Some(f) = estimate(flown, "airspeed_sensor", "scale") {
        add("sensor scale", f, f.value - 1.0 / truth.airspeed_factor);
    }
    if let Some(f) = estimate(flown, "airspeed_sensor", "offset_m_s") {
        add("sensor offset, m/s", f, f.value);
    }
    if let Ok(level) = &found.level_attitude {
        let so = truth.level_correction_rad * DEG_PER_RAD;
        add("level attitude, deg", &level.correction_deg, level.correction_deg.value - so);
    }
    for trim in found.trims.iter().flatten() {
        let so = truth.trims.iter().find(|t| t.channel == trim.channel).unwrap();
        add("trims, us", &trim.us, trim.us.value - so.us_from_centre);
    }
    for (what, finding, error) in air(flown).into_iter().chain(handling(flown)).chain(derivatives(flown)) {
        add(what, &finding, error);
    }
    if flown.kind == Kind::OneHeading {
        let mut must_not = |what, claims: bool| {
            held.push(Held { what, error: 0.0, sd: 1.0, enough: claims, seed: truth.seed });
        };
        if !flown.script.sensors.airspeed {
            let claims = found.wind.as_ref().is_ok_and(|w| w.speed_m_s.enough);
            must_not(DECLINED[0], claims);
        }
        must_not(DECLINED[1], found.level_attitude.as_ref().is_ok_and(|l| l.correction_deg.enough));
        let responds = found.handling.response.iter().flatten().any(|r| r.gain_deg_s_per_deg.enough);
        must_not(DECLINED[2], responds);
    }
    held
}

/// Stall, glide, factors, drive.
fn air(flown: &Flown) -> Vec<(&'static str, Finding, f64)> {
    let truth = &flown.flight.truth;
    let mut told = Vec::new();
    let mut share = |what, f: &Finding, so: f64| told.push((what, shared(f, so), f.value / so - 1.0));
    let density = truth.density_kg_m3;
    if let Some(f) = estimate(flown, "stall", "speed_m_s") {
        share("stall, share", f, truth.stall_m_s * (density / SEA_LEVEL_DENSITY_KG_M3).sqrt());
    }
    let model = true_model(flown);
    if let (Some(f), Some(ratio)) =
        (estimate(flown, "polar", "sink_m_s"), estimate(flown, "polar", "glide_ratio"))
    {
        let speed = ratio.value * f.value;
        // The drive at no throttle pulls or brakes as the nearest edge of its table says, as in the simulated flight.
        let mut bare = model.clone();
        let pull_n = bare.thrust.take().map_or(0.0, |t| t.nearest(0.0, speed).thrust_n);
        let body = Prepared::new(&bare).unwrap();
        if let Ok(glide) = trim::straight(&body, speed, Hold::Throttle(0.0), density) {
            share(
                "sink, share",
                f,
                glide.state.velocity_ned_m_s().z - speed * pull_n / (model.mass_kg * G_M_S2),
            );
        }
    }
    let hidden = &flown.script.hidden;
    for (what, key, so) in [
        ("drag factor", "drag_factor", hidden.drag_factor),
        ("thrust factor", "thrust_factor", hidden.thrust_factor),
        ("lift factor", "lift_factor", hidden.lift_factor),
        ("roll control factor", "roll_factor", hidden.control_factor[0]),
        ("pitch control factor", "pitch_factor", hidden.control_factor[1]),
        ("yaw control factor", "yaw_factor", hidden.control_factor[2]),
    ] {
        if let Some(f) = estimate(flown, "factors", key) {
            share(what, f, so);
        }
    }
    if let (Some(f), Some(so)) = (estimate(flown, "battery", "resistance_ohm"), truth.pack_resistance_ohm) {
        share("pack resistance, share", f, so);
    }
    if let Some(f) = estimate(flown, "power", "level_a") {
        let thrust = model.thrust.as_ref().unwrap();
        share(
            "level current, share",
            f,
            thrust.at(truth.level_throttle, truth.reference_speed_m_s).unwrap().current_a,
        );
    }
    told
}

/// Names of the answers to the sticks, by axis.
const ANSWERS: [[&str; 4]; 3] = [
    ["roll gain, share", "roll time constant, share", "roll delay, s", "roll feed-forward, share"],
    ["pitch gain, share", "pitch time constant, share", "pitch delay, s", "pitch feed-forward, share"],
    ["yaw gain, share", "yaw time constant, share", "yaw delay, s", "yaw feed-forward, share"],
];

/// Answers to the sticks.
fn handling(flown: &Flown) -> Vec<(&'static str, Finding, f64)> {
    let truth = &flown.flight.truth;
    let mut told = Vec::new();
    // The simulation logs a pulse one step of its integration late (it writes before it moves the servos), of which a straight
    // line between samples takes half; and the surface is held through a step at what it reaches at its end, half a step
    // ahead. Together one step less than the delay that was set.
    let delay_s = truth.delay_s - 1.0 / flown.script.integrate_hz;
    for (axis, names) in ANSWERS.iter().enumerate() {
        let (gain, time) = if axis == 1 {
            pitch_at_constant_airspeed(flown)
        } else {
            (truth.rate_per_rad_s[axis], truth.time_constant_s[axis])
        };
        if let Ok(r) = &flown.found.handling.response[axis] {
            let f = &r.gain_deg_s_per_deg;
            told.push((names[0], shared(f, gain), f.value / gain - 1.0));
            let f = &r.time_constant_s;
            told.push((names[1], shared(f, time), f.value / time - 1.0));
            told.push((names[2], r.delay_s.clone(), r.delay_s.value - delay_s));
        }
        // In yaw the feed-forward is that of the turn that the slip leaves, not of the steady rate.
        if axis < 2
            && let Ok(g) = &flown.found.handling.gains[axis]
        {
            let f = &g.feed_forward_s;
            told.push((names[3], shared(f, 1.0 / gain), f.value * gain - 1.0));
        }
    }
    told
}

/// Steady pitch rate by elevator (1/s) and the decay of the fast swing (s), at constant airspeed, from the equations
/// themselves about level flight: with `Δw = V cos α Δα`, `Δu = -V sin α Δα` and `α' = (w' cos α - u' sin α)/V`. (At constant
/// forward velocity u, as the simulated flight tells it, the pressure grows with the angle of attack: 2 sin α cos α more
/// lift, some hundredths.)
fn pitch_at_constant_airspeed(flown: &Flown) -> (f64, f64) {
    let truth = &flown.flight.truth;
    let body = Prepared::new(&true_model(flown)).unwrap();
    let (v, density) = (truth.reference_speed_m_s, truth.density_kg_m3);
    let level = trim::straight(&body, v, Hold::ClimbAngle(0.0), density).unwrap();
    let whole = motion::linear::longitudinal(&body, &level, density);
    let (sin, cos) = level.alpha_rad.sin_cos();
    let turn = |by: [f64; 3]| [(by[1] * cos - by[0] * sin) / v, by[2]];
    let column = |j: usize| turn([whole.a[(0, j)], whole.a[(1, j)], whole.a[(2, j)]]);
    let (u, w, q) = (column(0), column(1), column(2));
    let alpha = [0, 1].map(|k| v * (cos * w[k] - sin * u[k]));
    let elevator = turn([whole.b[(0, 0)], whole.b[(1, 0)], whole.b[(2, 0)]]);
    let determinant = alpha[0] * q[1] - q[0] * alpha[1];
    let rate = -(alpha[0] * elevator[1] - alpha[1] * elevator[0]) / determinant;
    (rate.abs(), -2.0 / (alpha[0] + q[1]))
}

/// Names of the derivatives.
const SYMBOLS: [(&str, &str); 17] = [
    ("CLa", "CLa, share"),
    ("CLde", "CLde, share"),
    ("Cma", "Cma, share"),
    ("Cmq", "Cmq, share"),
    ("Cmde", "Cmde, share"),
    ("CYb", "CYb, share"),
    ("CYdr", "CYdr, share"),
    ("Clb", "Clb, share"),
    ("Clp", "Clp, share"),
    ("Clr", "Clr, share"),
    ("Clda", "Clda, share"),
    ("Cldr", "Cldr, share"),
    ("Cnb", "Cnb, share"),
    ("Cnp", "Cnp, share"),
    ("Cnr", "Cnr, share"),
    ("Cnda", "Cnda, share"),
    ("Cndr", "Cndr, share"),
];

/// Derivatives, by symbol; what a control does, in the slipstream of level flight.
fn derivatives(flown: &Flown) -> Vec<(&'static str, Finding, f64)> {
    let Ok(found) = &flown.found.handling.derivatives else {
        return Vec::new();
    };
    let truth = &flown.flight.truth;
    let model = true_model(flown);
    let d = &model.aerodynamics.derivatives;
    let pressure = 0.5 * truth.density_kg_m3 * truth.reference_speed_m_s.powi(2);
    let thrust_n = model
        .thrust
        .as_ref()
        .map_or(0.0, |t| t.nearest(truth.level_throttle, truth.reference_speed_m_s).thrust_n);
    // Momentum theory: in the stream the pressure is larger by the thrust over the disc.
    let blown = |share: fn(&motion::details::Wash) -> f64| {
        model.details.wash.map_or(1.0, |w| 1.0 + share(&w) * thrust_n / w.disk_area_m2 / pressure)
    };
    let (elevator, rudder) = (blown(|w| w.elevator_share), blown(|w| w.rudder_share));
    let so = |symbol: &str| match symbol {
        "CLa" => d.CLa,
        "CLde" => d.CLde * elevator,
        "Cma" => d.Cma,
        "Cmq" => d.Cmq,
        "Cmde" => d.Cmde * elevator,
        "CYb" => d.CYb,
        "CYdr" => d.CYdr * rudder,
        "Clb" => d.Clb,
        "Clp" => d.Clp,
        "Clr" => d.Clr,
        "Clda" => d.Clda,
        "Cldr" => d.Cldr * rudder,
        "Cnb" => d.Cnb,
        "Cnp" => d.Cnp,
        "Cnr" => d.Cnr,
        "Cnda" => d.Cnda,
        _ => d.Cndr * rudder,
    };
    found
        .all()
        .filter_map(|one| {
            let (symbol, name) = SYMBOLS.iter().find(|s| s.0 == one.symbol)?;
            let so = so(symbol);
            Some((*name, shared(&one.finding, so), one.finding.value / so - 1.0))
        })
        .collect()
}

fn shared(f: &Finding, so: f64) -> Finding {
    Finding { sd: f.sd / so.abs(), ..f.clone() }
}

fn answer<'a>(flown: &'a Flown, key: &str) -> Option<&'a learn::answers::Told> {
    flown.found.answers.iter().find(|a| a.key == key)?.told.as_ref().ok()
}

fn estimate<'a>(flown: &'a Flown, key: &str, part: &str) -> Option<&'a Finding> {
    let parameter = format!("{key}.{part}");
    answer(flown, key)?.estimates.iter().map(|e| &e.finding).find(|f| f.parameter == parameter)
}

/// The model that was flown: the predicted one with the script's hidden factors, as `fly::simulated` puts them in.
fn true_model(flown: &Flown) -> ForceModel {
    let hidden = &flown.script.hidden;
    let mut model = flown.prediction.model.clone();
    let a = &mut model.aerodynamics;
    a.cl0 *= hidden.lift_factor;
    a.cd0 *= hidden.drag_factor;
    a.induced *= hidden.drag_factor;
    let d = &mut a.derivatives;
    d.CLa *= hidden.lift_factor;
    let [roll, pitch, yaw] = hidden.control_factor;
    for (slot, factor) in [
        (&mut d.Clda, roll),
        (&mut d.Cnda, roll),
        (&mut d.CYda, roll),
        (&mut d.Cmde, pitch),
        (&mut d.CLde, pitch),
        (&mut d.CDde, pitch),
        (&mut d.Cldr, yaw),
        (&mut d.Cndr, yaw),
        (&mut d.CYdr, yaw),
    ] {
        *slot *= factor;
    }
    if let Some(thrust) = &mut model.thrust {
        thrust.thrust_n.iter_mut().for_each(|n| *n *= hidden.thrust_factor);
    }
    model
}
