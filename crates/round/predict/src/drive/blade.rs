//! What shape has a propeller of which only diameter, pitch and blade count are printed on the hub?
//!
//! Chord: the mean shape of the measured planforms in `reference/propellers` (widest near 45 % of the radius),
//! narrower on large propellers, wider on those of low pitch meant to turn slowly. Twist: the geometric pitch helix
//! outside 30 % of the radius, flattened within where molded blades cannot follow it.

use aircraft::drive::Propeller;

/// A piece of blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// Distance of its middle from the axis, m.
    pub radius_m: f64,
    /// Extent along the radius, m.
    pub width_m: f64,
    /// Chord, m.
    pub chord_m: f64,
    /// Angle of the chord line from the plane of rotation, rad.
    pub twist_rad: f64,
}

/// Where the blade begins, over the radius.
pub const ROOT: f64 = 0.15;

/// Chord over radius at 75 % of the radius of a propeller of 254 mm.
const CHORD_AT_75: f64 = 0.142;

/// Pieces of the typical blade of a propeller: `count` of them, closer together towards the tip.
#[must_use]
pub fn typical(propeller: &Propeller, count: usize) -> Vec<Element> {
    elements(propeller.diameter_m, count, |x| {
        (typical_chord_over_radius(propeller, x), typical_twist_rad(propeller, x))
    })
}

/// Pieces of a blade of given shape: `at` gives chord over radius and twist (rad) at a fraction of the radius.
#[must_use]
pub fn elements(diameter_m: f64, count: usize, at: impl Fn(f64) -> (f64, f64)) -> Vec<Element> {
    let radius_m = 0.5 * diameter_m;
    // Half a cosine puts the edges closer together where the load changes fastest.
    let edge = |i: usize| ROOT + (1.0 - ROOT) * (0.5 * std::f64::consts::PI * i as f64 / count as f64).sin();
    (0..count)
        .map(|i| {
            let (inner, outer) = (edge(i), edge(i + 1));
            let x = 0.5 * (inner + outer);
            let (chord_over_radius, twist_rad) = at(x);
            Element {
                radius_m: x * radius_m,
                width_m: (outer - inner) * radius_m,
                chord_m: chord_over_radius * radius_m,
                twist_rad,
            }
        })
        .collect()
}

/// Chord over radius at the fraction `x` of the radius.
#[must_use]
pub fn typical_chord_over_radius(propeller: &Propeller, x: f64) -> f64 {
    // Mean of the measured planforms of families C, E, G and S, each over its chord at x = 0.75.
    const SHAPE: [(f64, f64); 10] = [
        (0.15, 0.98),
        (0.25, 1.22),
        (0.35, 1.37),
        (0.45, 1.40),
        (0.55, 1.34),
        (0.65, 1.20),
        (0.75, 1.00),
        (0.85, 0.78),
        (0.95, 0.49),
        (1.00, 0.26),
    ];
    let slow = ((0.5 - propeller.pitch_m / propeller.diameter_m) / 0.07).clamp(0.0, 1.0);
    let size = (0.254 / propeller.diameter_m).powf(0.45);
    interpolated(&SHAPE, x) * CHORD_AT_75 * size * (1.0 + 0.25 * slow)
}

/// Angle of the chord line from the plane of rotation at the fraction `x` of the radius, rad.
#[must_use]
pub fn typical_twist_rad(propeller: &Propeller, x: f64) -> f64 {
    let helix = |x: f64| (propeller.pitch_m / (std::f64::consts::PI * propeller.diameter_m * x)).atan();
    if x >= 0.3 {
        helix(x)
    } else {
        // Towards the hub the twist goes on at a third of the helix's growth.
        helix(0.3) + (helix(x) - helix(0.3)) / 3.0
    }
}

/// Straight interpolation in a table of growing abscissae, held at its ends.
#[must_use]
pub fn interpolated(table: &[(f64, f64)], x: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    for &(xi, yi) in table {
        if x <= xi {
            return match before {
                Some((x0, y0)) => y0 + (yi - y0) * (x - x0) / (xi - x0),
                None => yi,
            };
        }
        before = Some((xi, yi));
    }
    before.map_or(f64::NAN, |(_, y)| y)
}
