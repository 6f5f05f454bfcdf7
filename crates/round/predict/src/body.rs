//! What do bodies add? Slender-body moments in the wing's upwash, side force, friction.

use std::f64::consts::PI;

use aircraft::Aircraft;
use aircraft::fuselage::{BodyStation, Fuselage};
use aircraft::surface::Role;
use numerics::Vec3;
use numerics::frames::body_from_builder;

use crate::air::Air;
use crate::lattice::{ACROSS, ALONG, Lattice, Quadratic, Round, UP};
use crate::sections::turbulent_friction;

/// Factors of apparent mass of a prolate spheroid along (k1) and across (k2) its axis, by its fineness (length over
/// diameter). Source: Lamb, Hydrodynamics, art. 114; Munk, NACA Rep. 184. A fineness of one or less is a sphere.
#[must_use]
pub fn apparent_mass(fineness: f64) -> (f64, f64) {
    if fineness <= 1.0 + 1e-6 {
        return (0.5, 0.5);
    }
    let e2 = 1.0 - fineness.powi(-2);
    let e = e2.sqrt();
    let log = ((1.0 + e) / (1.0 - e)).ln();
    let along = 2.0 * (1.0 - e2) / (e2 * e) * (0.5 * log - e);
    let across = 1.0 / e2 - (1.0 - e2) / (2.0 * e2 * e) * log;
    (along / (2.0 - along), across / (2.0 - across))
}

/// What one body adds, over density and speed squared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BodyEffect {
    /// Nose-up moment per rad of angle of attack, m³ (positive: unstable).
    pub pitch_m3: f64,
    /// Nose-right moment per rad of sideslip from the body alone, m³ (negative: unstable).
    pub yaw_m3: f64,
    /// Force to the right per rad of sideslip, m² (negative: to the lee side), acting at `centre_m`.
    pub side_m2: f64,
    /// Centre of its volume, builder's frame, m.
    pub centre_m: Vec3,
    /// Wetted area times form factor, m²: friction over it is the drag.
    pub rubbed_m2: f64,
    /// Length, m.
    pub length_m: f64,
}

impl BodyEffect {
    /// Drag coefficient times area, m²: turbulent friction at a speed (m/s).
    #[must_use]
    pub fn drag_m2(&self, air: &Air, speed_m_s: f64) -> f64 {
        self.rubbed_m2 * turbulent_friction(air.reynolds(speed_m_s, self.length_m).max(1.0e4))
    }
}

/// Pieces into which a body is cut.
const PIECES: usize = 60;

/// Moments, side force and drag of a body. `upwash` gives the factor by which the angle of attack of the free stream is
/// multiplied at a place (1 + dε/dα); in sideslip the stream is taken as undisturbed.
///
/// Moments by Munk's slender-body couple, strip by strip after Multhopp (NACA TM-1036), scaled by the spheroid's k2 - k1;
/// width counts for pitch, height for yaw. Side force by the potential lift up to where the flow leaves the body, taken
/// from the place of steepest shrinking: x0/l = 0.378 + 0.527 x1/l (from memory of the handbook method), with the
/// couple kept whole: that errs to the unstable side. Friction: turbulent over the wetted area with the form factor of
/// Hoerner, Fluid-Dynamic Drag, ch. 6.
#[must_use]
pub fn body_effect(body: &Fuselage, upwash: impl Fn(Vec3) -> f64) -> Option<BodyEffect> {
    let first = body.stations.first()?;
    let last = body.stations.last()?;
    let length = last.centre_m.x - first.centre_m.x;
    if length.is_nan() || length <= 0.0 {
        return None;
    }
    let step = length / PIECES as f64;
    let at: Vec<BodyStation> =
        (0..PIECES).map(|i| between(&body.stations, first.centre_m.x + step * (i as f64 + 0.5))).collect();
    let volume: f64 = at.iter().map(|s| area(s) * step).sum();
    if volume <= 0.0 {
        return None;
    }
    let diameter = at.iter().map(area).fold(0.0, f64::max).mul_add(4.0 / PI, 0.0).sqrt();
    let (k1, k2) = apparent_mass(length / diameter);
    let factor = k2 - k1;
    let square = |d: f64| PI / 4.0 * d * d;
    let pitch: f64 = at.iter().map(|s| square(s.width_m) * upwash(s.centre_m) * step).sum();
    let yaw: f64 = at.iter().map(|s| square(s.height_m) * step).sum();
    let centre = at.iter().map(|s| s.centre_m * (area(s) * step)).sum::<Vec3>() / volume;
    // Where the cross-section shrinks fastest.
    let steepest = at
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] => Some((square(b.height_m) - square(a.height_m), a.centre_m.x)),
            _ => None,
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(last.centre_m.x, |(change, x)| if change < 0.0 { x } else { last.centre_m.x });
    let leaves =
        first.centre_m.x + length * (0.378 + 0.527 * (steepest - first.centre_m.x) / length).min(1.0);
    let side = square(between(&body.stations, leaves).height_m);
    let wetted: f64 = at
        .iter()
        .map(|s| {
            // Ramanujan's circumference of an ellipse.
            let (a, b) = (0.5 * s.width_m, 0.5 * s.height_m);
            PI * (3.0 * (a + b) - ((3.0 * a + b) * (a + 3.0 * b)).sqrt()) * step
        })
        .sum();
    let fineness = length / diameter;
    let form = 1.0 + 1.5 / fineness.powf(1.5) + 7.0 / fineness.powi(3);
    Some(BodyEffect {
        pitch_m3: factor * pitch,
        yaw_m3: -factor * yaw,
        side_m2: -factor * side,
        centre_m: centre,
        rubbed_m2: wetted * form,
        length_m: length,
    })
}

fn area(station: &BodyStation) -> f64 {
    PI / 4.0 * station.width_m * station.height_m
}

/// Cross-section at a place along x, straight between the stations.
fn between(stations: &[BodyStation], x: f64) -> BodyStation {
    for pair in stations.windows(2) {
        if let [a, b] = pair
            && x <= b.centre_m.x
            && b.centre_m.x > a.centre_m.x
        {
            let share = ((x - a.centre_m.x) / (b.centre_m.x - a.centre_m.x)).clamp(0.0, 1.0);
            return BodyStation {
                centre_m: a.centre_m + (b.centre_m - a.centre_m) * share,
                width_m: a.width_m + (b.width_m - a.width_m) * share,
                height_m: a.height_m + (b.height_m - a.height_m) * share,
            };
        }
    }
    stations.last().copied().unwrap_or(BodyStation { centre_m: Vec3::zeros(), width_m: 0.0, height_m: 0.0 })
}

/// The body under the root of each fin and V-tail, where there is one.
pub(crate) fn rounds(aircraft: &Aircraft) -> Vec<Option<Round>> {
    aircraft
        .surfaces
        .iter()
        .map(|surface| {
            if !matches!(surface.role, Role::Fin | Role::VTail) {
                return None;
            }
            let root = surface.stations.first()?;
            let place = root.leading_edge_m + Vec3::x() * (0.5 * root.chord_m);
            aircraft.fuselages.iter().find_map(|body| {
                let (first, last) = (body.stations.first()?, body.stations.last()?);
                if place.x < first.centre_m.x || place.x > last.centre_m.x {
                    return None;
                }
                let here = between(&body.stations, place.x);
                let radius = 0.5 * (here.width_m * here.height_m).sqrt();
                let distance = (place.y - here.centre_m.y).hypot(place.z - here.centre_m.z);
                // Drawn from the axis, the part inside the body stands for what the body carries on; far from it there
                // is a gap, and no plate.
                (distance > 0.6 * radius && distance < 2.0 * radius).then_some(Round {
                    y_m: here.centre_m.y,
                    z_m: here.centre_m.z,
                    radius_m: radius.min(distance),
                })
            })
        })
        .collect()
}

/// Adds moments (about a point) and side force of the bodies to the forces; gives each body with its number, two where it
/// is mirrored.
pub(crate) fn add_bodies(
    aircraft: &Aircraft,
    lattice: &Lattice,
    strengths: &[Vec<f64>],
    about_m: Vec3,
    forces: &mut Quadratic,
) -> Vec<(f64, BodyEffect)> {
    let by_alpha: Vec<f64> = strengths.iter().map(|s| s.get(UP).copied().unwrap_or(0.0)).collect();
    let lifting = |i: usize| aircraft.surfaces.get(i).is_some_and(|s| s.role == Role::Wing);
    let mut found = Vec::new();
    for body in &aircraft.fuselages {
        let side_m = body.stations.first().map_or(0.0, |s| s.centre_m.y);
        // The wing's chord where the body crosses it.
        let chord = aircraft.wing().map(|wing| {
            let root = wing
                .stations
                .iter()
                .min_by(|a, b| {
                    let off =
                        |s: &aircraft::surface::Station| (s.leading_edge_m.y.abs() - side_m.abs()).abs();
                    off(a).total_cmp(&off(b))
                })
                .map_or((0.0, 0.0), |s| (s.leading_edge_m.x, s.chord_m));
            (root.0, root.0 + root.1)
        });
        let tail = aircraft
            .surfaces
            .iter()
            .filter(|s| matches!(s.role, Role::Tailplane | Role::VTail))
            .filter_map(|s| s.planform())
            .map(|p| p.quarter_chord_m)
            .next();
        let upwash = |p: Vec3| {
            let Some((leading, trailing)) = chord else {
                return 1.0;
            };
            if p.x < leading {
                // The lattice is singular at its vortices, Multhopp's curve is not: half a chord thick is the least.
                let ahead = Vec3::new(p.x.min(leading - 0.1 * (trailing - leading)), p.y, p.z);
                (1.0 + lattice.wash(ahead, &by_alpha, lifting).z).clamp(1.0, 3.0)
            } else if p.x <= trailing {
                0.0
            } else {
                // From nothing at the trailing edge straight to the tail's downwash (Multhopp).
                let Some(tail) = tail.filter(|t| t.x > trailing) else {
                    return 1.0;
                };
                let place = Vec3::new(tail.x, 0.02 * (trailing - leading) + p.y, tail.z);
                let there = (1.0 + lattice.wash(place, &by_alpha, lifting).z).clamp(0.0, 1.0);
                there * ((p.x - trailing) / (tail.x - trailing)).min(1.0)
            }
        };
        let Some(effect) = body_effect(body, upwash) else {
            continue;
        };
        let count = if body.mirrored { 2.0 } else { 1.0 };
        // The air's velocity along y is minus the sideslip.
        let force = Vec3::new(0.0, -effect.side_m2, 0.0) * count;
        let arm = body_from_builder(
            Vec3::new(effect.centre_m.x, 0.0, effect.centre_m.z) - Vec3::new(about_m.x, 0.0, about_m.z),
        );
        let couple = Vec3::new(0.0, 0.0, -effect.yaw_m3) * count;
        forces.add(ALONG, ACROSS, force, couple + arm.cross(&force));
        forces.add(ALONG, UP, Vec3::zeros(), Vec3::new(0.0, effect.pitch_m3, 0.0) * count);
        found.push((count, effect));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn apparent_mass_of_a_spheroid_of_fineness_four() {
        // Lamb, Hydrodynamics: k1 0.08156, k2 0.85976 (AERO-21 of the independent check table, recomputed there).
        let (k1, k2) = apparent_mass(4.0);
        assert!((k1 - 0.08156).abs() < 1e-5 && (k2 - 0.85976).abs() < 1e-5, "{k1} {k2}");
    }

    #[test]
    fn a_spheroid_in_a_plain_stream_has_munks_moment() {
        // Munk, NACA Rep. 184: M = 2 q (k2 - k1) Vol alpha = rho V² (k2 - k1) Vol alpha, Vol = pi/6 l d².
        let stations = (0..=200)
            .map(|i| {
                let x = f64::from(i) / 200.0;
                let d = 0.25 * (1.0 - (2.0 * x - 1.0).powi(2)).max(0.0).sqrt();
                BodyStation { centre_m: Vec3::new(x, 0.0, 0.0), width_m: d, height_m: d }
            })
            .collect();
        let body = Fuselage { name: "spheroid".into(), mirrored: false, stations };
        let effect = body_effect(&body, |_| 1.0).unwrap();
        let air = Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
        let expected = (0.85976 - 0.08156) * PI / 6.0 * 0.25_f64.powi(2);
        // 0.2 %: sixty pieces.
        assert!((effect.pitch_m3 / expected - 1.0).abs() < 2e-3, "{} {expected}", effect.pitch_m3);
        assert!((effect.yaw_m3 / -expected - 1.0).abs() < 2e-3);
        assert!(effect.side_m2 < 0.0 && effect.drag_m2(&air, 15.0) > 0.0);
    }
}
