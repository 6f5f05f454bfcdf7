//! What does the ground change in the flare? The lattice once in free air and once with its mirror image under the ground.
//!
//! The image below a plane parallel to the stream keeps air from flowing through it: exact for the lattice (image vortices:
//! Katz & Plotkin, Low-Speed Aerodynamics). The wing lifts more at the same angle and the tail loses downwash, so that
//! holding the nose up takes more elevator than at height. A coarse lattice suffices: only the difference is used.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::geometry::reference;
use numerics::Vec3;

use crate::body::rounds;
use crate::derivatives::lay_about;
use crate::lattice::{ALONG, Flap, Lattice, Quadratic, UP};

/// Panels of each of the two lattices.
const PANELS: usize = 160;
/// Angle of attack to which the ground lies parallel, rad: that of a flare.
const FLARE_RAD: f64 = 0.12;
/// Height of the lowest point over the ground, over the wing's span: the rounding out begins there (judgement, no source).
const CLEARANCE: f64 = 0.05;

/// The two lattices' forces about one point.
#[derive(Debug, Clone)]
pub struct Ground {
    free: Quadratic,
    near: Quadratic,
    area_m2: f64,
    chord_m: f64,
    /// Height of the wing's quarter chord over the ground, over the span.
    pub height_over_span: f64,
}

impl Ground {
    /// Lays both lattices; none where a lattice cannot be laid.
    pub(crate) fn under(aircraft: &Aircraft, about_m: Vec3) -> Option<Self> {
        let reference = reference(aircraft)?;
        let flaps: Vec<Flap> = aircraft.movables.iter().map(Flap::from).collect();
        let lattice = lay_about(aircraft, &flaps, PANELS, FLARE_RAD).ok()?.standing_on(&rounds(aircraft));
        // Across the stream at that angle of attack: the ground is parallel to it.
        let up = Vec3::new(-FLARE_RAD.sin(), 0.0, FLARE_RAD.cos());
        let surfaces = aircraft.surfaces.iter().flat_map(|s| {
            s.stations.iter().flat_map(|r| [r.leading_edge_m, r.leading_edge_m + Vec3::x() * r.chord_m])
        });
        let bodies = aircraft
            .fuselages
            .iter()
            .flat_map(|b| b.stations.iter().map(|s| s.centre_m - Vec3::z() * (0.5 * s.height_m)));
        let lowest = surfaces.chain(bodies).map(|p| p.dot(&up)).fold(f64::INFINITY, f64::min);
        let level = lowest - CLEARANCE * reference.span_m;
        let wing = about_m + Vec3::z() * aircraft.wing()?.planform()?.quarter_chord_m.z;
        let height_over_span = (wing.dot(&up) - level) / reference.span_m;
        if !(level.is_finite() && height_over_span > 0.0) {
            return None;
        }
        let free = Self::forces(&lattice, about_m);
        let near = Self::forces(&lattice.over_ground(up * level, up), about_m);
        Some(Self {
            free,
            near,
            area_m2: reference.area_m2,
            chord_m: reference.mean_chord_m,
            height_over_span,
        })
    }

    fn forces(lattice: &Lattice, about_m: Vec3) -> Quadratic {
        let system = lattice.system(about_m);
        let strengths = system.strengths.clone();
        lattice.respond(&system, strengths, about_m).forces
    }

    /// How much further aft (m) a balance point must be than in free air for a deflection of the pitch axis (rad, trailing
    /// edge down) to balance a lift coefficient close to the ground; negative where the ground helps.
    #[must_use]
    pub fn further_aft_m(&self, aircraft: &Aircraft, cl: f64, elevator_rad: f64) -> Option<f64> {
        let mut inputs = vec![0.0; self.free.motions];
        for (i, movable) in aircraft.movables.iter().enumerate() {
            for left in [false, true] {
                if let Some(slot) = inputs.get_mut(Lattice::flap_motion(i, left)) {
                    *slot = panel_gain(aircraft, movable, Axis::Pitch, left) * elevator_rad;
                }
            }
        }
        let center = |forces: &Quadratic| -> Option<f64> {
            let at = |alpha: f64| {
                let mut motion = inputs.clone();
                motion[ALONG] = alpha.cos();
                motion[UP] = alpha.sin();
                let f = forces.at(&motion);
                (2.0 / self.area_m2 * (f[0] * alpha.sin() - f[2] * alpha.cos()), f)
            };
            let mut alpha = FLARE_RAD;
            for _ in 0..8 {
                let slope = (at(alpha + 0.01).0 - at(alpha - 0.01).0) / 0.02;
                if slope.abs() < 1e-6 {
                    return None;
                }
                alpha += ((cl - at(alpha).0) / slope).clamp(-0.2, 0.2);
            }
            let (found, f) = at(alpha);
            ((found - cl).abs() < 1e-6).then(|| 2.0 * f[4] / (self.area_m2 * self.chord_m))
        };
        let (free, near) = (center(&self.free)?, center(&self.near)?);
        // Lift acts at the balance point plus a moment; what is nose-down wants it aft.
        let shift = -(near - free) * self.chord_m / cl;
        shift.is_finite().then_some(shift)
    }

    /// Lift slope near the ground over that in free air at an angle of attack.
    #[must_use]
    pub fn lift_slope_ratio(&self) -> f64 {
        let slope = |forces: &Quadratic| {
            let at = |alpha: f64| {
                let mut motion = vec![0.0; forces.motions];
                motion[ALONG] = alpha.cos();
                motion[UP] = alpha.sin();
                let f = forces.at(&motion);
                f[0] * alpha.sin() - f[2] * alpha.cos()
            };
            at(FLARE_RAD + 0.01) - at(FLARE_RAD - 0.01)
        };
        slope(&self.near) / slope(&self.free)
    }
}
