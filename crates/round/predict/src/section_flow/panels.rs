//! How does the air flow around an outline without friction, and how does fluid pushed off its surface change that?
//! Panels with linear vorticity on the outline, constant sources on outline and wake.
//!
//! The fluid inside the outline is at rest, so that no fluid passes any panel on its inner side and the vorticity is the
//! speed outside (Drela, Low Reynolds Number Aerodynamics, Lecture Notes in Engineering 54, 1989, states the same by
//! the stream function). Nodes run from the trailing edge over the upper side to the nose and back along the lower
//! side, the fluid outside to the right; speed is positive along that way.

use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector, Dyn, LU};

/// The outline's own flow: that of two freestreams, and the factors to get any other.
#[derive(Debug, Clone)]
pub(crate) struct Panels {
    /// Corners of the outline; first and last are the trailing edge.
    pub(crate) nodes: Vec<[f64; 2]>,
    factors: LU<f64, Dyn, Dyn>,
    /// Speed at the nodes in a stream along x and along y.
    streams: [DVector<f64>; 2],
    /// Speed at the nodes for each signed mass defect at the nodes.
    from_body: DMatrix<f64>,
}

/// Flow with a wake, at an angle of attack.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    /// Corners of the wake, the first at the trailing edge.
    pub(crate) wake: Vec<[f64; 2]>,
    /// Speed at the nodes without mass defect, along the nodes.
    pub(crate) body_speed: Vec<f64>,
    /// Speed at the wake's corners without mass defect, downstream.
    pub(crate) wake_speed: Vec<f64>,
    /// Speed at nodes (along them), then wake corners (downstream), for each mass defect at nodes (positive where the
    /// flow goes along them), then wake corners; row by row.
    pub(crate) from_mass: Vec<f64>,
    /// What is added to it for the wake corners where the wake turns all the way from the trailing edge's bisector into
    /// the stream; row by row.
    pub(crate) from_bend: Vec<f64>,
}

impl Panels {
    /// Solves the outline. None where it is degenerate.
    pub(crate) fn new(nodes: Vec<[f64; 2]>) -> Option<Self> {
        let n = nodes.len();
        if n < 10 {
            return None;
        }
        let mut matrix = DMatrix::<f64>::zeros(n, n);
        let mut passing = DMatrix::<f64>::zeros(n, n - 1);
        for i in 0..n - 2 {
            let (from, to) = (nodes[i], nodes[i + 1]);
            for j in 0..n - 1 {
                let panel = Panel::new(nodes[j], nodes[j + 1])?;
                let (a, b) = panel.stream_of_vorticity(from);
                let (c, d) = panel.stream_of_vorticity(to);
                matrix[(i, j)] += c - a;
                matrix[(i, j + 1)] += d - b;
                passing[(i, j)] = if i == j { -0.5 * panel.length } else { panel.flux_of_source(from, to) };
            }
        }
        // No flow around the trailing edge, and the vorticity of both sides there continues that ahead of it.
        matrix[(n - 2, 0)] = 1.0;
        matrix[(n - 2, n - 1)] = 1.0;
        for (place, factor) in [(0, 1.0), (1, -2.0), (2, 1.0), (n - 1, -1.0), (n - 2, 2.0), (n - 3, -1.0)] {
            matrix[(n - 1, place)] += factor;
        }
        let factors = matrix.lu();
        let mut streams = [DVector::zeros(n), DVector::zeros(n)];
        for i in 0..n - 2 {
            streams[0][i] = -(nodes[i + 1][1] - nodes[i][1]);
            streams[1][i] = nodes[i + 1][0] - nodes[i][0];
        }
        for stream in &mut streams {
            *stream = factors.solve(stream)?;
        }
        // Sources are the growth of the mass defect along the nodes.
        let mut right = DMatrix::<f64>::zeros(n, n);
        for i in 0..n - 2 {
            for j in 0..n - 1 {
                let share = passing[(i, j)] / distance(nodes[j], nodes[j + 1]);
                right[(i, j)] += share;
                right[(i, j + 1)] -= share;
            }
        }
        let from_body = factors.solve(&right)?;
        from_body.iter().all(|v| v.is_finite()).then_some(Self { nodes, factors, streams, from_body })
    }

    /// Speed at the nodes at an angle of attack, without any friction.
    pub(crate) fn speed(&self, alpha: f64) -> Vec<f64> {
        (0..self.nodes.len())
            .map(|i| self.streams[0][i] * alpha.cos() + self.streams[1][i] * alpha.sin())
            .collect()
    }

    /// The flow with a wake of so many corners and such a length (in chords) at an angle of attack.
    pub(crate) fn with_wake(&self, alpha: f64, corners: usize, length: f64) -> Option<Flow> {
        let n = self.nodes.len();
        let wake = self.wake(alpha, corners, length);
        let panels: Vec<Panel> =
            (0..corners - 1).map(|j| Panel::new(wake[j], wake[j + 1])).collect::<Option<_>>()?;
        // Effect of the wake's sources and of its vorticity on the outline.
        let bend = bend(&panels);
        let mut right = DMatrix::<f64>::zeros(n, 2 * corners);
        for i in 0..n - 2 {
            for (j, panel) in panels.iter().enumerate() {
                let (from, to) = (self.nodes[i], self.nodes[i + 1]);
                let share = panel.flux_of_source(from, to) / panel.length;
                let (a, b) = panel.stream_of_vorticity(from);
                let (c, d) = panel.stream_of_vorticity(to);
                right[(i, j)] += share;
                right[(i, j + 1)] -= share;
                right[(i, corners + j)] -= bend[j] * (c - a);
                right[(i, corners + j + 1)] -= bend[j + 1] * (d - b);
            }
        }
        // What leaves the trailing edge is what the wake begins with.
        right[(n - 2, corners)] = bend[0];
        let from_wake = self.factors.solve(&right)?;
        // Mean speed along the wake around each corner, from the middle of the panel before to that behind: what the
        // sources do there is a difference of potentials, without the infinite speed at a panel's end.
        let stations = corners - 1;
        let mut by_vorticity = DMatrix::<f64>::zeros(stations, n);
        let mut by_mass = DMatrix::<f64>::zeros(stations, n + 2 * corners);
        let outline: Vec<Panel> =
            (0..n - 1).map(|j| Panel::new(self.nodes[j], self.nodes[j + 1])).collect::<Option<_>>()?;
        let mut stream = DVector::zeros(stations);
        let middle = |j: usize| {
            if j + 1 < corners {
                [0.5 * (wake[j][0] + wake[j + 1][0]), 0.5 * (wake[j][1] + wake[j + 1][1])]
            } else {
                wake[j]
            }
        };
        for i in 0..stations {
            let ahead = &panels[i];
            let mut pieces = vec![(0.5 * ahead.length, ahead.along, middle(i))];
            if let Some(behind) = panels.get(i + 1) {
                pieces.push((0.5 * behind.length, behind.along, middle(i + 1)));
            }
            let length: f64 = pieces.iter().map(|p| p.0).sum();
            for &(part, along, place) in &pieces {
                // At the wake's end the vorticity's field hardly changes over half a panel.
                let share = part / length;
                stream[i] += share * (along[0] * alpha.cos() + along[1] * alpha.sin());
                for (j, panel) in outline.iter().enumerate() {
                    let (a, b) = panel.velocity_of_vorticity(place, along);
                    by_vorticity[(i, j)] += share * a;
                    by_vorticity[(i, j + 1)] += share * b;
                }
                for (j, panel) in panels.iter().enumerate() {
                    // On a panel itself both sides are as much faster and slower.
                    if distance(place, panel.middle()) > 1e-3 * panel.length {
                        let (a, b) = panel.velocity_of_vorticity(place, along);
                        by_mass[(i, n + corners + j)] += share * a * bend[j];
                        by_mass[(i, n + corners + j + 1)] += share * b * bend[j + 1];
                    }
                }
            }
            let (from, to) = (middle(i), middle(i + 1));
            let all = outline.iter().enumerate().chain(panels.iter().enumerate().map(|(j, p)| (n + j, p)));
            for (j, panel) in all {
                let share =
                    (panel.potential_of_source(to) - panel.potential_of_source(from)) / length / panel.length;
                by_mass[(i, j)] -= share;
                by_mass[(i, j + 1)] += share;
            }
        }
        let mut body_speed = self.speed(alpha);
        let corner_speed = &by_vorticity * DVector::from_column_slice(&body_speed) + stream;
        let mut corner_from_mass = by_mass;
        {
            let body = &by_vorticity * &self.from_body;
            let tail = &by_vorticity * &from_wake;
            for i in 0..stations {
                for j in 0..n {
                    corner_from_mass[(i, j)] += body[(i, j)];
                }
                for j in 0..2 * corners {
                    corner_from_mass[(i, n + j)] += tail[(i, j)];
                }
            }
        }
        let mut wake_speed = vec![0.0; corners];
        wake_speed[1..].copy_from_slice(corner_speed.as_slice());
        // Rows of nodes and wake corners, columns of mass defects at both, then of the wake's bend. At the trailing edge
        // itself the vorticity does not see the source ahead and the sink behind: the speed there, the same on both
        // sides and in the wake, is the mean of what is just ahead and just behind.
        let width = n + 2 * corners;
        let row_of = |i: usize| -> Vec<f64> {
            (0..width)
                .map(|j| match i.checked_sub(n + 1) {
                    Some(k) => corner_from_mass[(k, j)],
                    None if j < n => self.from_body[(i, j)],
                    None => from_wake[(i, j - n)],
                })
                .collect()
        };
        let [above, below, behind] = [row_of(1), row_of(n - 2), row_of(n + 1)];
        let edge_row: Vec<f64> = (0..width).map(|j| 0.25 * (below[j] - above[j]) + 0.5 * behind[j]).collect();
        let edge = 0.25 * (body_speed[n - 2] - body_speed[1]) + 0.5 * wake_speed[1];
        (body_speed[0], body_speed[n - 1], wake_speed[0]) = (-edge, edge, edge);
        let mut from_mass = Vec::with_capacity((n + corners) * (n + corners));
        let mut from_bend = Vec::with_capacity((n + corners) * corners);
        for i in 0..n + corners {
            let row: Vec<f64> = match i {
                0 => edge_row.iter().map(|v| -v).collect(),
                _ if i == n - 1 || i == n => edge_row.clone(),
                _ => row_of(i),
            };
            from_mass.extend_from_slice(&row[..n + corners]);
            from_bend.extend_from_slice(&row[n + corners..]);
            if i == 0 || i == n - 1 {
                // Both sides differ there by what the wake begins with.
                from_bend[i * corners] += 0.5 * bend[0];
            }
        }
        Some(Flow { wake, body_speed, wake_speed, from_mass, from_bend })
    }

    /// A wake that leaves along the trailing edge's bisector and turns into the stream within a third of the chord.
    fn wake(&self, alpha: f64, corners: usize, length: f64) -> Vec<[f64; 2]> {
        let n = self.nodes.len();
        let (te, up, low) = (self.nodes[0], self.nodes[1], self.nodes[n - 2]);
        let unit = |a: [f64; 2], b: [f64; 2]| {
            let d = distance(a, b).max(1e-12);
            [(b[0] - a[0]) / d, (b[1] - a[1]) / d]
        };
        let (a, b) = (unit(up, te), unit(low, te));
        let bisector = (a[1] + b[1]).atan2(a[0] + b[0]);
        let first = 0.5 * (distance(up, te) + distance(low, te));
        // Lengths grow by a constant factor from that of the last panel of the outline.
        let sum = |q: f64| (0..corners - 1).map(|k| first * q.powi(k as i32)).sum::<f64>();
        let (mut low_q, mut high_q) = (1.0, 3.0);
        for _ in 0..60 {
            let q = 0.5 * (low_q + high_q);
            if sum(q) < length {
                low_q = q;
            } else {
                high_q = q;
            }
        }
        let mut wake = vec![[self.nodes[0][0], self.nodes[0][1]]];
        let (mut at, mut run) = (te, 0.0);
        for k in 0..corners - 1 {
            let step = first * low_q.powi(k as i32);
            let direction = alpha + (bisector - alpha) * (-(run + 0.5 * step) / TURN).exp();
            at = [at[0] + step * direction.cos(), at[1] + step * direction.sin()];
            run += step;
            wake.push(at);
        }
        wake
    }
}

/// Vorticity (turning left) at each corner of a wake for its mass defect there.
///
/// Fluid that is slower than the stream outside needs less pressure to be turned, so the pressures above and below a
/// bent wake differ: as across a jet flap of negative momentum, that of displacement and momentum thickness together
/// (Spence & Beasley, ARC R&M 3137, 1958; Lock & Firmin, RAE TM Aero 1900, 1981). The wake of a lifting section turns up
/// into the stream, and the section loses lift by it. The momentum thickness is taken as a fixed share of the
/// displacement thickness: shapes of wakes go from 2.5 at the edge to near 1.
fn bend(panels: &[Panel]) -> Vec<f64> {
    let heading = |p: &Panel| p.along[1].atan2(p.along[0]);
    let corner = |p: &Panel, q: &Panel| (heading(q) - heading(p)) / (0.5 * (p.length + q.length));
    let mut bends = vec![0.0; panels.len() + 1];
    for (bend, pair) in bends.iter_mut().skip(1).zip(panels.windows(2)) {
        if let [p, q] = pair {
            *bend = (1.0 + MOMENTUM) * corner(p, q);
        }
    }
    if let [first, second, ..] = bends.as_mut_slice() {
        *first = *second;
    }
    bends
}

/// Momentum thickness of a wake over its displacement thickness, mean of the near wake.
const MOMENTUM: f64 = 0.55;

/// Length within which the wake turns into the stream, chords.
const TURN: f64 = 0.3;

/// Distance of two points.
pub(crate) fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// A straight piece of outline or wake.
struct Panel {
    start: [f64; 2],
    along: [f64; 2],
    length: f64,
}

impl Panel {
    fn new(start: [f64; 2], end: [f64; 2]) -> Option<Self> {
        let length = distance(start, end);
        (length > 1e-9).then(|| Self {
            start,
            along: [(end[0] - start[0]) / length, (end[1] - start[1]) / length],
            length,
        })
    }

    fn middle(&self) -> [f64; 2] {
        [0, 1].map(|axis| self.start[axis] + 0.5 * self.length * self.along[axis])
    }

    /// Place in the panel's own axes: along it from its start, and to its left.
    fn local(&self, p: [f64; 2]) -> (f64, f64) {
        let d = [p[0] - self.start[0], p[1] - self.start[1]];
        (d[0] * self.along[0] + d[1] * self.along[1], d[1] * self.along[0] - d[0] * self.along[1])
    }

    /// Stream function at a point for unit vorticity (turning left) at the start and at the end, falling to zero at the
    /// other.
    fn stream_of_vorticity(&self, p: [f64; 2]) -> (f64, f64) {
        let (x, y) = self.local(p);
        let length = self.length;
        let half_log = |t: f64| {
            let square = t * t + y * y;
            if square > 0.0 { 0.5 * square.ln() } else { 0.0 }
        };
        let zeroth = |t: f64| logarithms(t, y);
        let first = |t: f64| 0.5 * (t * t + y * y) * (half_log(t) - 0.5);
        let (t1, t2) = (-x, length - x);
        let i0 = zeroth(t2) - zeroth(t1);
        let i1 = x * i0 + first(t2) - first(t1);
        let end = i1 / length;
        (-(i0 - end) / (2.0 * PI), -end / (2.0 * PI))
    }

    /// What a unit source on the panel sends through the straight line between two points, to its right. Neither side of
    /// the panel itself may be asked for.
    fn flux_of_source(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        let (x1, mut y1) = self.local(from);
        let (x2, mut y2) = self.local(to);
        // On the panel's own line: take the side of the other end.
        if y1 == 0.0 {
            y1 = 1e-300_f64.copysign(y2);
        }
        if y2 == 0.0 {
            y2 = 1e-300_f64.copysign(y1);
        }
        let sum = |x: f64, y: f64| {
            let part = |t: f64| {
                let square = t * t + y * y;
                t * y.atan2(-t) - if square > 0.0 { 0.5 * y * square.ln() } else { 0.0 }
            };
            part(self.length - x) - part(-x)
        };
        let mut flux = sum(x2, y2) - sum(x1, y1);
        if (y1 < 0.0) != (y2 < 0.0) {
            // Angles jump by a turn where the line passes behind the elements of the panel.
            let crossing = x1 + (x2 - x1) * y1 / (y1 - y2);
            let ahead = (self.length - crossing.max(0.0)).clamp(0.0, self.length);
            flux -= 2.0 * PI * ahead * if y1 < 0.0 { 1.0 } else { -1.0 };
        }
        flux / (2.0 * PI)
    }

    /// Potential at a point of a source of unit strength.
    fn potential_of_source(&self, p: [f64; 2]) -> f64 {
        let (x, y) = self.local(p);
        (logarithms(self.length - x, y) - logarithms(-x, y)) / (2.0 * PI)
    }

    /// Velocity at a point in a direction for unit vorticity at the start and at the end, falling to zero at the other.
    fn velocity_of_vorticity(&self, p: [f64; 2], direction: [f64; 2]) -> (f64, f64) {
        let (x, y) = self.local(p);
        let (u, v) = self.spread(x, y);
        let (end_u, end_v) = ((x * u - self.length + y * v) / self.length, (x * v - y * u) / self.length);
        // A vortex turns the velocity of a source a quarter to the left.
        let start = self.turn(-(v - end_v), u - end_u, direction);
        let end = self.turn(-end_v, end_u, direction);
        (start / (2.0 * PI), end / (2.0 * PI))
    }

    fn spread(&self, x: f64, y: f64) -> (f64, f64) {
        let (near, far) = (x * x + y * y, (x - self.length).powi(2) + y * y);
        let u = 0.5 * (near.max(1e-30) / far.max(1e-30)).ln();
        (u, y.atan2(x - self.length) - y.atan2(x))
    }

    fn turn(&self, u: f64, v: f64, direction: [f64; 2]) -> f64 {
        let along = self.along[0] * direction[0] + self.along[1] * direction[1];
        let across = self.along[0] * direction[1] - self.along[1] * direction[0];
        u * along + v * across
    }
}

/// Integral over t of the logarithm of the distance from (t, y).
fn logarithms(t: f64, y: f64) -> f64 {
    let square = t * t + y * y;
    let log = if square > 0.0 { 0.5 * square.ln() } else { 0.0 };
    let turned = if y.abs() > 0.0 { y * (t / y).atan() } else { 0.0 };
    t * log - t + turned
}

/// Lift, moment about the quarter chord and pressure drag from the speeds at the nodes, by the pressure on the panels.
pub(crate) fn forces(nodes: &[[f64; 2]], speed: &[f64], alpha: f64) -> (f64, f64) {
    let (mut force, mut moment) = ([0.0; 2], 0.0);
    for i in 0..nodes.len().saturating_sub(1) {
        let (a, b) = (nodes[i], nodes[i + 1]);
        let (p, q) = (1.0 - speed[i].powi(2), 1.0 - speed[i + 1].powi(2));
        // Pressure pushes inward, to the left of the way.
        let left = [-(b[1] - a[1]), b[0] - a[0]];
        let mean = 0.5 * (p + q);
        force[0] += mean * left[0];
        force[1] += mean * left[1];
        // Center of a linear pressure on the panel.
        let share = |v: f64, w: f64| (v * (2.0 * p + q) + w * (p + 2.0 * q)) / 6.0;
        let (x, y) = (share(a[0], b[0]) - 0.25 * mean, share(a[1], b[1]));
        moment += y * left[0] - x * left[1];
    }
    (force[1] * alpha.cos() - force[0] * alpha.sin(), moment)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners of a circle around the origin, from the point downstream over the upper side.
    fn circle(corners: usize) -> Vec<[f64; 2]> {
        (0..=corners).map(|i| 2.0 * PI * i as f64 / corners as f64).map(|t| [t.cos(), t.sin()]).collect()
    }

    #[test]
    fn speed_on_a_circle_is_twice_the_sine() {
        // Closed form without circulation: along the corners -2 sin θ. 0.01 of the stream: straight panels.
        let panels = Panels::new(circle(120)).unwrap();
        for (node, q) in panels.nodes.iter().zip(panels.speed(0.0)) {
            assert!((q + 2.0 * node[1]).abs() < 0.01, "{node:?} {q}");
        }
    }

    #[test]
    fn a_joukowski_section_has_the_lift_and_speeds_of_its_circle() {
        // z = ζ + 1/ζ, circle through ζ = 1 around (-e, 0), radius a = 1 + e: circulation 4 π a sin α, speed
        // |dw/dζ| / |1 - 1/ζ²|. Lift 0.5 %, speeds 0.02 of the stream, off the cusp where both go to 0 / 0.
        let e: f64 = 0.09;
        let a = 1.0 + e;
        let n = 160;
        let place = |t: f64| {
            let (x, y) = (-e + a * t.cos(), a * t.sin());
            let square = x * x + y * y;
            [x + x / square, y - y / square]
        };
        let front = place(PI)[0];
        let chord = 2.0 - front;
        let angles: Vec<f64> = (0..=n).map(|i| 2.0 * PI * f64::from(i) / f64::from(n)).collect();
        let nodes: Vec<[f64; 2]> =
            angles.iter().map(|&t| place(t)).map(|[x, y]| [(x - front) / chord, y / chord]).collect();
        let panels = Panels::new(nodes).unwrap();
        for alpha in [0.0_f64, 0.1] {
            let speed = panels.speed(alpha);
            let (cl, _) = forces(&panels.nodes, &speed, alpha);
            let wanted = 8.0 * PI * a / chord * alpha.sin();
            assert!((cl - wanted).abs() < 0.005 * wanted.max(0.1), "{alpha}: {cl} instead of {wanted}");
            for (t, q) in angles.iter().zip(&speed) {
                if t.cos() > 0.9 {
                    continue;
                }
                // On the circle: tangential speed 2 sin(t - α) + Γ/(2 π a), against the corners' way.
                let around = 2.0 * (t - alpha).sin() + 2.0 * alpha.sin();
                let (x, y) = (-e + a * t.cos(), a * t.sin());
                let square = x * x + y * y;
                let (re, im) = ((x * x - y * y) / (square * square), -2.0 * x * y / (square * square));
                let exact = around / (1.0 - re).hypot(im);
                assert!(
                    (q + exact).abs() < 0.02 * exact.abs().max(1.0),
                    "{alpha} {t}: {q} instead of {}",
                    -exact
                );
            }
        }
    }

    /// A thin section without camber, its flow at an angle, and its lift for mass defects at nodes (by the place along
    /// the chord, upper side only) and in the wake.
    fn lift(alpha: f64, upper: impl Fn(f64) -> f64, wake: f64, bent: f64) -> f64 {
        let n = 120;
        let half = |x: f64| {
            0.2 * (0.2969 * x.sqrt() - 0.126 * x - 0.3516 * x * x + 0.2843 * x.powi(3) - 0.1036 * x.powi(4))
        };
        let nodes: Vec<[f64; 2]> = (0..=n)
            .map(|i| {
                let t = 2.0 * PI * (f64::from(i)) / f64::from(n);
                let x = 0.5 * (1.0 + t.cos());
                [x, if i == 0 || i == n { 0.0 } else { half(x).copysign(t.sin()) }]
            })
            .collect();
        let panels = Panels::new(nodes).unwrap();
        let flow = panels.with_wake(alpha, 24, 1.0).unwrap();
        let (count, corners) = (panels.nodes.len(), flow.wake.len());
        // Against the nodes on the upper side.
        let mut mass: Vec<f64> =
            (0..count).map(|i| if i < count / 2 { -upper(panels.nodes[i][0]) } else { 0.0 }).collect();
        mass.extend(vec![wake; corners]);
        let speed: Vec<f64> = (0..count)
            .map(|i| {
                let row = &flow.from_mass[i * (count + corners)..(i + 1) * (count + corners)];
                let bend = &flow.from_bend[i * corners..(i + 1) * corners];
                flow.body_speed[i]
                    + row.iter().zip(&mass).map(|(a, b)| a * b).sum::<f64>()
                    + bent * bend.iter().map(|a| a * wake).sum::<f64>()
            })
            .collect();
        forces(&panels.nodes, &speed, alpha).0
    }

    #[test]
    fn a_layer_growing_on_the_upper_side_takes_the_lift_of_the_camber_that_it_makes() {
        // Displacement e x² on the upper side of a plate sends out 2 e x there and nothing below: the part of it that
        // lifts is that of a mean line with the slope e x. Thin-section integrals: A0 = -e/2, A1 = -e/2, lift
        // 2π (A0 + A1/2) = -1.5 π e. 6 %: the plate is 4 % thick, which by 0.77 of it changes lift by 3 %.
        let e = 1e-3;
        let change = lift(0.0, |x| e * x * x, e, 0.0) - lift(0.0, |_| 0.0, 0.0, 0.0);
        assert!((change / (-1.5 * PI * e) - 1.0).abs() < 0.06, "{change} instead of {}", -1.5 * PI * e);
    }

    #[test]
    fn a_wake_that_turns_into_the_stream_takes_lift_away_as_a_weak_jet_would_add_it() {
        // Spence, Proc. Roy. Soc. A 238, 1956: a jet of momentum c at the trailing edge makes the lift slope of a plate
        // 2π (1 + 0.151 √c + 0.219 c); a wake is one of negative momentum, twice its thicknesses. There is no root of it,
        // so the size is held only between a quarter and twice that of the jet of the same strength.
        let (alpha, thickness) = (0.1, 0.02);
        let plain = lift(alpha, |_| 0.0, thickness, 0.0);
        let loss = 1.0 - lift(alpha, |_| 0.0, thickness, 1.0) / plain;
        let c = 2.0 * (1.0 + MOMENTUM) * thickness;
        let jet = 0.151 * c.sqrt() + 0.219 * c;
        assert!(loss > 0.25 * jet && loss < 2.0 * jet, "{loss} beside {jet}");
    }

    #[test]
    fn what_a_source_panel_sends_out_passes_any_line_around_it_once() {
        // Gauss: one, for a polygon around the panel; none for one beside it. Through 17 corners, so that angles jump.
        let panel = Panel::new([0.2, -0.1], [0.5, 0.3]).unwrap();
        for (center, wanted) in [([0.3, 0.1], panel.length), ([3.0, -2.0], 0.0)] {
            let corner = |i: i32| {
                let t = 2.0 * PI * f64::from(i) / 17.0;
                [center[0] + t.cos(), center[1] + t.sin()]
            };
            let sum: f64 = (0..17).map(|i| panel.flux_of_source(corner(i), corner(i + 1))).sum();
            assert!((sum - wanted).abs() < 1e-12, "{sum} instead of {wanted}");
        }
    }

    #[test]
    fn velocities_are_the_slopes_of_their_potentials() {
        // Differences over 1e-5 of the same panel's potential and stream function: 1e-8.
        let panel = Panel::new([0.2, -0.1], [0.5, 0.3]).unwrap();
        let (p, h) = ([0.6, -0.4], 1e-5);
        let [right, left] = [[p[0] + h, p[1]], [p[0] - h, p[1]]];
        let [up, down] = [[p[0], p[1] + h], [p[0], p[1] - h]];
        let u = (panel.potential_of_source(right) - panel.potential_of_source(left)) / (2.0 * h);
        let (x, y) = panel.local(p);
        let (along, across) = panel.spread(x, y);
        assert!((u - panel.turn(along, across, [1.0, 0.0]) / (2.0 * PI)).abs() < 1e-8);
        let (a, b) = panel.velocity_of_vorticity(p, [1.0, 0.0]);
        let (top, bottom) = (panel.stream_of_vorticity(up), panel.stream_of_vorticity(down));
        assert!(((top.0 - bottom.0) / (2.0 * h) - a).abs() < 1e-8);
        assert!(((top.1 - bottom.1) / (2.0 * h) - b).abs() < 1e-8);
    }
}
