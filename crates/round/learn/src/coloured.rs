//! Which parameters fit best when the residuals wander, as gusts and a pilot's hand make them?
//!
//! The model is `measured = design · parameters + Σ loading · g + white`, where every g is a process that forgets
//! exponentially (first order, Gauss-Markov; Dryden's longitudinal gust is exactly one). A Kalman filter whose state
//! holds the parameters and the processes gives the generalized least-squares estimate in a time proportional to the
//! data. Standard deviations and time constants of the processes are those of largest posterior density, with the
//! parameters integrated out (restricted likelihood: Patterson & Thompson, Biometrika 58, 1971). What stays unsure
//! of them widens the covariance: the mean over points about the best ones (unscented points, Julier & Uhlmann 1997,
//! weighted by the posterior itself).

use nalgebra::DMatrix;
use numerics::statistics::standard_deviation;

/// What is known of a logarithm before looking: mean and standard deviation.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LogPrior {
    pub(crate) mean: f64,
    pub(crate) sd: f64,
}

/// Processes that share one standard deviation and one time constant, each with its own loading on the measurements.
pub(crate) struct Family<'a> {
    pub(crate) loadings: Vec<&'a [f64]>,
    /// Natural logarithm of the time constant in seconds.
    pub(crate) log_time: LogPrior,
}

/// A linear problem with wandering residuals. `time_s` must not fall.
pub(crate) struct Problem<'a> {
    pub(crate) time_s: &'a [f64],
    pub(crate) measured: &'a [f64],
    /// Columns of the design, one a parameter.
    pub(crate) design: Vec<&'a [f64]>,
    /// What is known of each parameter before: mean and standard deviation; none where nothing is.
    pub(crate) prior: Vec<Option<(f64, f64)>>,
    pub(crate) families: Vec<Family<'a>>,
    /// Finest difference that the recording tells, in the unit of the measurements: white noise is no smaller.
    pub(crate) resolution: f64,
}

/// The parameters with their covariance, and the processes found.
#[derive(Debug, Clone)]
pub(crate) struct Coloured {
    pub(crate) parameters: Vec<f64>,
    pub(crate) covariance: DMatrix<f64>,
    /// Standard deviation of the white part.
    pub(crate) white_sd: f64,
    /// Standard deviation and time constant of each family.
    pub(crate) families: Vec<(f64, f64)>,
    /// The same in the order of the search, to begin a next one from.
    pub(crate) hyper: Vec<f64>,
}

impl Coloured {
    pub(crate) fn sd(&self, parameter: usize) -> f64 {
        self.covariance[(parameter, parameter)].max(0.0).sqrt()
    }
}

/// Spread of the weak prior on the logarithm of each standard deviation: a factor of 4.5 either way.
const LOG_SD_SPREAD: f64 = 1.5;
/// A parameter without prior begins with this many times the standard deviation that one datum would leave it.
const DIFFUSE: f64 = 1e3;

/// Fits a problem. `begin` is where the search of the processes starts, from an earlier fit. Absent with fewer than
/// three more data than parameters, or where something is not a number.
pub(crate) fn fit(problem: &Problem, begin: Option<&[f64]>) -> Option<Coloured> {
    let n = problem.measured.len();
    if n < problem.design.len() + 3 {
        return None;
    }
    let scale = residual_scale(problem)?;
    let priors = hyper_priors(problem, scale);
    let posterior = |hyper: &[f64]| -> f64 {
        let before: f64 = hyper.iter().zip(&priors).map(|(h, p)| -0.5 * ((h - p.mean) / p.sd).powi(2)).sum();
        filter(problem, hyper, scale).map_or(f64::NEG_INFINITY, |s| s.log_likelihood + before)
    };
    let start: Vec<f64> = match begin {
        Some(b) if b.len() == priors.len() => b.to_vec(),
        _ => priors.iter().map(|p| p.mean).collect(),
    };
    let (best, height) = climb(&start, begin.is_some(), &posterior);
    if !height.is_finite() {
        return None;
    }
    integrate(problem, &best, height, &priors, scale, &posterior)
}

/// Standard deviation of the plain least-squares residuals: what scale the noise has.
fn residual_scale(problem: &Problem) -> Option<f64> {
    let n = problem.measured.len();
    let p = problem.design.len();
    let mut normal = DMatrix::<f64>::zeros(p, p);
    let mut right = DMatrix::<f64>::zeros(p, 1);
    for i in 0..n {
        for a in 0..p {
            right[(a, 0)] += problem.design[a][i] * problem.measured[i];
            for b in 0..p {
                normal[(a, b)] += problem.design[a][i] * problem.design[b][i];
            }
        }
    }
    for a in 0..p {
        // A trace of the diagonal keeps columns that depend on each other from stopping the estimate of a scale.
        let ridge = 1e-9 * normal[(a, a)] + f64::MIN_POSITIVE;
        normal[(a, a)] += ridge;
    }
    let x = normal.lu().solve(&right)?;
    let residuals: Vec<f64> = (0..n)
        .map(|i| problem.measured[i] - (0..p).map(|a| problem.design[a][i] * x[(a, 0)]).sum::<f64>())
        .collect();
    let sd = standard_deviation(&residuals);
    sd.is_finite().then(|| sd.max(problem.resolution))
}

/// Prior of [ln white sd, ln sd and ln time of each family]: each source of noise half of the whole, within a factor.
fn hyper_priors(problem: &Problem, scale: f64) -> Vec<LogPrior> {
    let sd = LogPrior { mean: (0.5 * scale).ln(), sd: LOG_SD_SPREAD };
    let mut priors = vec![sd];
    for family in &problem.families {
        priors.push(sd);
        priors.push(family.log_time);
    }
    priors
}

/// Largest value by steps along the axes, halved when none helps.
fn climb(start: &[f64], near: bool, f: &impl Fn(&[f64]) -> f64) -> (Vec<f64>, f64) {
    let mut x = start.to_vec();
    let mut height = f(&x);
    let mut step = if near { 0.25 } else { 1.0 };
    // Steps of 0.06 in a logarithm are far inside what any flight tells of its noise.
    while step > 0.05 {
        let mut moved = false;
        for j in 0..x.len() {
            for sign in [1.0, -1.0] {
                let mut trial = x.clone();
                trial[j] += sign * step;
                let there = f(&trial);
                if there > height {
                    x = trial;
                    height = there;
                    moved = true;
                    break;
                }
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    (x, height)
}

/// Mean and covariance of the parameters over what stays unsure of the processes.
fn integrate(
    problem: &Problem,
    best: &[f64],
    height: f64,
    priors: &[LogPrior],
    scale: f64,
    posterior: &impl Fn(&[f64]) -> f64,
) -> Option<Coloured> {
    let d = best.len();
    let p = problem.design.len();
    let far = (d as f64 + 1.0).sqrt();
    let mut points = vec![(best.to_vec(), 1.0)];
    for j in 0..d {
        let probe = |delta: f64| {
            let mut x = best.to_vec();
            x[j] += delta;
            x
        };
        let h = 0.5;
        let bend = (2.0 * height - posterior(&probe(h)) - posterior(&probe(-h))) / (h * h);
        let sd = if bend > 0.0 { bend.powf(-0.5).min(priors[j].sd) } else { priors[j].sd };
        for sign in [1.0, -1.0] {
            let point = probe(sign * far * sd);
            // Ratio of the posterior to the normal density that the points were laid out for.
            let log_ratio = posterior(&point) - height + 0.5 * (d as f64 + 1.0);
            points.push((point, 0.5 * log_ratio.min(3.0).exp()));
        }
    }
    let mut total = 0.0;
    let mut mean = vec![0.0; p];
    let mut states = Vec::new();
    for (point, weight) in &points {
        let Some(state) = filter(problem, point, scale) else {
            continue;
        };
        total += weight;
        for (m, x) in mean.iter_mut().zip(&state.x) {
            *m += weight * x;
        }
        states.push((state, *weight));
    }
    if total <= 0.0 {
        return None;
    }
    for m in &mut mean {
        *m /= total;
    }
    let mut covariance = DMatrix::<f64>::zeros(p, p);
    for (state, weight) in &states {
        for a in 0..p {
            for b in 0..p {
                covariance[(a, b)] += weight / total
                    * (state.p[a * state.d + b] + (state.x[a] - mean[a]) * (state.x[b] - mean[b]));
            }
        }
    }
    let finite = mean.iter().all(|m| m.is_finite()) && covariance.iter().all(|c: &f64| c.is_finite());
    finite.then(|| Coloured {
        parameters: mean,
        covariance,
        white_sd: best[0].exp(),
        families: (0..problem.families.len())
            .map(|f| (best[1 + 2 * f].exp(), best[2 + 2 * f].exp()))
            .collect(),
        hyper: best.to_vec(),
    })
}

struct State {
    log_likelihood: f64,
    x: Vec<f64>,
    /// Covariance, row after row.
    p: Vec<f64>,
    d: usize,
}

/// One pass of the Kalman filter at given processes.
fn filter(problem: &Problem, hyper: &[f64], scale: f64) -> Option<State> {
    let params = problem.design.len();
    let mut sd2 = Vec::new();
    let mut time = Vec::new();
    let mut loadings: Vec<&[f64]> = Vec::new();
    for (f, family) in problem.families.iter().enumerate() {
        for loading in &family.loadings {
            sd2.push((2.0 * hyper[1 + 2 * f]).exp());
            time.push(hyper[2 + 2 * f].exp());
            loadings.push(loading);
        }
    }
    let d = params + loadings.len();
    let white = (2.0 * hyper[0]).exp() + problem.resolution.powi(2);
    let n = problem.measured.len();
    let rms = |v: &[f64]| (v.iter().map(|v| v * v).sum::<f64>() / n as f64).sqrt();
    let diffuse = (DIFFUSE * scale).max(10.0 * rms(problem.measured));
    let mut x = vec![0.0; d];
    let mut p = vec![0.0; d * d];
    for a in 0..params {
        let (mean, sd) = match problem.prior[a] {
            Some(known) => known,
            None => {
                let size = rms(problem.design[a]);
                if size.is_nan() || size <= 0.0 {
                    return None;
                }
                (0.0, diffuse / size)
            }
        };
        x[a] = mean;
        p[a * d + a] = sd * sd;
    }
    for (k, v) in sd2.iter().enumerate() {
        p[(params + k) * d + params + k] = *v;
    }
    let mut h = vec![0.0; d];
    let mut ph = vec![0.0; d];
    let mut log_likelihood = 0.0;
    let mut before = *problem.time_s.first()?;
    for i in 0..n {
        let pause = problem.time_s[i] - before;
        before = problem.time_s[i];
        if pause > 0.0 {
            for (k, (variance, t)) in sd2.iter().zip(&time).enumerate() {
                let kept = (-pause / t).exp();
                let a = params + k;
                x[a] *= kept;
                for b in 0..d {
                    p[a * d + b] *= kept;
                    p[b * d + a] *= kept;
                }
                p[a * d + a] += variance * (1.0 - kept * kept);
            }
        }
        for (to, column) in h.iter_mut().zip(&problem.design) {
            *to = column[i];
        }
        for (k, loading) in loadings.iter().enumerate() {
            h[params + k] = loading[i];
        }
        let mut s = white;
        for a in 0..d {
            let row = &p[a * d..(a + 1) * d];
            ph[a] = row.iter().zip(&h).map(|(u, v)| u * v).sum();
            s += ph[a] * h[a];
        }
        let innovation = problem.measured[i] - h.iter().zip(&x).map(|(u, v)| u * v).sum::<f64>();
        if s.is_nan() || s <= 0.0 || !innovation.is_finite() {
            return None;
        }
        log_likelihood -= 0.5 * (s.ln() + innovation * innovation / s);
        for a in 0..d {
            let gain = ph[a] / s;
            x[a] += gain * innovation;
            for b in 0..d {
                p[a * d + b] -= gain * ph[b];
            }
        }
    }
    log_likelihood.is_finite().then_some(State { log_likelihood, x, p, d })
}

#[cfg(test)]
mod tests {
    use numerics::random::Random;

    use super::*;

    /// A first-order process of unit spread with the lag-one correlation `phi`.
    fn wandering(seed: u64, n: usize, phi: f64) -> Vec<f64> {
        let mut random = Random::new(seed, 0);
        let mut g = random.normal();
        (0..n)
            .map(|_| {
                let now = g;
                g = phi * g + (1.0 - phi * phi).sqrt() * random.normal();
                now
            })
            .collect()
    }

    fn mean_of(y: &[f64]) -> Coloured {
        let n = y.len();
        let time_s: Vec<f64> = (0..n).map(|i| i as f64).collect();
        let ones = vec![1.0; n];
        let problem = Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: y,
            design: vec![&ones],
            prior: vec![None],
            families: vec![Family { loadings: vec![&ones], log_time: LogPrior { mean: 1.0, sd: 1.0 } }],
        };
        fit(&problem, None).unwrap()
    }

    #[test]
    fn the_doubt_of_the_mean_of_a_wandering_series_covers_its_error() {
        // A first-order series of 200 with lag-one correlation 0.8 has a mean of standard error
        // sqrt(8.800/200) = 0.2098 (closed form 1 + 2 Σ (1 - k/N) φ^k). White doubt would be a third of it and
        // cover its error at two sigma in half of the series; the right one covers 95.4 %.
        let trials = 200;
        let (mut within, mut sds) = (0, 0.0);
        for seed in 0..trials {
            let fit = mean_of(&wandering(seed, 200, 0.8));
            within += u32::from(fit.parameters[0].abs() < 2.0 * fit.sd(0));
            sds += fit.sd(0) / trials as f64;
        }
        // Binomial spread of 200 trials at 0.954: 3 of them; three spreads below.
        assert!(within >= 182, "{within} of {trials}");
        assert!((sds / 0.2098 - 1.0).abs() < 0.15, "mean sd {sds}");
    }

    #[test]
    fn white_residuals_keep_the_doubt_of_plain_least_squares() {
        // Standard error of the mean of 400 independent values: 1/20.
        let mut sds = 0.0;
        for seed in 0..40 {
            let mut random = Random::new(seed, 3);
            let y: Vec<f64> = (0..400).map(|_| 5.0 + random.normal()).collect();
            sds += mean_of(&y).sd(0) / 40.0;
        }
        assert!((sds / 0.05 - 1.0).abs() < 0.25, "{sds}");
    }

    #[test]
    fn a_straight_line_by_hand_is_found() {
        // Closed form: x -2..2, y -4.1 -1.9 .1 2.2 3.9 give intercept 0.04 and slope 2.01. The long series repeats
        // the five points, which leaves the line as it is.
        let x: Vec<f64> = (0..100).map(|i| f64::from(i % 5) - 2.0).collect();
        let y: Vec<f64> = (0..100).map(|i| [-4.1, -1.9, 0.1, 2.2, 3.9][i % 5]).collect();
        let time_s: Vec<f64> = (0..100).map(f64::from).collect();
        let ones = vec![1.0; 100];
        let problem = Problem {
            time_s: &time_s,
            measured: &y,
            design: vec![&ones, &x],
            prior: vec![None, None],
            families: vec![],
            resolution: 1e-3,
        };
        let fit = fit(&problem, None).unwrap();
        assert!((fit.parameters[0] - 0.04).abs() < 1e-4);
        assert!((fit.parameters[1] - 2.01).abs() < 1e-4);
    }
}
