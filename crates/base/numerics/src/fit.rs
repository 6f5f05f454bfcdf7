//! Which parameters make a model agree best with what was measured, and how well are they known?

use nalgebra::{DMatrix, DVector};

use crate::statistics::correlation_inflation;

/// Parameters that fit best, with what is known of their error.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Best parameters, in the order given.
    pub parameters: Vec<f64>,
    /// Covariance for independent residuals: residual variance times the inverse of the information matrix.
    pub covariance: DMatrix<f64>,
    /// Measured less modelled, in the order given.
    pub residuals: Vec<f64>,
    /// Square root of the residual sum of squares over the degrees of freedom.
    pub residual_sd: f64,
    /// Factor by which correlation among neighbouring residuals inflates the variances (at least one).
    pub inflation: f64,
    /// Iterations used (0 for a linear fit).
    pub iterations: usize,
}

impl Fit {
    /// Standard deviation of a parameter for independent residuals.
    #[must_use]
    pub fn white_sd(&self, parameter: usize) -> f64 {
        self.covariance[(parameter, parameter)].max(0.0).sqrt()
    }

    /// Standard deviation of a parameter, widened for residuals that are not independent of their neighbours.
    #[must_use]
    pub fn sd(&self, parameter: usize) -> f64 {
        self.white_sd(parameter) * self.inflation.sqrt()
    }
}

/// Why no fit was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoFit {
    /// Fewer data than parameters.
    TooFewData {
        /// How many data.
        data: usize,
        /// How many parameters.
        parameters: usize,
    },
    /// The data do not tell the parameters apart (the information matrix is singular).
    NotObservable,
    /// The iteration did not come to rest.
    NotConverged,
    /// A residual was not a number.
    NotANumber,
}

/// Ordinary linear least squares: rows of the design matrix `a` against `y`, by singular value decomposition of
/// the column-scaled matrix, so that ill-conditioned data keep their digits.
///
/// # Errors
/// When there are too few data or a column depends on the others.
pub fn linear(a: &DMatrix<f64>, y: &[f64]) -> Result<Fit, NoFit> {
    let (rows, columns) = a.shape();
    if rows < columns.max(1) || columns == 0 || rows != y.len() {
        return Err(NoFit::TooFewData { data: rows, parameters: columns });
    }
    let scales: Vec<f64> = (0..columns).map(|j| a.column(j).norm()).collect();
    if scales.iter().any(|s| !s.is_finite() || *s <= 0.0) {
        return Err(NoFit::NotObservable);
    }
    let mut scaled = a.clone();
    for (j, s) in scales.iter().enumerate() {
        scaled.column_mut(j).scale_mut(1.0 / s);
    }
    let svd = scaled.svd(true, true);
    let (Some(u), Some(v_t)) = (&svd.u, &svd.v_t) else {
        return Err(NoFit::NotObservable);
    };
    let largest = svd.singular_values.max();
    if svd.singular_values.min() < 1e-12 * largest {
        return Err(NoFit::NotObservable);
    }
    let y = DVector::from_column_slice(y);
    let mut in_basis = u.transpose() * &y;
    for (c, s) in in_basis.iter_mut().zip(svd.singular_values.iter()) {
        *c /= s;
    }
    let mut x = v_t.transpose() * in_basis;
    let mut w = v_t.transpose();
    for j in 0..columns {
        x[j] /= scales[j];
    }
    for k in 0..columns {
        for j in 0..columns {
            w[(j, k)] /= svd.singular_values[k] * scales[j];
        }
    }
    let residuals = (&y - a * &x).as_slice().to_vec();
    Ok(finish(x.as_slice().to_vec(), &w * w.transpose(), residuals, 0))
}

/// Non-linear least squares by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) with central-difference
/// derivatives. `residuals` returns measured less modelled; `start` and `steps` (finite-difference step of each
/// parameter, about its expected uncertainty) set where it begins and the scale of each parameter. Fit the
/// logarithm of what must stay positive.
///
/// # Errors
/// When there are too few data, a parameter has no influence, or the iteration does not settle in 100 steps.
pub fn nonlinear(start: &[f64], steps: &[f64], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Result<Fit, NoFit> {
    let n = start.len();
    let mut x = start.to_vec();
    let mut r = residuals(&x);
    if r.len() < n {
        return Err(NoFit::TooFewData { data: r.len(), parameters: n });
    }
    let cost = |r: &[f64]| r.iter().map(|v| v * v).sum::<f64>();
    let mut c = cost(&r);
    if !c.is_finite() {
        return Err(NoFit::NotANumber);
    }
    let mut damping = 1e-3;
    for iteration in 1..=100 {
        let mut jacobian = DMatrix::zeros(r.len(), n);
        let mut probe = x.clone();
        for j in 0..n {
            probe[j] = x[j] + steps[j];
            let above = residuals(&probe);
            probe[j] = x[j] - steps[j];
            let below = residuals(&probe);
            probe[j] = x[j];
            for i in 0..r.len() {
                // Scaled by the step, so that every column has like size.
                jacobian[(i, j)] = 0.5 * (above[i] - below[i]);
            }
        }
        let information = jacobian.transpose() * &jacobian;
        let gradient = jacobian.transpose() * DVector::from_column_slice(&r);
        let mut improved = false;
        let mut step_size = 0.0;
        while damping < 1e12 {
            let mut damped = information.clone();
            for j in 0..n {
                damped[(j, j)] += damping * information[(j, j)].max(f64::MIN_POSITIVE);
            }
            let Some(factor) = damped.cholesky() else {
                damping *= 10.0;
                continue;
            };
            let step = factor.solve(&gradient);
            let trial: Vec<f64> = (0..n).map(|j| x[j] - step[j] * steps[j]).collect();
            let trial_r = residuals(&trial);
            let trial_c = cost(&trial_r);
            if trial_c.is_finite() && trial_c <= c {
                step_size = step.amax();
                improved = c - trial_c > 1e-12 * c;
                x = trial;
                r = trial_r;
                c = trial_c;
                damping = (damping * 0.1).max(1e-12);
                break;
            }
            damping *= 10.0;
        }
        if !improved || step_size < 1e-9 {
            let Some(mut covariance) = information.try_inverse() else {
                return Err(NoFit::NotObservable);
            };
            for j in 0..n {
                for k in 0..n {
                    covariance[(j, k)] *= steps[j] * steps[k];
                }
            }
            if (0..n).any(|j| !covariance[(j, j)].is_finite() || covariance[(j, j)] < 0.0) {
                return Err(NoFit::NotObservable);
            }
            return Ok(finish(x, covariance, r, iteration));
        }
    }
    Err(NoFit::NotConverged)
}

fn finish(
    parameters: Vec<f64>,
    inverse_information: DMatrix<f64>,
    residuals: Vec<f64>,
    iterations: usize,
) -> Fit {
    let freedom = residuals.len().saturating_sub(parameters.len()).max(1) as f64;
    let variance = residuals.iter().map(|r| r * r).sum::<f64>() / freedom;
    Fit {
        covariance: inverse_information * variance,
        residual_sd: variance.sqrt(),
        inflation: correlation_inflation(&residuals),
        parameters,
        residuals,
        iterations,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_by_hand() {
        // Closed form: intercept 0.04, slope 2.01, s² 0.0236667, standard errors 0.068799 and 0.048648.
        let x = [-2.0, -1.0, 0.0, 1.0, 2.0];
        let a = DMatrix::from_fn(5, 2, |i, j| if j == 0 { 1.0 } else { x[i] });
        let fit = linear(&a, &[-4.1, -1.9, 0.1, 2.2, 3.9]).unwrap();
        assert!((fit.parameters[0] - 0.04).abs() < 1e-12 && (fit.parameters[1] - 2.01).abs() < 1e-12);
        assert!((fit.residual_sd.powi(2) - 0.023_666_7).abs() < 1e-6);
        assert!((fit.white_sd(0) - 0.068_799).abs() < 1e-6 && (fit.white_sd(1) - 0.048_648).abs() < 1e-6);
    }

    #[test]
    fn the_nist_exponential_rise_fits_to_its_certified_digits() {
        // Source: NIST StRD nonlinear regression, data set Misra1a, certified values and standard deviations.
        let x =
            [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
        let y = [
            10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
        ];
        let fit = nonlinear(&[250.0, 5e-4], &[1e-3, 1e-9], |b| {
            x.iter().zip(&y).map(|(x, y)| y - b[0] * (1.0 - (-b[1] * x).exp())).collect()
        })
        .unwrap();
        assert!((fit.parameters[0] / 238.942_129_18 - 1.0).abs() < 1e-6);
        assert!((fit.parameters[1] / 5.501_564_318_1e-4 - 1.0).abs() < 1e-6);
        assert!((fit.white_sd(0) / 2.707_007_5 - 1.0).abs() < 1e-4);
        assert!((fit.white_sd(1) / 7.266_868_8e-6 - 1.0).abs() < 1e-4);
    }

    #[test]
    fn a_parameter_without_influence_is_told() {
        let a = DMatrix::from_fn(5, 2, |_, _| 1.0);
        assert_eq!(linear(&a, &[1.0; 5]).unwrap_err(), NoFit::NotObservable);
    }
}
