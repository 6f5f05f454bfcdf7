//! What must hold between two neighboring stations of a boundary layer? Momentum, kinetic energy, and either the growth
//! of waves or the lag of shear stress; with the point of transition wherever it falls between them.
//!
//! Source: Drela & Giles, AIAA J. 25(10), 1987. Differences of logarithms, so that a power law is met exactly; central,
//! and turning one-sided where the shape changes fast.

use super::closure::{GB, Kind, LAG, LOCUS, Layer, outer_shape, start};
use super::dual::{Both, Dual, Here, INPUTS, STATION};

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

/// Residuals of the three equations between two stations, with their derivatives to shear, momentum thickness,
/// displacement thickness, speed and distance of the first (0 to 4) and second station (5 to 9).
pub(crate) fn residuals(span: Span, a: &State, b: &State, fluid: Fluid) -> [Both; 3] {
    let kind = span.kind();
    let (first, second) = (station(kind, a, fluid), station(kind, b, fluid));
    let mut known = first;
    if span == Span::Transition {
        known = station(Kind::Laminar, a, fluid);
    }
    between_layers(span, (a, &known), (b, &second), fluid)
}

/// As [`residuals`], with the layers at hand: the first of the kind before the transition where it falls in between.
pub(crate) fn between_layers(
    span: Span,
    (a, first): (&State, &Layer<STATION>),
    (b, second): (&State, &Layer<STATION>),
    fluid: Fluid,
) -> [Both; 3] {
    let (p, q) = (first.placed(0), second.placed(1));
    match span {
        Span::Laminar => {
            let grown = inputs(b, 1)[1] - inputs(a, 0)[1] - 0.5 * (p.growth + q.growth) * (q.xi - p.xi);
            let [momentum, energy] = balance(&p, &q);
            [grown, momentum, energy]
        }
        Span::Turbulent | Span::Wake => {
            let [momentum, energy] = balance(&p, &q);
            [lag(span.kind(), &p, &q, fluid), momentum, energy]
        }
        Span::Transition => {
            let (first, second) = (inputs(a, 0), inputs(b, 1));
            let xi = transition(a, b, fluid);
            let smooth = between(&first, &second, xi);
            let t = layer(Kind::Laminar, &smooth, fluid);
            let [momentum_1, energy_1] = balance(&p, &t);
            let mut rough = layer(Kind::Turbulent, &smooth, fluid);
            rough = {
                let mut started = smooth;
                started[1] = rough.equilibrium * start(rough.shape);
                layer(Kind::Turbulent, &started, fluid)
            };
            let [momentum_2, energy_2] = balance(&rough, &q);
            [lag(Kind::Turbulent, &rough, &q, fluid), momentum_1 + momentum_2, energy_1 + energy_2]
        }
    }
}

impl Span {
    /// Kind of the layer at its second station.
    pub(crate) fn kind(self) -> Kind {
        match self {
            Self::Laminar => Kind::Laminar,
            Self::Transition | Self::Turbulent => Kind::Turbulent,
            Self::Wake => Kind::Wake,
        }
    }
}

/// The layer at a station, with its derivatives to what is known there.
pub(crate) fn station(kind: Kind, s: &State, fluid: Fluid) -> Layer<STATION> {
    let i = inputs_of::<STATION>(s, 0);
    layer(kind, &i, fluid)
}

/// Residuals at the first station behind the stagnation point, where speed grows with distance and the thickness is
/// constant. Derivatives to shear, momentum thickness, displacement thickness, speed and distance.
pub(crate) fn stagnation(b: &State, fluid: Fluid) -> [Here; 3] {
    let q = station(Kind::Laminar, b, fluid);
    [
        Here::input(b.s, 0),
        q.shape + 2.0 - 0.5 * q.friction * q.xi / q.theta,
        1.0 - q.shape - q.xi / q.theta * (q.dissipation - 0.5 * q.friction),
    ]
}

/// Shear that a laminar layer at the trailing edge starts the wake with.
pub(crate) fn wake_start(state: &State, fluid: Fluid) -> Here {
    let q = station(Kind::Turbulent, state, fluid);
    q.equilibrium * start(q.shape)
}

/// Exponent of the waves at the second station, from that at the first.
pub(crate) fn grown(a: &State, b: &State, fluid: Fluid) -> f64 {
    let (p, q) = (plain(Kind::Laminar, a, fluid), plain(Kind::Laminar, b, fluid));
    a.s + 0.5 * (p.growth.v + q.growth.v) * (b.xi - a.xi)
}

/// Where between two stations the layer turns turbulent: distance from the stagnation point.
pub(crate) fn transition_place(a: &State, b: &State, fluid: Fluid) -> f64 {
    let before = plain(Kind::Laminar, a, fluid);
    let excess = |xi: f64| {
        let t =
            layer::<0>(Kind::Laminar, &between(&inputs_of(a, 0), &inputs_of(b, 0), Dual::fixed(xi)), fluid);
        a.s + 0.5 * (before.growth.v + t.growth.v) * (xi - a.xi) - fluid.n_critical
    };
    // Not onto a station: the spans on both sides keep a length.
    let width = b.xi - a.xi;
    let (mut low, mut high) = (a.xi + 1e-4 * width, b.xi - 1e-4 * width);
    // By halves and by the straight line, whichever is nearer: the exponent grows almost straight.
    let (mut at_low, mut at_high) = (excess(low), excess(high));
    if at_low >= 0.0 {
        return low;
    }
    if at_high <= 0.0 {
        return high;
    }
    for _ in 0..60 {
        let straight = low + (high - low) * at_low / (at_low - at_high);
        let value = excess(straight);
        if value < 0.0 {
            (low, at_low) = (straight, value);
            at_high *= 0.5;
        } else {
            (high, at_high) = (straight, value);
            at_low *= 0.5;
        }
        if value.abs() < 1e-11 || high - low < 1e-12 * width {
            return straight;
        }
    }
    0.5 * (low + high)
}

/// Distance, exponent or shear, momentum thickness, displacement thickness, speed.
type Inputs<const N: usize> = [Dual<N>; 5];

fn inputs_of<const N: usize>(s: &State, first: usize) -> Inputs<N> {
    [
        Dual::input(s.xi, first + 4),
        Dual::input(s.s, first),
        Dual::input(s.theta, first + 1),
        Dual::input(s.delta, first + 2),
        Dual::input(s.speed, first + 3),
    ]
}

fn inputs(s: &State, which: usize) -> Inputs<INPUTS> {
    inputs_of(s, which * STATION)
}

/// The layer at a station without derivatives.
fn plain(kind: Kind, s: &State, fluid: Fluid) -> Layer<0> {
    layer(kind, &inputs_of(s, 0), fluid)
}

fn layer<const N: usize>(kind: Kind, &[xi, s, theta, delta, speed]: &Inputs<N>, fluid: Fluid) -> Layer<N> {
    Layer::new(kind, xi, s, theta, delta, speed, fluid.reynolds)
}

/// Momentum and kinetic energy from `p` to `q`.
fn balance(p: &Layer<INPUTS>, q: &Layer<INPUTS>) -> [Both; 2] {
    let change = ((q.shape - 1.0) / (p.shape - 1.0)).ln() / q.shape;
    let ahead = 1.0 - 0.5 * (change.squared() * -UPWIND).exp();
    let mix = |u: Both, v: Both| u + ahead * (v - u);
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
fn lag(kind: Kind, p: &Layer<INPUTS>, q: &Layer<INPUTS>, fluid: Fluid) -> Both {
    let mean = |u: Both, v: Both| 0.5 * (u + v);
    let run = q.xi - p.xi;
    let thickness = mean(p.thickness, q.thickness);
    let longer = if kind == Kind::Wake { 0.9 } else { 1.0 };
    let behind = mean(p.equilibrium - longer * p.shear, q.equilibrium - longer * q.shear);
    let rate = LAG * (4.0 / 3.0) / (1.0 + mean(p.slip, q.slip));
    let shape = mean(p.shape, q.shape);
    let re = mean(p.theta * p.speed, q.theta * q.speed) * fluid.reynolds;
    let displacement = mean(p.theta * p.shape, q.theta * q.shape);
    let outer = outer_shape(kind, shape, re) / (shape * (LOCUS * longer));
    let equilibrium = (0.5 * mean(p.friction, q.friction) - outer.squared()) / (displacement * GB);
    2.0 * (q.shear / p.shear).ln()
        - rate * behind * run / thickness
        - 2.0 * (equilibrium * run - (q.speed / p.speed).ln())
}

/// Straight between two stations.
fn between<const N: usize>(first: &Inputs<N>, second: &Inputs<N>, xi: Dual<N>) -> Inputs<N> {
    let share = (xi - first[0]) / (second[0] - first[0]);
    let mut mixed = *first;
    for (m, (u, v)) in mixed.iter_mut().zip(first.iter().zip(second)) {
        *m = *u + share * (*v - *u);
    }
    mixed[0] = xi;
    mixed
}

/// Transition with its derivatives, by those of the equation that it solves.
fn transition(a: &State, b: &State, fluid: Fluid) -> Both {
    let xi = transition_place(a, b, fluid);
    let (first, second) = (inputs(a, 0), inputs(b, 1));
    let before = layer(Kind::Laminar, &first, fluid);
    let excess = |xi: Both| {
        let t = layer(Kind::Laminar, &between(&first, &second, xi), fluid);
        first[1] + 0.5 * (before.growth + t.growth) * (xi - first[0]) - fluid.n_critical
    };
    let step = 1e-5 * (b.xi - a.xi);
    let here = excess(Dual::fixed(xi));
    let slope = (excess(Dual::fixed(xi + step)).v - excess(Dual::fixed(xi - step)).v) / (2.0 * step);
    let mut result = Dual::fixed(xi);
    if slope > 1e-9 {
        result.d = here.d.map(|d| -d / slope * fluid.tied);
    }
    result
}
