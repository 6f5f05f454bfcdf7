//! How did the wind blow? The wind is the velocity W for which |ground velocity - W| is the airspeed, whatever the
//! heading: the airspeed of the sensor times a factor, or one airspeed per window where there is no sensor.
//!
//! Gusts move the aircraft over ground but are not wind. They are carried as processes of their own
//! ([`crate::coloured`]): a horizontal gust vector, and an error along the airspeed (gusts along the flight path,
//! position error of the sensor; without a sensor the wandering of the airspeed itself). Also carried: the change of
//! wind with height, and the delay of the ground velocity behind the airspeed.

use aircraft::finding::{Finding, Window};
use fly::phases::{Phase, PhaseKind};
use fly::recording::Quantity;
use numerics::Vec3;
use numerics::frames::{wind_speed_and_from, wrap_rad};
use numerics::statistics::{mean, median, quantile, robust_spread};
use numerics::units::{DEG_PER_RAD, G_M_S2, RAD_PER_DEG};

use crate::blocks::{Blocks, mean_of_most};
use crate::circle::circle;
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::{Learnt, NotLearnt, Triangle, Wind};
use crate::headings::Headings;
use crate::triangle;

/// Residuals are averaged over this long before the processes are fitted, s: far below the seconds that gusts last.
const AVERAGED_OVER_S: f64 = 1.0;
/// Blocks further from the rest than this many of their robust spreads are left out (satellite jumps).
const OUTLIER_SPREADS: f64 = 4.5;
/// No residual within this is an outlier, m/s: what satellite velocity is good for.
const LEAST_LIMIT_M_S: f64 = 0.2;
/// Share of the 90 % airspeed below which the aircraft is taken not to fly on its wing.
const FLYING_SHARE: f64 = 0.5;
/// How much airspeed goes with each of [`Flown::shown`] before looking, m/s per unit: a model's whole speed range over
/// the throttle; a meter a second of climb for some of speed; V/2α at α of 5 degrees above zero lift; V/2 for load.
const SHOWN: [f64; 4] = [15.0, 1.5, 80.0, 7.0];
/// Change of wind with height known before looking, 1/s: a logarithmic profile of 8 m/s at 20 m over grass
/// (roughness 0.03 m) changes by 8/(20 ln(20/0.03)) = 0.06 per s.
const CHANGE_WITH_HEIGHT_SD_PER_S: f64 = 0.06;
/// Delay of satellite velocity known before looking, s (receivers' data sheets: 0.1 to 0.4).
const DELAY_S: (f64, f64) = (0.2, 0.3);
/// Least variance of the flown direction's unit vector along any axis: an even half circle has
/// 1/2 - (2/π)² = 0.095, three even headings 0.5, two opposite legs none across.
const LEAST_SPREAD: f64 = 0.08;
/// Wind worse known than this is no help in judging the next day, m/s.
const USEFUL_SD_M_S: f64 = 1.0;
/// Spread of each component of the wind before looking, m/s: nobody flies a model in more.
const LARGEST_WIND_M_S: f64 = 20.0;
/// Spread of the sensor's factor before looking: density and place of the sensor are good for some 5 % each, a bad
/// calibration for more (common practice, no source).
const FACTOR_SD: f64 = 0.15;
/// A heading that strays more than this from the flight path is not slip alone, deg.
const STRAYING_DEG: f64 = 6.0;
/// Height range below which no change with height is told, m.
const LEAST_HEIGHT_RANGE_M: f64 = 20.0;

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

/// What the fit uses of the recording, block by block.
pub(crate) struct Flown {
    pub(crate) time_s: Vec<f64>,
    pub(crate) velocity: Vec<[f64; 2]>,
    pub(crate) down: Vec<f64>,
    /// Sensor airspeed; ones where there is no sensor.
    pub(crate) airspeed: Vec<f64>,
    pub(crate) airspeed_rate: Vec<f64>,
    pub(crate) height: Vec<f64>,
    pub(crate) heading: Vec<f64>,
    /// What shows the airspeed where no sensor does: throttle, climb (m/s), pitch less path angle (rad), load factor.
    pub(crate) shown: Vec<[f64; 4]>,
    pub(crate) sensor: bool,
    pub(crate) heights: bool,
    pub(crate) step_s: f64,
}

/// Finds the wind of a flight from its blocks and phases.
///
/// # Errors
/// When the ground velocity is missing, or the flight does not turn enough; with what more to fly.
pub fn wind(blocks: &Blocks, phases: &[Phase]) -> Learnt<Wind> {
    let mut flown = gather(blocks, phases)?;
    let begin = begin(&mut flown)?;
    let (fit, seconds, at) = refine(&flown, begin)?;
    let triangle = triangle::triangle(&flown);
    let found = describe(&flown, &fit, &seconds, at, triangle);
    Ok(found)
}

/// Picks the blocks in which the aircraft flew.
fn gather(blocks: &Blocks, phases: &[Phase]) -> Result<Flown, NotLearnt> {
    let (Some(north), Some(east)) =
        (blocks.column(&Quantity::VelocityNorth), blocks.column(&Quantity::VelocityEast))
    else {
        return Err(NotLearnt::MissingChannel {
            what: "velocity over ground: north and east, or speed and course, or latitude and longitude"
                .into(),
        });
    };
    let none = vec![f64::NAN; blocks.count];
    let down = blocks.column(&Quantity::VelocityDown);
    let airspeed = blocks.column(&Quantity::Airspeed);
    let height = blocks.height_m();
    let heading = blocks.column(&Quantity::Yaw).unwrap_or(&none);
    let rate = airspeed.map(|a| blocks.rate_of(a));
    let sensor = airspeed.is_some_and(|a| a.iter().filter(|v| v.is_finite()).count() > 20);
    let speed: Vec<f64> = match (sensor, airspeed) {
        (true, Some(a)) => a.to_vec(),
        _ => north.iter().zip(east).map(|(n, e)| n.hypot(*e)).collect(),
    };
    let least = FLYING_SHARE * quantile(&speed, 0.9);
    let mut flown = Flown {
        time_s: Vec::new(),
        velocity: Vec::new(),
        down: Vec::new(),
        airspeed: Vec::new(),
        airspeed_rate: Vec::new(),
        height: Vec::new(),
        heading: Vec::new(),
        shown: Vec::new(),
        sensor,
        heights: height.is_some(),
        step_s: blocks.step_s,
    };
    for window in used_windows(blocks, phases, sensor) {
        for i in blocks.within(window) {
            // Without a sensor a slow ground speed may be a strong wind: only standing still is left out.
            let slow = if sensor { speed[i] < least } else { speed[i] < 0.2 * least };
            if !(north[i].is_finite() && east[i].is_finite() && speed[i].is_finite()) || slow {
                continue;
            }
            flown.time_s.push(blocks.time_s(i));
            flown.velocity.push([north[i], east[i]]);
            let sink = down.map_or(0.0, |d| d[i]);
            flown.down.push(if sink.is_finite() { sink } else { 0.0 });
            flown.airspeed.push(if sensor { speed[i] } else { 1.0 });
            flown
                .airspeed_rate
                .push(rate.as_ref().map_or(0.0, |r| if r[i].is_finite() { r[i] } else { 0.0 }));
            flown.height.push(height.map_or(f64::NAN, |h| h[i]));
            flown.heading.push(heading[i]);
            flown.shown.push(shown(blocks, i));
        }
    }
    fill_height(&mut flown);
    let seconds = flown.time_s.len() as f64 * flown.step_s;
    if seconds < 10.0 {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "only {seconds:.0} s of flight{} were found: fly two full circles at constant throttle",
                if sensor { "" } else { " in steady turns and straight legs" }
            ),
        });
    }
    Ok(flown)
}

/// What shows the airspeed in a block, see [`Flown::shown`]; not a number where not recorded.
fn shown(blocks: &Blocks, i: usize) -> [f64; 4] {
    let at = |q: &Quantity| blocks.column(q).and_then(|c| c.get(i)).copied().unwrap_or(f64::NAN);
    let climb = -at(&Quantity::VelocityDown);
    let level = at(&Quantity::VelocityNorth).hypot(at(&Quantity::VelocityEast));
    [
        at(&Quantity::Throttle),
        climb,
        // Ground speed is near enough to airspeed for the small path angles of steady flight.
        at(&Quantity::Pitch) - climb.atan2(level.max(5.0)),
        at(&Quantity::ForceZ) / -G_M_S2,
    ]
}

/// Values less their mean; what is missing at the mean.
fn centered(values: &[f64]) -> Vec<f64> {
    let known: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let middle = if known.is_empty() { 0.0 } else { mean(&known) };
    values.iter().map(|v| if v.is_finite() { v - middle } else { 0.0 }).collect()
}

/// Missing heights are taken at the mean, where they change nothing.
fn fill_height(flown: &mut Flown) {
    let known: Vec<f64> = flown.height.iter().copied().filter(|h| h.is_finite()).collect();
    if known.len() < flown.height.len() / 2 || known.is_empty() {
        flown.heights = false;
    }
    let middle = if known.is_empty() { 0.0 } else { mean(&known) };
    for h in &mut flown.height {
        if !h.is_finite() {
            *h = middle;
        }
    }
}

/// With a sensor all seconds in the air count; without one only those of steady airspeed.
fn used_windows(blocks: &Blocks, phases: &[Phase], sensor: bool) -> Vec<Window> {
    let flying = |kind: PhaseKind| match kind {
        PhaseKind::Ground | PhaseKind::Launch | PhaseKind::Landing => false,
        PhaseKind::Straight | PhaseKind::Turn => true,
        PhaseKind::Climb | PhaseKind::Glide | PhaseKind::Other => sensor,
    };
    let windows: Vec<Window> = phases.iter().filter(|p| flying(p.kind)).map(|p| p.window).collect();
    if windows.is_empty() && phases.iter().all(|p| p.kind != PhaseKind::Ground) {
        // No phase could be told: then speed alone must tell what is flight.
        return vec![Window { from_s: blocks.from_s, to_s: blocks.time_s(blocks.count) }];
    }
    windows
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

impl Flown {
    fn keep(&mut self, kept: &[usize]) {
        let pick = |v: &[f64]| kept.iter().map(|i| v[*i]).collect();
        self.time_s = pick(&self.time_s);
        self.down = pick(&self.down);
        self.airspeed = pick(&self.airspeed);
        self.airspeed_rate = pick(&self.airspeed_rate);
        self.height = pick(&self.height);
        self.heading = pick(&self.heading);
        self.shown = kept.iter().map(|i| self.shown[*i]).collect();
        self.velocity = kept.iter().map(|i| self.velocity[*i]).collect();
    }
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

/// Speed and direction with their doubt from a wind vector and its covariance: root mean square difference over the
/// normal distribution, which stays right where the wind is no stronger than its doubt (a direction of which
/// nothing is known has 104 degrees, that of an even circle).
pub(crate) fn speed_and_direction_sd(velocity: [f64; 2], covariance: [f64; 3]) -> (f64, f64) {
    let [nn, ne, ee] = covariance;
    let a = nn.max(0.0).sqrt();
    let b = if a > 0.0 { ne / a } else { 0.0 };
    let c = (ee - b * b).max(0.0).sqrt();
    let speed = velocity[0].hypot(velocity[1]);
    let direction = velocity[1].atan2(velocity[0]);
    let (rings, spokes) = (64, 64);
    let (mut speed2, mut direction2) = (0.0, 0.0);
    for ring in 0..rings {
        // Equal shares of a two-dimensional normal: radius at the middle of each share.
        let share = (f64::from(ring) + 0.5) / f64::from(rings);
        let radius = (-2.0 * (1.0 - share).ln()).sqrt();
        for spoke in 0..spokes {
            let angle = std::f64::consts::TAU * (f64::from(spoke) + 0.5) / f64::from(spokes);
            let (u, v) = (radius * angle.cos(), radius * angle.sin());
            let n = velocity[0] + a * u;
            let e = velocity[1] + b * u + c * v;
            speed2 += (n.hypot(e) - speed).powi(2);
            direction2 += wrap_rad(e.atan2(n) - direction).powi(2);
        }
    }
    let count = f64::from(rings * spokes);
    ((speed2 / count).sqrt(), (direction2 / count).sqrt())
}

/// Puts the numbers, their doubt and the verdict together.
fn describe(
    flown: &Flown,
    fit: &Coloured,
    now: &[Second],
    at: [f64; 3],
    triangle: Option<(Triangle, [f64; 3])>,
) -> Wind {
    let c = &fit.covariance;
    let mut velocity = [at[0], at[1]];
    let mut covariance = [c[(0, 0)], c[(0, 1)], c[(1, 1)]];
    let headings = Headings::of(
        &now.iter().map(|s| s.along[1].atan2(s.along[0])).collect::<Vec<f64>>(),
        AVERAGED_OVER_S.max(flown.step_s),
    );
    let by_circle = headings.least_spread >= LEAST_SPREAD;
    let mut way = "from ground speed against direction";
    if let (false, Some((t, sd))) = (by_circle, &triangle) {
        velocity = t.velocity_m_s;
        covariance = *sd;
        way = "from heading, airspeed and ground velocity, as the directions flown do not suffice without the heading";
    }
    let (speed_sd, from_sd) = speed_and_direction_sd(velocity, covariance);
    let (speed, from) = wind_speed_and_from(Vec3::new(velocity[0], velocity[1], 0.0));
    let (gust_sd, gust_s) = fit.families.first().copied().unwrap_or((0.0, 0.0));
    let evidence = evidence(now, AVERAGED_OVER_S.max(flown.step_s));
    let excited = by_circle || (triangle.is_some() && headings.covered_deg >= 60.0);
    let enough = excited && speed_sd <= USEFUL_SD_M_S;
    let basis = format!(
        "{way}; {:.0} s in the air on headings that cover {:.0} of 360 degrees; gusts of {gust_sd:.1} m/s lasting about {gust_s:.0} s are in the doubt",
        now.len() as f64 * AVERAGED_OVER_S.max(flown.step_s),
        headings.covered_deg,
    );
    let verdict = if enough {
        basis.clone()
    } else if !excited {
        format!("{basis}. Not enough: {}", headings.more_to_fly())
    } else {
        format!(
            "{basis}. Not enough: the doubt of {speed_sd:.1} m/s is more than {USEFUL_SD_M_S} m/s; fly one more full circle at constant throttle"
        )
    };
    let direction_known = enough && speed > 2.0 * speed_sd && from_sd < 30.0 * RAD_PER_DEG;
    let finding = |parameter: &str, value: f64, sd: f64, enough: bool, verdict: &str| Finding {
        parameter: parameter.into(),
        value,
        sd,
        evidence: evidence.clone(),
        enough,
        verdict: verdict.into(),
    };
    let from_verdict = if enough && !direction_known {
        format!(
            "{basis}. A wind of {speed:.1} ± {:.1} m/s is too weak to tell its direction better",
            2.0 * speed_sd
        )
    } else {
        verdict.clone()
    };
    let mean_airspeed = mean(&now.iter().map(|s| s.airspeed).collect::<Vec<f64>>());
    let factor_sd = fit.sd(2);
    let heights: Vec<f64> = now.iter().map(|s| s.height).collect();
    Wind {
        speed_m_s: finding("wind.speed_m_s", speed, speed_sd, enough, &verdict),
        from_deg: finding(
            "wind.from_deg",
            from * DEG_PER_RAD,
            from_sd * DEG_PER_RAD,
            direction_known,
            &from_verdict,
        ),
        airspeed_m_s: finding(
            "wind.airspeed_m_s",
            at[2] * mean_airspeed,
            factor_sd * mean_airspeed,
            by_circle,
            &verdict,
        ),
        airspeed_factor: flown.sensor.then(|| {
            finding(
                "wind.airspeed_factor",
                at[2],
                factor_sd,
                by_circle && factor_sd < 0.05,
                &format!(
                    "true airspeed is {:.3} ± {:.3} times what the sensor shows, at {mean_airspeed:.1} m/s on it; air density is part of it",
                    at[2],
                    2.0 * factor_sd
                ),
            )
        }),
        ground_velocity_m_s: now.iter().map(|s| s.velocity).collect(),
        velocity_m_s: velocity,
        height_m: flown.heights.then(|| median(&heights)),
        change_with_height_per_s: change_with_height(flown, fit, at, &heights, &evidence, enough),
        gust_m_s: gust_sd,
        triangle: triangle.map(|(mut t, of_triangle)| {
            t.agreement = agreement([at[0], at[1]], [c[(0, 0)], c[(0, 1)], c[(1, 1)]], &t, of_triangle, by_circle);
            t
        }),
    }
}

/// Change with height along the wind's own direction, where the flight covers enough height.
fn change_with_height(
    flown: &Flown,
    fit: &Coloured,
    at: [f64; 3],
    heights: &[f64],
    evidence: &[Window],
    enough: bool,
) -> Option<Finding> {
    let range_m = quantile(heights, 0.95) - quantile(heights, 0.05);
    let speed = at[0].hypot(at[1]);
    let told = flown.heights && range_m >= LEAST_HEIGHT_RANGE_M && speed > 0.0;
    if !told {
        return None;
    }
    let unit = [at[0] / speed, at[1] / speed];
    let value = unit[0] * fit.parameters[3] + unit[1] * fit.parameters[4];
    let c = &fit.covariance;
    let variance =
        unit[0] * unit[0] * c[(3, 3)] + 2.0 * unit[0] * unit[1] * c[(3, 4)] + unit[1] * unit[1] * c[(4, 4)];
    let sd = variance.max(0.0).sqrt();
    // Half of what was known before looking: otherwise the flight has told little.
    let told = sd < 0.5 * CHANGE_WITH_HEIGHT_SD_PER_S;
    Some(Finding {
        parameter: "wind.change_with_height_per_s".into(),
        value,
        sd,
        evidence: evidence.to_vec(),
        enough: enough && told,
        verdict: format!(
            "the wind grows by {:.1} ± {:.1} m/s over the {range_m:.0} m of height flown{}",
            value * range_m,
            2.0 * sd * range_m,
            if told {
                ""
            } else {
                "; not enough to rely on: fly a full circle at constant throttle low and another one high"
            }
        ),
    })
}

/// Whether circle and triangle agree.
fn agreement(
    wind: [f64; 2],
    covariance: [f64; 3],
    triangle: &Triangle,
    of_triangle: [f64; 3],
    by_circle: bool,
) -> String {
    let [n, e] = [triangle.velocity_m_s[0] - wind[0], triangle.velocity_m_s[1] - wind[1]];
    let apart = n.hypot(e);
    let (speed, from) =
        wind_speed_and_from(Vec3::new(triangle.velocity_m_s[0], triangle.velocity_m_s[1], 0.0));
    let head = format!("heading and airspeed give {speed:.1} m/s from {:.0} degrees", from * DEG_PER_RAD);
    if !by_circle {
        return format!("{head}; the directions flown do not suffice to check it without the heading");
    }
    // Gusts are common to both ways, so that the sum of both variances is more than that of the difference.
    let total: Vec<f64> = covariance.iter().zip(&of_triangle).map(|(a, b)| a + b).collect();
    let sd = if apart > 0.0 {
        ((n * n * total[0] + 2.0 * n * e * total[1] + e * e * total[2]) / (apart * apart)).max(0.0).sqrt()
    } else {
        0.0
    };
    let strays = triangle.heading_strays_deg;
    if strays > STRAYING_DEG {
        format!(
            "{head}, {apart:.1} m/s apart, but the heading strays by {strays:.0} degrees from the flight path, more than slip does: check the compass for iron and currents near it"
        )
    } else if apart <= 2.0 * sd {
        format!(
            "{head}: {apart:.1} m/s apart, within two standard deviations of {sd:.1} m/s: both ways agree"
        )
    } else {
        format!(
            "{head}: {apart:.1} m/s apart, more than two standard deviations of {sd:.1} m/s: check the heading (compass) and the airspeed sensor"
        )
    }
}

/// Joins seconds into windows.
fn evidence(now: &[Second], length_s: f64) -> Vec<Window> {
    let mut windows: Vec<Window> = Vec::new();
    for s in now {
        let (from_s, to_s) = (s.time_s - 0.5 * length_s, s.time_s + 0.5 * length_s);
        match windows.last_mut() {
            Some(w) if from_s - w.to_s < 3.0 => w.to_s = to_s,
            _ => windows.push(Window { from_s, to_s }),
        }
    }
    windows
}

/// Speed through the air, m/s, and its direction over ground, rad, block by block: the sensor's airspeed where there
/// is one, by the wind's factor where that is known; ground velocity less wind otherwise.
#[must_use]
pub fn airspeed_of_blocks(blocks: &Blocks, wind: Option<&Wind>) -> Option<Vec<f64>> {
    if let Some(sensor) = blocks.column(&Quantity::Airspeed) {
        let factor =
            wind.and_then(|w| w.airspeed_factor.as_ref()).filter(|f| f.enough).map_or(1.0, |f| f.value);
        return Some(sensor.iter().map(|v| factor * v).collect());
    }
    let wind = wind?;
    if !wind.speed_m_s.enough {
        return None;
    }
    let north = blocks.column(&Quantity::VelocityNorth)?;
    let east = blocks.column(&Quantity::VelocityEast)?;
    let down = blocks.column(&Quantity::VelocityDown);
    Some(
        (0..blocks.count)
            .map(|i| {
                let sink = down.map_or(0.0, |d| d[i]);
                let sink = if sink.is_finite() { sink } else { 0.0 };
                (north[i] - wind.velocity_m_s[0]).hypot(east[i] - wind.velocity_m_s[1]).hypot(sink)
            })
            .collect(),
    )
}

/// Mean of the direction of flight through the air over blocks, rad; none without velocity.
#[must_use]
pub fn direction_over(blocks: &Blocks, range: std::ops::Range<usize>, wind: Option<&Wind>) -> Option<f64> {
    let north = mean_of_most(blocks.column(&Quantity::VelocityNorth)?.get(range.clone())?);
    let east = mean_of_most(blocks.column(&Quantity::VelocityEast)?.get(range)?);
    let [wn, we] = wind.map_or([0.0, 0.0], |w| w.velocity_m_s);
    let direction = (east - we).atan2(north - wn);
    direction.is_finite().then_some(direction)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubt_of_speed_and_direction_is_right_for_strong_and_for_no_wind() {
        // Strong: sd of speed is that along the wind, of direction that across over the speed. None at all: the
        // root mean square speed of a two-dimensional normal is sqrt(2) sd; an even direction has π/sqrt(3).
        let (speed, direction) = speed_and_direction_sd([10.0, 0.0], [0.04, 0.0, 0.09]);
        assert!((speed / 0.2 - 1.0).abs() < 0.02, "{speed}");
        assert!((direction / 0.03 - 1.0).abs() < 0.02, "{direction}");
        let (speed, direction) = speed_and_direction_sd([0.0, 0.0], [0.04, 0.0, 0.04]);
        assert!((speed / (0.2 * 2.0_f64.sqrt()) - 1.0).abs() < 0.02, "{speed}");
        assert!((direction / (std::f64::consts::PI / 3.0_f64.sqrt()) - 1.0).abs() < 0.02);
    }
}
