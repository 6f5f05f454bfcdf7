//! What shape has a propeller of which only diameter, pitch and blade count are printed on the hub?
//!
//! Each class of blade has the mean outline and twist of the measured planforms of its kind in `reference/propellers`
//! (of the propellers that the section model was fitted on, see [`crate::drive::section`]): chord over its value at
//! 75 % of the radius, and the angle by which the chord line stands off the helix of the printed pitch. A chord
//! measured at 75 % of the radius replaces that of the class.

use aircraft::drive::{BladeClass, Propeller};

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

/// Fractions of the radius at which outlines are given.
const AT: [f64; 10] = [0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95, 1.00];

/// Diameter for which the chords of the classes hold, m.
const AT_DIAMETER_M: f64 = 0.254;

/// Least angle of the chord line that the tables may lead to, rad: the tips of slow propellers.
const LEAST_TWIST_RAD: f64 = 0.03;

/// What a class of blade is like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// Chord over radius at 75 % of the radius of a propeller of 254 mm.
    pub chord_at_75: f64,
    /// How chord over radius falls with diameter: its power of 254 mm over the diameter. From the propellers of the
    /// measured families taken together: small ones have relatively broader blades.
    pub size_exponent: f64,
    /// Chord over that at 75 % of the radius, at the fractions `AT`.
    pub chord: [f64; 10],
    /// Angle of the chord line beyond the helix of the printed pitch, degrees, at the fractions `AT`.
    pub beyond_helix_deg: [f64; 10],
}

/// Outline of a class of blade. Families of `reference/propellers`: efficient E (9 x 6, 11 x 5.5), light G (10 x 6),
/// broad D (5 x 2.65, 9 x 8.95), wood C (9 x 6), slow-fly S (11 x 4.7); sport is the mean of E, G, C and, at half
/// weight, D.
#[must_use]
pub fn outline(class: BladeClass) -> Outline {
    match class {
        BladeClass::Sport => Outline {
            chord_at_75: 0.142,
            size_exponent: 0.5,
            chord: [1.08, 1.19, 1.28, 1.27, 1.21, 1.12, 1.0, 0.85, 0.58, 0.30],
            beyond_helix_deg: [-17.7, -3.7, -0.4, 0.3, 0.4, 0.2, 0.1, 0.0, -0.5, -1.6],
        },
        BladeClass::Efficient => Outline {
            chord_at_75: 0.135,
            size_exponent: 0.5,
            chord: [0.98, 1.30, 1.50, 1.52, 1.42, 1.23, 1.0, 0.75, 0.47, 0.29],
            beyond_helix_deg: [-14.3, 0.0, 0.6, 0.2, 0.3, 0.4, 0.6, 0.5, -0.4, -1.2],
        },
        BladeClass::Light => Outline {
            chord_at_75: 0.139,
            size_exponent: 0.5,
            chord: [1.24, 1.29, 1.29, 1.27, 1.20, 1.12, 1.0, 0.86, 0.66, 0.55],
            beyond_helix_deg: [-25.0, -13.2, -5.0, -1.2, -0.2, -0.6, -0.8, -1.2, -2.8, -3.8],
        },
        BladeClass::Broad => Outline {
            chord_at_75: 0.180,
            size_exponent: 0.0,
            chord: [0.69, 0.79, 0.97, 0.99, 0.99, 1.0, 1.0, 1.0, 0.93, 0.12],
            beyond_helix_deg: [-11.7, -3.1, -0.8, -0.4, 0.4, 0.5, 0.9, 1.5, 0.4, -6.1],
        },
        BladeClass::Wood => Outline {
            chord_at_75: 0.127,
            size_exponent: 0.5,
            chord: [1.22, 1.18, 1.20, 1.17, 1.13, 1.07, 1.0, 0.86, 0.45, 0.16],
            beyond_helix_deg: [-16.8, 1.7, 3.5, 2.2, 1.2, 0.6, 0.0, -0.2, 1.2, 2.4],
        },
        BladeClass::SlowFly => Outline {
            chord_at_75: 0.209,
            size_exponent: 0.5,
            chord: [0.56, 0.80, 0.99, 1.11, 1.16, 1.12, 1.0, 0.79, 0.42, 0.18],
            beyond_helix_deg: [-22.6, -6.1, -0.5, 0.5, 0.2, -0.3, -0.7, -1.4, -2.9, -3.8],
        },
    }
}

/// Class of a propeller: as stated, or guessed from its markings. Low pitch on more than 200 mm is mostly meant to
/// turn slowly; below 160 mm blades are mostly broad (common practice, no source).
#[must_use]
pub fn class_of(propeller: &Propeller) -> BladeClass {
    let ratio = propeller.pitch_m / propeller.diameter_m;
    match propeller.class {
        Some(class) => class,
        None if propeller.diameter_m > 0.2 && ratio < 0.48 => BladeClass::SlowFly,
        None if propeller.diameter_m < 0.16 => BladeClass::Broad,
        None => BladeClass::Sport,
    }
}

/// Pieces of the blade of a propeller as its class has it: `count` of them, closer together towards the tip.
#[must_use]
pub fn typical(propeller: &Propeller, count: usize) -> Vec<Element> {
    let outline = outline(class_of(propeller));
    let chord_at_75 = propeller.blade_chord_m.map_or_else(
        || outline.chord_at_75 * (AT_DIAMETER_M / propeller.diameter_m).powf(outline.size_exponent),
        |chord_m| chord_m / (0.5 * propeller.diameter_m),
    );
    let table = |values: [f64; 10]| -> Vec<(f64, f64)> { AT.into_iter().zip(values).collect() };
    let (chord, beyond) = (table(outline.chord), table(outline.beyond_helix_deg));
    elements(propeller.diameter_m, count, |x| {
        let helix_rad = (propeller.pitch_m / (std::f64::consts::PI * propeller.diameter_m * x)).atan();
        (
            chord_at_75 * interpolated(&chord, x),
            (helix_rad + interpolated(&beyond, x).to_radians()).max(LEAST_TWIST_RAD),
        )
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_measured_chord_is_the_chord_of_the_blade_at_three_quarters() {
        for class in BladeClass::ALL {
            let propeller = Propeller {
                class: Some(class),
                blade_chord_m: Some(0.021),
                ..Propeller::of_markings(0.254, 0.127, 2)
            };
            let blade = typical(&propeller, 200);
            let at = blade.iter().min_by(|a, b| {
                (a.radius_m - 0.75 * 0.127).abs().total_cmp(&(b.radius_m - 0.75 * 0.127).abs())
            });
            let chord = at.unwrap().chord_m;
            assert!((chord - 0.021).abs() < 3e-4, "{class:?}: {chord}");
        }
    }

    #[test]
    fn the_helix_of_the_printed_pitch_stands_at_its_angle() {
        // Sport, 254 mm and 127 mm: atan(127/(π 254 x 0.75)) = 11.98 degrees at 75 %, and the class adds 0.1.
        let blade = typical(&Propeller::of_markings(0.254, 0.127, 2), 400);
        let near = blade.iter().find(|e| e.radius_m >= 0.75 * 0.127).unwrap();
        assert!((near.twist_rad.to_degrees() - 12.08).abs() < 0.05, "{}", near.twist_rad.to_degrees());
    }
}
