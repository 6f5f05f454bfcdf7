//! Single wings: textbook lattices, measured wings, lifting line, thin sections.

use std::f64::consts::PI;

use numerics::Vec3;
use predict::lattice::{Density, Flap, Lattice, Spacing};

use crate::wings::{ACROSS, Case, ROLL, UP, cosine, elliptic, near, plate, tapered};

/// Aspect ratio 5, swept 45 deg, no taper, span 1.
fn swept(density: Density) -> Case {
    Case::new(&[plate(&[(0.0, 0.0, 0.2), (0.5, 0.5, 0.2)])], &[], density, Vec3::zeros(), [0.2, 1.0, 0.2])
}

#[test]
fn four_horseshoes_a_side_give_the_textbook_circulations_and_slope() {
    // Bertin & Smith, Aerodynamics for Engineers, ch. 7, worked example: Γ/(4π b V α) .0273 .0287 .0286 .0250 from root
    // to tip, lift slope 3.443 per rad.
    let case = swept(Density { across: 4, along: 1, spacing: Spacing::Even });
    assert_eq!(case.lattice.panels.len(), 8);
    let mut right: Vec<(f64, f64)> = case
        .lattice
        .strips
        .iter()
        .zip(&case.response.strips)
        .filter(|(s, _)| !s.left)
        .map(|(s, g)| (s.along_m, g[UP] / (4.0 * PI)))
        .collect();
    right.sort_by(|a, b| a.0.total_cmp(&b.0));
    for ((_, value), expected) in right.iter().zip([0.0273, 0.0287, 0.0286, 0.0250]) {
        near("circulation", *value, expected, 5e-5);
    }
    near("lift slope", case.lift_slope(), 3.443, 0.002);
}

#[test]
fn the_swept_wing_converges_to_the_fine_lattice() {
    // Independent numpy lattice, 8 x 40 a half span: 3.185 per rad, neutral point 1.424 chords aft of the apex.
    let case = swept(cosine(24, 6));
    let [lift, _, _, pitch, _] = case.slope(UP);
    near("lift slope", lift, 3.185, 0.02);
    near("neutral point", -pitch / lift, 1.424, 0.01);
}

#[test]
fn the_swept_wing_lifts_and_drags_as_measured() {
    // Weber & Brebner, ARC R&M 2882, table 4: same planform, 12 % thick section, measured. Lift within 6 % (boundary
    // layer against thickness). Drag above that at no lift: within 0.0015 at 4.2 deg; at more the measured drag also
    // holds the growth of profile drag and the loss of leading-edge suction, so it must lie between the lattice's drag
    // (full suction) and half of the way to none (lift leaning back by the angle of attack).
    let case = swept(cosine(24, 6));
    for (alpha_deg, lift) in [(2.1_f64, 0.121), (4.2, 0.238), (6.3, 0.350), (8.4, 0.456)] {
        let value = case.lift_slope() * alpha_deg.to_radians().sin();
        near("measured lift", value / lift, 1.0, 0.06);
    }
    for (alpha_deg, lift, drag) in [(4.2_f64, 0.238, 0.005), (6.3, 0.350, 0.012), (8.4, 0.456, 0.022)] {
        let alpha = alpha_deg.to_radians();
        let full = 2.0 / case.area * case.response.drag[UP][UP] * alpha.sin().powi(2);
        if alpha_deg < 5.0 {
            near("measured drag rise", full, drag, 0.0015);
        }
        assert!(full < drag && drag < 0.5 * (full + lift * alpha.tan()), "{full} {drag}");
    }
}

#[test]
fn warren_twelve_has_the_published_slopes() {
    // 'Warren 12': CLα 2.743, Cmα about the apex -3.10 per rad, reference length 1 (Mason, Applied Computational
    // Aerodynamics, from memory; an independent numpy lattice gives 2.7464 and -3.0975). 1 %.
    let half = 2.0_f64.sqrt();
    let case = Case::new(
        &[plate(&[(0.0, 0.0, 1.5), (half, half * 53.54_f64.to_radians().tan(), 0.5)])],
        &[],
        cosine(24, 8),
        Vec3::zeros(),
        [2.0 * half, 2.0 * half, 1.0],
    );
    let [lift, _, _, pitch, _] = case.slope(UP);
    near("lift slope", lift, 2.743, 0.0274);
    near("moment slope", pitch, -3.10, 0.031);
}

#[test]
fn elliptic_wings_lie_below_the_lifting_line_and_near_helmbold() {
    for aspect in [6.0_f64, 8.0, 10.0] {
        let (wing, area) = elliptic(aspect);
        let case = Case::new(&[wing], &[], cosine(14, 5), Vec3::zeros(), [area, 1.0, area]);
        // Helmbold 1942: a0 / (sqrt(1 + q²) + q), q = a0/(π A), a0 = 2π. Prandtl: a0/(1 + q).
        let q = 2.0 / aspect;
        let helmbold = 2.0 * PI / ((1.0 + q * q).sqrt() + q);
        // 3.5 %: the formula is an approximation that lattices of any planform stay below at these aspect ratios (the
        // independent numpy lattice by 3.6 % at aspect ratio 8, taper 0.5); more panels change nothing here.
        near("Helmbold", case.lift_slope() / helmbold, 1.0, 0.035);
        assert!(case.lift_slope() < 2.0 * PI / (1.0 + q), "lifting line is the upper bound");
        // Munk: elliptic loading has span efficiency one, the best there is. 0.8 %: a lifting surface of elliptic planform
        // is loaded nearly, not exactly, elliptically.
        near("efficiency", case.efficiency(), 1.0, 0.008);
        assert!(case.efficiency() < 1.0005);
    }
}

#[test]
fn the_elliptic_wing_of_aspect_ratio_six_agrees_with_another_lattice() {
    // An independent lattice (numpy, values computed 2026-11-25) on the same planform, straight quarter chord: 4.391
    // (8 x 40 a half span, even with the tip drawn in), 4.411 (4 x 60, cosine), 4.427 (12 x 30, cosine). So Helmbold's
    // 4.53, which the test above allows 3.5 % for, is two to three per cent high for this wing, and what is missed there is
    // the formula's. 1 % of 4.41.
    let (wing, area) = elliptic(6.0);
    let case = Case::new(&[wing], &[], cosine(14, 5), Vec3::zeros(), [area, 1.0, area]);
    near("lift slope", case.lift_slope() / 4.41, 1.0, 0.01);
}

#[test]
fn roll_damping_of_an_elliptic_wing_is_an_eighth_below_lifting_line() {
    // Lifting line: -(π/4) A/(A + 4) = -0.4712 for A 6; lifting-surface theory 13 % lower (Swanson & Priddy, NACA ARR
    // L5F23, 1945), about -0.410. 3 %.
    let (wing, area) = elliptic(6.0);
    let case = Case::new(&[wing], &[], cosine(14, 5), Vec3::zeros(), [area, 1.0, area]);
    near("roll damping", case.roll_damping() / -0.410, 1.0, 0.03);
    assert!(case.roll_damping() > -(PI / 4.0) * 6.0 / 10.0);
}

#[test]
fn straight_wings_converge_to_the_fine_lattice_and_stay_below_lifting_line() {
    // Independent numpy lattice, 8 x 40 a half span: slope, efficiency, roll damping. 1 %.
    // Lifting line (Glauert series, 400 terms): slope and roll damping, the upper bounds.
    for (span, root, tip, [lift, efficiency, damping], [line_lift, line_damping]) in [
        (6.0, 1.0, 1.0, [4.214, 0.984, -0.440], [4.5304, -0.523]),
        (8.0, 4.0 / 3.0, 2.0 / 3.0, [4.727, 0.996, -0.486], [4.9638, -0.5438]),
    ] {
        let case =
            Case::new(&[tapered(span, root, tip)], &[], cosine(24, 6), Vec3::zeros(), [span, span, 1.0]);
        near("lift slope", case.lift_slope() / lift, 1.0, 0.01);
        near("efficiency", case.efficiency() / efficiency, 1.0, 0.01);
        near("roll damping", case.roll_damping() / damping, 1.0, 0.01);
        assert!(case.lift_slope() < line_lift && case.roll_damping() > line_damping);
    }
}

#[test]
fn the_rectangular_wing_has_its_neutral_point_ahead_of_the_quarter_chord() {
    // Independent numpy lattice, aspect ratio 6: 0.239 chords; lifting-surface theory has it ahead of 0.25.
    let case = Case::new(&[tapered(6.0, 1.0, 1.0)], &[], cosine(24, 6), Vec3::zeros(), [6.0, 6.0, 1.0]);
    let [lift, _, _, pitch, _] = case.slope(UP);
    near("neutral point", -pitch / lift, 0.239, 0.003);
}

#[test]
fn strip_theory_bounds_the_roll_damping() {
    // Strip theory with section slope a, no taper: Clp = -a/6 = -1.047; with the wing's own slope for a: -4.21/6.
    let case = Case::new(&[tapered(6.0, 1.0, 1.0)], &[], cosine(16, 5), Vec3::zeros(), [6.0, 6.0, 1.0]);
    let damping = case.roll_damping();
    assert!(damping < 0.0 && damping > -2.0 * PI / 6.0);
    // Induced loss of an antisymmetric load is that of half the aspect ratio, so well above the wing's own share.
    assert!(damping > -case.lift_slope() / 6.0, "{damping}");
}

#[test]
fn plain_flaps_have_glauerts_effectiveness_and_moment() {
    // Glauert: τ = 1 - (θ - sin θ)/π, dcm/dδ = -(sin θ)(1 - cos θ)/2, cos θ = 2E - 1; numbers from the closed forms.
    for (share, effect, moment) in
        [(0.20_f64, 0.550, -0.640), (0.25, 0.609, -0.650), (0.30, 0.661, -0.642), (0.40, 0.748, -0.588)]
    {
        let span = 2000.0;
        let flap = Flap {
            surface: 0,
            inner_m: 0.0,
            outer_m: 0.5 * span,
            hinge_inner: 1.0 - share,
            hinge_outer: 1.0 - share,
        };
        let case = Case::new(
            &[tapered(span, 1.0, 1.0)],
            &[flap],
            Density { across: 4, along: 60, spacing: Spacing::Cosine },
            Vec3::new(0.25, 0.0, 0.0),
            [span, span, 1.0],
        );
        let (right, left) = (Lattice::flap_motion(0, false), Lattice::flap_motion(0, true));
        let by = |k: usize| case.slope(right)[k] + case.slope(left)[k];
        near("effectiveness", by(0) / case.lift_slope() / effect, 1.0, 0.01);
        near("moment", by(3) / moment, 1.0, 0.012);
    }
}

#[test]
fn ailerons_have_the_power_of_the_fine_lattice() {
    // Independent numpy lattice: aspect ratio 8, 25 % chord, outer half span, both moving: |Clδ| 0.361 per rad of each;
    // steady pb/2V 0.699 per rad. 3 %.
    let flap = Flap { surface: 0, inner_m: 2.0, outer_m: 4.0, hinge_inner: 0.75, hinge_outer: 0.75 };
    let case = Case::new(&[tapered(8.0, 1.0, 1.0)], &[flap], cosine(24, 8), Vec3::zeros(), [8.0, 8.0, 1.0]);
    // Right trailing edge down, left up: rolls left.
    let power = case.slope(Lattice::flap_motion(0, false))[2] - case.slope(Lattice::flap_motion(0, true))[2];
    near("aileron power", power / -0.361, 1.0, 0.03);
    near("steady roll", power / case.roll_damping() / 0.699, 1.0, 0.03);
}

#[test]
fn a_straight_symmetric_wing_has_no_sideways_answer_to_angle_of_attack() {
    let wing = plate(&[(0.0, 0.0, 0.3), (0.4, 0.05, 0.2), (0.7, 0.2, 0.1)]);
    let case = Case::new(&[wing], &[], cosine(12, 4), Vec3::zeros(), [0.3, 1.4, 0.2]);
    let [_, side, roll, _, yaw] = case.slope(UP);
    for v in [side, roll, yaw] {
        assert!(v.abs() < 1e-9, "{v}");
    }
    // With an angle of attack, sideslip both ways gives opposite answers.
    let motion = |across: f64| {
        let mut m = vec![0.0; case.lattice.motions()];
        (m[0], m[ACROSS], m[UP]) = (1.0, across, 0.1);
        case.response.forces.at(&m)
    };
    let (one, other) = (motion(0.1), motion(-0.1));
    for k in [1, 3, 5] {
        assert!((one[k] + other[k]).abs() < 1e-9, "component {k}");
    }
    for k in [0, 2, 4] {
        assert!((one[k] - other[k]).abs() < 1e-9, "component {k}");
    }
}

#[test]
fn a_rolling_lifting_wing_yaws_away_from_the_roll() {
    // Lifting line, axes of the stream: leaning lift vectors give -CL/8 without the induced part, half to a third of it
    // taken back at these aspect ratios (Glauert's series for straight wings, from memory): -CL/16 to -CL/8.
    let (wing, area) = elliptic(8.0);
    let case = Case::new(&[wing], &[], cosine(14, 4), Vec3::zeros(), [area, 1.0, area]);
    let n = case.lattice.motions();
    let alpha: f64 = 0.1;
    let mut here = vec![0.0; n];
    (here[0], here[UP]) = (alpha.cos(), alpha.sin());
    // Roll about the stream: p cos α, r sin α; yaw about its normal likewise.
    let mut change = vec![0.0; n];
    (change[ROLL], change[ROLL + 2]) = (2.0 * alpha.cos(), 2.0 * alpha.sin());
    let f = case.response.forces.slope(&here, &change);
    let lift = case.lift_slope() * alpha;
    let yaw = 2.0 / area * (f[5] * alpha.cos() - f[3] * alpha.sin());
    assert!(yaw < -lift / 16.0 && yaw > -lift / 8.0, "{} of CL", yaw / lift);
}
