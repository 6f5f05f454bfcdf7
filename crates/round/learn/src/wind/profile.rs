//! How does the wind change with height, and does the airspeed sensor read right at every speed?
//!
//! Both go on from the wind's own fit: its seconds, the noise it found, and how sure it is of the airspeed. Over height the
//! seconds are cut into layers, each with a wind of its own; a logarithmic law `W = W10 + S ln(h/10 m)`, as the air over
//! even ground follows it (sky::wind), is laid through them, with what is usual over grass known of `S` before. The sensor is
//! held against ground velocity less wind over whole phases: within them gusts would be taken for its error.

use fly::phases::Phase;
use nalgebra::{Matrix2, Vector2};
use numerics::statistics::{mean, median, quantile};
use numerics::words::fixed;

use super::{Detail, LARGEST_WIND_M_S, Second};
use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited};
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::{Learnt, Wind};
use crate::headings::Headings;

/// Height range from which on layers are told apart, m, and from which on three of them.
const TWO_LAYERS_M: f64 = 20.0;
const THREE_LAYERS_M: f64 = 50.0;
/// Least time in a layer, s.
const LAYER_S: f64 = 15.0;
/// Least variance of the flown direction in a layer, as in `told`.
const LEAST_SPREAD: f64 = 0.08;
/// Growth of the wind over each factor e of height, as a share of the wind at flying height: roughness of 0.001 to 0.3 m at
/// 60 m gives 1/ln(60/z0) of 0.09 to 0.19 (logarithmic law).
const GROWTH_SHARE: (f64, f64) = (0.135, 0.06);
/// What of it does not follow that law, m/s: slopes, trees, thermals (judgement, no source).
const GROWTH_OTHER_M_S: f64 = 0.3;
/// A wind at 10 m worse known than this is no help for the launch, m/s.
const USEFUL_SD_M_S: f64 = 0.75;
/// How far the slope of a sensor may be from its factor at the mean, before looking.
const SLOPE_SD: f64 = 0.15;
/// Least length of a phase that a sensor is judged by, s.
const LEAST_PHASE_S: f64 = 5.0;
/// A sensor's scale and offset worse known than this are no calibration.
const USEFUL_SCALE: f64 = 0.05;
const USEFUL_OFFSET_M_S: f64 = 0.6;

/// Wind of a layer, along the mean wind.
struct Layer {
    height_m: f64,
    along_m_s: f64,
    across_m_s: f64,
    sd_m_s: f64,
    seconds: f64,
}

/// The wind over height.
pub(crate) fn over_height(wind: &Wind, detail: &Detail) -> Learnt<Told> {
    if !detail.flown.heights {
        return missing("height");
    }
    if !wind.speed_m_s.enough {
        return not_excited(format!("the wind itself is not known well enough: {}", wind.speed_m_s.verdict));
    }
    let heights: Vec<f64> = detail.seconds.iter().map(|s| s.height - detail.ground_m).collect();
    let (low, high) = (quantile(&heights, 0.03), quantile(&heights, 0.97));
    let layers = layers(wind, detail, &heights, low, high);
    let speed = wind.velocity_m_s[0].hypot(wind.velocity_m_s[1]);
    let middle = median(&heights).max(3.0);
    let growth = (GROWTH_SHARE.0 * speed, (GROWTH_SHARE.1 * speed).hypot(GROWTH_OTHER_M_S));
    // Unknown: wind at the middle height, growth over ln h. Of the first the whole flight's fit is what is known.
    let mut precision = Matrix2::new(wind.speed_m_s.sd.powi(-2), 0.0, 0.0, growth.1.powi(-2));
    let mut right = Vector2::new(speed * precision[(0, 0)], growth.0 * precision[(1, 1)]);
    if layers.len() > 1 {
        // The layers share what the whole fit is sure of; it is not counted twice.
        precision[(0, 0)] = LARGEST_WIND_M_S.powi(-2);
        right.x = 0.0;
        for l in &layers {
            let row = Vector2::new(1.0, (l.height_m / middle).ln());
            precision += row * row.transpose() / l.sd_m_s.powi(2);
            right += row * l.along_m_s / l.sd_m_s.powi(2);
        }
    }
    let Some(covariance) = precision.try_inverse() else {
        return not_excited("the layers do not fix a wind over height");
    };
    let x = covariance * right;
    let common = wind.speed_m_s.sd;
    let at = |h: f64| {
        let row = Vector2::new(1.0, (h.max(0.5) / middle).ln());
        let variance = row.dot(&(covariance * row));
        (x.dot(&row), variance.max(common * common).sqrt())
    };
    let (ten, ten_sd) = at(10.0);
    let basis = if layers.len() > 1 {
        format!(
            "{} layers from {} to {} m above the launch point: {}",
            layers.len(),
            fixed(low, 0),
            fixed(high, 0),
            layers
                .iter()
                .map(|l| format!(
                    "{} m/s at {} m ({} s)",
                    fixed(l.along_m_s, 1),
                    fixed(l.height_m, 0),
                    fixed(l.seconds, 0)
                ))
                .collect::<Vec<_>>()
                .join(", ")
        )
    } else {
        format!(
            "flown between {} and {} m on headings that tell one layer only: carried to 10 m by what is usual over open ground",
            fixed(low, 0),
            fixed(high, 0)
        )
    };
    let circle = "fly a full circle at constant throttle low (20 to 30 m) and another one high";
    let told_growth = covariance[(1, 1)].sqrt() < 0.6 * growth.1;
    let against = |bad: bool| if bad { vec![circle.to_owned()] } else { Vec::new() };
    let launch = Verdict::of(basis.clone(), &against(ten_sd > USEFUL_SD_M_S));
    let grows = Verdict::of(basis, &against(!told_growth));
    let evidence = wind.speed_m_s.evidence.clone();
    let exponent = x.y / at(middle).0.max(0.3);
    let exponent_sd = (covariance[(1, 1)].sqrt() / speed.max(0.3)).hypot(exponent * common / speed.max(0.3));
    let mut told = Told {
        estimates: vec![
            Estimate::new(
                "wind at 10 m",
                "m/s",
                launch.finding("wind_over_height.at_10_m_m_s", ten.max(0.0), ten_sd, &evidence),
            ),
            Estimate::new(
                "growth with each doubling of the height",
                "m/s",
                grows.finding(
                    "wind_over_height.per_doubling_m_s",
                    x.y * 2.0_f64.ln(),
                    covariance[(1, 1)].sqrt() * 2.0_f64.ln(),
                    &evidence,
                ),
            ),
            Estimate::new(
                format!("exponent of a power law about {} m", fixed(middle, 0)),
                "",
                grows.finding("wind_over_height.exponent", exponent, exponent_sd, &evidence),
            ),
        ],
        evidence: vec![plot(&layers, &at, low.clamp(2.0, 10.0), high)],
        sentences: Vec::new(),
    };
    if let Some(turned) =
        layers.iter().find(|l| l.across_m_s.abs() > 2.0 * l.sd_m_s && l.across_m_s.abs() > 0.7)
    {
        told.sentences.push(format!(
            "At {} m it blew {} m/s across the mean wind: it turns with height.",
            fixed(turned.height_m, 0),
            fixed(turned.across_m_s.abs(), 1)
        ));
    }
    Ok(told)
}

/// Winds of layers that were flown on enough headings.
fn layers(wind: &Wind, detail: &Detail, heights: &[f64], low: f64, high: f64) -> Vec<Layer> {
    let count = if high - low >= THREE_LAYERS_M {
        3
    } else if high - low >= TWO_LAYERS_M {
        2
    } else {
        return Vec::new();
    };
    let speed = wind.velocity_m_s[0].hypot(wind.velocity_m_s[1]).max(1e-6);
    let unit = [wind.velocity_m_s[0] / speed, wind.velocity_m_s[1] / speed];
    let step = (high - low) / f64::from(count);
    let mut found = Vec::new();
    for k in 0..count {
        let from = if k == 0 { f64::NEG_INFINITY } else { low + f64::from(k) * step };
        let to = if k + 1 == count { f64::INFINITY } else { low + f64::from(k + 1) * step };
        let (of, over): (Vec<&Second>, Vec<f64>) = detail
            .seconds
            .iter()
            .zip(heights)
            .filter(|(_, h)| **h >= from && **h < to)
            .map(|(s, h)| (s, *h))
            .unzip();
        let seconds = of.len() as f64 * detail.second_s;
        let directions: Vec<f64> = of.iter().map(|s| s.along[1].atan2(s.along[0])).collect();
        if seconds < LAYER_S || Headings::of(&directions, detail.second_s).least_spread < LEAST_SPREAD {
            continue;
        }
        let Some(fit) = layer_fit(&of, detail) else {
            continue;
        };
        let own = [detail.linearised[0] + fit.parameters[0], detail.linearised[1] + fit.parameters[1]];
        let c = &fit.covariance;
        let variance = unit[0] * unit[0] * c[(0, 0)]
            + 2.0 * unit[0] * unit[1] * c[(0, 1)]
            + unit[1] * unit[1] * c[(1, 1)];
        found.push(Layer {
            // The law is straight in the logarithm of the height.
            height_m: mean(&over.iter().map(|h| h.max(1.0).ln()).collect::<Vec<f64>>()).exp(),
            along_m_s: unit[0] * own[0] + unit[1] * own[1],
            across_m_s: -unit[1] * own[0] + unit[0] * own[1],
            sd_m_s: variance.max(1e-6).sqrt(),
            seconds,
        });
    }
    found
}

/// Wind of some seconds about the linearisation, with the airspeed as the whole flight found it.
fn layer_fit(of: &[&Second], detail: &Detail) -> Option<Coloured> {
    let column = |f: &dyn Fn(&Second) -> f64| -> Vec<f64> { of.iter().map(|s| f(s)).collect() };
    let (north, east) = (column(&|s| s.along[0]), column(&|s| s.along[1]));
    let level = vec![detail.level; of.len()];
    let ones = vec![1.0; of.len()];
    let time_s = column(&|s| s.time_s);
    let measured = column(&|s| s.residual);
    coloured::fit(
        &Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: &measured,
            design: vec![&north, &east, &level],
            prior: vec![
                Some((-detail.linearised[0], LARGEST_WIND_M_S)),
                Some((-detail.linearised[1], LARGEST_WIND_M_S)),
                Some((detail.fit.parameters[2], detail.fit.sd(2).max(1e-4))),
            ],
            families: families(&north, &east, &ones),
        },
        Some(&detail.fit.hyper),
    )
}

fn families<'a>(north: &'a [f64], east: &'a [f64], ones: &'a [f64]) -> Vec<Family<'a>> {
    vec![
        Family { loadings: vec![north, east], log_time: LogPrior { mean: 12.0_f64.ln(), sd: 1.0 } },
        Family { loadings: vec![ones], log_time: LogPrior { mean: 6.0_f64.ln(), sd: 1.0 } },
    ]
}

fn plot(layers: &[Layer], at: &dyn Fn(f64) -> (f64, f64), low: f64, high: f64) -> Evidence {
    let line = along(low.max(1.0), high.max(low + 1.0), 40);
    let data: Vec<[f64; 2]> = layers.iter().map(|l| [l.height_m, l.along_m_s]).collect();
    Evidence {
        title: "Wind over height".into(),
        what: "Wind of each layer flown along the mean wind, and the logarithmic law through them.".into(),
        x: "Height above the launch point, m".into(),
        y: "Wind, m/s".into(),
        residuals: data.iter().map(|d| [d[0], d[1] - at(d[0]).0]).collect(),
        fit: line.iter().map(|h| [*h, at(*h).0]).collect(),
        doubt: line.iter().map(|h| 2.0 * at(*h).1).collect(),
        data,
        mark: Some(("10 m".into(), 10.0, 0.0)),
    }
}

/// Scale and offset of the airspeed sensor.
pub(crate) fn sensor(wind: &Wind, detail: &Detail, phases: &[Phase]) -> Learnt<Told> {
    if !detail.flown.sensor {
        return missing(
            "airspeed from a sensor: ground velocity less wind stands for it, with the doubt of the wind",
        );
    }
    let Some(factor) = wind.airspeed_factor.as_ref() else {
        return missing("airspeed from a sensor");
    };
    let phase_of = |t: f64| phases.iter().position(|p| t >= p.window.from_s && t < p.window.to_s);
    let groups: Vec<Option<usize>> = detail.seconds.iter().map(|s| phase_of(s.time_s)).collect();
    let mut sums: std::collections::BTreeMap<usize, (f64, f64)> = std::collections::BTreeMap::new();
    for (s, g) in detail.seconds.iter().zip(&groups) {
        if let Some(g) = g {
            let sum = sums.entry(*g).or_insert((0.0, 0.0));
            sum.0 += s.airspeed;
            sum.1 += 1.0;
        }
    }
    let middle = mean(&detail.seconds.iter().map(|s| s.airspeed).collect::<Vec<f64>>());
    let faster: Vec<f64> = groups
        .iter()
        .map(|g| {
            g.and_then(|g| sums.get(&g))
                .filter(|(_, n)| n * detail.second_s >= LEAST_PHASE_S)
                .map_or(0.0, |(sum, n)| sum / n - middle)
        })
        .collect();
    let used: Vec<&Second> = detail.seconds.iter().collect();
    let column = |f: &dyn Fn(&Second) -> f64| -> Vec<f64> { used.iter().map(|s| f(s)).collect() };
    let (north, east) = (column(&|s| s.along[0]), column(&|s| s.along[1]));
    let ones = vec![1.0; used.len()];
    let level = vec![detail.level; used.len()];
    let time_s = column(&|s| s.time_s);
    let measured = column(&|s| s.residual);
    let fit = coloured::fit(
        &Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: &measured,
            design: vec![&north, &east, &level, &faster],
            prior: vec![
                Some((-detail.linearised[0], LARGEST_WIND_M_S)),
                Some((-detail.linearised[1], LARGEST_WIND_M_S)),
                Some((1.0 - detail.linearised[2], super::FACTOR_SD)),
                Some((1.0 - detail.linearised[2], SLOPE_SD)),
            ],
            families: families(&north, &east, &ones),
        },
        Some(&detail.fit.hyper),
    );
    let Some(fit) = fit else {
        return not_excited("too little flight to hold the sensor against");
    };
    let at = detail.linearised[2];
    let (scale, scale_sd) = (at + fit.parameters[3], fit.sd(3));
    let c = &fit.covariance;
    let offset = (fit.parameters[2] - fit.parameters[3]) * middle;
    let offset_sd = middle * (c[(2, 2)] - 2.0 * c[(2, 3)] + c[(3, 3)]).max(0.0).sqrt();
    let speeds: Vec<f64> = faster.iter().map(|f| f + middle).collect();
    let (slow, fast) = (quantile(&speeds, 0.05), quantile(&speeds, 0.95));
    let basis = format!(
        "phases at {} to {} m/s on the sensor against ground velocity less wind; air density is part of the scale",
        fixed(slow, 1),
        fixed(fast, 1)
    );
    let mut against = Vec::new();
    if !factor.enough {
        against.push(factor.verdict.clone());
    }
    if scale_sd > USEFUL_SCALE || offset_sd > USEFUL_OFFSET_M_S {
        against.push(format!(
            "scale and offset are not told apart by {} m/s of difference in speed: fly a circle or two opposite legs at {} m/s and again at {} m/s",
            fixed(fast - slow, 1),
            fixed(0.8 * middle, 0),
            fixed(1.3 * middle, 0)
        ));
    }
    let verdict = Verdict::of(basis, &against);
    let evidence = wind.speed_m_s.evidence.clone();
    let finding =
        |key: &str, value, sd| verdict.finding(&format!("airspeed_sensor.{key}"), value, sd, &evidence);
    let mut told = Told {
        estimates: vec![
            Estimate::new(
                "scale: true airspeed for each m/s more on the sensor",
                "",
                finding("scale", scale, scale_sd),
            ),
            Estimate::new(
                "offset: true airspeed where the sensor shows none",
                "m/s",
                finding("offset_m_s", offset, offset_sd),
            ),
        ],
        evidence: Vec::new(),
        sentences: Vec::new(),
    };
    if verdict.enough && offset.abs() > 2.0 * offset_sd {
        told.sentences.push(
            "The offset is not zero: let the sensor settle its zero before the flight, shielded from the wind, and look for a leak in its hoses.".into(),
        );
    }
    told.evidence.push(calibration(detail, &groups, &faster, middle, (scale, offset), &fit, at));
    Ok(told)
}

fn calibration(
    detail: &Detail,
    groups: &[Option<usize>],
    faster: &[f64],
    middle: f64,
    found: (f64, f64),
    fit: &Coloured,
    at: f64,
) -> Evidence {
    let mut means: std::collections::BTreeMap<usize, (f64, f64, f64)> = std::collections::BTreeMap::new();
    for ((s, g), f) in detail.seconds.iter().zip(groups).zip(faster) {
        let (Some(g), true) = (g, *f != 0.0) else {
            continue;
        };
        let seen =
            s.residual + at * s.airspeed - s.along[0] * fit.parameters[0] - s.along[1] * fit.parameters[1];
        let sum = means.entry(*g).or_insert((0.0, 0.0, 0.0));
        *sum = (sum.0 + s.airspeed, sum.1 + seen, sum.2 + 1.0);
    }
    let data: Vec<[f64; 2]> = means.values().map(|(a, t, n)| [a / n, t / n]).collect();
    let (low, high) = data.iter().fold((middle, middle), |(l, h), d| (l.min(d[0]), h.max(d[0])));
    let line = along(low, high, 12);
    let c = &fit.covariance;
    let true_at = |v: f64| found.0 * v + found.1;
    let doubt = |v: f64| {
        let f = v - middle;
        (middle * middle * c[(2, 2)] + 2.0 * middle * f * c[(2, 3)] + f * f * c[(3, 3)]).max(0.0).sqrt()
    };
    Evidence {
        title: "True airspeed over that of the sensor".into(),
        what: "Speed through the air by ground velocity less wind, over the sensor's, phase by phase.".into(),
        x: "Airspeed of the sensor, m/s".into(),
        y: "True airspeed, m/s".into(),
        residuals: data.iter().map(|d| [d[0], d[1] - true_at(d[0])]).collect(),
        data,
        fit: line.iter().map(|v| [*v, true_at(*v)]).collect(),
        doubt: line.iter().map(|v| 2.0 * doubt(*v)).collect(),
        mark: None,
    }
}
