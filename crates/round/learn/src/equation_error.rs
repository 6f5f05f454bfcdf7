//! Which parameters balance an equation of motion best, frequency by frequency? The first guess that output error
//! begins from, and a second way to the same numbers.
//!
//! Equation error in the frequency domain (Morelli & Klein, Aircraft System Identification, chapter 7): the finite
//! Fourier transform of `x' = Σ parameter · regressor` at the harmonics of each stretch below a highest frequency. The
//! rate of a signal is jω times its transform, plus what its ends differ by; a constant and a line in the equation (trim,
//! drift) are projected out.

use std::f64::consts::TAU;

use nalgebra::{Complex, DMatrix};
use numerics::fit::{self, Fit, NoFit};

/// One stretch of an equation: the signal whose rate is explained, and what explains it, at equal steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Step, s.
    pub step_s: f64,
    /// Signal whose rate stands on the left.
    pub signal: Vec<f64>,
    /// Further terms on the left side that are known.
    pub known: Option<Vec<f64>>,
    /// Signals on the right, one a parameter.
    pub regressors: Vec<Vec<f64>>,
}

type Line = Vec<Complex<f64>>;

/// Parameters of an equation over several stretches, from harmonics up to `highest_hz`.
///
/// # Errors
/// When there are too few harmonics or the regressors do not differ from each other.
pub fn solve(stretches: &[Balance], highest_hz: f64) -> Result<Fit, NoFit> {
    let parameters = stretches.iter().map(|s| s.regressors.len()).min().unwrap_or(0);
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut left: Vec<f64> = Vec::new();
    for s in stretches {
        let n = s.signal.len();
        if n < 8 {
            continue;
        }
        let seconds = (n - 1) as f64 * s.step_s;
        let harmonics = ((highest_hz * seconds) as usize).min(n / 2);
        let turns: Vec<f64> = (1..=harmonics).map(|k| TAU * k as f64 / seconds).collect();
        let at = |values: &[f64]| transform(values, s.step_s, &turns);
        let mut y: Line = derivative(&s.signal, s.step_s, &turns);
        if let Some(known) = &s.known {
            y.iter_mut().zip(at(known)).for_each(|(y, k)| *y += k);
        }
        let line: Vec<f64> = (0..n).map(|i| i as f64 / n as f64).collect();
        // At whole harmonics a constant transforms to nothing; a line does not.
        let line = at(&line);
        let x: Vec<Line> = s.regressors.iter().take(parameters).map(|r| free_of(at(r), &line)).collect();
        let y = free_of(y, &line);
        for k in 0..y.len() {
            rows.push(x.iter().map(|r| r[k].re).collect());
            left.push(y[k].re);
            rows.push(x.iter().map(|r| r[k].im).collect());
            left.push(y[k].im);
        }
    }
    if rows.is_empty() || parameters == 0 {
        return Err(NoFit::TooFewData { data: rows.len(), parameters });
    }
    let a = DMatrix::from_fn(rows.len(), parameters, |i, j| rows[i][j]);
    fit::linear(&a, &left)
}

fn transform(values: &[f64], step_s: f64, turns: &[f64]) -> Line {
    turns
        .iter()
        .map(|w| {
            // One rotation a sample instead of a sine and cosine each.
            let turn = Complex::from_polar(1.0, -w * step_s);
            let mut pointer = Complex::new(step_s, 0.0);
            let mut sum = Complex::new(0.0, 0.0);
            for v in values {
                sum += pointer * *v;
                pointer *= turn;
            }
            // Trapezoids: the ends count half; a whole number of turns lies between them.
            let ends = values.first().copied().unwrap_or(0.0) + values.last().copied().unwrap_or(0.0);
            sum - 0.5 * step_s * ends
        })
        .collect()
}

/// Transform of the rate of a signal: by parts, jω times its own plus what its ends differ by.
fn derivative(values: &[f64], step_s: f64, turns: &[f64]) -> Line {
    let ends = match (values.first(), values.last()) {
        (Some(first), Some(last)) => last - first,
        _ => 0.0,
    };
    transform(values, step_s, turns)
        .into_iter()
        .zip(turns)
        .map(|(x, w)| x * Complex::new(0.0, *w) + ends)
        .collect()
}

fn free_of(mut values: Line, line: &Line) -> Line {
    let real = |a: &Line, b: &Line| -> f64 { a.iter().zip(b).map(|(a, b)| a.re * b.re + a.im * b.im).sum() };
    let whole = real(line, line);
    if whole > 0.0 {
        let share = real(&values, line) / whole;
        values.iter_mut().zip(line).for_each(|(v, l)| *v -= l * share);
    }
    values
}
