//! Where are the edges of surfaces and movables? Outlines in the builder's frame.

use aircraft::Aircraft;
use aircraft::movable::Movable;
use aircraft::surface::{Station, Surface};
use numerics::Vec3;

/// The smallest box around everything, builder's frame, m.
pub(super) struct Extent {
    pub(super) low: Vec3,
    pub(super) high: Vec3,
}

impl Extent {
    /// The same box, widened to hold the masses too.
    pub(super) fn with_masses(&self, aircraft: &Aircraft) -> Self {
        let (mut low, mut high) = (self.low, self.high);
        for item in &aircraft.masses {
            for side in sides(item.mirrored) {
                let at = mirrored(item.at_m, side);
                if at.iter().all(|v| v.is_finite()) {
                    low = low.inf(&at);
                    high = high.sup(&at);
                }
            }
        }
        Self { low, high }
    }

    /// None where nothing is described.
    pub(super) fn of(aircraft: &Aircraft) -> Option<Self> {
        let mut points: Vec<Vec3> = Vec::new();
        for surface in &aircraft.surfaces {
            for side in sides(surface.mirrored) {
                points.extend(outline(surface).into_iter().map(|p| mirrored(p, side)));
            }
        }
        for body in &aircraft.fuselages {
            for station in &body.stations {
                let half = Vec3::new(0.0, 0.5 * station.width_m, 0.5 * station.height_m);
                for side in sides(body.mirrored) {
                    points.push(mirrored(station.centre_m + half, side));
                    points.push(mirrored(station.centre_m - half, side));
                }
            }
        }
        if let Some(drive) = &aircraft.drive {
            let r = 0.5 * drive.propeller.diameter_m;
            for hub in &drive.hubs_m {
                points.push(hub + Vec3::new(0.0, r, r));
                points.push(hub - Vec3::new(0.0, r, r));
            }
        }
        points.retain(|p| p.iter().all(|v| v.is_finite()));
        let first = *points.first()?;
        let (mut low, mut high) = (first, first);
        for p in points {
            low = low.inf(&p);
            high = high.sup(&p);
        }
        Some(Self { low, high })
    }
}

/// The right side, and the left where both are meant.
pub(super) fn sides(both: bool) -> impl Iterator<Item = f64> {
    [1.0, -1.0].into_iter().take(if both { 2 } else { 1 })
}

/// A point on the right side, or its image on the left.
pub(super) fn mirrored(p: Vec3, side: f64) -> Vec3 {
    Vec3::new(p.x, p.y * side, p.z)
}

/// Normal of the panel from a station to the next, right side.
fn normal(inner: &Station, outer: &Station) -> Vec3 {
    let line = outer.leading_edge_m - inner.leading_edge_m;
    let length = line.y.hypot(line.z);
    if length > 0.0 { Vec3::new(0.0, -line.z / length, line.y / length) } else { Vec3::z() }
}

/// A point of a surface, at a distance along it and a fraction of the chord.
pub(super) fn on(surface: &Surface, along_m: f64, fraction: f64) -> Option<Vec3> {
    let pairs = || surface.stations.iter().zip(surface.stations.iter().skip(1));
    let (inner, outer) =
        pairs().find(|(_, outer)| outer.along_m >= along_m).or_else(|| pairs().next_back())?;
    let length = outer.along_m - inner.along_m;
    let part = if length > 0.0 { (along_m - inner.along_m) / length } else { 0.0 };
    let between = |a: f64, b: f64| a + (b - a) * part;
    let edge = inner.leading_edge_m + (outer.leading_edge_m - inner.leading_edge_m) * part;
    let chord = between(inner.chord_m, outer.chord_m);
    let twist = between(inner.twist_rad, outer.twist_rad);
    let aft = Vec3::new(twist.cos(), 0.0, 0.0) - normal(inner, outer) * twist.sin();
    Some(edge + aft * (chord * fraction))
}

/// Leading edge outward, trailing edge back inward, right side.
pub(super) fn outline(surface: &Surface) -> Vec<Vec3> {
    let forward = surface.stations.iter().filter_map(|s| on(surface, s.along_m, 0.0));
    let back = surface.stations.iter().rev().filter_map(|s| on(surface, s.along_m, 1.0));
    forward.chain(back).collect()
}

/// Hinge line outward, trailing edge back inward, right side.
pub(super) fn movable_outline(surface: &Surface, movable: &Movable) -> Vec<Vec3> {
    // Kinks of the surface inside the movable belong to its edges.
    let mut along: Vec<f64> = surface
        .stations
        .iter()
        .map(|s| s.along_m)
        .filter(|a| *a > movable.inner_m && *a < movable.outer_m)
        .collect();
    along.insert(0, movable.inner_m);
    along.push(movable.outer_m);
    let length = movable.outer_m - movable.inner_m;
    let hinge = |a: f64| {
        let part = if length > 0.0 { (a - movable.inner_m) / length } else { 0.0 };
        movable.hinge_inner + (movable.hinge_outer - movable.hinge_inner) * part
    };
    let front = along.iter().filter_map(|a| on(surface, *a, hinge(*a)));
    let back = along.iter().rev().filter_map(|a| on(surface, *a, 1.0));
    front.chain(back).collect()
}
