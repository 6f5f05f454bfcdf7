//! By which factors was the prediction off? Drag from the glide, thrust from level flight, lift from pitch over speed, what
//! the controls do from inputs: each weighed with what was known by its doubt, as the aircraft file keeps them.

use aircraft::finding::{Change, Window};
use aircraft::limits::Flown;
use aircraft::{Known, Origin};
use fly::recording::Quantity;
use motion::forces::Prepared;
use motion::trim::{self, Hold};
use numerics::uncertain::Uncertain;
use numerics::units::{DEG_PER_RAD, G_M_S2};
use numerics::words::{fixed, with_doubt};
use predict::adopted::{self, updated};
use predict::prediction::Prediction;

use crate::answers::{Estimate, Told, Verdict, not_excited};
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::{Learnt, NotLearnt};
use crate::flight::Flight;
use crate::handling::Handling;
use crate::polar::{Glide, sink_of};
use crate::settings;
use crate::straight::{PIECE_S, Piece, Straight};

mod control;

/// Most by which one flight may move a factor: what is further off has a cause to be found first.
const LARGEST_MOVE: f64 = 0.35;
/// A flown factor worse known than this share of it is not worth keeping.
const USEFUL_SD: f64 = 0.1;
/// A pack's voltage falls by some 10 % from full to empty, and thrust with it; the prediction stands in the middle
/// (common practice, no source).
const CHARGE_SHARE: f64 = 0.04;
/// Least straight flight for thrust and lift, s.
const LEAST_S: f64 = 20.0;
/// Bank up to which flight counts as straight, rad.
const LARGEST_BANK_RAD: f64 = 0.2;
/// Effect of throttle on the angle of attack known before looking, deg, as in `level_attitude`.
const THROTTLE_DEG: f64 = 2.0;

/// Factor of one kind: key in the file, words, what was known before this flight and what this flight alone says.
struct Found {
    key: &'static str,
    words: &'static str,
    before: Known,
    flown: Uncertain,
    verdict: Verdict,
    windows: Vec<Window>,
}

/// All factors that the flight carries, with the changes of the file.
pub(crate) fn factors(
    flight: &Flight<'_>,
    glide: Option<&Glide>,
    handling: &Handling,
    as_flown: Option<&Flown>,
) -> Learnt<(Told, Vec<Change>)> {
    let Some(prediction) = flight.prediction else {
        return Err(NotLearnt::MissingChannel {
            what: "nothing, but there is no prediction that a factor could correct: mend what `eyas predict` says of the aircraft file".into(),
        });
    };
    let drag = glide.and_then(|g| drag(flight, prediction, g));
    let known_drag = drag.as_ref().filter(|d| d.verdict.enough).map(|d| {
        // Against the prediction, which holds the factor of the file already.
        let held = flight.aircraft.flown.drag_factor.map_or(1.0, |k| k.value);
        updated(d.before, d.flown).scaled(1.0 / held)
    });
    let thrust = thrust(flight, prediction, known_drag);
    let lift = lift(flight, prediction);
    let mut told = Told::default();
    let mut changes = Vec::new();
    let controls = control::controls(flight, prediction, handling);
    for mut found in [drag, thrust, lift].into_iter().flatten().chain(controls) {
        let change = change(&mut found, as_flown, &flight.aircraft.flown);
        let parameter = format!("factors.{}", found.key);
        told.estimates.push(
            Estimate::new(
                found.words,
                "",
                found.verdict.finding(&parameter, found.flown.value, found.flown.sd, &found.windows),
            )
            .beside(Some(found.before.uncertain())),
        );
        changes.extend(change);
    }
    if told.estimates.is_empty() {
        return not_excited(
            "glide 20 s with the motor off for the drag, then four level legs of 10 s for the thrust, two of them a quarter faster for the lift, and five doublets in each axis in direct for the controls",
        );
    }
    told.sentences.push(
        "Each is weighed with what the prediction claims, by the doubts of both; what was predicted stands beside it as a factor of one, or as earlier flights left it.".into(),
    );
    Ok((told, changes))
}

/// What is known of a factor before the flight: of the file, or one with the doubt of the prediction.
fn before(kept: Option<Known>, predicted_share: f64) -> Known {
    kept.unwrap_or(Known::predicted(1.0, predicted_share.clamp(0.02, 0.5)))
}

fn share(known: Known) -> f64 {
    known.sd / known.value.abs()
}

/// Drag: by how much it must be multiplied for the model to sink as it did.
fn drag(flight: &Flight<'_>, prediction: &Prediction, glide: &Glide) -> Option<Found> {
    let density = flight.density.kg_m3;
    let sink = |factor: f64, density_kg_m3: f64, speed: f64| {
        let mut model = prediction.model.clone();
        let flown = Flown {
            drag_factor: Some(Known { value: factor, sd: 0.0, from: Origin::Flown }),
            ..Flown::default()
        };
        adopted::factors(&flown, &mut model.aerodynamics);
        sink_of(&model, speed, density_kg_m3)
    };
    let v = glide.airspeed_m_s;
    let one = sink(1.0, density.value, v)?;
    let slope = (sink(1.05, density.value, v)? - sink(0.95, density.value, v)?) / 0.1;
    if !(slope > 0.0) {
        return None;
    }
    let relative = 1.0 + (glide.sink_m_s.value - one) / slope;
    // What else moves the sink at this speed: air, speed, weight.
    let by_air = (sink(1.0, density.value + density.sd, v)? - one) / slope;
    let by_speed = (sink(1.0, density.value, v * (1.0 + flight.airspeed_doubt()))? - one) / slope;
    let mass = prediction.balance.total_kg;
    let sd = (glide.sink_m_s.sd / slope).hypot(by_air).hypot(by_speed).hypot(relative * share(mass));
    let held = flight.aircraft.flown.drag_factor.map_or(1.0, |k| k.value);
    let flown = Uncertain::new(held * relative, held * sd);
    let mut against = Vec::new();
    if !glide.enough {
        against.push(
            "the sink itself is not known well enough: glide 20 s more on two opposite headings".to_owned(),
        );
    }
    limit(&mut against, flown, "glide for longer, in calm air");
    let doubt = prediction.polar.least_sink_m_s;
    Some(Found {
        key: "drag_factor",
        words: "drag over the predicted",
        before: before(flight.aircraft.flown.drag_factor, share(doubt)),
        flown,
        verdict: Verdict::of(
            format!(
                "it sank by {} at {} m/s with the motor off where {} m/s were predicted; {}",
                with_doubt(glide.sink_m_s.value, glide.sink_m_s.sd, "m/s"),
                fixed(v, 1),
                fixed(one, 2),
                flight.density.whence
            ),
            &against,
        ),
        windows: flight.windows("glide"),
    })
}

fn limit(against: &mut Vec<String>, flown: Uncertain, more: &str) {
    // By its own size: a low estimate comes with a low doubt, and would be believed more often than a high one.
    if !(flown.sd <= USEFUL_SD * flown.value) {
        against.push(format!(
            "the doubt of {} % is more than {} %: {more}",
            fixed(100.0 * flown.sd / flown.value, 0),
            fixed(100.0 * USEFUL_SD, 0)
        ));
    }
}

/// Share of the pack's charge that was used before a piece, 0 to 1: by the counter, or the time, as if the pack were to last
/// the whole flight down to a fifth (common practice, no source).
fn used_share(flight: &Flight<'_>, piece: &Piece, capacity_ah: f64) -> f64 {
    let used = flight.over(piece, &Quantity::ChargeUsed);
    if used.is_finite() && capacity_ah > 0.0 {
        return (used / capacity_ah).clamp(0.0, 1.0);
    }
    let Some(air) = flight.in_the_air() else {
        return 0.4;
    };
    (0.8 * (piece.time_s - air.from_s) / (air.to_s - air.from_s).max(1.0)).clamp(0.0, 0.8)
}

/// Thrust: pull that level flight needed over what the table gives at the throttle recorded.
fn thrust(flight: &Flight<'_>, prediction: &Prediction, drag: Option<Uncertain>) -> Option<Found> {
    let table = prediction.model.thrust.as_ref()?;
    if !flight.straight.throttle {
        return None;
    }
    let body = Prepared::new(&prediction.model).ok()?;
    let weight = prediction.model.mass_kg * G_M_S2;
    let density = flight.density.kg_m3.value;
    let at = |p: &Piece| -> Option<[f64; 2]> {
        let level = trim::straight(&body, p.airspeed_m_s, Hold::ClimbAngle(0.0), density).ok()?;
        let needed = table.at(level.inputs.throttle, p.airspeed_m_s)?.thrust_n;
        // Thrust falls as the square of the pack's open voltage; the table is that of the full pack.
        let left = 1.0 - prediction.model.details.pack_falls * used_share(flight, p, table.capacity_ah);
        Some([needed, left * left * table.at(p.throttle, p.airspeed_m_s)?.thrust_n])
    };
    let usable: Vec<&Piece> = flight
        .straight
        .pieces
        .iter()
        .filter(|p| {
            p.throttle > 0.05
                && p.climb_m_s.is_finite()
                && p.airspeed_rate_m_s2.is_finite()
                && p.airspeed_m_s > 1.0
                && (p.roll_rad.is_nan() || p.roll_rad.abs() <= LARGEST_BANK_RAD)
        })
        .collect();
    let mut pieces = Vec::new();
    let (mut needed, mut given) = (Vec::new(), Vec::new());
    for p in usable {
        if let Some([drag_n, pull_n]) = at(p) {
            pieces.push(p);
            let climbing = weight * (p.climb_m_s / p.airspeed_m_s + p.airspeed_rate_m_s2 / G_M_S2);
            needed.push([drag_n, climbing]);
            given.push(pull_n);
        }
    }
    if (pieces.len() as f64) * PIECE_S < LEAST_S {
        return None;
    }
    let prior_drag = before(flight.aircraft.flown.drag_factor, share(prediction.polar.least_sink_m_s));
    let apart = drag.is_some() || flight.aircraft.flown.drag_factor.is_some();
    let drag = drag.unwrap_or(Uncertain::new(1.0, share(prior_drag)));
    let measured: Vec<f64> = needed.iter().map(|n| drag.value * n[0] + n[1]).collect();
    let (between, within) = Straight::between_and_within(&pieces, &given);
    let mean_given = given.iter().sum::<f64>() / given.len() as f64;
    let mean_drag = needed.iter().map(|n| n[0]).sum::<f64>() / needed.len() as f64;
    if !(mean_given > 0.0) {
        return None;
    }
    let fit =
        fit(&pieces, &measured, vec![&between, &within], vec![None, Some((0.0, 1.0))], 4.0, 1e-3 * weight)?;
    let relative = fit.parameters[0];
    let density_share = flight.density.kg_m3.sd / density;
    let sd = fit
        .sd(0)
        .hypot(drag.sd * mean_drag / mean_given)
        .hypot(relative * CHARGE_SHARE)
        .hypot(relative * density_share)
        .hypot(2.0 * relative * flight.airspeed_doubt());
    let held = flight.aircraft.flown.thrust_factor.map_or(1.0, |k| k.value);
    let flown = Uncertain::new(held * relative, held * sd);
    let mut against = Vec::new();
    if !apart {
        against.push(
            "level flight tells thrust over drag only, and no glide has told the drag: glide 20 s with the motor off"
                .to_owned(),
        );
    }
    limit(&mut against, flown, "fly four more level legs of 10 s at constant throttle");
    let static_doubt = prediction.drive.as_ref().map_or(0.1, |d| share(d.static_thrust_n));
    Some(Found {
        key: "thrust_factor",
        words: "thrust over the predicted",
        before: before(flight.aircraft.flown.thrust_factor, static_doubt),
        flown,
        verdict: Verdict::of(
            format!(
                "{} s of level flight needed {} N where the throttle recorded was to give {} N; the doubt of the drag ({}) and of the pack's charge is in it",
                fixed(pieces.len() as f64 * PIECE_S, 0),
                fixed(relative * mean_given, 2),
                fixed(mean_given, 2),
                fixed(drag.sd, 2)
            ),
            &against,
        ),
        windows: flight.straight.windows_of(&pieces),
    })
}

fn fit(
    pieces: &[&Piece],
    measured: &[f64],
    design: Vec<&[f64]>,
    prior: Vec<Option<(f64, f64)>>,
    seconds: f64,
    resolution: f64,
) -> Option<Coloured> {
    let time_s: Vec<f64> = pieces.iter().map(|p| p.time_s).collect();
    let ones = vec![1.0; pieces.len()];
    coloured::fit(
        &Problem {
            resolution,
            time_s: &time_s,
            measured,
            design,
            prior,
            families: vec![Family {
                loadings: vec![&ones],
                log_time: LogPrior { mean: seconds.ln(), sd: 1.0 },
            }],
        },
        None,
    )
}

/// Lift: how much the angle of attack had to change for the lift that speed and load asked for.
fn lift(flight: &Flight<'_>, prediction: &Prediction) -> Option<Found> {
    let stall = prediction.speeds.stall_m_s.value;
    let pieces: Vec<&Piece> = flight
        .straight
        .pieces
        .iter()
        .filter(|p| {
            p.pitch_rad.is_finite()
                && p.climb_m_s.is_finite()
                && p.airspeed_m_s > 1.12 * stall
                && p.climb_m_s.abs() < 0.2 * p.airspeed_m_s
                && (p.roll_rad.is_nan() || p.roll_rad.abs() <= LARGEST_BANK_RAD)
        })
        .collect();
    if (pieces.len() as f64) * PIECE_S < LEAST_S {
        return None;
    }
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let reference = numerics::statistics::median(&speeds);
    let column = |f: &dyn Fn(&Piece) -> f64| -> Vec<f64> { pieces.iter().map(|p| f(p)).collect() };
    let measured = column(&|p| (p.pitch_rad - (p.climb_m_s / p.airspeed_m_s).asin()) * DEG_PER_RAD);
    let lift = column(&|p| p.load * (reference / p.airspeed_m_s).powi(2) - 1.0);
    let (between, within) = Straight::between_and_within(&pieces, &lift);
    let between = flight.straight.believed(&pieces, between, 2.0 / reference);
    let ones = vec![1.0; pieces.len()];
    let level = flight.straight.level_throttle(&pieces, reference);
    let throttle =
        column(&|p| level.map_or(0.0, |t| if p.throttle.is_finite() { p.throttle - t } else { 0.0 }));
    let fit = fit(
        &pieces,
        &measured,
        vec![&ones, &between, &within, &throttle],
        vec![None, None, Some((0.0, 20.0)), Some((0.0, THROTTLE_DEG))],
        4.0,
        1e-3,
    )?;
    let slope_deg = fit.parameters[1];
    let a = &prediction.model.aerodynamics;
    let d = &a.derivatives;
    // Trimmed: each step of angle asks for elevator against the moment, which takes some of the lift.
    let elevator = if d.Cmde == 0.0 { 0.0 } else { d.CLde * d.Cma / d.Cmde };
    let pressure = 0.5 * flight.density.kg_m3.value * reference * reference;
    let coefficient = prediction.model.mass_kg * G_M_S2 / (pressure * a.area_m2);
    // The angle goes with one over the slope of lift: an angle that is hardly known would make a slope that looks sure. Its
    // doubt is therefore taken where the prediction puts the angle, and more where that is larger.
    let predicted_deg = coefficient / (d.CLa - elevator) * DEG_PER_RAD;
    let relative = (coefficient / slope_deg * DEG_PER_RAD + elevator) / d.CLa;
    let slope_share = (fit.sd(1) / slope_deg.abs()).max(fit.sd(1) / predicted_deg.abs());
    let mass = share(prediction.balance.total_kg);
    let air = flight.density.kg_m3.sd / flight.density.kg_m3.value;
    let sd =
        relative.abs().max(1.0) * slope_share.hypot(mass).hypot(air).hypot(2.0 * flight.airspeed_doubt());
    let held = flight.aircraft.flown.lift_factor.map_or(1.0, |k| k.value);
    let flown = Uncertain::new(held * relative, held * sd);
    let mut against = Vec::new();
    if !(slope_deg > 0.0) {
        against.push(
            "pitch did not change with speed as lift asks: fly level legs at speeds a third apart".to_owned(),
        );
    }
    limit(&mut against, flown, "fly level legs of 15 s at 0.85 and at 1.25 times the cruise speed");
    Some(Found {
        key: "lift_factor",
        words: "lift slope over the predicted",
        before: before(flight.aircraft.flown.lift_factor, share(prediction.lift.slope_per_rad)),
        flown,
        verdict: Verdict::of(
            format!(
                "over {} s of straight flight the angle of attack changed by {} for a change of lift by the weight at {} m/s",
                fixed(pieces.len() as f64 * PIECE_S, 0),
                with_doubt(slope_deg, fit.sd(1), "deg"),
                fixed(reference, 1)
            ),
            &against,
        ),
        windows: flight.straight.windows_of(&pieces),
    })
}

/// The factor of the file after this flight; none where it would hardly move, or where the flight is in it already.
fn change(found: &mut Found, as_flown: Option<&Flown>, now: &Flown) -> Option<Change> {
    let kept = of(now, found.key);
    if let Some(then) = as_flown
        && of(then, found.key).map(|k| k.value) != kept.map(|k| k.value)
    {
        found.verdict.why += ". The file has changed this factor since the flight was flown: it is not weighed in a second time";
        return None;
    }
    let new = updated(found.before, found.flown);
    let moved = new.value - found.before.value;
    if moved.abs() < 0.01 && (found.before.sd - new.sd) < 0.25 * found.before.sd {
        return None;
    }
    let held_back = if !found.verdict.enough {
        Some(found.verdict.why.clone())
    } else if moved.abs() > LARGEST_MOVE * found.before.value {
        let why = format!(
            "{} is more than one flight may move it ({} %): look for the cause (mass, section, propeller, airspeed sensor, what hangs in the wind) and fly again",
            with_doubt(found.flown.value, found.flown.sd, ""),
            fixed(100.0 * LARGEST_MOVE, 0)
        );
        found.verdict.why += &format!(". Held back: {why}");
        Some(why)
    } else {
        None
    };
    Some(Change {
        path: format!("flown.{}", in_the_file(found.key)),
        from: kept.map(|k| k.value),
        to: settings::to_step(new.value, 0.001),
        sd: settings::to_two_digits(new.sd),
        unit: String::new(),
        why: format!(
            "{}; this flight alone says {}, and {} was known before: weighed by their doubts",
            found.verdict.why,
            with_doubt(found.flown.value, found.flown.sd, ""),
            with_doubt(found.before.value, found.before.sd, "")
        ),
        held_back,
    })
}

/// Key of the aircraft file.
fn in_the_file(key: &str) -> &str {
    match key {
        "roll_factor" => "control_factor_roll",
        "pitch_factor" => "control_factor_pitch",
        "yaw_factor" => "control_factor_yaw",
        other => other,
    }
}

fn of(flown: &Flown, key: &str) -> Option<Known> {
    match key {
        "drag_factor" => flown.drag_factor,
        "lift_factor" => flown.lift_factor,
        "thrust_factor" => flown.thrust_factor,
        "roll_factor" => flown.control_factor[0],
        "pitch_factor" => flown.control_factor[1],
        "yaw_factor" => flown.control_factor[2],
        _ => None,
    }
}
