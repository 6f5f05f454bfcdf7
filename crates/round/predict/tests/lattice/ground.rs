//! The mirror image under the ground, against the trade's formula for it.

use numerics::Vec3;
use predict::lattice::{Density, Lattice, Spacing};

use crate::wings::plate;

/// Lift slope of a flat rectangular wing of aspect ratio 6, in free air or at a height over the ground (span 1.8 m).
fn slope(height_over_span: Option<f64>) -> f64 {
    let wing = plate(&[(0.0, 0.0, 0.3), (0.9, 0.0, 0.3)]);
    let density = Density { across: 16, along: 5, spacing: Spacing::Cosine };
    let mut lattice = Lattice::lay(&[wing], &[], density, 0.0).unwrap();
    if let Some(h) = height_over_span {
        lattice = lattice.over_ground(Vec3::new(0.0, 0.0, -1.8 * h), Vec3::z());
    }
    let forces = lattice.solve(Vec3::zeros()).forces;
    let mut motion = vec![0.0; lattice.motions()];
    (motion[0], motion[2]) = (1.0, 0.01);
    -forces.at(&motion)[2] / 0.01
}

#[test]
fn a_wing_near_the_ground_lifts_more() {
    // Wieselsberger, NACA TM 77 (1922), from memory: the induced angle falls by σ = (1 - 1.32 h/b)/(1.05 + 7.4 h/b) for
    // h/b of 1/15 to 1/2; with a section slope of 2π and aspect ratio 6 the slope grows by
    // (1 + 1/3)/(1 + (1 - σ)/3). The image of the bound vortex, which that leaves out, is worth some per cent more or less.
    for (h, tolerance) in [(0.15, 0.03), (0.25, 0.02), (0.45, 0.01)] {
        let sigma = (1.0 - 1.32 * h) / (1.05 + 7.4 * h);
        let expected = (4.0 / 3.0) / (1.0 + (1.0 - sigma) / 3.0);
        let ratio = slope(Some(h)) / slope(None);
        assert!((ratio - expected).abs() < tolerance, "{h}: {ratio} {expected}");
        assert!(ratio > 1.0);
    }
    // Ten spans up the ground is gone.
    assert!((slope(Some(10.0)) / slope(None) - 1.0).abs() < 1e-3);
}
