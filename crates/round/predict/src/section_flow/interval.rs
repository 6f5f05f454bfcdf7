//! What must hold between two neighboring stations of a boundary layer? Momentum, kinetic energy, and either the growth
//! of waves or the lag of shear stress; with the point of transition wherever it falls between them.
//!
//! Source: Drela & Giles, AIAA J. 25(10), 1987. Differences of logarithms, so that a power law is met exactly; central,
//! and turning one-sided where the shape changes fast.

use super::closure::{Kind, LAG, Layer, START, growth};
use super::dual::Dual;

/// What is known at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct State {
    /// Distance from the stagnation point along the surface.
    pub(crate) xi: f64,
    /// Exponent of the waves' growth where laminar, square root of the shear-stress coefficient where turbulent.
    pub(crate) s: f64,
    /// Momentum thickness.
    pub(crate) theta: f64,
    /// Displacement thickness.
    pub(crate) delta: f64,
    /// Speed at the edge.
    pub(crate) speed: f64,
}

/// Which equations hold between two stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Span {
    /// Both laminar.
    Laminar,
    /// Turns turbulent in between.
    Transition,
    /// Both turbulent.
    Turbulent,
    /// Both in the wake.
    Wake,
}

/// The fluid and its disturbances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Fluid {
    /// Reynolds number of unit length and speed.
    pub(crate) reynolds: f64,
    /// Exponent of the waves' growth at which the layer turns turbulent.
    pub(crate) n_critical: f64,
    /// How much of the change of the place of transition with the layer ahead Newton's method sees: 1, or less where the
    /// layer is far from settled.
    pub(crate) tied: f64,
}

/// Residuals of the three equations between two stations, with their derivatives to exponent or shear, momentum
/// thickness, displacement thickness and speed of the first (0 to 3) and second station (4 to 7).
pub(crate) fn residuals(span: Span, a: &State, b: &State, fluid: Fluid) -> [Dual; 3] {
    let first = inputs(a, 0);
    let second = inputs(b, 4);
    match span {
        Span::Laminar => {
            let (p, q) = (layer(Kind::Laminar, &first, fluid), layer(Kind::Laminar, &second, fluid));
            let grown = second[1] - first[1] - 0.5 * (wave(&p, fluid) + wave(&q, fluid)) * (b.xi - a.xi);
            let [momentum, energy] = balance(&p, &q);
            [grown, momentum, energy]
        }
        Span::Turbulent | Span::Wake => {
            let kind = if span == Span::Wake { Kind::Wake } else { Kind::Turbulent };
            let (p, q) = (layer(kind, &first, fluid), layer(kind, &second, fluid));
            let [momentum, energy] = balance(&p, &q);
            [lag(&p, &q), momentum, energy]
        }
        Span::Transition => {
            let xi = transition(a, b, &first, &second, fluid);
            let smooth = between(&first, &second, xi);
            let p = layer(Kind::Laminar, &first, fluid);
            let t = layer(Kind::Laminar, &smooth, fluid);
            let [momentum_1, energy_1] = balance(&p, &t);
            let mut rough = layer(Kind::Turbulent, &smooth, fluid);
            rough = {
                let mut started = smooth;
                started[1] = rough.equilibrium * START;
                layer(Kind::Turbulent, &started, fluid)
            };
            let q = layer(Kind::Turbulent, &second, fluid);
            let [momentum_2, energy_2] = balance(&rough, &q);
            [lag(&rough, &q), momentum_1 + momentum_2, energy_1 + energy_2]
        }
    }
}

/// Residuals at the first station behind the stagnation point, where speed grows with distance and the thickness is
/// constant. Derivatives to the inputs 4 to 7.
pub(crate) fn stagnation(b: &State, fluid: Fluid) -> [Dual; 3] {
    let second = inputs(b, 4);
    let q = layer(Kind::Laminar, &second, fluid);
    [
        second[1],
        q.shape + 2.0 - 0.5 * q.friction * q.xi / q.theta,
        1.0 - q.shape - q.xi / q.theta * (q.dissipation - 0.5 * q.friction),
    ]
}

/// Shear that a laminar layer at the trailing edge starts the wake with.
pub(crate) fn wake_start(state: &State, input: usize, fluid: Fluid) -> Dual {
    let q = layer(Kind::Turbulent, &inputs(state, input), fluid);
    q.equilibrium * START
}

/// Exponent of the waves at the second station, from that at the first.
pub(crate) fn grown(a: &State, b: &State, fluid: Fluid) -> f64 {
    let p = layer(Kind::Laminar, &fixed(a), fluid);
    let q = layer(Kind::Laminar, &fixed(b), fluid);
    a.s + 0.5 * (wave(&p, fluid).v + wave(&q, fluid).v) * (b.xi - a.xi)
}

/// Where between two stations the layer turns turbulent: distance from the stagnation point.
pub(crate) fn transition_place(a: &State, b: &State, fluid: Fluid) -> f64 {
    transition_value(a, b, &fixed(a), &fixed(b), fluid)
}

/// Distance, exponent or shear, momentum thickness, displacement thickness, speed.
type Inputs = [Dual; 5];

fn inputs(s: &State, first: usize) -> Inputs {
    [
        Dual::fixed(s.xi),
        Dual::input(s.s, first),
        Dual::input(s.theta, first + 1),
        Dual::input(s.delta, first + 2),
        Dual::input(s.speed, first + 3),
    ]
}

fn fixed(s: &State) -> Inputs {
    [s.xi, s.s, s.theta, s.delta, s.speed].map(Dual::fixed)
}

fn layer(kind: Kind, &[xi, s, theta, delta, speed]: &Inputs, fluid: Fluid) -> Layer {
    Layer::new(kind, xi, s, theta, delta, speed, fluid.reynolds)
}

fn wave(q: &Layer, fluid: Fluid) -> Dual {
    growth(q.shape, q.theta, (q.theta * q.speed * fluid.reynolds).at_least(1.0))
}

/// Momentum and kinetic energy from `p` to `q`.
fn balance(p: &Layer, q: &Layer) -> [Dual; 2] {
    let change = ((q.shape - 1.0) / (p.shape - 1.0)).ln() / q.shape;
    let ahead = 1.0 - 0.5 * (change.squared() * -UPWIND).exp();
    let mix = |u: Dual, v: Dual| u + ahead * (v - u);
    let log_xi = (q.xi / p.xi).ln();
    let log_speed = (q.speed / p.speed).ln();
    let shape = 0.5 * (p.shape + q.shape);
    let (p_scale, q_scale) = (p.xi / p.theta, q.xi / q.theta);
    let friction = 0.5 * mix(p.friction * p_scale, q.friction * q_scale);
    let dissipation = mix(p.dissipation * p_scale, q.dissipation * q_scale);
    [
        (q.theta / p.theta).ln() + (shape + 2.0) * log_speed - friction * log_xi,
        (q.energy / p.energy).ln() + (1.0 - shape) * log_speed - (dissipation - friction) * log_xi,
    ]
}

/// How fast the differences turn one-sided when the shape changes.
const UPWIND: f64 = 5.0;

/// Shear stress follows its equilibrium.
fn lag(p: &Layer, q: &Layer) -> Dual {
    let thickness = 0.5 * (p.thickness + q.thickness);
    let behind = 0.5 * (p.equilibrium - p.shear + q.equilibrium - q.shear);
    // In units of the distance, so that rows of the system are of one size.
    2.0 * (q.shear / p.shear).ln() - LAG * behind * (q.xi - p.xi) / thickness
}

/// Straight between two stations.
fn between(first: &Inputs, second: &Inputs, xi: Dual) -> Inputs {
    let share = (xi - first[0]) / (second[0] - first[0]);
    let mut mixed = *first;
    for (m, (u, v)) in mixed.iter_mut().zip(first.iter().zip(second)) {
        *m = *u + share * (*v - *u);
    }
    mixed[0] = xi;
    mixed
}

/// Exponent at `xi` above the critical one.
fn excess(a: &State, first: &Inputs, second: &Inputs, xi: Dual, fluid: Fluid) -> Dual {
    let p = layer(Kind::Laminar, first, fluid);
    let t = layer(Kind::Laminar, &between(first, second, xi), fluid);
    first[1] + 0.5 * (wave(&p, fluid) + wave(&t, fluid)) * (xi - a.xi) - fluid.n_critical
}

fn transition_value(a: &State, b: &State, first: &Inputs, second: &Inputs, fluid: Fluid) -> f64 {
    let (mut low, mut high) = (a.xi, b.xi);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if excess(a, first, second, Dual::fixed(middle), fluid).v < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    // Not onto a station: the spans on both sides keep a length.
    let width = b.xi - a.xi;
    (0.5 * (low + high)).clamp(a.xi + 1e-4 * width, b.xi - 1e-4 * width)
}

/// Transition with its derivatives, by those of the equation that it solves.
fn transition(a: &State, b: &State, first: &Inputs, second: &Inputs, fluid: Fluid) -> Dual {
    let xi = transition_value(a, b, &fixed(a), &fixed(b), fluid);
    let step = 1e-5 * (b.xi - a.xi);
    let at = |x: f64| excess(a, &fixed(a), &fixed(b), Dual::fixed(x), fluid).v;
    let slope = (at(xi + step) - at(xi - step)) / (2.0 * step);
    let here = excess(a, first, second, Dual::fixed(xi), fluid);
    let mut result = Dual::fixed(xi);
    if slope > 1e-9 {
        result.d = here.d.map(|d| -d / slope * fluid.tied);
    }
    result
}
