//! How sure are fitted parameters, when residuals go with their neighbors and stretches differ among themselves?

use nalgebra::{DMatrix, DVector};

use super::{Lists, Problem, dot};

/// Longest lag that residuals are taken to remember, s; a longer memory is drift, which is taken off.
const MEMORY_S: f64 = 1.5;
/// Fewest stretches whose differences tell a scatter.
const FEWEST_STRETCHES: usize = 5;

/// Covariance from what each stretch alone pulls the parameters by (Liang & Zeger, Biometrika 73 (1986) 13).
pub(super) fn among(sensitivities: &[Lists], residuals: &Lists) -> Option<DMatrix<f64>> {
    let (n, m) = (sensitivities.len(), residuals.len());
    if m < FEWEST_STRETCHES {
        return None;
    }
    let information = DMatrix::from_fn(n, n, |i, j| dot(&sensitivities[i], &sensitivities[j]));
    let inverse = information.try_inverse()?;
    let mut middle = DMatrix::zeros(n, n);
    for (k, left) in residuals.iter().enumerate() {
        let pull = DVector::from_fn(n, |j, _| {
            sensitivities[j][k].iter().flatten().zip(left.iter().flatten()).map(|(s, r)| s * r).sum::<f64>()
        });
        middle += &pull * pull.transpose();
    }
    Some(&inverse * middle * &inverse * (m as f64 / (m - 1) as f64))
}

/// Covariance of weighted residuals of two outputs over lags from zero up, pooled over the stretches.
pub(super) fn autocovariance(problem: &Problem<'_>, residuals: &Lists, freedom: f64) -> Vec<Vec<Vec<f64>>> {
    let outputs = residuals.iter().map(Vec::len).min().unwrap_or(0);
    let shortest = residuals.iter().flatten().map(Vec::len).min().unwrap_or(0);
    let step = problem.stretches.first().map_or(0.01, |s| s.step_s);
    let most = ((MEMORY_S / step) as usize).min(shortest / 2).max(1);
    let mut all = vec![vec![vec![0.0; most]; outputs]; outputs];
    for (a, row) in all.iter_mut().enumerate() {
        for (b, lags) in row.iter_mut().enumerate() {
            for (lag, value) in lags.iter_mut().enumerate() {
                let (mut sum, mut count) = (0.0, 0_usize);
                for stretch in residuals {
                    let (x, y) = (&stretch[a], &stretch[b]);
                    sum += x.iter().zip(y.get(lag..).unwrap_or(&[])).map(|(x, y)| x * y).sum::<f64>();
                    count += x.len();
                }
                // Whole up to half the longest lag, then down to nothing: lags that few products tell are not trusted.
                let share = (2.0 - 2.0 * lag as f64 / most as f64).min(1.0);
                *value = freedom * share * sum / count.max(1) as f64;
            }
        }
    }
    all
}

/// Covariance of parameters for white residuals and for residuals of a given memory: `sensitivities` of weighted
/// outputs by parameter, stretch and output; `memory` the covariance of weighted residuals, `memory[a][b][lag]` of output
/// a with output b that many steps later. Absent where the information matrix is singular.
#[must_use]
pub fn bounds(sensitivities: &[Lists], memory: &[Vec<Vec<f64>>]) -> Option<(DMatrix<f64>, DMatrix<f64>)> {
    let n = sensitivities.len();
    let scale: Vec<f64> = sensitivities.iter().map(|s| dot(s, s).sqrt()).collect();
    if scale.iter().any(|s| !(s.is_finite() && *s > 0.0)) {
        return None;
    }
    // Scaled to a unit diagonal, so that a parameter's unit does not decide whether it can be told apart.
    let information =
        DMatrix::from_fn(n, n, |i, j| dot(&sensitivities[i], &sensitivities[j]) / (scale[i] * scale[j]));
    let eigen = information.clone().symmetric_eigen();
    if eigen.eigenvalues.min() < 1e-10 {
        return None;
    }
    let inverse = information.try_inverse()?;
    let spread: Vec<Lists> =
        sensitivities.iter().map(|s| s.iter().map(|one| weighed(one, memory)).collect()).collect();
    let middle = DMatrix::from_fn(n, n, |i, j| dot(&sensitivities[i], &spread[j]) / (scale[i] * scale[j]));
    let middle = 0.5 * (&middle + middle.transpose());
    let own: Vec<f64> = (0..memory.len()).filter_map(|o| memory[o][o].first().copied()).collect();
    let variance = own.iter().sum::<f64>() / own.len().max(1) as f64;
    let unscaled = |m: DMatrix<f64>| DMatrix::from_fn(n, n, |i, j| m[(i, j)] / (scale[i] * scale[j]));
    Some((unscaled(&inverse * variance), unscaled(&inverse * middle * &inverse)))
}

/// Covariance of the residuals times a sensitivity, output by output.
fn weighed(sensitivity: &[Vec<f64>], memory: &[Vec<Vec<f64>>]) -> Vec<Vec<f64>> {
    let outputs = sensitivity.len();
    (0..outputs)
        .map(|a| {
            let n = sensitivity[a].len();
            let mut sum = vec![0.0; n];
            for b in 0..outputs {
                let s = &sensitivity[b];
                for (lag, c) in memory[a][b].iter().enumerate() {
                    for i in 0..n.saturating_sub(lag) {
                        sum[i] += c * s[i + lag];
                    }
                }
                for (lag, c) in memory[b][a].iter().enumerate().skip(1) {
                    for i in lag..n {
                        sum[i] += c * s[i - lag];
                    }
                }
            }
            sum
        })
        .collect()
}
