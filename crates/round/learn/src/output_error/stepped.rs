//! What does a linear system do from sample to sample?

use nalgebra::Matrix4;

use super::{Between, MOST, Stretch, System};

/// A system moved on by whole steps, exactly for inputs that hold or go straight. Plain arrays: this is the innermost
/// loop of every fit.
pub(super) struct Stepped {
    states: usize,
    phi: Plain,
    /// By the input at the begin of a step, and by its change over the step.
    held: Plain,
    change: Plain,
    c: Plain,
    d: Plain,
}

type Plain = [[f64; MOST]; MOST];
pub(super) type Few = [f64; MOST];

fn plain(m: &Matrix4<f64>) -> Plain {
    std::array::from_fn(|i| std::array::from_fn(|j| m[(i, j)]))
}

/// `rows` rows of a matrix times `columns` entries of a list, added to another.
fn add_times(sum: &mut Few, m: &Plain, x: &Few, rows: usize, columns: usize) {
    for (s, row) in sum.iter_mut().zip(m).take(rows) {
        for (a, b) in row.iter().zip(x).take(columns) {
            *s += a * b;
        }
    }
}

impl Stepped {
    pub(super) fn of(system: &System, stretch: &Stretch) -> Self {
        let h = stretch.step_s;
        // Series of the exponential and its integrals: Σ (a h)^k / k!, over (k + 1)! and over (k + 2)!.
        let by = system.a * h;
        let mut term = Matrix4::identity();
        let (mut phi, mut held, mut change) = (term, term, term * 0.5);
        let mut k = 0.0;
        while k < 80.0 {
            k += 1.0;
            term = term * by / k;
            phi += term;
            held += term / (k + 1.0);
            change += term / ((k + 1.0) * (k + 2.0));
            if term.amax() < 1e-17 {
                break;
            }
        }
        let change = match stretch.between {
            Between::Held => Matrix4::zeros(),
            Between::Straight => change * system.b * h,
        };
        Self {
            states: system.states,
            phi: plain(&phi),
            held: plain(&(held * system.b * h)),
            change: plain(&change),
            c: plain(&system.c),
            d: plain(&system.d),
        }
    }

    pub(super) fn forced(&self, system: &System, stretch: &Stretch, n: usize) -> Vec<Few> {
        let m = stretch.inputs.len().min(MOST);
        let inputs: Vec<Vec<f64>> = stretch
            .inputs
            .iter()
            .zip(system.delay_s)
            .map(|(u, delay)| delayed(u, delay / stretch.step_s, stretch.between))
            .collect();
        let at = |i: usize| -> Few { std::array::from_fn(|k| inputs.get(k).map_or(0.0, |u| u[i])) };
        let outputs = stretch.outputs.len();
        let mut x = [0.0; MOST];
        let mut u = if n > 0 { at(0) } else { [0.0; MOST] };
        let mut list = Vec::with_capacity(n);
        for i in 0..n {
            let mut y = [0.0; MOST];
            add_times(&mut y, &self.c, &x, outputs, self.states);
            add_times(&mut y, &self.d, &u, outputs, m);
            list.push(y);
            if i + 1 < n {
                let next = at(i + 1);
                let by: Few = std::array::from_fn(|k| next[k] - u[k]);
                let mut then = [0.0; MOST];
                add_times(&mut then, &self.phi, &x, self.states, self.states);
                add_times(&mut then, &self.held, &u, self.states, m);
                add_times(&mut then, &self.change, &by, self.states, m);
                x = then;
                u = next;
            }
        }
        list
    }

    pub(super) fn free(&self, state: usize, outputs: usize, n: usize) -> Vec<Few> {
        let mut x = [0.0; MOST];
        x[state] = 1.0;
        (0..n)
            .map(|_| {
                let mut y = [0.0; MOST];
                add_times(&mut y, &self.c, &x, outputs, self.states);
                let mut then = [0.0; MOST];
                add_times(&mut then, &self.phi, &x, self.states, self.states);
                x = then;
                y
            })
            .collect()
    }
}

/// A signal that comes later by a share of steps; before it begins it stands at its first value.
fn delayed(signal: &[f64], steps: f64, between: Between) -> Vec<f64> {
    if steps == 0.0 || signal.is_empty() {
        return signal.to_vec();
    }
    let last = signal.len() - 1;
    (0..signal.len())
        .map(|i| {
            let place = (i as f64 - steps).clamp(0.0, last as f64);
            let low = place.floor();
            let share = place - low;
            let (a, b) = (signal[low as usize], signal[(low as usize + 1).min(last)]);
            match between {
                Between::Straight => a + share * (b - a),
                // The step that holds changes within the interval: its mean over the interval.
                Between::Held => a * (1.0 - share) + b * share,
            }
        })
        .collect()
}
