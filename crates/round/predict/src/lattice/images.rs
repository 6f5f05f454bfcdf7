//! What of a vortex does a panel feel, its mirror images in a body and under the ground included? Row by row, half of them
//! where the lattice is its own mirror image.

use numerics::Vec3;
use rayon::prelude::*;

use super::geometry::Panel;
use super::influence;
use super::solve::Lattice;

/// A round body along x on which the root of a surface stands: it closes the gap that the load would fall off to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Axis across, m.
    pub y_m: f64,
    /// Height of the axis, m.
    pub z_m: f64,
    /// Radius, m; not more than the distance of the root from the axis.
    pub radius_m: f64,
}

impl Round {
    /// Mirror image of a place in the body's circle: at radius squared over its distance, on the same ray.
    fn image(&self, p: Vec3) -> Vec3 {
        let (y, z) = (p.y - self.y_m, p.z - self.z_m);
        let scale = self.radius_m.powi(2) / (y * y + z * z).max(f64::MIN_POSITIVE);
        Vec3::new(p.x, self.y_m + scale * y, self.z_m + scale * z)
    }

    /// The horseshoe inside the body that keeps the flow of a panel's horseshoe out of it, to be counted with minus one
    /// (circle theorem, exact far behind on a long body; Milne-Thomson, Theoretical Hydrodynamics).
    fn image_of(&self, panel: &Panel) -> Panel {
        Panel {
            a: self.image(panel.a),
            b: self.image(panel.b),
            edge_a: self.image(panel.edge_a),
            edge_b: self.image(panel.edge_b),
            ..panel.clone()
        }
    }
}

/// A plane through a point with a unit normal, builder's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    pub(super) through_m: Vec3,
    pub(super) normal: Vec3,
}

impl Plane {
    /// Mirror image of a vector.
    fn turned(&self, v: Vec3) -> Vec3 {
        v - self.normal * (2.0 * v.dot(&self.normal))
    }

    /// Mirror image of a place.
    fn image(&self, p: Vec3) -> Vec3 {
        self.through_m + self.turned(p - self.through_m)
    }
}

impl Lattice {
    /// The image of each panel that has one.
    pub(super) fn images(&self) -> Vec<Option<Panel>> {
        self.panels
            .iter()
            .map(|panel| {
                let surface = self.strips.get(panel.strip)?.surface;
                Some(self.rounds.get(surface).copied().flatten()?.image_of(panel))
            })
            .collect()
    }

    /// Velocity at a place felt on a panel from another panel's horseshoe of strength one, with its image where both are
    /// of one surface on a body.
    fn felt(&self, here: &Panel, place: Vec3, there: &Panel, image: Option<&Panel>) -> Vec3 {
        let core = self.core(here.strip, there.strip);
        let mut v = influence::horseshoe(there, place, self.wake, core);
        if let Some(ground) = &self.ground {
            // What the vortex does at the mirrored place, mirrored, is what its image does here.
            v += ground.turned(influence::horseshoe(there, ground.image(place), self.wake, 0.0));
        }
        match image {
            Some(image) if self.same_surface(here.strip, there.strip) => {
                v - influence::horseshoe(image, place, self.wake, 0.0)
            }
            _ => v,
        }
    }

    fn same_surface(&self, one: usize, other: usize) -> bool {
        match (self.strips.get(one), self.strips.get(other)) {
            (Some(a), Some(b)) => a.surface == b.surface,
            _ => false,
        }
    }

    fn core(&self, felt_on: usize, of: usize) -> f64 {
        match (self.strips.get(felt_on), self.strips.get(of)) {
            (Some(a), Some(b)) if a.surface != b.surface => self.cores.get(b.surface).copied().unwrap_or(0.0),
            _ => 0.0,
        }
    }

    /// Velocity at a place of each panel (row) from each horseshoe of strength one (column). Where the lattice is its own
    /// mirror image half the rows are the other half's.
    pub(super) fn washes(&self, place: impl Fn(&Panel) -> Vec3 + Sync) -> Vec<Vec<Vec3>> {
        let images = self.images();
        let row = |here: &Panel| -> Vec<Vec3> {
            let there = self.panels.iter().zip(&images);
            there.map(|(there, image)| self.felt(here, place(here), there, image.as_ref())).collect()
        };
        let Some(mirror) = self.mirror() else {
            return self.panels.par_iter().map(row).collect();
        };
        let own: Vec<Option<Vec<Vec3>>> = self
            .panels
            .par_iter()
            .zip(&mirror)
            .enumerate()
            .map(|(i, (here, (partner, _)))| (i <= *partner).then(|| row(here)))
            .collect();
        let filled = |i: usize| -> Vec<Vec3> {
            let partner = mirror[i].0;
            match (&own[i], &own[partner]) {
                (Some(row), _) => row.clone(),
                // What j does here is the mirror image of what its partner does there.
                (None, Some(row)) => mirror
                    .iter()
                    .map(|(j, sign)| Vec3::new(row[*j].x, -row[*j].y, row[*j].z) * *sign)
                    .collect(),
                (None, None) => row(&self.panels[i]),
            }
        };
        (0..self.panels.len()).map(filled).collect()
    }

    /// For each panel its mirror image across the plane of symmetry, and the sign of the image's circulation: one where the
    /// two are apart, minus one where the panel lies in the plane. None where the lattice is not its own image.
    fn mirror(&self) -> Option<Vec<(usize, f64)>> {
        const SAME_M: f64 = 1e-9;
        if self.rounds.iter().flatten().any(|r| r.y_m.abs() > SAME_M) {
            return None;
        }
        let flipped = |p: Vec3| Vec3::new(p.x, -p.y, p.z);
        let same = |a: Vec3, b: Vec3| (flipped(a) - b).norm() < SAME_M;
        let mut found = vec![(usize::MAX, 0.0); self.panels.len()];
        for strip in &self.strips {
            let partner = self.strips.iter().find(|o| {
                o.surface == strip.surface
                    && same(strip.quarter_m, o.quarter_m)
                    && o.panels.len() == strip.panels.len()
            })?;
            for (i, m) in strip.panels.clone().zip(partner.panels.clone()) {
                let (here, there) = (self.panels.get(i)?, self.panels.get(m)?);
                let swapped = same(here.a, there.b)
                    && same(here.b, there.a)
                    && same(here.edge_a, there.edge_b)
                    && same(here.edge_b, there.edge_a);
                let in_plane = i == m && same(here.a, here.a) && same(here.b, here.b);
                if !(same(here.control, there.control) && (swapped || in_plane)) {
                    return None;
                }
                *found.get_mut(i)? = (m, if swapped { 1.0 } else { -1.0 });
            }
        }
        found.iter().all(|(m, _)| *m != usize::MAX).then_some(found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lattice::{Density, Spacing};
    use aircraft::section::{Section, Shape};
    use aircraft::surface::{Role, Station, Surface};

    #[test]
    fn half_the_rows_mirrored_are_the_rows_computed() {
        let section = Section {
            name: "naca 2412".into(),
            shape: Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 },
        };
        let surface = |role, mirrored, stations: [(f64, Vec3, f64); 2]| Surface {
            name: "plate".into(),
            role,
            mirrored,
            stations: stations
                .into_iter()
                .map(|(along_m, leading_edge_m, chord_m)| Station {
                    along_m,
                    leading_edge_m,
                    chord_m,
                    twist_rad: if mirrored { 0.02 } else { 0.0 },
                    section: section.clone(),
                })
                .collect(),
        };
        let wing =
            surface(Role::Wing, true, [(0.0, Vec3::zeros(), 0.2), (0.6, Vec3::new(0.05, 0.59, 0.08), 0.14)]);
        let fin = surface(
            Role::Fin,
            false,
            [(0.0, Vec3::new(0.7, 0.0, 0.0), 0.14), (0.2, Vec3::new(0.75, 0.0, 0.2), 0.1)],
        );
        let density = Density { across: 6, along: 3, spacing: Spacing::Cosine };
        let lattice = Lattice::lay(&[wing, fin], &[], density, 0.0).unwrap();
        assert!(lattice.mirror().is_some());
        let images = lattice.images();
        for (i, row) in lattice.washes(|p| p.control).iter().enumerate() {
            for (j, v) in row.iter().enumerate() {
                let here = &lattice.panels[i];
                let direct = lattice.felt(here, here.control, &lattice.panels[j], images[j].as_ref());
                assert!((direct - v).norm() < 1e-9 * (1.0 + direct.norm()), "{i} {j}: {direct} {v}");
            }
        }
    }
}
