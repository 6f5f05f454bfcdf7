//! How do boundary layer and outer flow agree? All stations of both sides and the wake at once, by Newton's method.
//!
//! The fluid that the layer pushes outward acts on the outer flow as sources (its mass defect), and the outer speed is
//! linear in them (Drela & Giles 1987; Drela 1989). Momentum and shear are eliminated station by station, so that only
//! the mass defects remain in the dense system.

use super::interval::{Fluid, Span, State, grown, transition_place, wake_start};
use super::march;
use super::newton::{Room, improve};
use super::outline::{arcs, divide, stagnation_arc};
use super::panels::{Flow, Panels, distance, forces};

/// Steps of Newton's method before a point is given up.
const STEPS: usize = 30;
/// Steps after which the changes must have become smaller than `SLOW`.
const HOPE: usize = 12;
/// See `HOPE`.
const SLOW: f64 = 2.0;
/// Root mean square of the relative changes at which a point is done; the last step still squares it.
const DONE: f64 = 1e-5;
/// Change at which a point is given up.
const LOST: f64 = 1e5;
/// The layer at all nodes and wake corners.
#[derive(Debug, Clone)]
pub(crate) struct Solved {
    /// Momentum thickness at nodes, then wake corners.
    pub(crate) theta: Vec<f64>,
    /// Mass defect at nodes, then wake corners.
    pub(crate) mass: Vec<f64>,
    /// Square root of the shear-stress coefficient at nodes, then wake corners.
    pub(crate) shear: Vec<f64>,
    /// Speed at nodes (along them), then wake corners.
    pub(crate) speed: Vec<f64>,
    /// The same without friction.
    frictionless: Vec<f64>,
    /// First node of the lower side.
    pub(crate) lower: usize,
    /// Lift coefficient.
    pub(crate) cl: f64,
    /// Drag coefficient from the momentum in the wake.
    pub(crate) cd: f64,
    /// Moment coefficient about the quarter chord.
    pub(crate) cm: f64,
    /// Transition over chord, upper and lower side.
    pub(crate) transition: [f64; 2],
    /// Displacement over momentum thickness at the trailing edge, upper and lower side.
    pub(crate) ends: [f64; 2],
    /// Steps taken.
    pub(crate) steps: usize,
}

/// A station in the order of the flow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    /// Number of node or wake corner.
    pub(super) index: usize,
    /// +1 where the flow goes along the nodes, -1 on the upper side.
    pub(super) sign: f64,
    pub(super) state: State,
    /// Equations between the station before and this one; none at the first of a side and of the wake.
    pub(super) span: Option<Span>,
}

/// Agreement of layer and outer flow, from the agreement at a neighboring angle or from scratch. None where Newton's
/// method does not come to an end.
pub(crate) fn solve(
    panels: &Panels,
    flow: &Flow,
    alpha: f64,
    fluid: Fluid,
    start: Option<&Solved>,
    room: &mut Room,
) -> Option<Solved> {
    let mut now = match start {
        Some(start) => carried(panels, flow, fluid, start)?,
        None => from_scratch(panels, flow, fluid)?,
    };
    let arcs = arcs(&panels.nodes);
    let wake_arcs = self::arcs(&flow.wake);
    let mut restless = true;
    room.enter(flow);
    for step in 0..STEPS {
        room.bend(flow, thin_share(&now, panels.nodes.len()));
        let speed = speeds(flow, &mut now, room)?;
        now.speed.clone_from(&speed);
        let (places, counts, transition_xi) = stations(panels, &arcs, &wake_arcs, &speed, &mut now, fluid)?;
        let fluid = if restless && step > 0 { fluid } else { Fluid { tied: 1.0, ..fluid } };
        let (change, share) = improve(&places, counts, &arcs, fluid, &mut now, room)?;
        if !change.is_finite() || change > LOST || step > HOPE && change > SLOW {
            return None;
        }
        restless = change > RESTLESS;
        if change < DONE && share >= 1.0 {
            let speed = speeds(flow, &mut now, room)?;
            return Some(finish(panels, flow, alpha, speed, now, transition_xi, step));
        }
    }
    None
}

/// The solution at a neighboring angle as a start: the same thicknesses in the speeds changed as without friction, with
/// the laminar layer at the nose grown anew.
fn carried(panels: &Panels, flow: &Flow, fluid: Fluid, old: &Solved) -> Option<Solved> {
    let mut now = old.clone();
    let n = panels.nodes.len();
    let own: Vec<f64> = flow.body_speed.iter().chain(&flow.wake_speed).copied().collect();
    let speed: Vec<f64> = old
        .speed
        .iter()
        .zip(&own)
        .zip(&old.frictionless)
        .map(|((u, new), before)| u + new - before)
        .collect();
    now.lower = divide(&speed[..n], old.lower)?;
    for (i, u) in speed.iter().enumerate() {
        let delta = old.mass[i] / old.speed[i].abs().max(1e-4);
        now.mass[i] = delta * u.abs();
    }
    let arcs = arcs(&panels.nodes);
    let stagnation = stagnation_arc(&arcs, &speed, now.lower);
    let upper: Vec<usize> = (0..now.lower).rev().collect();
    let under: Vec<usize> = (now.lower..n).collect();
    for indices in [upper, under] {
        let near: Vec<usize> =
            indices.into_iter().take_while(|&i| (arcs[i] - stagnation).abs() < RENEWED).collect();
        let given: Vec<(f64, f64)> =
            near.iter().map(|&i| ((arcs[i] - stagnation).abs(), speed[i].abs().max(1e-4))).collect();
        let (states, turbulent) = march::side(&given, fluid, usize::MAX);
        for (j, (&i, state)) in near.iter().zip(&states).enumerate() {
            if j >= turbulent || state.delta > 3.2 * state.theta || now.shear[i] > 0.0 && j > 3 {
                break;
            }
            now.theta[i] = state.theta;
            now.mass[i] = state.delta * speed[i].abs().max(1e-4);
        }
    }
    Some(now)
}

impl Solved {
    /// This solution with layers toward the trailing edge that are not separated, as another start.
    pub(crate) fn attached(&self, panels: &Panels) -> Self {
        let mut other = self.clone();
        for (i, node) in panels.nodes.iter().enumerate() {
            if node[0] > 0.6 {
                let most = if self.shear[i] > 0.0 { 1.8 } else { 2.6 };
                other.mass[i] = self.mass[i].min(most * self.theta[i] * self.speed[i].abs());
            }
        }
        let n = panels.nodes.len();
        for i in n..self.mass.len() {
            let near = 1.0 + 0.8 / (1.0 + (i - n) as f64 / 4.0);
            other.mass[i] = self.mass[i].min(near * self.theta[i] * self.speed[i]);
        }
        other
    }
}

/// Length on both sides of the stagnation point that is grown anew at a new angle, chords.
const RENEWED: f64 = 0.08;

/// Change above which the place of transition is only partly tied to the layer ahead of it, where asked for.
const RESTLESS: f64 = 0.1;

/// Speeds along the nodes, then along the wake, from the mass defects; moves the stagnation point where it wandered.
fn speeds(flow: &Flow, now: &mut Solved, room: &Room) -> Option<Vec<f64>> {
    let n = flow.body_speed.len();
    for _ in 0..8 {
        let signed: Vec<f64> =
            now.mass.iter().enumerate().map(|(i, m)| if i < now.lower { -m } else { *m }).collect();
        let speed: Vec<f64> = flow
            .body_speed
            .iter()
            .chain(&flow.wake_speed)
            .enumerate()
            .map(|(i, own)| own + dot(room.effect_of(i), &signed))
            .collect();
        if !speed.iter().all(|q| q.is_finite()) {
            return None;
        }
        let lower = divide(&speed[..n], now.lower)?;
        if lower == now.lower {
            return Some(speed);
        }
        // Nodes that changed sides are laminar and near the stagnation point: thicknesses of the first that did not.
        let (range, like) =
            if lower > now.lower { (now.lower..lower, now.lower - 1) } else { (lower..now.lower, now.lower) };
        for i in range {
            now.theta[i] = now.theta[like];
            let shape = now.mass[like] / speed[like].abs().max(1e-3);
            now.mass[i] = shape * speed[i].abs();
        }
        now.lower = lower;
    }
    None
}

/// Share of the wake's bend that counts: all of it behind thin layers, none behind layers so thick that the wake is no
/// thin sheet along the line that it is drawn on (a section that stalls sends it off nearly straight).
fn thin_share(now: &Solved, nodes: usize) -> f64 {
    if now.speed.first().is_none_or(|&q| q == 0.0) {
        return 1.0;
    }
    let delta = |i: usize| now.mass[i] / now.speed[i].abs().max(1e-2);
    let thick = delta(0) + delta(nodes - 1);
    let share = ((THIN[1] - thick) / (THIN[1] - THIN[0])).clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

/// Displacement thickness of both sides at the trailing edge, over chord, up to which the wake is thin, and from which it
/// is not. A choice of this file: attached layers have 0.01 to 0.03, a stalled section 0.1 and more.
const THIN: [f64; 2] = [0.02, 0.06];

/// Sum of products, in four parts so that it can be done side by side.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (mut sums, mut rest) = ([0.0; 4], 0.0);
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    for (x, y) in a4.remainder().iter().zip(b4.remainder()) {
        rest += x * y;
    }
    for (x, y) in a4.zip(b4) {
        for (sum, (u, v)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += u * v;
        }
    }
    sums[0] + sums[1] + sums[2] + sums[3] + rest
}

/// All stations in the order of the flow, and where both sides turn turbulent.
fn stations(
    panels: &Panels,
    arcs: &[f64],
    wake_arcs: &[f64],
    speed: &[f64],
    now: &mut Solved,
    fluid: Fluid,
) -> Option<(Vec<Place>, [usize; 2], [f64; 2])> {
    let n = panels.nodes.len();
    let lower = now.lower;
    let stagnation = stagnation_arc(arcs, speed, lower);
    let mut places = Vec::with_capacity(speed.len());
    let mut transitions = [0.0; 2];
    let upper: Vec<usize> = (0..lower).rev().collect();
    let under: Vec<usize> = (lower..n).collect();
    let mut wake_xi = 0.0;
    for (side, (indices, sign)) in [(upper, -1.0), (under, 1.0)].into_iter().enumerate() {
        let mut last: Option<State> = None;
        let mut turbulent = false;
        transitions[side] = f64::INFINITY;
        for index in indices {
            let u = (sign * speed[index]).max(1e-5);
            let mut state = State {
                xi: (arcs[index] - stagnation).abs(),
                s: 0.0,
                theta: now.theta[index],
                delta: now.mass[index] / u,
                speed: u,
            };
            if state.delta < 1.02 * state.theta {
                state.delta = 1.02 * state.theta;
                now.mass[index] = u * state.delta;
            }
            let span = match &last {
                None => None,
                Some(_) if turbulent => {
                    state.s = rough(now, index, &state, fluid);
                    Some(Span::Turbulent)
                }
                Some(before) => {
                    let n = grown(before, &state, fluid);
                    if n >= fluid.n_critical {
                        turbulent = true;
                        transitions[side] = transition_place(before, &state, fluid);
                        state.s = rough(now, index, &state, fluid);
                        Some(Span::Transition)
                    } else {
                        state.s = n;
                        now.shear[index] = 0.0;
                        Some(Span::Laminar)
                    }
                }
            };
            if last.is_none() {
                now.shear[index] = 0.0;
            }
            wake_xi = f64::max(wake_xi, state.xi);
            last = Some(state);
            places.push(Place { index, sign, state, span });
        }
    }
    for (k, arc) in wake_arcs.iter().enumerate() {
        let index = n + k;
        let u = speed[index].max(1e-3);
        let mut state = State {
            xi: wake_xi + arc,
            s: now.shear[index].max(1e-4),
            theta: now.theta[index],
            delta: now.mass[index] / u,
            speed: u,
        };
        if state.delta < 1.0005 * state.theta {
            state.delta = 1.0005 * state.theta;
            now.mass[index] = u * state.delta;
        }
        places.push(Place { index, sign: 1.0, state, span: (k > 0).then_some(Span::Wake) });
    }
    // Distances of the transitions back to places on the outline.
    let chordwise = |at: f64| -> f64 {
        let after = arcs.partition_point(|&a| a <= at).clamp(1, n - 1);
        let share = ((at - arcs[after - 1]) / (arcs[after] - arcs[after - 1])).clamp(0.0, 1.0);
        panels.nodes[after - 1][0] + share * (panels.nodes[after][0] - panels.nodes[after - 1][0])
    };
    let transition = [
        if transitions[0].is_finite() { chordwise(stagnation - transitions[0]) } else { 1.0 },
        if transitions[1].is_finite() { chordwise(stagnation + transitions[1]) } else { 1.0 },
    ];
    Some((places, [lower, n - lower], transition))
}

/// Shear of a turbulent station; of one that was laminar before, as it starts.
fn rough(now: &mut Solved, index: usize, state: &State, fluid: Fluid) -> f64 {
    if now.shear[index] <= 0.0 {
        now.shear[index] = wake_start(state, fluid).v.clamp(0.005, 0.25);
    }
    now.shear[index]
}

/// Layers by marching along the frictionless speeds.
fn from_scratch(panels: &Panels, flow: &Flow, fluid: Fluid) -> Option<Solved> {
    let n = panels.nodes.len();
    let count = n + flow.wake.len();
    let q = &flow.body_speed;
    let nose = (0..n).max_by(|&a, &b| {
        distance(panels.nodes[a], panels.nodes[0]).total_cmp(&distance(panels.nodes[b], panels.nodes[0]))
    })?;
    let lower = divide(q, nose)?;
    let arcs = arcs(&panels.nodes);
    let stagnation = stagnation_arc(&arcs, q, lower);
    let mut now = Solved {
        theta: vec![0.0; count],
        mass: vec![0.0; count],
        shear: vec![0.0; count],
        speed: vec![0.0; count],
        frictionless: vec![0.0; count],
        lower,
        cl: 0.0,
        cd: 0.0,
        cm: 0.0,
        transition: [1.0; 2],
        ends: [0.0; 2],
        steps: 0,
    };
    let mut ends = Vec::new();
    let upper: Vec<usize> = (0..lower).rev().collect();
    let under: Vec<usize> = (lower..n).collect();
    for indices in [upper, under] {
        let given: Vec<(f64, f64)> =
            indices.iter().map(|&i| ((arcs[i] - stagnation).abs(), q[i].abs().max(1e-4))).collect();
        let (states, turbulent) = march::side(&given, fluid, usize::MAX);
        for (j, (&i, state)) in indices.iter().zip(&states).enumerate() {
            now.theta[i] = state.theta;
            now.mass[i] = state.delta * q[i].abs().max(1e-4);
            now.shear[i] = if j >= turbulent { state.s } else { 0.0 };
        }
        let last = *states.last()?;
        let shear = if turbulent < states.len() { last.s } else { wake_start(&last, fluid).v };
        ends.push((last, shear));
    }
    let [(a, sa), (b, sb)] = ends[..] else { return None };
    let start = State {
        xi: a.xi.max(b.xi),
        s: ((sa * a.theta + sb * b.theta) / (a.theta + b.theta)).max(0.01),
        theta: a.theta + b.theta,
        delta: a.delta + b.delta,
        speed: flow.wake_speed[0].max(1e-3),
    };
    let wake_arcs = self::arcs(&flow.wake);
    let rest: Vec<(f64, f64)> = wake_arcs
        .iter()
        .zip(&flow.wake_speed)
        .skip(1)
        .map(|(arc, u)| (start.xi + arc, u.max(1e-3)))
        .collect();
    for (k, state) in march::wake(start, &rest, fluid).iter().enumerate() {
        now.theta[n + k] = state.theta;
        now.mass[n + k] = state.delta * state.speed;
        now.shear[n + k] = state.s;
    }
    Some(now)
}

/// Coefficients of a solution.
fn finish(
    panels: &Panels,
    flow: &Flow,
    alpha: f64,
    speed: Vec<f64>,
    mut now: Solved,
    transition: [f64; 2],
    steps: usize,
) -> Solved {
    let n = panels.nodes.len();
    let (cl, cm) = forces(&panels.nodes, &speed[..n], alpha);
    let last = speed.len() - 1;
    let shape = now.mass[last] / speed[last] / now.theta[last];
    now.cl = cl;
    now.cm = cm;
    // Squire & Young, ARC R&M 1838, 1937, from the end of the wake.
    now.cd = 2.0 * now.theta[last] * speed[last].powf(0.5 * (shape + 5.0));
    now.transition = transition.map(|x| x.clamp(0.0, 1.0));
    now.steps = steps;
    now.ends = [0, n - 1].map(|i| now.mass[i] / speed[i].abs() / now.theta[i]);
    now.frictionless = flow.body_speed.iter().chain(&flow.wake_speed).copied().collect();
    now.speed = speed;
    now
}
