//! The mirror image under the ground, against the trade's formula for it.

use std::f64::consts::PI;

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
    // h/b of 1/15 to 1/2. The section's own slope grows: a vortex at a quarter of the chord, flow tangent at three
    // quarters, image 2h below: Γ/(πc) less Γ (c/2)/(2π (c²/4 + 4h²)) = U α, so 2π (1 + (c/4h)²). Aspect ratio 6:
    // slope a/(1 + a (1 - σ)/6π) over 2π/(1 + 1/3). Both are fits or first terms: two to three per cent.
    for (h, tolerance) in [(0.15, 0.03), (0.25, 0.02), (0.45, 0.01)] {
        let sigma = (1.0 - 1.32 * h) / (1.05 + 7.4 * h);
        let section = 2.0 * PI * (1.0 + (1.0_f64 / (4.0 * 6.0 * h)).powi(2));
        let expected = section / (1.0 + section * (1.0 - sigma) / (6.0 * PI)) / (2.0 * PI / (4.0 / 3.0));
        let ratio = slope(Some(h)) / slope(None);
        assert!((ratio - expected).abs() < tolerance, "{h}: {ratio} {expected}");
        assert!(ratio > 1.0);
    }
    // Ten spans up the ground is gone.
    assert!((slope(Some(10.0)) / slope(None) - 1.0).abs() < 1e-3);
}
