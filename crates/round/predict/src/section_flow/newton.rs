//! How is one step of Newton's method made over all stations? Shear and momentum thickness are eliminated from station to
//! station, so that only the mass defects remain; then one full system of them.
//!
//! The place of the stagnation point, and with it every distance along the surface, moves with the speeds on its two
//! sides; its derivatives are in, or the steps would not become small at the nose.

use faer::Par;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::lu::partial_pivoting::{factor, solve};
use faer::mat::{MatMut, MatRef};

use super::closure::{Kind, Layer};
use super::coupling::{Place, Solved, dot};
use super::dual::{Here, STATION};
use super::interval::{Fluid, Span, between_layers, stagnation, station, wake_start};
use super::panels::Flow;

/// Greatest shrinking and growing of a thickness in one step, as shares.
const LIMITS: [f64; 2] = [0.5, 1.0];
/// Share of a step that is taken at least, where no station's own limit is met.
const LEAST_SHARE: f64 = 0.01;
/// Greatest change of a speed in one step.
const SPEED_LIMIT: f64 = 0.25;

/// Memory that the steps of one curve share.
#[derive(Debug, Default)]
pub(super) struct Room {
    /// Number of nodes and wake corners.
    size: usize,
    /// Speed at each station for the signed mass defect at each other.
    effect: Vec<f64>,
    /// Share of the wake's bend that is in it.
    bent: f64,
    /// The mass defects' own system.
    matrix: Vec<f64>,
    pivots: [Vec<usize>; 2],
}

impl Room {
    /// Takes up a flow.
    pub(super) fn enter(&mut self, flow: &Flow) {
        self.size = flow.body_speed.len() + flow.wake_speed.len();
        self.effect.clear();
        self.effect.extend_from_slice(&flow.from_mass);
        self.bent = 0.0;
        self.matrix.resize(self.size * self.size, 0.0);
    }

    /// Sets the share of the wake's bend.
    pub(super) fn bend(&mut self, flow: &Flow, share: f64) {
        let (more, corners) = (share - self.bent, flow.wake_speed.len());
        self.bent = share;
        for (row, bend) in self.effect.chunks_exact_mut(self.size).zip(flow.from_bend.chunks_exact(corners)) {
            for (value, b) in row.iter_mut().skip(flow.body_speed.len()).zip(bend) {
                *value += more * b;
            }
        }
    }

    /// Speed at a node or wake corner for the signed mass defects.
    pub(super) fn effect_of(&self, index: usize) -> &[f64] {
        self.effect.get(index * self.size..(index + 1) * self.size).unwrap_or_default()
    }

    /// Solves the system of the mass defects. None where it is singular.
    fn solve(&mut self, right: &mut [f64]) -> Option<()> {
        let k = right.len();
        for pivots in &mut self.pivots {
            pivots.resize(k, 0);
        }
        let [forth, back] = &mut self.pivots;
        let params = Default::default();
        let need = factor::lu_in_place_scratch::<usize, f64>(k, k, Par::Seq, params)
            .or(solve::solve_transpose_in_place_scratch::<usize, f64>(k, 1, Par::Seq));
        let mut buffer = MemBuffer::new(need);
        let stack = MemStack::new(&mut buffer);
        // Row by row it is the transpose, column by column.
        let mut matrix = MatMut::from_column_major_slice_mut(&mut self.matrix, k, k);
        let (_, permutation) =
            factor::lu_in_place(matrix.as_mut(), forth, back, Par::Seq, stack, Default::default());
        let factors: MatRef<'_, f64> = matrix.as_ref();
        let right_side = MatMut::from_column_major_slice_mut(&mut *right, k, 1);
        solve::solve_transpose_in_place(factors, factors, permutation, right_side, Par::Seq, stack);
        right.iter().all(|v| v.is_finite()).then_some(())
    }
}

/// A change at a station (or what an equation leaves over) as it follows from the station before and the mass defects.
#[derive(Debug, Clone, Copy, Default)]
struct Follows {
    constant: f64,
    /// For shear and momentum thickness of the station before.
    before: [f64; 2],
    /// For the speed at the station before and at this one, and the place of the stagnation point.
    speeds: [f64; 3],
    /// For the signed mass defect at the station before and at this one.
    mass: [f64; 2],
}

impl Follows {
    fn plus(mut self, factor: f64, other: &Self) -> Self {
        self.constant += factor * other.constant;
        for (a, b) in self.before.iter_mut().zip(other.before) {
            *a += factor * b;
        }
        for (a, b) in self.speeds.iter_mut().zip(other.speeds) {
            *a += factor * b;
        }
        for (a, b) in self.mass.iter_mut().zip(other.mass) {
            *a += factor * b;
        }
        self
    }

    /// For one mass defect, from what the others are for it.
    #[inline]
    fn of(&self, before: [f64; 2], speeds: [f64; 3]) -> f64 {
        self.before[0] * before[0]
            + self.before[1] * before[1]
            + self.speeds[0] * speeds[0]
            + self.speeds[1] * speeds[1]
            + self.speeds[2] * speeds[2]
    }
}

/// Start of the wake: both layers of the trailing edge together.
struct WakeStart {
    /// Residuals of shear, momentum thickness and displacement thickness.
    residuals: [f64; 3],
    /// Shear for shear, momentum thickness, displacement thickness and speed at both ends.
    ends: [[f64; 4]; 2],
}

fn wake_begins(places: &[Place], ends: [usize; 2], begin: usize, fluid: Fluid) -> WakeStart {
    let [a, b] = ends.map(|e| &places[e]);
    let shear = |p: &Place| match p.span {
        Some(Span::Laminar) => wake_start(&p.state, fluid),
        _ => Here::input(p.state.s, 0),
    };
    let (sa, sb) = (shear(a), shear(b));
    let theta = a.state.theta + b.state.theta;
    let mixed = (sa.v * a.state.theta + sb.v * b.state.theta) / theta;
    let part = |own: &Here, p: &Place| {
        let share = p.state.theta / theta;
        let mut d = [own.d[0] * share, own.d[1] * share, own.d[2] * share, own.d[3] * share];
        d[1] += (own.v - mixed) / theta;
        d
    };
    let s = &places[begin].state;
    WakeStart {
        residuals: [s.s - mixed, s.theta - theta, s.delta - a.state.delta - b.state.delta],
        ends: [part(&sa, a), part(&sb, b)],
    }
}

/// One step of Newton's method: root mean square of the relative changes, and the share of the step that was taken.
pub(super) fn improve(
    places: &[Place],
    [upper, under]: [usize; 2],
    arcs: &[f64],
    fluid: Fluid,
    now: &mut Solved,
    room: &mut Room,
) -> Option<(f64, f64)> {
    let k = places.len();
    let begin = upper + under;
    let ends = [upper.checked_sub(1)?, begin.checked_sub(1)?];
    let mut matrix = std::mem::take(&mut room.matrix);
    let mut right = vec![0.0; k];
    let mut follows = vec![[Follows::default(); 2]; k];
    // Place of the stagnation point for the mass defects.
    let (above, below) = (&places[0], &places[upper]);
    let sum = above.state.speed + below.state.speed;
    let length = (arcs[below.index] - arcs[above.index]).abs();
    let moves = [length * below.state.speed / (sum * sum), -length * above.state.speed / (sum * sum)];
    let stagnates: Vec<f64> = room
        .effect_of(above.index)
        .iter()
        .zip(room.effect_of(below.index))
        .map(|(u, v)| moves[0] * above.sign * u + moves[1] * below.sign * v)
        .collect();
    // Distances grow on the upper side when the stagnation point moves along the nodes; those in the wake with the
    // longer side.
    let longer = if places[ends[0]].state.xi < places[ends[1]].state.xi { -1.0 } else { 1.0 };
    let shift = |i: usize| match i {
        _ if i < upper => 1.0,
        _ if i < begin => -1.0,
        _ => longer,
    };
    let wake = wake_begins(places, ends, begin, fluid);
    // Shear and momentum thickness for the mass defects, and their constants: at the station before, here, at both ends.
    let mut rows = [vec![0.0; k], vec![0.0; k]];
    let mut next = [vec![0.0; k], vec![0.0; k]];
    let mut constants = [0.0; 2];
    let mut kept: Vec<([Vec<f64>; 2], [f64; 2])> = Vec::new();
    let mut layer: Option<(Kind, Layer<STATION>)> = None;
    for (i, place) in places.iter().enumerate() {
        let line = &mut matrix[i * k..(i + 1) * k];
        if i == begin {
            line.fill(0.0);
            for row in &mut next {
                row.fill(0.0);
            }
            let mut here = [-wake.residuals[0], -wake.residuals[1]];
            for ((&end, part), (old, old_constants)) in ends.iter().zip(&wake.ends).zip(&kept) {
                let p = &places[end];
                let u = room.effect_of(p.index);
                let thin = p.state.delta / p.state.speed;
                let by_speed = p.sign * (part[3] - part[2] * thin);
                let [s_next, t_next] = &mut next;
                let inputs = old[0].iter().zip(&old[1]).zip(u);
                let outputs = s_next.iter_mut().zip(t_next.iter_mut()).zip(line.iter_mut());
                for (((s, t), u), ((s_out, t_out), m_out)) in inputs.zip(outputs) {
                    *s_out += part[0] * s + part[1] * t + by_speed * u;
                    *t_out += t;
                    *m_out += p.sign * thin * u;
                }
                s_next[p.index] += p.sign * part[2] / p.state.speed;
                line[p.index] -= p.sign / p.state.speed;
                here[0] += part[0] * old_constants[0] + part[1] * old_constants[1];
                here[1] += old_constants[1];
            }
            let thin = place.state.delta / place.state.speed;
            for (value, u) in line.iter_mut().zip(room.effect_of(place.index)) {
                *value -= thin * u;
            }
            line[place.index] += 1.0 / place.state.speed;
            right[i] = -wake.residuals[2];
            constants = here;
            layer = None;
        } else {
            let before = if place.span.is_some() { &places[i - 1] } else { place };
            let equations = match place.span {
                None => {
                    layer = None;
                    constants = [0.0; 2];
                    for row in &mut rows {
                        row.fill(0.0);
                    }
                    stagnation(&place.state, fluid).map(|r| r.placed(1))
                }
                Some(span) => {
                    let wanted = if span == Span::Transition { Kind::Laminar } else { span.kind() };
                    let known = match layer {
                        Some((kind, known)) if kind == wanted => known,
                        _ => station(wanted, &before.state, fluid),
                    };
                    let here = station(span.kind(), &place.state, fluid);
                    layer = Some((span.kind(), here));
                    between_layers(span, (&before.state, &known), (&place.state, &here), fluid)
                }
            };
            let [(one, [a, b]), (two, [c, d]), (three, [e, f])] = equations.map(|r| {
                let by = |which: usize, p: &Place| {
                    let (thick, fast) = (r.d[which * STATION + 2], r.d[which * STATION + 3]);
                    (p.sign * (fast - thick * p.state.delta / p.state.speed), p.sign * thick / p.state.speed)
                };
                let ((p_speed, p_mass), (q_speed, q_mass)) = (by(0, before), by(1, place));
                let follows = Follows {
                    constant: r.v,
                    before: [r.d[0], r.d[1]],
                    speeds: [p_speed, q_speed, shift(i) * (r.d[4] + r.d[STATION + 4])],
                    mass: [p_mass, q_mass],
                };
                (follows, [r.d[STATION], r.d[STATION + 1]])
            });
            let determinant = a * d - b * c;
            if determinant == 0.0 || !determinant.is_finite() {
                room.matrix = matrix;
                return None;
            }
            let none = Follows::default();
            let shear = none.plus(-d / determinant, &one).plus(b / determinant, &two);
            let theta = none.plus(-a / determinant, &two).plus(c / determinant, &one);
            let last = three.plus(e, &shear).plus(f, &theta);
            follows[i] = [shear, theta];
            let [s_before, t_before] = &rows;
            let [s_next, t_next] = &mut next;
            let inputs = s_before
                .iter()
                .zip(t_before)
                .zip(room.effect_of(before.index))
                .zip(room.effect_of(place.index).iter().zip(&stagnates));
            let outputs = s_next.iter_mut().zip(t_next.iter_mut()).zip(line.iter_mut());
            for ((((&s, &t), &p), (&q, &z)), ((s_out, t_out), m_out)) in inputs.zip(outputs) {
                *s_out = shear.of([s, t], [p, q, z]);
                *t_out = theta.of([s, t], [p, q, z]);
                *m_out = last.of([s, t], [p, q, z]);
            }
            for (row, f) in [(s_next, &shear), (t_next, &theta)] {
                row[before.index] += f.mass[0];
                row[place.index] += f.mass[1];
            }
            line[before.index] += last.mass[0];
            line[place.index] += last.mass[1];
            let along = |f: &Follows| f.constant + f.of(constants, [0.0; 3]);
            right[i] = -along(&last);
            constants = [along(&shear), along(&theta)];
        }
        std::mem::swap(&mut rows, &mut next);
        if ends.contains(&i) {
            kept.push((rows.clone(), constants));
        }
    }
    room.matrix = matrix;
    room.solve(&mut right)?;
    Some(step(places, [upper, begin], &right, &stagnates, &follows, &wake, now, room))
}

/// Changes of all from those of the mass defects, limited, and taken.
#[expect(clippy::too_many_arguments, reason = "the second half of one step")]
fn step(
    places: &[Place],
    [upper, begin]: [usize; 2],
    change: &[f64],
    stagnates: &[f64],
    follows: &[[Follows; 2]],
    wake: &WakeStart,
    now: &mut Solved,
    room: &Room,
) -> (f64, f64) {
    let moved = dot(stagnates, change);
    // The step as shares of what is there; each station may take less of it than the others, so that one station at
    // the transition, whose equations are the least linear, does not hold up all.
    let mut steps: Vec<[f64; 5]> = Vec::with_capacity(places.len());
    let mut absolute: Vec<[f64; 4]> = Vec::with_capacity(places.len());
    let (mut sum, mut wildest) = (0.0, 0.0_f64);
    for (i, place) in places.iter().enumerate() {
        let s = &place.state;
        let along = dot(room.effect_of(place.index), change);
        let (du, dm) = (place.sign * along, place.sign * change[place.index]);
        let delta = (dm - s.delta * du) / s.speed;
        let [shear, theta] = if i == begin {
            let mut made = [-wake.residuals[0], -wake.residuals[1]];
            for (end, part) in [upper - 1, begin - 1].into_iter().zip(&wake.ends) {
                if let Some(old) = absolute.get(end) {
                    made[0] += part.iter().zip(old).map(|(a, b)| a * b).sum::<f64>();
                    made[1] += old[1];
                }
            }
            made
        } else {
            let (before, at) = match (place.span, absolute.last()) {
                (Some(_), Some(old)) => (*old, places[i - 1]),
                _ => ([0.0; 4], *place),
            };
            follows[i].map(|f| {
                f.constant
                    + f.of([before[0], before[1]], [at.sign * before[3], along, moved])
                    + f.mass[0] * change[at.index]
                    + f.mass[1] * change[place.index]
            })
        };
        absolute.push([shear, theta, delta, du]);
        let smooth = matches!(place.span, Some(Span::Laminar)) || (place.span.is_none() && i < begin);
        let ds = if smooth { 0.0 } else { shear / s.s };
        let (dd, dt) = (delta / s.delta, theta / s.theta);
        for r in [dd, dt, ds] {
            sum += r * r;
            wildest = wildest.max(if r < 0.0 { -r / LIMITS[0] } else { r / LIMITS[1] });
        }
        wildest = wildest.max(du.abs() / SPEED_LIMIT);
        steps.push([dd, dt, ds, du, dm]);
    }
    let share = (1.0 / wildest.max(1.0)).max(LEAST_SHARE);
    for (place, [dd, dt, ds, du, dm]) in places.iter().zip(steps) {
        let s = &place.state;
        let limited = |r: f64| (share * r).clamp(-LIMITS[0], LIMITS[1]);
        let delta = s.delta * (1.0 + limited(dd));
        let speed = (s.speed + (share * du).clamp(-SPEED_LIMIT, SPEED_LIMIT)).max(0.1 * s.speed);
        now.theta[place.index] *= 1.0 + limited(dt);
        now.mass[place.index] = if wildest <= 1.0 { now.mass[place.index] + dm } else { delta * speed };
        if ds != 0.0 {
            now.shear[place.index] = (s.s * (1.0 + limited(ds))).clamp(1e-4, 0.5);
        }
    }
    let taken = if wildest > 1.0 { share.min(0.99) } else { 1.0 };
    ((sum / (3.0 * places.len() as f64)).sqrt(), taken)
}
