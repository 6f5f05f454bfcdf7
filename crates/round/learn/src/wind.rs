//! How did the wind blow? The wind is the velocity W for which |ground velocity - W| is the airspeed, whatever the
//! heading: the airspeed of the sensor times a factor, or, without a sensor, one airspeed for the straight and turning
//! flight that wanders, and goes with what shows it (throttle, climb, pitch over the flight path, load).
//!
//! Gusts move the aircraft over ground but are not wind. They are carried as processes of their own
//! (module `coloured`): a horizontal gust vector, and an error along the airspeed (position error of the sensor; the
//! wandering of the airspeed itself). Also carried: the change of wind with height, and the delay of the ground
//! velocity behind the airspeed.

use fly::phases::Phase;
use fly::recording::Quantity;
use numerics::Vec3;
use numerics::statistics::{mean, median, robust_spread};

use crate::blocks::Blocks;
use crate::circle::circle;
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::{Learnt, NotLearnt, Wind};
use crate::triangle;

mod flown;
mod profile;
mod told;

pub(crate) use flown::Flown;
pub(crate) use profile::{over_height, sensor};

/// Residuals are averaged over this long before the processes are fitted, s: far below the seconds that gusts last.
const AVERAGED_OVER_S: f64 = 1.0;
/// Blocks further from the rest than this many of their robust spreads are left out (satellite jumps).
const OUTLIER_SPREADS: f64 = 4.5;
/// No residual within this is an outlier, m/s: what satellite velocity is good for.
const LEAST_LIMIT_M_S: f64 = 0.2;
/// How much airspeed goes with each of [`Flown::shown`] before looking, m/s per unit: a model's whole speed range over
/// the throttle; a meter a second of climb for some of speed; V/2α at α of 5 degrees above zero lift; V/2 for load.
const SHOWN: [f64; 4] = [15.0, 1.5, 80.0, 7.0];
/// Change of wind with height known before looking, 1/s: a logarithmic profile of 8 m/s at 20 m over grass
/// (roughness 0.03 m) changes by 8/(20 ln(20/0.03)) = 0.06 per s.
pub(crate) const CHANGE_WITH_HEIGHT_SD_PER_S: f64 = 0.06;
/// Delay of satellite velocity known before looking, s (receivers' data sheets: 0.1 to 0.4).
const DELAY_S: (f64, f64) = (0.2, 0.3);
/// Spread of each component of the wind before looking, m/s: nobody flies a model in more.
pub(crate) const LARGEST_WIND_M_S: f64 = 20.0;
/// Spread of the sensor's factor before looking: density and place of the sensor are good for some 5 % each, a bad
/// calibration for more (common practice, no source).
pub(crate) const FACTOR_SD: f64 = 0.15;

/// One second of flight, linearised about a wind.
struct Second {
    time_s: f64,
    residual: f64,
    /// Mean unit vector of the velocity through the air.
    along: [f64; 2],
    /// Sensor airspeed, or one where there is none.
    airspeed: f64,
    /// Rate of the sensor's airspeed, m/s².
    airspeed_rate: f64,
    height: f64,
    velocity: [f64; 2],
    shown: [f64; 4],
}

/// Finds the wind of a flight from its blocks and phases.
///
/// # Errors
/// When the ground velocity is missing, or the flight does not turn enough; with what more to fly.
pub fn wind(blocks: &Blocks, phases: &[Phase]) -> Learnt<Wind> {
    in_detail(blocks, phases).map(|(wind, _)| wind)
}

/// What later questions go on from.
pub(crate) struct Detail {
    flown: Flown,
    fit: Coloured,
    seconds: Vec<Second>,
    /// Wind and airspeed (or factor) that the seconds are linearised about.
    linearised: [f64; 3],
    /// Mean of the sensor's airspeed, or one where there is none.
    level: f64,
    /// Length of a second, s.
    second_s: f64,
    /// Height channel at the launch point, m.
    ground_m: f64,
}

/// The wind with what later questions go on from.
pub(crate) fn in_detail(blocks: &Blocks, phases: &[Phase]) -> Learnt<(Wind, Detail)> {
    let mut flown = flown::gather(blocks, phases)?;
    let begin = begin(&mut flown)?;
    let (fit, seconds, at) = refine(&flown, begin)?;
    let triangle = triangle::triangle(&flown);
    let found = told::describe(&flown, &fit, &seconds, at, triangle);
    let detail = Detail {
        linearised: std::array::from_fn(|k| at[k] - fit.parameters[k]),
        level: mean(&seconds.iter().map(|s| s.airspeed).collect::<Vec<f64>>()),
        second_s: AVERAGED_OVER_S.max(flown.step_s),
        ground_m: ground_m(blocks),
        flown,
        fit,
        seconds,
    };
    Ok((found, detail))
}

/// Height of the launch point in the height channel: nothing where heights count from it, else the first altitude.
fn ground_m(blocks: &Blocks) -> f64 {
    if blocks.column(&Quantity::Height).is_some() {
        return 0.0;
    }
    blocks.height_m().and_then(|h| h.iter().copied().find(|h| h.is_finite())).unwrap_or(0.0)
}

/// Values less their mean; what is missing at the mean.
fn centered(values: &[f64]) -> Vec<f64> {
    let known: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let middle = if known.is_empty() { 0.0 } else { mean(&known) };
    values.iter().map(|v| if v.is_finite() { v - middle } else { 0.0 }).collect()
}

/// Wind (north, east) and airspeed (or the sensor's factor) to begin from, with the outliers taken out of `flown`.
fn begin(flown: &mut Flown) -> Result<[f64; 3], NotLearnt> {
    let narrow = || NotLearnt::NotExcited {
        why: "all ground velocities lie along one line, so no wind fits better than another: fly one full \
              circle at constant throttle, or a leg across the others"
            .into(),
    };
    let mut kept: Vec<usize> = (0..flown.time_s.len()).collect();
    let mut at = [0.0; 3];
    for _ in 0..6 {
        let picked: Vec<[f64; 2]> = kept.iter().map(|i| flown.velocity[*i]).collect();
        let first = match circle(&picked) {
            Some(c) => c.wind,
            // With a sensor the wind along the line is told all the same; heading may tell the rest.
            None if flown.sensor => [0.0; 2],
            None => return Err(narrow()),
        };
        at = settle(flown, &kept, first);
        let residuals: Vec<f64> = (0..flown.time_s.len()).map(|i| residual(flown, i, at)).collect();
        let of_kept: Vec<f64> = kept.iter().map(|i| residuals[*i]).collect();
        let middle = median(&of_kept);
        let limit = (OUTLIER_SPREADS * robust_spread(&of_kept)).max(LEAST_LIMIT_M_S);
        let next: Vec<usize> =
            (0..residuals.len()).filter(|i| (residuals[*i] - middle).abs() <= limit).collect();
        let same = next == kept;
        kept = next;
        if same {
            break;
        }
    }
    flown.keep(&kept);
    Ok(at)
}

/// Speed through the air at a wind less the airspeed.
fn residual(flown: &Flown, i: usize, at: [f64; 3]) -> f64 {
    through_air(flown, i, [at[0], at[1]]).0 - at[2] * flown.airspeed[i]
}

/// Speed through the air and its horizontal unit vector (shortened where the flight path is steep).
fn through_air(flown: &Flown, i: usize, wind: [f64; 2]) -> (f64, [f64; 2]) {
    let n = flown.velocity[i][0] - wind[0];
    let e = flown.velocity[i][1] - wind[1];
    let speed = (n * n + e * e + flown.down[i] * flown.down[i]).sqrt().max(1e-9);
    (speed, [n / speed, e / speed])
}

/// Gauss-Newton on wind and airspeed from a first wind, robust once it has settled: residuals count less the further
/// they lie (Huber).
fn settle(flown: &Flown, kept: &[usize], wind: [f64; 2]) -> [f64; 3] {
    let ratios: Vec<f64> = kept.iter().map(|i| through_air(flown, *i, wind).0 / flown.airspeed[*i]).collect();
    let level = mean(&kept.iter().map(|i| flown.airspeed[*i]).collect::<Vec<f64>>());
    let mut at = [wind[0], wind[1], median(&ratios)];
    for iteration in 0..40 {
        let residuals: Vec<f64> = kept.iter().map(|i| residual(flown, *i, at)).collect();
        let spread = robust_spread(&residuals).max(1e-3);
        // A trace of the diagonal holds still what the directions flown do not tell.
        let trace = 1e-6 * kept.len() as f64;
        let mut normal = nalgebra::Matrix3::<f64>::from_diagonal_element(trace);
        let mut right = Vec3::zeros();
        for (i, r) in kept.iter().zip(&residuals) {
            let (_, along) = through_air(flown, *i, [at[0], at[1]]);
            let row = Vec3::new(along[0], along[1], level);
            // All count alike at first: from a bad beginning two legs look like one and its outliers.
            let weight = if iteration < 10 { 1.0 } else { (1.5 * spread / r.abs().max(1e-12)).min(1.0) };
            normal += weight * row * row.transpose();
            right += weight * row * *r;
        }
        let Some(step) = normal.lu().solve(&right) else {
            return at;
        };
        // A wind that runs away comes of velocities along one line; the spread of directions is judged later.
        let size = step.x.hypot(step.y);
        let share = if size > 5.0 { 5.0 / size } else { 1.0 };
        for k in 0..3 {
            at[k] += share * step[k];
        }
        if !at.iter().all(|a| a.is_finite()) {
            return [wind[0], wind[1], median(&ratios)];
        }
        if size < 1e-9 && iteration > 10 {
            break;
        }
    }
    at
}

/// Means over about a second, linearised about a wind.
fn seconds(flown: &Flown, at: [f64; 3]) -> Vec<Second> {
    let length = AVERAGED_OVER_S.max(flown.step_s);
    let mut seconds: Vec<Second> = Vec::new();
    let mut from = 0;
    while from < flown.time_s.len() {
        let begin = (flown.time_s[from] / length).floor();
        let to = (from..flown.time_s.len())
            .find(|i| (flown.time_s[*i] / length).floor() > begin)
            .unwrap_or(flown.time_s.len());
        let count = (to - from) as f64;
        // A second of which most is missing would count as much as a whole one.
        if count * flown.step_s >= 0.45 * length {
            let over = |f: &dyn Fn(usize) -> f64| (from..to).map(f).sum::<f64>() / count;
            let unit = |i: usize| through_air(flown, i, [at[0], at[1]]).1;
            seconds.push(Second {
                time_s: over(&|i| flown.time_s[i]),
                residual: over(&|i| residual(flown, i, at)),
                along: [over(&|i| unit(i)[0]), over(&|i| unit(i)[1])],
                airspeed: over(&|i| flown.airspeed[i]),
                airspeed_rate: over(&|i| flown.airspeed_rate[i]),
                height: over(&|i| flown.height[i]),
                shown: std::array::from_fn(|k| {
                    let known = (from..to).map(|i| flown.shown[i][k]).filter(|v| v.is_finite());
                    mean(&known.collect::<Vec<f64>>())
                }),
                velocity: [over(&|i| flown.velocity[i][0]), over(&|i| flown.velocity[i][1])],
            });
        }
        from = to;
    }
    seconds
}

/// Gauss-Newton with the processes: the last fit, its seconds, and wind and airspeed (or factor).
fn refine(flown: &Flown, begin: [f64; 3]) -> Result<(Coloured, Vec<Second>, [f64; 3]), NotLearnt> {
    let mut at = begin;
    let mut hyper: Option<Vec<f64>> = None;
    let mut last = None;
    for _ in 0..4 {
        let now = seconds(flown, at);
        let Some(fit) = fit_seconds(flown, &now, at, hyper.as_deref()) else {
            return Err(NotLearnt::NotExcited {
                why: format!(
                    "{} s of usable flight do not fix a wind: fly two full circles at constant throttle",
                    now.len()
                ),
            });
        };
        for (a, d) in at.iter_mut().zip(&fit.parameters) {
            *a += d;
        }
        let moved = fit.parameters[0].hypot(fit.parameters[1]);
        let sensible = at[0].hypot(at[1]) < 100.0 && at[2] > 0.0;
        if !sensible {
            return Err(NotLearnt::NotExcited {
                why:
                    "the directions flown do not fix a wind: fly one full circle at constant throttle, or a \
                      leg across the others"
                        .into(),
            });
        }
        hyper = Some(fit.hyper.clone());
        last = Some((fit, now));
        if moved < 0.01 {
            break;
        }
    }
    match last {
        Some((fit, now)) => Ok((fit, now, at)),
        None => Err(NotLearnt::NotExcited { why: "no usable flight".into() }),
    }
}

/// One linear fit about a wind. Parameters: wind north and east, airspeed factor (or airspeed), change of both
/// winds with height, delay.
fn fit_seconds(flown: &Flown, now: &[Second], at: [f64; 3], hyper: Option<&[f64]>) -> Option<Coloured> {
    let column = |f: &dyn Fn(&Second) -> f64| -> Vec<f64> { now.iter().map(f).collect() };
    let time_s = column(&|s| s.time_s);
    let measured = column(&|s| s.residual);
    let north = column(&|s| s.along[0]);
    let east = column(&|s| s.along[1]);
    // The factor is told by the mean airspeed alone. How speed through the air goes with the sensor's from second to
    // second is no measure of it: fast gusts and noise are in the sensor and not in the ground velocity, slow gusts,
    // which the aircraft gives way to, are in the ground velocity and not in the sensor.
    let level = vec![mean(&column(&|s| s.airspeed)); now.len()];
    let ones = vec![1.0; now.len()];
    let middle = median(&column(&|s| s.height));
    let north_up = column(&|s| s.along[0] * (s.height - middle));
    let east_up = column(&|s| s.along[1] * (s.height - middle));
    // Ground velocity lags: at time t it shows the speed of t - delay, which is less by delay times its rate.
    let delay = column(&|s| -at[2] * s.airspeed_rate);
    let measured: Vec<f64> =
        measured.iter().zip(&delay).map(|(r, d)| if flown.sensor { r - DELAY_S.0 * d } else { *r }).collect();
    let mut design: Vec<&[f64]> = vec![&north, &east, &level];
    let mut prior = vec![
        Some((-at[0], LARGEST_WIND_M_S)),
        Some((-at[1], LARGEST_WIND_M_S)),
        flown.sensor.then_some((1.0 - at[2], FACTOR_SD)),
    ];
    if flown.heights {
        design.extend([north_up.as_slice(), east_up.as_slice()]);
        prior.extend([Some((0.0, CHANGE_WITH_HEIGHT_SD_PER_S)); 2]);
    }
    let shows: Vec<Vec<f64>> = (0..SHOWN.len()).map(|k| centered(&column(&|s| s.shown[k]))).collect();
    if !flown.sensor {
        for (values, spread) in shows.iter().zip(SHOWN) {
            if values.iter().any(|v| v.abs() > 1e-9) {
                design.push(values);
                prior.push(Some((0.0, spread)));
            }
        }
    }
    if flown.sensor {
        design.push(&delay);
        prior.push(Some((0.0, DELAY_S.1)));
    }
    // Dryden's length scale along the flight path at 50 m is 200 m (MIL-F-8785C), flown through in some 12 s;
    // a convective afternoon has longer gusts, hence a factor of three either way. The error along the airspeed
    // is as long, or as short as a swing of the phugoid's quarter.
    let gusts = LogPrior { mean: 12.0_f64.ln(), sd: 1.0 };
    let along = LogPrior { mean: 6.0_f64.ln(), sd: 1.0 };
    coloured::fit(
        &Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: &measured,
            design,
            prior,
            families: vec![
                Family { loadings: vec![&north, &east], log_time: gusts },
                Family { loadings: vec![&ones], log_time: along },
            ],
        },
        hyper,
    )
}
