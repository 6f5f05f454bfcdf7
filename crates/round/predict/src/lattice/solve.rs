//! How strong is each vortex, and which forces follow? One factorization for every motion and every movable; forces
//! kept as an exact quadratic form of the motion, so that derivatives at any angle cost nothing more.

use aircraft::surface::Surface;
use faer::linalg::matmul::matmul;
use faer::linalg::solvers::PartialPivLu;
use faer::prelude::Solve;
use faer::{Accum, Mat, Par};
use numerics::Vec3;
use numerics::frames::{body_from_builder, builder_from_body};

use super::geometry::{self, Density, Flap, LatticeStrip, Panel};
use super::images::{Plane, Round};
use super::{influence, trefftz};
use crate::prediction::Outcome;

/// Core of a surface's wake as felt by another surface, over the width of the surface's widest strip. A wake of single
/// vortices that passes close to control points would let the answer hang on where the gaps are; smoothed over half a
/// strip it acts as the sheet it stands for. One core for the whole surface, so that the legs of neighbors still cancel.
const CORE: f64 = 0.5;

/// Indices of a motion: three velocities of the air over the flight speed along the builder's axes, three body rates
/// over the speed (1/m), then for each flap the deflection of its right (or only) and of its left panel (rad).
pub(crate) const ALONG: usize = 0;
pub(crate) const ACROSS: usize = 1;
pub(crate) const UP: usize = 2;
pub(crate) const RATES: [usize; 3] = [3, 4, 5];
const MOTIONS: usize = 6;

/// Panels of all surfaces with the direction of their wake.
#[derive(Debug, Clone, PartialEq)]
pub struct Lattice {
    /// Panels.
    pub panels: Vec<Panel>,
    /// Strips.
    pub strips: Vec<LatticeStrip>,
    /// Unit vector along which the wake leaves, builder's frame.
    pub wake: Vec3,
    pub(super) flaps: usize,
    /// Core of the wake of each surface, m.
    pub(super) cores: Vec<f64>,
    /// The body that closes the root of each surface.
    pub(super) rounds: Vec<Option<Round>>,
    /// The ground that no air flows through.
    pub(super) ground: Option<Plane>,
}

/// What the lattice answers to each unit of motion and of deflection.
#[derive(Debug, Clone)]
pub struct Response {
    /// Forces and moments about the point asked for.
    pub forces: Quadratic,
    /// Trefftz-plane drag over density, speed squared and m², as a quadratic form: row and column are motions.
    pub drag: Vec<Vec<f64>>,
    /// Circulation of each strip over speed (m), per unit of each motion: `strips[k][motion]`.
    pub strips: Vec<Vec<f64>>,
    /// Circulation of each panel over speed (m): `panels[i][motion]`.
    pub panels: Vec<Vec<f64>>,
    /// Force and moment over density and speed per unit rate of change of angle of attack over speed (1/m), from the
    /// time the wake of a forward surface takes to reach one behind: body axes, force then moment.
    pub alpha_rate: [f64; 6],
}

/// A factored lattice: what every further question needs.
#[derive(Debug)]
pub(crate) struct System {
    normal_wash: Mat<f64>,
    factors: PartialPivLu<f64>,
    /// Strength of each panel per unit of each motion.
    pub(crate) strengths: Vec<Vec<f64>>,
    /// Velocity along x, y, z at the middle of each bound vortex (row) from each horseshoe of strength one (column).
    bound_wash: [Mat<f64>; 3],
}

impl System {
    /// Velocity at the middle of each bound vortex by strengths per panel and column: `[panel][column]`.
    pub(crate) fn at_bound(&self, strengths: &[Vec<f64>], columns: usize) -> Vec<Vec<Vec3>> {
        let n = strengths.len();
        let right = Mat::from_fn(n, columns, |i, j| strengths[i].get(j).copied().unwrap_or(0.0));
        let [x, y, z] = self.bound_wash.each_ref().map(|wash| {
            let mut product = Mat::zeros(wash.nrows(), columns);
            // One thread: the sums come out the same on any number.
            matmul(&mut product, Accum::Replace, wash, &right, 1.0, Par::Seq);
            product
        });
        (0..n).map(|i| (0..columns).map(|j| Vec3::new(x[(i, j)], y[(i, j)], z[(i, j)])).collect()).collect()
    }
}

fn rows(matrix: &Mat<f64>) -> Vec<Vec<f64>> {
    (0..matrix.nrows()).map(|i| (0..matrix.ncols()).map(|j| matrix[(i, j)]).collect()).collect()
}

/// Force and moment in body axes as an exact quadratic form of the motion: Σ x_s x_t `q[s][t]`, over density and speed
/// squared.
#[derive(Debug, Clone, PartialEq)]
pub struct Quadratic {
    /// Number of motions.
    pub motions: usize,
    entries: Vec<[f64; 6]>,
}

impl Quadratic {
    pub(crate) fn zero(motions: usize) -> Self {
        Self { motions, entries: vec![[0.0; 6]; motions * motions] }
    }

    /// Adds to the product of two motions.
    pub(crate) fn add(&mut self, s: usize, t: usize, force: Vec3, moment: Vec3) {
        if let Some(entry) = self.entries.get_mut(s * self.motions + t) {
            for (i, v) in force.iter().chain(moment.iter()).enumerate() {
                entry[i] += v;
            }
        }
    }

    /// Force and moment per product of two motions.
    pub(crate) fn entry(&self, s: usize, t: usize) -> [f64; 6] {
        self.entries.get(s * self.motions + t).copied().unwrap_or([0.0; 6])
    }

    /// Adds those of another form over the same motions.
    pub(crate) fn plus(mut self, other: &Self) -> Self {
        for (entry, more) in self.entries.iter_mut().zip(&other.entries) {
            for (e, m) in entry.iter_mut().zip(more) {
                *e += m;
            }
        }
        self
    }

    fn product(&self, x: &[f64], y: &[f64]) -> [f64; 6] {
        let mut sum = [0.0; 6];
        for (xs, row) in x.iter().zip(self.entries.chunks(self.motions)) {
            if *xs == 0.0 {
                continue;
            }
            for (yt, entry) in y.iter().zip(row) {
                if *yt != 0.0 {
                    for (total, e) in sum.iter_mut().zip(entry) {
                        *total += xs * yt * e;
                    }
                }
            }
        }
        sum
    }

    /// Force and moment at a motion, body axes, over density and speed squared (m², m³).
    #[must_use]
    pub fn at(&self, motion: &[f64]) -> [f64; 6] {
        self.product(motion, motion)
    }

    /// Change of force and moment at a motion per change of the motion.
    #[must_use]
    pub fn slope(&self, motion: &[f64], change: &[f64]) -> [f64; 6] {
        let (one, other) = (self.product(motion, change), self.product(change, motion));
        std::array::from_fn(|i| one[i] + other[i])
    }

    /// The same forces with moments about another point, `moved_m` away in the builder's frame, for what does not feel the
    /// rates.
    #[must_use]
    pub fn moments_about(mut self, moved_m: Vec3) -> Self {
        let arm = body_from_builder(moved_m);
        for entry in &mut self.entries {
            let turn = arm.cross(&Vec3::new(entry[0], entry[1], entry[2]));
            for (moment, t) in entry.iter_mut().skip(3).zip(turn.iter()) {
                *moment -= t;
            }
        }
        self
    }

    /// The same forces with moments and rates about another point, `moved_m` away in the builder's frame: turning about
    /// the new point is turning about the old one and moving with it.
    #[must_use]
    pub fn about(&self, moved_m: Vec3) -> Self {
        let n = self.motions;
        let mut turned = Self::zero(n);
        // Columns of the change of variables: old motion = T new motion.
        let mut columns: Vec<Vec<(usize, f64)>> = (0..n).map(|i| vec![(i, 1.0)]).collect();
        for (axis, index) in RATES.iter().enumerate() {
            let mut rate = Vec3::zeros();
            rate[axis] = 1.0;
            let extra = builder_from_body(rate).cross(&moved_m);
            if let Some(column) = columns.get_mut(*index) {
                column.extend([(ALONG, extra.x), (ACROSS, extra.y), (UP, extra.z)]);
            }
        }
        let arm = body_from_builder(moved_m);
        for (s, column_s) in columns.iter().enumerate() {
            for (t, column_t) in columns.iter().enumerate() {
                let mut sum = [0.0; 6];
                for (i, a) in column_s {
                    for (j, b) in column_t {
                        if let Some(entry) = self.entries.get(i * n + j) {
                            for (total, e) in sum.iter_mut().zip(entry) {
                                *total += a * b * e;
                            }
                        }
                    }
                }
                let force = Vec3::new(sum[0], sum[1], sum[2]);
                let moment = Vec3::new(sum[3], sum[4], sum[5]) - arm.cross(&force);
                turned.add(s, t, force, moment);
            }
        }
        turned
    }
}

impl Lattice {
    /// Cuts surfaces into panels. `wake_rad` is the angle of attack along whose stream the wake leaves (0: along the
    /// reference line).
    ///
    /// # Errors
    /// When a surface has fewer than two stations, no chord, or stations that do not lie apart.
    pub fn lay(surfaces: &[Surface], flaps: &[Flap], density: Density, wake_rad: f64) -> Outcome<Self> {
        let grid = geometry::lay(surfaces, flaps, density)?;
        let mut cores = vec![0.0; surfaces.len()];
        for strip in &grid.strips {
            if let Some(core) = cores.get_mut(strip.surface) {
                *core = f64::max(*core, CORE * strip.width_m);
            }
        }
        Ok(Self {
            panels: grid.panels,
            strips: grid.strips,
            wake: Vec3::new(wake_rad.cos(), 0.0, wake_rad.sin()),
            flaps: flaps.len(),
            cores,
            rounds: vec![None; surfaces.len()],
            ground: None,
        })
    }

    /// Stands surfaces on round bodies, by the index of the surface. The body acts as an end plate of their roots: each
    /// panel's mirror image in its circle is felt by the same surface. What the body does to the stream itself is not in it.
    #[must_use]
    pub fn standing_on(mut self, rounds: &[Option<Round>]) -> Self {
        for (place, round) in self.rounds.iter_mut().zip(rounds) {
            *place = *round;
        }
        self
    }

    /// Puts the ground under the lattice: a plane through a place with a unit normal, that no air flows through.
    #[must_use]
    pub fn over_ground(mut self, through_m: Vec3, normal: Vec3) -> Self {
        self.ground = Some(Plane { through_m, normal });
        self
    }

    /// Number of motions: three velocities, three rates, two panels of each flap.
    #[must_use]
    pub fn motions(&self) -> usize {
        MOTIONS + 2 * self.flaps
    }

    /// Index of a flap's panel among the motions.
    #[must_use]
    pub fn flap_motion(flap: usize, left: bool) -> usize {
        MOTIONS + 2 * flap + usize::from(left)
    }

    /// Velocity of the air at a point, over flight speed, per unit of motion, without what the vortices cause.
    fn onset(motion: usize, point: Vec3, about: Vec3) -> Vec3 {
        match motion {
            ALONG => Vec3::x(),
            ACROSS => Vec3::y(),
            UP => Vec3::z(),
            3..=5 => {
                let mut rate = Vec3::zeros();
                rate[motion - 3] = 1.0;
                -builder_from_body(rate).cross(&(point - about))
            }
            _ => Vec3::zeros(),
        }
    }

    /// Velocity along the normals at the control points from each horseshoe of strength one, row by row.
    #[must_use]
    pub fn influence(&self) -> Mat<f64> {
        let n = self.panels.len();
        let rows = self.washes(|panel| panel.control);
        Mat::from_fn(n, n, |i, j| rows[i][j].dot(&self.panels[i].normal))
    }

    /// Minus the velocity along the normals at the control points that each motion and deflection brings.
    fn right_sides(&self, about: Vec3) -> Mat<f64> {
        Mat::from_fn(self.panels.len(), self.motions(), |i, motion| {
            let panel = &self.panels[i];
            if motion < MOTIONS {
                return -Self::onset(motion, panel.control, about).dot(&panel.normal);
            }
            let left = self.strips.get(panel.strip).is_some_and(|s| s.left);
            panel
                .moved
                .iter()
                .filter(|(flap, _)| Self::flap_motion(*flap, left) == motion)
                .map(|(_, turn)| -turn.x)
                .sum()
        })
    }

    /// Velocity at a point, over flight speed, that the vortices of some surfaces cause at given strengths (over speed).
    #[must_use]
    pub fn wash(&self, point: Vec3, strengths: &[f64], of_surface: impl Fn(usize) -> bool) -> Vec3 {
        self.panels
            .iter()
            .zip(strengths)
            .filter(|(panel, _)| self.strips.get(panel.strip).is_some_and(|s| of_surface(s.surface)))
            .map(|(panel, strength)| influence::horseshoe(panel, point, self.wake, 0.0) * *strength)
            .sum()
    }

    /// Strength of every vortex for every motion, and the forces that follow, about a point of the builder's frame.
    ///
    /// Forces are those of Kutta and Joukowski on the bound vortices with the local velocity (stream, rates and the wash
    /// of all vortices) and on the legs as far as the trailing edge with the velocity of stream and rates; the wash on
    /// the legs, a product of three small quantities, is left out. The wake carries no force.
    #[must_use]
    pub fn solve(&self, about: Vec3) -> Response {
        let system = self.system(about);
        let strengths = system.strengths.clone();
        self.respond(&system, strengths, about)
    }

    /// Factors the lattice and solves it for every motion about a point.
    pub(crate) fn system(&self, about: Vec3) -> System {
        let normal_wash = self.influence();
        let factors = normal_wash.partial_piv_lu();
        let solved = factors.solve(self.right_sides(about));
        let strengths = rows(&solved);
        let n = self.panels.len();
        let rows = self.washes(|panel| 0.5 * (panel.a + panel.b));
        let bound_wash = [0, 1, 2].map(|axis| Mat::from_fn(n, n, |i, j| rows[i][j][axis]));
        System { normal_wash, factors, strengths, bound_wash }
    }

    /// Strength of every vortex per rad by which each strip is turned nose up about its span: `[panel][strip]`.
    pub(crate) fn by_turning(&self, system: &System) -> Vec<Vec<f64>> {
        let right = Mat::from_fn(self.panels.len(), self.strips.len(), |i, k| {
            if self.panels.get(i).is_some_and(|p| p.strip == k) { -1.0 } else { 0.0 }
        });
        rows(&system.factors.solve(right))
    }

    /// The forces that follow from strengths per unit of each motion, about the point that the system was solved for.
    pub(crate) fn respond(&self, system: &System, panels: Vec<Vec<f64>>, about: Vec3) -> Response {
        let motions = self.motions();
        let local = self.local_velocity(system, &panels, about);
        let forces = self.forces(&panels, &local, about);
        let strips = self.by_strip(&panels, motions);
        let matrix = self.trefftz();
        let drag = self.drag_form(&matrix, &strips);

        let late = self.late_wash(&system.normal_wash, &panels);
        let extra = system.factors.solve(late);
        let mut alpha_rate = [0.0; 6];
        for (i, panel) in self.panels.iter().enumerate() {
            let force = Vec3::x().cross(&(panel.b - panel.a)) * extra[(i, 0)];
            let moment = (0.5 * (panel.a + panel.b) - about).cross(&force);
            for (k, v) in body_from_builder(force).iter().chain(body_from_builder(moment).iter()).enumerate()
            {
                alpha_rate[k] += v;
            }
        }
        Response { forces, drag, strips, panels, alpha_rate }
    }

    /// Sums the strengths of the panels of each strip.
    pub(crate) fn by_strip(&self, panels: &[Vec<f64>], columns: usize) -> Vec<Vec<f64>> {
        let mut strips = vec![vec![0.0; columns]; self.strips.len()];
        for (panel, strength) in self.panels.iter().zip(panels) {
            if let Some(row) = strips.get_mut(panel.strip) {
                for (total, s) in row.iter_mut().zip(strength) {
                    *total += s;
                }
            }
        }
        strips
    }

    /// Drag of each strip in the far wash of each, over density and speed squared and unit circulations.
    pub(crate) fn trefftz(&self) -> Vec<Vec<f64>> {
        trefftz::drag_matrix(&self.panels, &self.images(), &self.strips, &self.cores, self.wake)
    }

    /// Velocity at the middle of each bound vortex per unit of each motion.
    fn local_velocity(&self, system: &System, strengths: &[Vec<f64>], about: Vec3) -> Vec<Vec<Vec3>> {
        let motions = self.motions();
        let mut local = system.at_bound(strengths, motions);
        for (row, here) in local.iter_mut().zip(&self.panels) {
            let middle = 0.5 * (here.a + here.b);
            for (m, v) in row.iter_mut().enumerate() {
                *v += Self::onset(m, middle, about);
            }
        }
        local
    }

    fn forces(&self, strengths: &[Vec<f64>], local: &[Vec<Vec3>], about: Vec3) -> Quadratic {
        let motions = self.motions();
        let mut sum = Quadratic::zero(motions);
        for ((panel, strength), velocity) in self.panels.iter().zip(strengths).zip(local) {
            let middle = 0.5 * (panel.a + panel.b);
            let bound = panel.b - panel.a;
            let legs = [(panel.edge_a, panel.a), (panel.b, panel.edge_b)]
                .map(|(from, to)| (0.5 * (from + to), to - from));
            for (t, v) in velocity.iter().enumerate() {
                let lift = v.cross(&bound);
                let mut force = lift;
                let mut moment = (middle - about).cross(&lift);
                if t < MOTIONS {
                    for (place, piece) in legs {
                        let side = Self::onset(t, place, about).cross(&piece);
                        force += side;
                        moment += (place - about).cross(&side);
                    }
                }
                let (force, moment) = (body_from_builder(force), body_from_builder(moment));
                for (s, strength) in strength.iter().enumerate() {
                    sum.add(s, t, force * *strength, moment * *strength);
                }
            }
        }
        sum
    }

    fn drag_form(&self, matrix: &[Vec<f64>], strips: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let motions = self.motions();
        let mut form = vec![vec![0.0; motions]; motions];
        for (row, here) in matrix.iter().zip(strips) {
            let mut felt = vec![0.0; motions];
            for (weight, there) in row.iter().zip(strips) {
                for (f, s) in felt.iter_mut().zip(there) {
                    *f += weight * s;
                }
            }
            for (line, s) in form.iter_mut().zip(here) {
                for (entry, f) in line.iter_mut().zip(&felt) {
                    *entry += s * f;
                }
            }
        }
        form
    }

    /// What a surface behind another still lacks of its wash while the angle of attack grows by one per metre flown:
    /// the wash arrives late by the distance from vortex to control point (lag of downwash, panel by panel).
    fn late_wash(&self, normal_wash: &Mat<f64>, strengths: &[Vec<f64>]) -> Mat<f64> {
        Mat::from_fn(self.panels.len(), 1, |i, _| {
            let here = &self.panels[i];
            let own = self.strips.get(here.strip).map(|s| s.surface);
            self.panels
                .iter()
                .zip(strengths)
                .enumerate()
                .filter(|(_, (there, _))| self.strips.get(there.strip).map(|s| s.surface) != own)
                .map(|(j, (there, strength))| {
                    let distance = here.control.x - 0.5 * (there.a.x + there.b.x);
                    normal_wash[(i, j)] * strength[UP] * distance.max(0.0)
                })
                .sum()
        })
    }
}
