//! How much of the sideslip does a fin feel behind body and wing?
//!
//! The body's cross-flow is faster beside it and the wing's height turns it: (1 + dσ/dβ) q_fin/q = 0.724 +
//! 3.06 (S_fin/S)/(1 + cos Λ) + 0.4 z_wing/d + 0.009 A (handbook fit: Finck, USAF Stability and Control DATCOM, section
//! 5.3.1.1; also Nelson, Flight Stability and Automatic Control, ch. 2; from memory). It holds for one fin in the plane of
//! symmetry on a body that carries the wing too; V-tails, fins on booms and fins without a body keep the stream of the
//! lattice. What it changes with yaw rate is not in the fit and stays as the lattice has it.

use aircraft::Aircraft;
use aircraft::geometry::reference;
use aircraft::surface::Role;
use numerics::Vec3;
use numerics::frames::body_from_builder;

use crate::body::rounds;
use crate::lattice::{ACROSS, ALONG, Lattice, Quadratic};

/// The factor of a fin of area `fin_m2` (both sides of the body's axis counted as drawn) on a body of depth `depth_m`.
///
/// `height_m` is how far the root of the wing's quarter chord lies below the body's axis (low wing positive), `sweep_rad`
/// the sweep of that line.
#[must_use]
pub fn factor(
    fin_m2: f64,
    wing_m2: f64,
    sweep_rad: f64,
    height_m: f64,
    depth_m: f64,
    aspect_ratio: f64,
) -> f64 {
    0.724
        + 3.06 * (fin_m2 / wing_m2) / (1.0 + sweep_rad.cos())
        + 0.4 * height_m / depth_m
        + 0.009 * aspect_ratio
}

/// Adds, to forces about a point, what the fin's side force in sideslip has more or less than in the stream of the lattice;
/// says so.
pub(crate) fn add_sidewash(
    aircraft: &Aircraft,
    lattice: &Lattice,
    circulation: &[Vec<f64>],
    about_m: Vec3,
    forces: &mut Quadratic,
) -> Option<String> {
    let reference = reference(aircraft)?;
    let wing = aircraft.wing()?;
    let fins: Vec<usize> = aircraft
        .surfaces
        .iter()
        .enumerate()
        .filter(|(_, s)| matches!(s.role, Role::Fin | Role::VTail))
        .map(|(i, _)| i)
        .collect();
    let [index] = fins[..] else { return None };
    let fin = aircraft.surfaces.get(index)?;
    if fin.role != Role::Fin || fin.mirrored || fin.stations.first()?.leading_edge_m.y.abs() > 1e-6 {
        return None;
    }
    rounds(aircraft).get(index).copied().flatten()?;
    let body = aircraft
        .fuselages
        .iter()
        .find(|b| !b.mirrored && b.stations.first().is_some_and(|s| s.centre_m.y.abs() < 1e-6))?;
    let (first, last) = (wing.stations.first()?, wing.stations.last()?);
    let quarter = |s: &aircraft::surface::Station| s.leading_edge_m + Vec3::x() * (0.25 * s.chord_m);
    let (root, tip) = (quarter(first), quarter(last));
    // The body has to carry the wing.
    let (nose, end) = (body.stations.first()?.centre_m.x, body.stations.last()?.centre_m.x);
    if root.x < nose || root.x > end {
        return None;
    }
    let axis_z = body
        .stations
        .windows(2)
        .find_map(|pair| match pair {
            [a, b] if a.centre_m.x <= root.x && root.x <= b.centre_m.x => {
                let share = (root.x - a.centre_m.x) / (b.centre_m.x - a.centre_m.x).max(f64::MIN_POSITIVE);
                Some(a.centre_m.z + share * (b.centre_m.z - a.centre_m.z))
            }
            _ => None,
        })
        .unwrap_or(root.z);
    let depth_m = body.stations.iter().map(|s| s.height_m).fold(0.0, f64::max);
    if depth_m <= 0.0 {
        return None;
    }
    let across = (tip.y - root.y).abs();
    let sweep_rad = if across > 0.0 { ((tip.x - root.x) / across).atan() } else { 0.0 };
    // The fit was made for wings on or in the body; a parasol counts as a high wing.
    let height_m = (axis_z - root.z).clamp(-0.5 * depth_m, 0.5 * depth_m);
    let fin_m2: f64 =
        lattice.strips.iter().filter(|s| s.surface == index).map(|s| s.chord_m * s.width_m).sum();
    let factor = factor(fin_m2, reference.area_m2, sweep_rad, height_m, depth_m, reference.aspect_ratio);
    for (strip, by_motion) in lattice.strips.iter().zip(circulation).filter(|(s, _)| s.surface == index) {
        let force =
            strip.normal * (by_motion.get(ACROSS).copied().unwrap_or(0.0) * strip.width_m * (factor - 1.0));
        let moment = (strip.quarter_m - about_m).cross(&force);
        forces.add(ALONG, ACROSS, body_from_builder(force), body_from_builder(moment));
    }
    Some(format!(
        "Behind body and wing the fin feels {:.0} % of the sideslip (handbook fit, known to about a tenth).",
        100.0 * factor
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fin_on_a_light_aircraft_by_hand() {
        // S_fin/S 0.1, no sweep, wing a quarter of the depth below the axis, aspect ratio 8: 0.724 + 0.153 + 0.1 + 0.072.
        assert!((factor(0.02, 0.2, 0.0, 0.025, 0.1, 8.0) - 1.049).abs() < 1e-12);
        // A high wing takes sidewash away from the fin, a low wing gives some (same handbook).
        assert!(factor(0.02, 0.2, 0.0, -0.05, 0.1, 8.0) < factor(0.02, 0.2, 0.0, 0.05, 0.1, 8.0));
    }
}
