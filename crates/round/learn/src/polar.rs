//! How well does it glide? Sink without power over airspeed, by the loss of energy height.
//!
//! Height and speed are traded for each other, so that what is lost is read from the energy height `h + V²/2g`. A drag of
//! the form `a + b CL²` makes the sink `A V³ + B n²/V` (n the load factor). It is written about a reference speed, where
//! the sum of both parts is the sink itself: that is told by flight at one speed; how it divides needs two.
//!
//! A propeller that stands still or windmills is part of the glide as flown, and said so.

use aircraft::finding::Window;
use fly::recording::Quantity;
use motion::forces::Prepared;
use motion::model::ForceModel;
use motion::trim::{self, Hold};
use nalgebra::Matrix2;
use numerics::statistics::{median, quantile};
use numerics::uncertain::Uncertain;
use numerics::units::G_M_S2;
use numerics::words::fixed;

use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited, seconds_needed};
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::Learnt;
use crate::flight::Flight;
use crate::straight::{PIECE_S, Piece, Straight, cut};

/// Seconds after the motor stops that do not count: it still pulls, and the nose still comes down.
const SETTLING_S: f64 = 1.5;
/// Least glide, s.
const LEAST_S: f64 = 12.0;
/// Relative doubt of the sink beyond which it is of no use.
const USEFUL_SHARE: f64 = 0.15;
/// Bank up to which a glide counts, rad.
const LARGEST_BANK_RAD: f64 = 0.35;
/// Ratio of the fastest to the slowest tenth from which on a glide tells more than one speed.
const SPEED_RANGE: f64 = 1.2;

/// The sink that the glides showed at their usual speed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Glide {
    pub(crate) airspeed_m_s: f64,
    pub(crate) sink_m_s: Uncertain,
    pub(crate) enough: bool,
}

/// The glide polar.
pub(crate) fn polar(flight: &Flight<'_>) -> Learnt<(Told, Glide)> {
    if flight.blocks.column(&Quantity::VelocityDown).is_none() {
        return missing("vertical velocity, or height");
    }
    let Some(airspeed) = flight.airspeed_m_s.as_deref() else {
        return missing(
            "airspeed: neither a sensor nor a wind that is known well enough to take it from the ground velocity",
        );
    };
    let windows: Vec<Window> = flight
        .windows("glide")
        .into_iter()
        .map(|w| Window { from_s: w.from_s + SETTLING_S, to_s: w.to_s })
        .filter(|w| w.to_s - w.from_s >= PIECE_S)
        .collect();
    let all = cut(flight.blocks, &windows, Some(airspeed), flight.wind);
    let pieces: Vec<&Piece> = all
        .iter()
        .filter(|p| {
            sink(p).is_finite()
                && p.airspeed_m_s > 1.0
                && (p.roll_rad.is_nan() || p.roll_rad.abs() <= LARGEST_BANK_RAD)
        })
        .collect();
    let seconds = pieces.len() as f64 * PIECE_S;
    let fitted = if seconds >= LEAST_S { fit(&pieces) } else { None };
    let Some((fit, reference)) = fitted else {
        return not_excited(format!(
            "only {} s of steady gliding with the motor off: glide for 20 s from a good height at the cruise speed, on two opposite headings, and for as long again a quarter faster",
            fixed(seconds, 0)
        ));
    };
    let value = fit.parameters[0];
    let sd = fit.sd(0);
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let (slow, fast) = (quantile(&speeds, 0.1), quantile(&speeds, 0.9));
    let drafts = fit.families.first().copied().unwrap_or((0.0, 0.0));
    let basis = format!(
        "{} s of gliding at {} to {} m/s; drafts of {} m/s lasting about {} s are in the doubt",
        fixed(seconds, 0),
        fixed(slow, 1),
        fixed(fast, 1),
        fixed(drafts.0, 1),
        fixed(drafts.1, 0)
    );
    let mut against = Vec::new();
    if !(value > 0.0) {
        against.push(
            "it did not sink: rising air or a motor that still pulled; glide again, motor off, in calm air"
                .to_owned(),
        );
    } else if sd > USEFUL_SHARE * value {
        against.push(format!(
            "the doubt of the sink is {} % of it, more than {} %: glide {} s more, on two opposite headings",
            fixed(100.0 * sd / value, 0),
            fixed(100.0 * USEFUL_SHARE, 0),
            fixed(seconds_needed(seconds, sd, USEFUL_SHARE * value).max(10.0), 0)
        ));
    }
    let verdict = Verdict::of(basis, &against);
    let predicted = predicted_sink(flight, reference);
    let finding =
        |key: &str, value: f64, sd: f64| verdict.finding(&format!("polar.{key}"), value, sd, &windows);
    let doubt = flight.airspeed_doubt();
    let ratio = reference / value;
    let mut told = Told {
        estimates: vec![
            Estimate::new(
                format!("sink at {} m/s, motor off", fixed(reference, 1)),
                "m/s",
                finding("sink_m_s", value, sd),
            )
            .beside(predicted),
            Estimate::new(
                format!("glide ratio at {} m/s", fixed(reference, 1)),
                "",
                finding("glide_ratio", ratio, ratio.abs() * (sd / value).hypot(doubt)),
            )
            .beside(
                predicted.map(|p| Uncertain::new(reference / p.value, reference / p.value * p.sd / p.value)),
            ),
        ],
        evidence: vec![plot(&pieces, &fit, reference)],
        sentences: vec!["The propeller's drag, standing or turning with the air, is part of it.".into()],
    };
    let range_told = fast >= SPEED_RANGE * slow;
    if range_told {
        told.estimates.extend(best(flight, &fit, reference, &verdict, &windows));
    } else {
        told.sentences.push(format!(
            "One speed alone does not tell the best one: glide as long at {} m/s.",
            fixed(1.25 * reference, 0)
        ));
    }
    Ok((told, Glide { airspeed_m_s: reference, sink_m_s: Uncertain::new(value, sd), enough: verdict.enough }))
}

/// Rate at which energy height is lost, m/s.
fn sink(piece: &Piece) -> f64 {
    -piece.climb_m_s - piece.airspeed_m_s * piece.airspeed_rate_m_s2 / G_M_S2
}

/// Sum and difference of the two parts of the sink at x times the reference speed and a load factor, for parts that
/// are equal.
fn parts(x: f64, load: f64) -> [f64; 2] {
    let (fast, slow) = (x.powi(3), load * load / x);
    [0.5 * (fast + slow), 0.5 * (fast - slow)]
}

fn fit(pieces: &[&Piece]) -> Option<(Coloured, f64)> {
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let reference = median(&speeds);
    // The speed that a glide was flown at counts; what gusts make of it within is no choice of the pilot's.
    let (between, _) = Straight::between_and_within(pieces, &speeds);
    let load = |p: &Piece| if p.load.is_finite() { p.load.clamp(0.5, 2.0) } else { 1.0 };
    let rows: Vec<[f64; 2]> =
        pieces.iter().zip(&between).map(|(p, v)| parts(v / reference, load(p))).collect();
    let sum: Vec<f64> = rows.iter().map(|r| r[0]).collect();
    let difference: Vec<f64> = rows.iter().map(|r| r[1]).collect();
    let measured: Vec<f64> = pieces.iter().map(|p| sink(p)).collect();
    let time_s: Vec<f64> = pieces.iter().map(|p| p.time_s).collect();
    let ones = vec![1.0; pieces.len()];
    let size = median(&measured).abs().max(0.1);
    let fit = coloured::fit(
        &Problem {
            resolution: 1e-2,
            time_s: &time_s,
            measured: &measured,
            design: vec![&sum, &difference],
            // Either part may be most of it.
            prior: vec![None, Some((0.0, size))],
            // Dryden's vertical gusts at 50 m are flown through in some 4 s (MIL-F-8785C); thermals last longer.
            families: vec![Family {
                loadings: vec![&ones],
                log_time: LogPrior { mean: 4.0_f64.ln(), sd: 1.0 },
            }],
        },
        None,
    )?;
    Some((fit, reference))
}

/// Speeds of best glide and least sink with what is reached there, where both parts are told well enough.
fn best(
    flight: &Flight<'_>,
    fit: &Coloured,
    reference: f64,
    verdict: &Verdict,
    windows: &[Window],
) -> Vec<Estimate> {
    let (sum, difference) = (fit.parameters[0], fit.parameters[1]);
    let c = Matrix2::new(
        fit.covariance[(0, 0)],
        fit.covariance[(0, 1)],
        fit.covariance[(1, 0)],
        fit.covariance[(1, 1)],
    );
    // A = (sum + difference)/2 goes with the cube of the speed, B with its inverse.
    let of = |f: &dyn Fn(f64, f64) -> f64| -> Uncertain {
        let at = |s: f64, d: f64| f(0.5 * (s + d), 0.5 * (s - d));
        let value = at(sum, difference);
        let (hs, hd) = (0.5 * c[(0, 0)].max(0.0).sqrt(), 0.5 * c[(1, 1)].max(0.0).sqrt());
        let slope = |h: f64, up: f64, down: f64| if h > 0.0 { (up - down) / (2.0 * h) } else { 0.0 };
        let gs = slope(hs, at(sum + hs, difference), at(sum - hs, difference));
        let gd = slope(hd, at(sum, difference + hd), at(sum, difference - hd));
        let variance = gs * gs * c[(0, 0)] + 2.0 * gs * gd * c[(0, 1)] + gd * gd * c[(1, 1)];
        Uncertain::new(value, variance.max(0.0).sqrt())
    };
    let (a, b) = (0.5 * (sum + difference), 0.5 * (sum - difference));
    if !(a > 0.0 && b > 0.0) {
        return Vec::new();
    }
    // Distance over height is V/w, largest where A x² and B/x² are equal; w itself is least where 3 A x³ = B/x.
    let best_speed = of(&|a, b| reference * (b / a).powf(0.25));
    let best_ratio = of(&|a, b| reference / (2.0 * (a * b).sqrt()));
    let least_speed = of(&|a, b| reference * (b / (3.0 * a)).powf(0.25));
    let least_sink = of(&|a, b| {
        let x = (b / (3.0 * a)).powf(0.25);
        a * x.powi(3) + b / x
    });
    let doubt = flight.airspeed_doubt();
    let told = best_speed.sd < 0.1 * best_speed.value;
    let verdict = Verdict {
        enough: verdict.enough && told,
        why: if told {
            verdict.why.clone()
        } else {
            format!(
                "{}. Not enough: how the drag divides is not told well enough; glide at two speeds a third apart",
                verdict.why
            )
        },
    };
    let speeds = flight.prediction.map(|p| &p.speeds);
    let estimate = |words: &str, unit, key: &str, u: Uncertain, extra: f64| {
        Estimate::new(
            words,
            unit,
            verdict.finding(&format!("polar.{key}"), u.value, u.sd.hypot(extra * u.value), windows),
        )
    };
    vec![
        estimate("speed of best glide", "m/s", "best_glide_m_s", best_speed, doubt)
            .beside(speeds.map(|s| s.best_glide_m_s.uncertain())),
        estimate("best glide ratio", "", "best_glide_ratio", best_ratio, doubt)
            .beside(flight.prediction.map(|p| p.polar.best_glide_ratio.uncertain())),
        estimate("speed of least sink", "m/s", "least_sink_speed_m_s", least_speed, doubt)
            .beside(speeds.map(|s| s.least_sink_m_s.uncertain())),
        estimate("least sink", "m/s", "least_sink_m_s", least_sink, 0.0)
            .beside(flight.prediction.map(|p| p.polar.least_sink_m_s.uncertain())),
    ]
}

/// Sink of the prediction at a speed with the motor off, the propeller's drag as its table has it.
fn predicted_sink(flight: &Flight<'_>, airspeed_m_s: f64) -> Option<Uncertain> {
    let prediction = flight.prediction?;
    let sink = sink_of(&prediction.model, airspeed_m_s, flight.density.kg_m3.value)?;
    let doubt = prediction.polar.least_sink_m_s.sd / prediction.polar.least_sink_m_s.value;
    (sink.is_finite() && sink > 0.0).then(|| Uncertain::new(sink, sink * doubt))
}

/// Sink of a model in a straight glide with the motor off, m/s.
pub(crate) fn sink_of(model: &ForceModel, speed_m_s: f64, density_kg_m3: f64) -> Option<f64> {
    // The table of the drive may end below this speed: its nearest edge stands for it, as a pull along the path.
    let mut bare = model.clone();
    let pull_n = bare.thrust.take().map_or(0.0, |t| t.nearest(0.0, speed_m_s).thrust_n);
    let body = Prepared::new(&bare).ok()?;
    let glide = trim::straight(&body, speed_m_s, Hold::Throttle(0.0), density_kg_m3).ok()?;
    Some(glide.state.velocity_ned_m_s().z - speed_m_s * pull_n / (model.mass_kg * G_M_S2))
}

fn plot(pieces: &[&Piece], fit: &Coloured, reference: f64) -> Evidence {
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let data: Vec<[f64; 2]> = pieces.iter().map(|p| [p.airspeed_m_s, sink(p)]).collect();
    let (low, high) = speeds.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
    let at = |v: f64| {
        let g = parts(v / reference, 1.0);
        let value = fit.parameters[0] * g[0] + fit.parameters[1] * g[1];
        let c = &fit.covariance;
        let variance = g[0] * g[0] * c[(0, 0)] + 2.0 * g[0] * g[1] * c[(0, 1)] + g[1] * g[1] * c[(1, 1)];
        (value, 2.0 * variance.max(0.0).sqrt())
    };
    let line = along(low, high, 30);
    Evidence {
        title: "Sink over airspeed, motor off".into(),
        what: "Loss of energy height of each two seconds of gliding over airspeed, with the polar that fits."
            .into(),
        x: "Airspeed, m/s".into(),
        y: "Sink, m/s".into(),
        residuals: data.iter().map(|d| [d[0], d[1] - at(d[0]).0]).collect(),
        data,
        fit: line.iter().map(|v| [*v, at(*v).0]).collect(),
        doubt: line.iter().map(|v| at(*v).1).collect(),
        mark: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parabolic_polar_has_its_best_points_where_the_closed_form_has_them() {
        // Source: closed form (ID-16 of the independent check values): 2.0 kg, S .4, CD0 .03, AR 8, e .8 at 1.225:
        // best glide 10.1527 m/s at 12.9442, least sink .68817 m/s at 7.7143.
        let (weight, area) = (2.0 * G_M_S2, 0.4);
        let k = 1.0 / (std::f64::consts::PI * 8.0 * 0.8);
        let sink = |v: f64| {
            let q = 0.5 * 1.225 * v * v;
            let cl = weight / (q * area);
            v * (0.03 + k * cl * cl) / cl
        };
        let piece = |window: usize, v: f64| Piece {
            window,
            time_s: 40.0 * window as f64,
            pitch_rad: 0.0,
            roll_rad: 0.0,
            climb_m_s: -sink(v),
            airspeed_m_s: v,
            airspeed_rate_m_s2: 0.0,
            throttle: 0.0,
            roll_rate_rad_s: 0.0,
            pitch_rate_rad_s: 0.0,
            load: 1.0,
            direction_rad: 0.0,
            acts: 0.0,
            blocks: (0, 1),
        };
        let all: Vec<Piece> = (0..40).map(|i| piece(i, 8.0 + 0.2 * i as f64)).collect();
        let pieces: Vec<&Piece> = all.iter().collect();
        let (fit, reference) = fit(&pieces).unwrap();
        let (a, b) =
            (0.5 * (fit.parameters[0] + fit.parameters[1]), 0.5 * (fit.parameters[0] - fit.parameters[1]));
        let x = (b / a).powf(0.25);
        assert!((reference * x - 10.1527).abs() < 2e-3, "{}", reference * x);
        assert!((reference / (2.0 * (a * b).sqrt()) - 12.9442).abs() < 5e-3);
        let least = (b / (3.0 * a)).powf(0.25);
        assert!((reference * least - 7.7143).abs() < 3e-3);
        assert!((a * least.powi(3) + b / least - 0.68817).abs() < 3e-4);
    }
}
