//! How do the strips act on each other? The lattice boiled down, once, to what steady flight without sideslip needs: one
//! unknown a strip (or mirrored pair), its lift by every motion and by the turning of every strip, and forces as one
//! quadratic form. A state then costs a small linear solve instead of a lattice.

use aircraft::Aircraft;
use numerics::Vec3;
use numerics::frames::body_from_builder;

use super::section::StripSection;
use super::tables::Tables;
use crate::lattice::{ALONG, Flap, Lattice, System, UP};
use aircraft::surface::Role;

/// One strip, or a strip with its mirror image.
#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    /// Index into the strips of the lattice: the right or only one.
    pub(crate) strip: usize,
    /// Its mirror image.
    pub(crate) partner: Option<usize>,
    pub(crate) surface: usize,
    pub(crate) role: Role,
    pub(crate) along_m: f64,
    pub(crate) chord_m: f64,
    pub(crate) width_m: f64,
    pub(crate) quarter_m: Vec3,
    /// Nose-up axis of its moment, builder's frame.
    pub(crate) axis: Vec3,
    pub(crate) section: StripSection,
    /// Neighbors on the same surface.
    pub(crate) neighbors: Vec<usize>,
}

impl Sheet {
    /// One, or two with the mirror image.
    pub(crate) fn count(&self) -> f64 {
        if self.partner.is_some() { 2.0 } else { 1.0 }
    }

    /// Area of it and of its image, m².
    pub(crate) fn area_m2(&self) -> f64 {
        self.count() * self.chord_m * self.width_m
    }
}

/// The lattice boiled down. Inputs are [along, up, flaps: both panels of each alike]; then the turning of each sheet.
#[derive(Debug, Clone)]
pub(crate) struct Reduced {
    pub(crate) sheets: Vec<Sheet>,
    pub(crate) flaps: usize,
    /// Lift coefficient of each sheet per unit of each input: `lift[k * width + column]`.
    pub(crate) lift: Vec<f64>,
    /// Number of columns: inputs and sheets.
    pub(crate) width: usize,
    /// Force along x, z and moment about y, body axes, over density and speed squared, by products of columns: each pair
    /// alike, whichever comes first.
    forces: Vec<[f64; 3]>,
    /// Drag over density and speed squared by products of the lift coefficients of sheets.
    drag: Vec<f64>,
}

/// Inputs before the flaps.
pub(crate) const INPUTS: usize = 2;

impl Reduced {
    /// Boils a factored lattice down. `turning` is the strength of each panel per rad by which each strip is turned.
    pub(crate) fn of(
        aircraft: &Aircraft,
        lattice: &Lattice,
        system: &System,
        turning: &[Vec<f64>],
        tables: &Tables,
        about: Vec3,
    ) -> Self {
        let flaps: Vec<Flap> = aircraft.movables.iter().map(Flap::from).collect();
        let sheets = sheets(aircraft, lattice, &flaps, tables);
        let inputs = INPUTS + flaps.len();
        let width = inputs + sheets.len();
        // Columns of strength per panel.
        let strengths: Vec<Vec<f64>> =
            system
                .strengths
                .iter()
                .zip(turning)
                .map(|(by_motion, by_turn)| {
                    let motion = |m: usize| by_motion.get(m).copied().unwrap_or(0.0);
                    let turn = |k: usize| by_turn.get(k).copied().unwrap_or(0.0);
                    let mut row = vec![motion(ALONG), motion(UP)];
                    row.extend((0..flaps.len()).map(|f| {
                        motion(Lattice::flap_motion(f, false)) + motion(Lattice::flap_motion(f, true))
                    }));
                    row.extend(sheets.iter().map(|s| turn(s.strip) + s.partner.map_or(0.0, turn)));
                    row
                })
                .collect();
        let by_strip = lattice.by_strip(&strengths, width);
        let lift: Vec<f64> = sheets
            .iter()
            .flat_map(|s| by_strip[s.strip].iter().map(|g| 2.0 * g / s.chord_m).collect::<Vec<_>>())
            .collect();
        let forces = symmetric(&forces(lattice, system, &sheets, &strengths, about, width), width);
        let far = lattice.trefftz();
        let drag = sheets
            .iter()
            .flat_map(|here| {
                let row = &far[here.strip];
                sheets
                    .iter()
                    .map(|there| {
                        let both = row[there.strip] + there.partner.map_or(0.0, |p| row[p]);
                        here.count() * 0.25 * here.chord_m * there.chord_m * both
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        Self { sheets, flaps: flaps.len(), lift, width, forces, drag }
    }

    /// Number of inputs: along, up, flaps.
    pub(crate) fn inputs(&self) -> usize {
        INPUTS + self.flaps
    }

    /// Lift coefficient of each sheet at inputs and turnings.
    pub(crate) fn lifts(&self, inputs: &[f64], turned: &[f64]) -> Vec<f64> {
        self.lift
            .chunks(self.width)
            .map(|row| row.iter().zip(inputs.iter().chain(turned)).map(|(l, z)| l * z).sum())
            .collect()
    }

    /// Force along x and z and moment about y, body axes, over density and speed squared, and their slopes by every input
    /// and turning.
    pub(crate) fn force(&self, inputs: &[f64], turned: &[f64]) -> ([f64; 3], Vec<[f64; 3]>) {
        let z: Vec<f64> = inputs.iter().chain(turned).copied().collect();
        // The form is symmetric: half of its slope times the inputs is the form itself.
        let slopes: Vec<[f64; 3]> = self
            .forces
            .chunks(self.width)
            .map(|row| {
                let mut slope = [0.0; 3];
                for (entry, b) in row.iter().zip(&z) {
                    for (total, e) in slope.iter_mut().zip(entry) {
                        *total += e * b;
                    }
                }
                slope.map(|s| 2.0 * s)
            })
            .collect();
        let mut sum = [0.0; 3];
        for (slope, a) in slopes.iter().zip(&z) {
            for (total, s) in sum.iter_mut().zip(slope) {
                *total += 0.5 * a * s;
            }
        }
        (sum, slopes)
    }

    /// Drag left behind far downstream, over density and speed squared, by the lift coefficients of the sheets.
    pub(crate) fn induced(&self, lifts: &[f64]) -> f64 {
        self.drag
            .chunks(self.sheets.len().max(1))
            .zip(lifts)
            .map(|(row, a)| a * row.iter().zip(lifts).map(|(d, b)| d * b).sum::<f64>())
            .sum()
    }
}

/// The same form with half of each pair's sum on either side.
fn symmetric(form: &[[f64; 3]], width: usize) -> Vec<[f64; 3]> {
    (0..width * width)
        .map(|place| {
            let (i, j) = (place / width, place % width);
            let (one, other) = (form[i * width + j], form[j * width + i]);
            std::array::from_fn(|k| 0.5 * (one[k] + other[k]))
        })
        .collect()
}

/// Pairs strips with their mirror images and finds neighbors.
fn sheets(aircraft: &Aircraft, lattice: &Lattice, flaps: &[Flap], tables: &Tables) -> Vec<Sheet> {
    let indexed: Vec<(usize, &Flap)> = flaps.iter().enumerate().collect();
    let mut sheets: Vec<Sheet> = lattice
        .strips
        .iter()
        .enumerate()
        .filter(|(_, s)| !s.left)
        .filter_map(|(strip, s)| {
            let surface = aircraft.surfaces.get(s.surface)?;
            let partner = lattice
                .strips
                .iter()
                .position(|o| o.left && o.surface == s.surface && (o.along_m - s.along_m).abs() < 1e-12);
            let section = StripSection::of(surface, s, &indexed, tables)?;
            Some(Sheet {
                strip,
                partner,
                surface: s.surface,
                role: surface.role,
                along_m: s.along_m,
                chord_m: s.chord_m,
                width_m: s.width_m,
                quarter_m: s.quarter_m,
                axis: nose_up(s.normal),
                section,
                neighbors: Vec::new(),
            })
        })
        .collect();
    let places: Vec<(usize, f64)> = sheets.iter().map(|s| (s.surface, s.along_m)).collect();
    for (k, sheet) in sheets.iter_mut().enumerate() {
        let on_it = |side: fn(f64, f64) -> bool| {
            places
                .iter()
                .enumerate()
                .filter(|(j, (surface, along))| {
                    *j != k && *surface == sheet.surface && side(*along, sheet.along_m)
                })
                .min_by(|a, b| (a.1.1 - sheet.along_m).abs().total_cmp(&(b.1.1 - sheet.along_m).abs()))
                .map(|(j, _)| j)
        };
        sheet.neighbors = [on_it(|a, b| a < b), on_it(|a, b| a > b)].into_iter().flatten().collect();
    }
    sheets
}

/// Nose-up axis of a strip with a normal: minus x across the normal.
pub(crate) fn nose_up(normal: Vec3) -> Vec3 {
    (-Vec3::x()).cross(&normal)
}

/// Forces by products of columns, of the right half and what stands alone, mirror images counted in.
fn forces(
    lattice: &Lattice,
    system: &System,
    sheets: &[Sheet],
    strengths: &[Vec<f64>],
    about: Vec3,
    width: usize,
) -> Vec<[f64; 3]> {
    let weights: Vec<f64> = lattice
        .panels
        .iter()
        .map(|p| sheets.iter().find(|s| s.strip == p.strip).map_or(0.0, Sheet::count))
        .collect();
    let local = system.at_bound(strengths, width);
    let parts: Vec<Vec<[f64; 3]>> = lattice
        .panels
        .iter()
        .zip(&local)
        .zip(&weights)
        .filter(|(_, weight)| **weight > 0.0)
        .map(|((panel, local), weight)| {
            let middle = 0.5 * (panel.a + panel.b);
            let bound = panel.b - panel.a;
            let legs = [(panel.edge_a, panel.a), (panel.b, panel.edge_b)]
                .map(|(from, to)| (0.5 * (from + to), to - from));
            local
                .iter()
                .enumerate()
                .map(|(t, wash)| {
                    let onset = match t {
                        0 => Vec3::x(),
                        1 => Vec3::z(),
                        _ => Vec3::zeros(),
                    };
                    let mut force = (wash + onset).cross(&bound);
                    let mut moment = (middle - about).cross(&force);
                    for (place, piece) in legs {
                        let side = onset.cross(&piece);
                        force += side;
                        moment += (place - about).cross(&side);
                    }
                    let (force, moment) = (body_from_builder(force), body_from_builder(moment));
                    [force.x * weight, force.z * weight, moment.y * weight]
                })
                .collect()
        })
        .collect();
    let mut sum = vec![[0.0; 3]; width * width];
    let kept = strengths.iter().zip(&weights).filter(|(_, w)| **w > 0.0).map(|(s, _)| s);
    for (by_velocity, strength) in parts.iter().zip(kept) {
        for (row, s) in sum.chunks_mut(width).zip(strength) {
            for (entry, f) in row.iter_mut().zip(by_velocity) {
                for (total, v) in entry.iter_mut().zip(f) {
                    *total += s * v;
                }
            }
        }
    }
    sum
}
