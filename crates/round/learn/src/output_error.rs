//! Which parameters of a linear model make what it simulates agree best with what was measured, and how sure are they?
//!
//! Output error: the model is driven with the measured inputs, and its outputs are compared with the measured ones
//! (Maine & Iliff, NASA RP-1168, 1986). What begins each stretch (its first state) and what is added to each output (a
//! constant, or a line) is not of interest and enters linearly: it is projected out, not iterated on (Golub & Pereyra,
//! SIAM J. Numer. Anal. 10 (1973) 413). The Cramér-Rao bound is that of white residuals; gusts and what the model
//! leaves out make residuals that go with their neighbors, and the bound is put right for it (Morelli & Klein, J.
//! Guidance 20 (1997) 74): `D Σ Σ S(i)ᵀ R⁻¹ C(i-j) R⁻¹ S(j) D`.

use nalgebra::{DMatrix, DVector, Matrix4};
use numerics::fit::NoFit;

mod bounds;
mod stepped;

pub use bounds::bounds;
use bounds::{among, autocovariance};
use stepped::Stepped;

/// Most states, inputs and outputs of a model.
pub const MOST: usize = 4;

/// A linear model `x' = a x + b u(t - delay)`, `y = c x + d u(t - delay)`. Rows and columns beyond those in use are
/// zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct System {
    /// States in use.
    pub states: usize,
    /// Rate of the states by the states, 1/s.
    pub a: Matrix4<f64>,
    /// Rate of the states by the inputs.
    pub b: Matrix4<f64>,
    /// Outputs by the states.
    pub c: Matrix4<f64>,
    /// Outputs by the inputs.
    pub d: Matrix4<f64>,
    /// Delay of each input, s.
    pub delay_s: [f64; MOST],
}

impl System {
    /// One without any part, to be filled in.
    #[must_use]
    pub fn empty(states: usize) -> Self {
        Self {
            states,
            a: Matrix4::zeros(),
            b: Matrix4::zeros(),
            c: Matrix4::zeros(),
            d: Matrix4::zeros(),
            delay_s: [0.0; MOST],
        }
    }
}

/// What an input does between samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// It holds.
    Held,
    /// It goes straight to the next.
    Straight,
}

/// Samples at equal steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Step, s.
    pub step_s: f64,
    /// Inputs, one list each.
    pub inputs: Vec<Vec<f64>>,
    /// Measured outputs, one list each.
    pub outputs: Vec<Vec<f64>>,
    /// What inputs do between samples.
    pub between: Between,
}

impl Stretch {
    fn count(&self) -> usize {
        self.outputs.iter().chain(&self.inputs).map(Vec::len).min().unwrap_or(0)
    }
}

/// A problem of parameters.
pub struct Problem<'a> {
    /// What was measured.
    pub stretches: &'a [Stretch],
    /// The model for parameters, in a stretch.
    pub system: &'a dyn Fn(&[f64], usize) -> System,
    /// First guess.
    pub start: Vec<f64>,
    /// Step of each parameter for numerical derivatives, about a thousandth of what it may be off by.
    pub steps: Vec<f64>,
    /// Degree of what is added to each output in each stretch: 0 a constant, 1 a line.
    pub drift: usize,
}

/// What came of it.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// The parameters.
    pub parameters: Vec<f64>,
    /// Covariance, put right for residuals that go with their neighbors.
    pub covariance: DMatrix<f64>,
    /// Covariance as if residuals were white: the bare Cramér-Rao bound.
    pub white: DMatrix<f64>,
    /// Covariance by how much the stretches differ among themselves, which sees errors of the model too; with five or
    /// more of them.
    pub among: Option<DMatrix<f64>>,
    /// Standard deviation of the residuals of each output.
    pub residual_sd: Vec<f64>,
    /// Share of each output's variation, after what is added to it, that the model explains.
    pub explained: Vec<f64>,
    /// Fitted outputs, by stretch and output.
    pub fitted: Vec<Vec<Vec<f64>>>,
    /// Iterations of the last round.
    pub iterations: usize,
}

impl Estimate {
    /// Standard deviation of a parameter, residuals as they are.
    #[must_use]
    pub fn sd(&self, parameter: usize) -> f64 {
        self.covariance[(parameter, parameter)].max(0.0).sqrt()
    }

    /// Standard deviation of a parameter, as if residuals were white.
    #[must_use]
    pub fn white_sd(&self, parameter: usize) -> f64 {
        self.white[(parameter, parameter)].max(0.0).sqrt()
    }

    /// The larger of both standard deviations of a parameter: by the memory of the residuals and by the differences
    /// among the stretches.
    #[must_use]
    pub fn cautious_sd(&self, parameter: usize) -> f64 {
        let among = self.among.as_ref().map_or(0.0, |c| c[(parameter, parameter)].max(0.0).sqrt());
        self.sd(parameter).max(among)
    }

    /// A function of the parameters with its standard deviation, first order.
    #[must_use]
    pub fn derived(&self, steps: &[f64], f: impl Fn(&[f64]) -> f64) -> (f64, f64) {
        let value = f(&self.parameters);
        let n = self.parameters.len();
        let mut probe = self.parameters.clone();
        let slopes: Vec<f64> = (0..n)
            .map(|j| {
                let h = steps.get(j).copied().unwrap_or(1e-6);
                probe[j] = self.parameters[j] + h;
                let above = f(&probe);
                probe[j] = self.parameters[j] - h;
                let below = f(&probe);
                probe[j] = self.parameters[j];
                (above - below) / (2.0 * h)
            })
            .collect();
        let mut variance = 0.0;
        for (i, a) in slopes.iter().enumerate() {
            for (j, b) in slopes.iter().enumerate() {
                variance += a * b * self.covariance[(i, j)];
            }
        }
        (value, variance.max(0.0).sqrt())
    }
}

/// A step that lowers the cost by less than this share is the last one.
const SETTLED: f64 = 1e-7;
const MOST_ITERATIONS: usize = 60;

/// The parameters that fit best: damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963), the outputs weighed anew
/// by their residuals at each.
///
/// # Errors
/// When there are too few data, the inputs do not tell the parameters apart, or the search does not settle.
pub fn fit(problem: &Problem<'_>) -> Result<Estimate, NoFit> {
    let outputs = problem.stretches.iter().map(|s| s.outputs.len()).min().unwrap_or(0);
    if outputs == 0 || outputs > MOST {
        return Err(NoFit::TooFewData { data: 0, parameters: problem.start.len() });
    }
    let mut parameters = problem.start.clone();
    let mut weights = vec![1.0; outputs];
    let mut damping = 1e-3;
    for iteration in 1..=MOST_ITERATIONS {
        let left = all_residuals(problem, &parameters, &weights);
        reweigh(&mut weights, &left);
        let before = all_residuals(problem, &parameters, &weights);
        let cost = square(&before);
        if !cost.is_finite() {
            return Err(NoFit::NotANumber);
        }
        let (information, gradient) = normal(problem, &parameters, &weights, &before);
        let mut gain = None;
        while damping < 1e9 {
            let Some((trial, then)) = step(problem, &parameters, &weights, &information, &gradient, damping)
            else {
                damping *= 10.0;
                continue;
            };
            if then <= cost {
                gain = Some(1.0 - then / cost);
                parameters = trial;
                damping = (damping * 0.1).max(1e-10);
                break;
            }
            damping *= 10.0;
        }
        if gain.is_none_or(|g| g < SETTLED) {
            return finish(problem, parameters, &weights, iteration);
        }
    }
    Err(NoFit::NotConverged)
}

/// Normal equations in steps of the parameters, by forward differences.
fn normal(
    problem: &Problem<'_>,
    parameters: &[f64],
    weights: &[f64],
    residuals: &Lists,
) -> (DMatrix<f64>, DVector<f64>) {
    let n = parameters.len();
    let mut probe = parameters.to_vec();
    let slopes: Vec<Lists> = (0..n)
        .map(|j| {
            probe[j] = parameters[j] + problem.steps[j];
            let moved = all_residuals(problem, &probe, weights);
            probe[j] = parameters[j];
            combined(&moved, residuals, |m, r| m - r)
        })
        .collect();
    let information = DMatrix::from_fn(n, n, |i, j| if i <= j { dot(&slopes[i], &slopes[j]) } else { 0.0 });
    let information = DMatrix::from_fn(n, n, |i, j| information[(i.min(j), i.max(j))]);
    (information, DVector::from_fn(n, |i, _| dot(&slopes[i], residuals)))
}

/// Parameters one damped step on, with their cost.
fn step(
    problem: &Problem<'_>,
    parameters: &[f64],
    weights: &[f64],
    information: &DMatrix<f64>,
    gradient: &DVector<f64>,
    damping: f64,
) -> Option<(Vec<f64>, f64)> {
    let mut damped = information.clone();
    for j in 0..parameters.len() {
        damped[(j, j)] += damping * information[(j, j)].max(f64::MIN_POSITIVE);
    }
    let by = damped.cholesky()?.solve(gradient);
    let trial: Vec<f64> =
        parameters.iter().zip(by.iter()).zip(&problem.steps).map(|((p, by), step)| p - by * step).collect();
    let cost = square(&all_residuals(problem, &trial, weights));
    cost.is_finite().then_some((trial, cost))
}

fn finish(
    problem: &Problem<'_>,
    parameters: Vec<f64>,
    weights: &[f64],
    iterations: usize,
) -> Result<Estimate, NoFit> {
    let n = parameters.len();
    let residuals = all_residuals(problem, &parameters, weights);
    // Sensitivities of the weighted outputs, by parameter, stretch and output.
    let mut sensitivities = Vec::with_capacity(n);
    let mut probe = parameters.clone();
    for j in 0..n {
        let h = problem.steps.get(j).copied().unwrap_or(1e-6);
        probe[j] = parameters[j] + h;
        let above = all_residuals(problem, &probe, weights);
        probe[j] = parameters[j] - h;
        let below = all_residuals(problem, &probe, weights);
        probe[j] = parameters[j];
        // The output moves against the residual.
        sensitivities.push(combined(&below, &above, |b, a| (b - a) / (2.0 * h)));
    }
    let rows: usize = residuals.iter().flatten().map(Vec::len).sum();
    let nuisances: usize = problem
        .stretches
        .iter()
        .enumerate()
        .map(|(k, _)| (problem.system)(&parameters, k).states + (problem.drift + 1) * weights.len())
        .sum();
    if rows <= n + nuisances {
        return Err(NoFit::TooFewData { data: rows, parameters: n + nuisances });
    }
    let freedom = rows as f64 / (rows - n - nuisances) as f64;
    let memory: Vec<Vec<Vec<f64>>> = autocovariance(problem, &residuals, freedom);
    let (white, covariance) = bounds(&sensitivities, &memory).ok_or(NoFit::NotObservable)?;
    let among = among(&sensitivities, &residuals);
    let sums = |list: &[Vec<Vec<f64>>], o: usize| -> f64 {
        list.iter().filter_map(|s| s.get(o)).flatten().map(|v| v * v).sum()
    };
    let residual_sd = (0..weights.len())
        .map(|o| {
            let count: usize = residuals.iter().filter_map(|s| s.get(o)).map(Vec::len).sum();
            (sums(&residuals, o) * freedom / count.max(1) as f64).sqrt() / weights[o]
        })
        .collect();
    let unmoved: Vec<Vec<Vec<f64>>> =
        problem.stretches.iter().map(|s| drift_taken(s, problem.drift, weights)).collect();
    let explained = (0..weights.len())
        .map(|o| {
            let whole = sums(&unmoved, o);
            if whole > 0.0 { 1.0 - sums(&residuals, o) / whole } else { f64::NAN }
        })
        .collect();
    let fitted = problem
        .stretches
        .iter()
        .zip(&residuals)
        .map(|(s, r)| {
            s.outputs
                .iter()
                .zip(r)
                .zip(weights)
                .map(|((y, r), w)| y.iter().zip(r).map(|(y, r)| y - r / w).collect())
                .collect()
        })
        .collect();
    Ok(Estimate { parameters, covariance, white, among, residual_sd, explained, fitted, iterations })
}

type Lists = Vec<Vec<Vec<f64>>>;

fn combined(a: &Lists, b: &Lists, f: impl Fn(f64, f64) -> f64) -> Lists {
    a.iter()
        .zip(b)
        .map(|(a, b)| {
            a.iter().zip(b).map(|(a, b)| a.iter().zip(b).map(|(a, b)| f(*a, *b)).collect()).collect()
        })
        .collect()
}

fn dot(a: &Lists, b: &Lists) -> f64 {
    a.iter().flatten().flatten().zip(b.iter().flatten().flatten()).map(|(a, b)| a * b).sum()
}

fn square(lists: &Lists) -> f64 {
    dot(lists, lists)
}

fn reweigh(weights: &mut [f64], residuals: &Lists) {
    for (o, w) in weights.iter_mut().enumerate() {
        let (sum, n) = residuals
            .iter()
            .filter_map(|s| s.get(o))
            .flatten()
            .fold((0.0, 0_usize), |(s, n), v| (s + v * v, n + 1));
        let sd = (sum / n.max(1) as f64).sqrt();
        if sd.is_finite() && sd > 0.0 {
            *w /= sd;
        }
    }
}

fn all_residuals(problem: &Problem<'_>, parameters: &[f64], weights: &[f64]) -> Lists {
    problem
        .stretches
        .iter()
        .enumerate()
        .map(|(k, s)| residuals(s, &(problem.system)(parameters, k), problem.drift, weights))
        .collect()
}

/// Weighted residuals of a stretch, the first state and what is added taken off by least squares.
fn residuals(stretch: &Stretch, system: &System, drift: usize, weights: &[f64]) -> Vec<Vec<f64>> {
    let n = stretch.count();
    let outputs = weights.len();
    let step = Stepped::of(system, stretch);
    let modelled = step.forced(system, stretch, n);
    let left: Vec<f64> = (0..outputs)
        .flat_map(|o| {
            let w = weights[o];
            let (y, m) = (&stretch.outputs[o], &modelled);
            (0..n).map(move |i| (y[i] - m[i][o]) * w).collect::<Vec<f64>>()
        })
        .collect();
    let mut basis: Vec<Vec<f64>> = Vec::with_capacity(system.states + outputs * (drift + 1));
    for state in 0..system.states {
        let free = step.free(state, outputs, n);
        basis.push((0..outputs).flat_map(|o| free.iter().map(move |y| y[o])).zip_weights(weights, n));
    }
    basis.extend(drifts(n, outputs, drift));
    let left = without(left, basis);
    left.chunks(n.max(1)).map(<[f64]>::to_vec).collect()
}

/// The weighted outputs of a stretch with nothing but what is added taken off.
fn drift_taken(stretch: &Stretch, drift: usize, weights: &[f64]) -> Vec<Vec<f64>> {
    let n = stretch.count();
    let left: Vec<f64> = stretch
        .outputs
        .iter()
        .zip(weights)
        .flat_map(|(y, w)| y.iter().take(n).map(move |y| y * w).collect::<Vec<f64>>())
        .collect();
    without(left, drifts(n, weights.len(), drift)).chunks(n.max(1)).map(<[f64]>::to_vec).collect()
}

fn drifts(n: usize, outputs: usize, degree: usize) -> Vec<Vec<f64>> {
    let mut columns = Vec::new();
    for o in 0..outputs {
        for power in 0..=degree {
            let mut column = vec![0.0; n * outputs];
            for i in 0..n {
                let x = 2.0 * i as f64 / n.max(2) as f64 - 1.0;
                column[o * n + i] = x.powi(i32::try_from(power).unwrap_or(0));
            }
            columns.push(column);
        }
    }
    columns
}

/// What columns leave of a vector: orthogonal complement by Gram and Schmidt, each column twice; columns that depend
/// on those before are passed over.
fn without(mut left: Vec<f64>, columns: Vec<Vec<f64>>) -> Vec<f64> {
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
    let mut kept: Vec<Vec<f64>> = Vec::with_capacity(columns.len());
    for mut column in columns {
        let whole = dot(&column, &column);
        for _ in 0..2 {
            for other in &kept {
                let share = dot(&column, other);
                column.iter_mut().zip(other).for_each(|(c, o)| *c -= share * o);
            }
        }
        let rest = dot(&column, &column);
        if !(rest.is_finite() && rest > 1e-18 * whole && rest > 0.0) {
            continue;
        }
        let size = rest.sqrt().recip();
        column.iter_mut().for_each(|c| *c *= size);
        let share = dot(&left, &column);
        left.iter_mut().zip(&column).for_each(|(l, c)| *l -= share * c);
        kept.push(column);
    }
    left
}

trait ZipWeights: Iterator<Item = f64> + Sized {
    /// Each output's samples times its weight.
    fn zip_weights(self, weights: &[f64], n: usize) -> Vec<f64> {
        self.enumerate().map(|(i, v)| v * weights[i / n.max(1)]).collect()
    }
}

impl<I: Iterator<Item = f64>> ZipWeights for I {}
