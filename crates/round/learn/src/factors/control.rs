//! By which factors was the predicted effect of the controls off? Roll and pitch from the measured steady rate over that of
//! the predicted model at the same speed, yaw from the derivative that rudder inputs tell (its steady rate hides behind the
//! weathercock).

use motion::forces::Prepared;
use motion::handling::Handling as Answers;
use motion::trim::{self, Hold, Trim};
use nalgebra::{Matrix2, Vector2};
use numerics::uncertain::Uncertain;
use numerics::words::{fixed, with_doubt};
use predict::prediction::Prediction;

use super::{Found, before, limit};
use crate::answers::Verdict;
use crate::flight::Flight;
use crate::handling::Handling;

/// Relative doubt of what stands against the control in a steady rate, as predicted: damping in roll, damping and static
/// margin in pitch (judgment without a source; a lattice tells roll damping within some 5 %).
const AGAINST_SHARE: [f64; 2] = [0.04, 0.08];
/// Relative doubt of a predicted control effect before anything was flown: gaps, thin sections and slow air take a sixth
/// of it (judgment without a source).
const PREDICTED_SHARE: f64 = 0.15;
const KEYS: [(&str, &str); 3] = [
    ("roll_factor", "effect of the ailerons over the predicted"),
    ("pitch_factor", "effect of the elevator over the predicted"),
    ("yaw_factor", "effect of the rudder over the predicted"),
];

/// The factors on the controls that the flight carries.
pub(super) fn controls(flight: &Flight<'_>, prediction: &Prediction, handling: &Handling) -> Vec<Found> {
    let rates = [0, 1].into_iter().filter_map(|axis| {
        let response = handling.response[axis].as_ref().ok()?;
        let measured = &response.gain_deg_s_per_deg;
        let body = Prepared::new(&prediction.model).ok()?;
        let density = flight.density.kg_m3.value;
        let answers =
            Answers::of(flight.aircraft, &body, response.reference_speed_m_s, density).ok()?;
        let predicted = match axis {
            0 => answers.rate_per_rad_s[0],
            _ => pitch_rate(&body, &answers.level, density)?,
        };
        let relative = measured.value / predicted;
        let sd = relative.abs()
            * (measured.sd / measured.value).hypot(AGAINST_SHARE[axis]).hypot(flight.airspeed_doubt());
        let mut against = Vec::new();
        if !measured.enough {
            against.push(format!("the measured answer does not suffice: {}", more(&measured.verdict)));
        }
        let basis = format!(
            "it turned with {} of surface at {} m/s where {} were predicted; the predicted {} stands in the doubt",
            with_doubt(measured.value, measured.sd, "deg/s per deg"),
            fixed(response.reference_speed_m_s, 1),
            fixed(predicted, 2),
            if axis == 0 { "damping" } else { "damping and static margin" }
        );
        told(flight, axis, (relative, sd), (basis, against), &measured.evidence)
    });
    let rudder = handling.derivatives.as_ref().ok().and_then(|found| {
        let one = found.all().find(|d| d.symbol == "Cndr")?;
        let relative = one.finding.value / (one.predicted * blown(flight, prediction)?);
        let sd = relative.abs() * (one.finding.sd / one.finding.value).hypot(2.0 * flight.airspeed_doubt());
        let mut against = Vec::new();
        if !one.finding.enough {
            against.push(format!("its derivative does not suffice: {}", more(&one.finding.verdict)));
        }
        let basis = format!(
            "Cndr was {} where {} was predicted without slipstream",
            with_doubt(one.finding.value, one.finding.sd, ""),
            fixed(one.predicted, 4)
        );
        told(flight, 2, (relative, sd), (basis, against), &one.finding.evidence)
    });
    rates.chain(rudder).collect()
}

/// Steady pitch rate by elevator at constant airspeed about level flight, 1/s: with `Δw = V cos α Δα`,
/// `Δu = -V sin α Δα` and `α' = (w' cos α - u' sin α)/V`.
fn pitch_rate(body: &Prepared, level: &Trim, density_kg_m3: f64) -> Option<f64> {
    let whole = motion::linear::longitudinal(body, level, density_kg_m3);
    let v = level.airspeed_m_s;
    let (sin, cos) = level.alpha_rad.sin_cos();
    let turned = |u: f64, w: f64, q: f64| Vector2::new((w * cos - u * sin) / v, q);
    let a = |j: usize| turned(whole.a[(0, j)], whole.a[(1, j)], whole.a[(2, j)]);
    let fast = Matrix2::from_columns(&[v * (cos * a(1) - sin * a(0)), a(2)]);
    let by_elevator = turned(whole.b[(0, 0)], whole.b[(1, 0)], whole.b[(2, 0)]);
    Some((fast.try_inverse()? * by_elevator).y.abs())
}

/// What more to fly: the end of a verdict.
fn more(verdict: &str) -> &str {
    verdict.rsplit("; ").next().unwrap_or(verdict)
}

/// What the slipstream of level flight makes of the rudder's effect: momentum theory, as the equations of motion have it.
fn blown(flight: &Flight<'_>, prediction: &Prediction) -> Option<f64> {
    let Some(wash) = prediction.model.details.wash else {
        return Some(1.0);
    };
    let speed = numerics::statistics::median(
        &flight
            .straight
            .pieces
            .iter()
            .map(|p| p.airspeed_m_s)
            .filter(|v| v.is_finite())
            .collect::<Vec<f64>>(),
    );
    let body = Prepared::new(&prediction.model).ok()?;
    let density = flight.density.kg_m3.value;
    let level = trim::straight(&body, speed, Hold::ClimbAngle(0.0), density).ok()?;
    let pressure = 0.5 * density * speed * speed;
    Some(1.0 + wash.rudder_share * level.drive.thrust_n / (wash.disk_area_m2 * pressure))
}

fn told(
    flight: &Flight<'_>,
    axis: usize,
    (relative, sd): (f64, f64),
    (basis, mut against): (String, Vec<String>),
    windows: &[aircraft::finding::Window],
) -> Option<Found> {
    if !(relative.is_finite() && sd.is_finite()) {
        return None;
    }
    let kept = flight.aircraft.flown.control_factor[axis];
    // Against the prediction, which holds the factor of the file already.
    let held = kept.map_or(1.0, |k| k.value);
    let flown = Uncertain::new(held * relative, held * sd);
    if !(flown.value > 0.0) {
        against.push("it turned against its surface: check which way it is wired and mapped".to_owned());
    }
    if against.is_empty() {
        limit(&mut against, flown, "fly five more doublets about it in direct, in calm air");
    }
    let (key, words) = KEYS[axis];
    Some(Found {
        key,
        words,
        before: before(kept, PREDICTED_SHARE),
        flown,
        verdict: Verdict::of(basis, &against),
        windows: windows.to_vec(),
    })
}
