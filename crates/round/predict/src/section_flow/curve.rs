//! What does a section do over angle of attack at one Reynolds number? From angle to angle, each started from the one
//! before, with second tries where the first does not settle.

use super::coupling::{Solved, solve};
use super::interval::Fluid;
use super::newton::Room;
use super::panels::{Flow, Panels};

/// Corners of the wake and its length in chords.
const WAKE: (usize, f64) = (24, 1.0);
/// Angles without a solution in a row after which a direction is given up.
const PATIENCE: usize = 4;
/// Angle beyond that of greatest lift at which computing stops, rad.
const BEYOND_STALL: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// What was found at an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Found {
    /// Angle of attack, rad.
    pub(crate) alpha: f64,
    /// Lift, drag, moment coefficient.
    pub(crate) forces: [f64; 3],
    /// Transition over chord, upper and lower side.
    pub(crate) transition: [f64; 2],
    /// Whether it settled; otherwise it is laid between neighbors.
    pub(crate) settled: bool,
    /// Whether no layer parts widely from the surface just ahead of the trailing edge while still laminar.
    pub(crate) sound: bool,
}

/// A section at a Reynolds number, with what is the same at all of them.
#[derive(Clone, Copy)]
pub(crate) struct Case<'a> {
    /// The outline's own flow.
    pub(crate) panels: &'a Panels,
    /// Angles of attack, rad, growing, a constant step apart.
    pub(crate) alphas: &'a [f64],
    /// The flow with its wake at each of them.
    pub(crate) flows: &'a [Option<Flow>],
    /// The fluid.
    pub(crate) fluid: Fluid,
}

/// Solutions at the angles that could be reached.
pub(crate) fn curve(case: Case<'_>) -> Vec<Option<Solved>> {
    let count = case.alphas.len();
    let mut room = Room::default();
    let mut solved: Vec<Option<Solved>> = vec![None; count];
    let Some((first, start)) = first(case, &mut room) else { return solved };
    if let Some(place) = solved.get_mut(first) {
        *place = Some(start);
    }
    let up: Vec<usize> = (first + 1..count).collect();
    let down: Vec<usize> = (0..first).rev().collect();
    for (way, sign) in [(&up, 1.0), (&down, -1.0)] {
        go(case, way, sign, first, &mut solved, &mut room);
    }
    solved
}

/// Angles without a solution, tried once more from their neighbors on both sides and from the solutions at neighboring
/// Reynolds numbers, as long as that fills any.
pub(crate) fn fill(
    case: Case<'_>,
    own: &[Option<Solved>],
    neighbors: &[&[Option<Solved>]],
) -> Vec<Option<Solved>> {
    let mut room = Room::default();
    let mut solved = own.to_vec();
    let mut tried = vec![[false; 4]; solved.len()];
    for _ in 0..ROUNDS {
        let mut more = false;
        for i in 0..solved.len() {
            if solved[i].is_some() {
                continue;
            }
            let beside = [i.checked_sub(1), i.checked_add(1)];
            let around = beside
                .into_iter()
                .map(|j| j.and_then(|j| Some((*case.alphas.get(j)?, solved.get(j)?.clone()?))))
                .chain(neighbors.iter().map(|n| Some((*case.alphas.get(i)?, n.get(i)?.clone()?))));
            let mut found = None;
            for (k, from) in around.enumerate() {
                let (Some((from, start)), Some(once)) = (from, tried[i].get_mut(k)) else { continue };
                if found.is_none() && !*once {
                    *once = true;
                    found = reach(case, i, from, &start, &mut room);
                }
            }
            more |= found.is_some();
            solved[i] = found;
        }
        if !more {
            break;
        }
    }
    solved
}

/// Rounds of filling: a hole of so many angles can be closed from one side.
const ROUNDS: usize = 4;

/// One way from the first angle until it stalls or nothing settles.
fn go(
    case: Case<'_>,
    way: &[usize],
    sign: f64,
    first: usize,
    solved: &mut [Option<Solved>],
    room: &mut Room,
) {
    let Some(mut last) = solved.get(first).cloned().flatten().map(|s| (case.alphas[first], s)) else {
        return;
    };
    let mut most = (last.0, sign * last.1.cl);
    let mut missed = 0;
    for &i in way {
        let alpha = case.alphas[i];
        match reach(case, i, last.0, &last.1, room) {
            Some(found) => {
                missed = 0;
                if sign * found.cl > most.1 {
                    most = (alpha, sign * found.cl);
                }
                solved[i] = Some(found.clone());
                last = (alpha, found);
            }
            None => missed += 1,
        }
        if missed >= PATIENCE || (alpha - most.0).abs() > BEYOND_STALL {
            return;
        }
    }
}

/// A solution at an angle, started from one at another: at once, with the transition eased, with the layers at the
/// trailing edge attached, by half the way.
fn reach(case: Case<'_>, i: usize, from: f64, start: &Solved, room: &mut Room) -> Option<Solved> {
    let Case { panels, fluid, .. } = case;
    let alpha = *case.alphas.get(i)?;
    let flow = case.flows.get(i)?.as_ref()?;
    let likely = |s: &Solved| is_likely(s, start, alpha - from);
    let at_once = solve(panels, flow, alpha, fluid, Some(start), room);
    if let Some(found) = at_once.as_ref().filter(|s| likely(s) && is_sound(s, fluid.reynolds)) {
        return Some(found.clone());
    }
    let eased = Fluid { tied: 0.5, ..fluid };
    let sound = |s: &Solved| likely(s) && is_sound(s, fluid.reynolds);
    if let Some(found) = &at_once {
        let other = solve(panels, flow, alpha, eased, Some(&found.attached(panels)), room).filter(sound);
        if other.is_some() {
            return other;
        }
    }
    if let Some(found) = at_once.filter(likely) {
        return Some(found);
    }
    solve(panels, flow, alpha, eased, Some(start), room).filter(likely).or_else(|| {
        let middle = 0.5 * (alpha + from);
        let between = wake(panels, middle)?;
        let half = solve(panels, &between, middle, fluid, Some(start), room).filter(likely)?;
        solve(panels, flow, alpha, fluid, Some(&half), room).filter(likely)
    })
}

/// Whether a layer that stays laminar almost to the trailing edge does not part from it widely there. Such answers
/// stand beside others with the layer on the surface; they are held possible only at low Reynolds numbers.
fn is_sound(found: &Solved, reynolds: f64) -> bool {
    let most = LAMINAR_END * (2.0e5 / reynolds).max(1.0);
    found.transition.iter().zip(found.ends).all(|(&x, shape)| x < 0.85 || shape < most)
}

/// Greatest shape at the trailing edge of a laminar layer that is taken for sound at Reynolds numbers of 200 000 and
/// more. A choice of this file.
const LAMINAR_END: f64 = 6.0;

/// The flow with its wake at an angle.
pub(crate) fn wake(panels: &Panels, alpha: f64) -> Option<Flow> {
    panels.with_wake(alpha, WAKE.0, WAKE.1)
}

/// Newton's method also settles on answers that no flow takes: a lift that jumps, a drag that is none.
fn is_likely(found: &Solved, start: &Solved, step: f64) -> bool {
    let allowed = 0.2 + 9.0 * step.abs();
    (found.cl - start.cl).abs() < allowed && found.cd > 5e-4 && found.cd < 1.0 && found.cm.abs() < 1.0
}

/// A first solution: at an angle with little lift, at this Reynolds number or stepping to it from an easier one.
fn first(case: Case<'_>, room: &mut Room) -> Option<(usize, Solved)> {
    let Case { panels, alphas, fluid, .. } = case;
    let zero = alphas.iter().enumerate().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map(|(i, _)| i)?;
    let step = match alphas {
        [a, b, ..] => b - a,
        _ => return None,
    };
    let per_two_degrees = ((2.0_f64.to_radians() / step).round() as isize).max(1);
    for offset in [0, 1, 2, -1, 3, -2] {
        let Some(i) = zero.checked_add_signed(offset * per_two_degrees) else { continue };
        let (Some(&alpha), Some(Some(flow))) = (alphas.get(i), case.flows.get(i)) else { continue };
        for easier in [3.0e5, 5.0e5, 1.5e5, 1.0e6] {
            let mut reynolds: f64 = easier;
            let mut now = solve(panels, flow, alpha, Fluid { reynolds, ..fluid }, None, room);
            while let Some(settled) = now.take() {
                if (reynolds / fluid.reynolds - 1.0).abs() < 1e-9 {
                    if settled.cd > 5e-4 && is_sound(&settled, fluid.reynolds) {
                        return Some((i, settled));
                    }
                    break;
                }
                let ratio = (fluid.reynolds / reynolds).clamp(0.7, 1.4);
                reynolds *= ratio;
                if (reynolds / fluid.reynolds - 1.0).abs() < 1e-6 {
                    reynolds = fluid.reynolds;
                }
                now = solve(panels, flow, alpha, Fluid { reynolds, ..fluid }, Some(&settled), room);
            }
        }
    }
    None
}

/// From the first to the last settled angle, holes laid between their neighbors.
pub(crate) fn bridged(alphas: &[f64], reynolds: f64, solved: &[Option<Solved>]) -> Vec<Found> {
    let settled: Vec<Found> = alphas
        .iter()
        .zip(solved)
        .filter_map(|(&alpha, s)| {
            s.as_ref().map(|s| Found {
                alpha,
                forces: [s.cl, s.cd, s.cm],
                transition: s.transition,
                settled: true,
                sound: is_sound(s, reynolds),
            })
        })
        .collect();
    let (Some(low), Some(high)) = (settled.first().map(|f| f.alpha), settled.last().map(|f| f.alpha)) else {
        return Vec::new();
    };
    alphas
        .iter()
        .filter(|&&alpha| alpha >= low && alpha <= high)
        .filter_map(|&alpha| {
            let after = settled.partition_point(|f| f.alpha < alpha);
            let b = settled.get(after)?;
            if b.alpha <= alpha {
                return Some(*b);
            }
            let a = settled.get(after.checked_sub(1)?)?;
            let s = (alpha - a.alpha) / (b.alpha - a.alpha);
            let mix = |u: f64, v: f64| u + s * (v - u);
            Some(Found {
                alpha,
                forces: [0, 1, 2].map(|k| mix(a.forces[k], b.forces[k])),
                transition: [0, 1].map(|k| mix(a.transition[k], b.transition[k])),
                settled: false,
                sound: a.sound && b.sound,
            })
        })
        .collect()
}

/// A curve that ended before its stall, carried on by the one at a neighboring Reynolds number, shifted to meet it.
pub(crate) fn carried_on(own: &[Found], neighbor: &[Found]) -> Vec<Found> {
    let mut made = own.to_vec();
    let (Some(&first), Some(&last)) = (own.first(), own.last()) else { return made };
    // Past the stall there is nothing to carry on: least or greatest lift inside the curve.
    let inside = |f: &&Found, edge: &Found| (f.forces[0] - edge.forces[0]).abs() > STALL_SEEN;
    let stalled_low =
        own.iter().take(own.len() / 2).find(|f| f.forces[0] < first.forces[0] && inside(f, &first));
    let stalled_high =
        own.iter().skip(own.len() / 2).find(|f| f.forces[0] > last.forces[0] && inside(f, &last));
    let meeting = |edge: &Found| neighbor.iter().find(|f| (f.alpha - edge.alpha).abs() < 1e-9).copied();
    let shifted = |f: &Found, edge: &Found, there: &Found| Found {
        forces: [
            f.forces[0] + edge.forces[0] - there.forces[0],
            f.forces[1] * edge.forces[1] / there.forces[1],
            f.forces[2] + edge.forces[2] - there.forces[2],
        ],
        settled: false,
        ..*f
    };
    if let (None, Some(there)) = (stalled_high, meeting(&last)) {
        made.extend(
            neighbor.iter().filter(|f| f.alpha > last.alpha + 1e-9).map(|f| shifted(f, &last, &there)),
        );
    }
    if let (None, Some(there)) = (stalled_low, meeting(&first)) {
        let before =
            neighbor.iter().filter(|f| f.alpha < first.alpha - 1e-9).map(|f| shifted(f, &first, &there));
        made = before.chain(made).collect();
    }
    made
}

/// Fall of lift behind its extreme that shows a stall.
const STALL_SEEN: f64 = 0.02;
