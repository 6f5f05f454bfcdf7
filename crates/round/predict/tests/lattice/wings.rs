//! Bare surfaces to lay lattices on, and the coefficients that follow.

use aircraft::section::{Section, Shape};
use aircraft::surface::{Role, Station, Surface};
use numerics::Vec3;
use predict::lattice::{Density, Flap, Lattice, Response, Spacing};

pub(crate) const ALONG: usize = 0;
pub(crate) const ACROSS: usize = 1;
pub(crate) const UP: usize = 2;
pub(crate) const ROLL: usize = 3;

pub(crate) fn flat_section() -> Section {
    Section { name: "plate".into(), shape: Shape::Naca4 { camber: 0.0, camber_at: 0.4, thickness: 0.12 } }
}

/// A station at `y` with its leading edge at `x`.
pub(crate) fn station(along_m: f64, leading_edge_m: Vec3, chord_m: f64) -> Station {
    Station { along_m, leading_edge_m, chord_m, twist_rad: 0.0, section: flat_section() }
}

/// A flat mirrored surface by (y, x of the leading edge, chord) from the plane of symmetry outwards.
pub(crate) fn plate(ribs: &[(f64, f64, f64)]) -> Surface {
    Surface {
        name: "plate".into(),
        role: Role::Wing,
        mirrored: true,
        stations: ribs.iter().map(|(y, x, chord)| station(*y, Vec3::new(*x, *y, 0.0), *chord)).collect(),
    }
}

/// A tapered wing of span `span` with an unswept quarter chord at x = 0.25 of the root chord.
pub(crate) fn tapered(span: f64, root: f64, tip: f64) -> Surface {
    plate(&[(0.0, 0.0, root), (0.5 * span, 0.25 * (root - tip), tip)])
}

/// An elliptic wing of an aspect ratio, span 1, unswept quarter chord at x = 0.
pub(crate) fn elliptic(aspect: f64) -> (Surface, f64) {
    let root = 4.0 / (std::f64::consts::PI * aspect);
    let n = 26;
    let ribs: Vec<(f64, f64, f64)> = (0..=n)
        .map(|i| {
            // The last rib stands just inside the tip, where the chord is not yet nothing.
            let y = 0.5 * (std::f64::consts::FRAC_PI_2 * f64::from(i) / (f64::from(n) + 0.3)).sin();
            let chord = root * (1.0 - 4.0 * y * y).sqrt();
            (y, -0.25 * chord, chord)
        })
        .collect();
    let area = ribs.windows(2).map(|p| (p[1].0 - p[0].0) * (p[0].2 + p[1].2)).sum();
    (plate(&ribs), area)
}

pub(crate) fn cosine(across: usize, along: usize) -> Density {
    Density { across, along, spacing: Spacing::Cosine }
}

/// A solved lattice with its reference lengths.
pub(crate) struct Case {
    pub(crate) response: Response,
    pub(crate) lattice: Lattice,
    pub(crate) area: f64,
    pub(crate) span: f64,
    pub(crate) chord: f64,
}

impl Case {
    pub(crate) fn new(
        surfaces: &[Surface],
        flaps: &[Flap],
        density: Density,
        about: Vec3,
        lengths: [f64; 3],
    ) -> Self {
        let lattice = Lattice::lay(surfaces, flaps, density, 0.0).unwrap();
        let response = lattice.solve(about);
        let [area, span, chord] = lengths;
        Self { response, lattice, area, span, chord }
    }

    /// Change of (lift, side, roll, pitch, yaw) coefficients at zero angle of attack per unit of a motion.
    pub(crate) fn slope(&self, motion: usize) -> [f64; 5] {
        let n = self.lattice.motions();
        let mut here = vec![0.0; n];
        here[ALONG] = 1.0;
        let mut change = vec![0.0; n];
        change[motion] = 1.0;
        let f = self.response.forces.slope(&here, &change);
        [
            -2.0 / self.area * f[2],
            2.0 / self.area * f[1],
            2.0 / (self.area * self.span) * f[3],
            2.0 / (self.area * self.chord) * f[4],
            2.0 / (self.area * self.span) * f[5],
        ]
    }

    pub(crate) fn lift_slope(&self) -> f64 {
        self.slope(UP)[0]
    }

    /// Rolling moment per p b/2V.
    pub(crate) fn roll_damping(&self) -> f64 {
        self.slope(ROLL)[2] * 2.0 / self.span
    }

    /// Span efficiency of the load by angle of attack.
    pub(crate) fn efficiency(&self) -> f64 {
        let drag = 2.0 / self.area * self.response.drag[UP][UP];
        self.lift_slope().powi(2) / (std::f64::consts::PI * self.span * self.span / self.area * drag)
    }
}

#[track_caller]
pub(crate) fn near(name: &str, value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{name}: {value:.5} instead of {expected:.5} within {tolerance}"
    );
}
