//! Areas and chords against closed forms of straight-edged wings.

use aircraft::geometry::{lever_arm_m, reference, tail_volumes};
use aircraft::surface::{Role, Surface};

use crate::sample::{aircraft, close, panel};

const DEG: f64 = std::f64::consts::PI / 180.0;

fn wing(dihedral_deg: f64) -> Surface {
    panel(Role::Wing, true, [0.2, 0.0, 0.0], 0.7, dihedral_deg * DEG, [0.3, 0.1], 0.14)
}

/// Trapezoid of root chord c and taper λ: area (1+λ)/2 c b, mean chord 2/3 c (1+λ+λ²)/(1+λ), at
/// b/6 (1+2λ)/(1+λ) from the centre, where the leading edge has run aft in proportion.
#[test]
fn a_trapezoid_has_the_textbook_mean_chord() {
    let got = reference(&aircraft(vec![wing(0.0)], vec![])).expect("a wing");
    let (root, taper, span) = (0.3, 1.0 / 3.0, 1.4);
    close("area", got.area_m2, root * (1.0 + taper) / 2.0 * span, 1e-12);
    let chord = 2.0 / 3.0 * root * (1.0 + taper + taper * taper) / (1.0 + taper);
    close("mean chord", got.mean_chord_m, chord, 1e-12);
    let y = span / 6.0 * (1.0 + 2.0 * taper) / (1.0 + taper);
    close("its place on the span", got.mean_chord_y_m, y, 1e-12);
    close("its leading edge", got.mean_chord_x_m, 0.2 + 0.14 * y / 0.7, 1e-12);
    close("span", got.span_m, span, 1e-12);
    close("aspect ratio", got.aspect_ratio, span * span / (0.4 * 0.7), 1e-12);
}

/// Projection shortens the span by cos Γ and leaves chords alone.
#[test]
fn dihedral_shortens_the_projected_span_only() {
    let flat = reference(&aircraft(vec![wing(0.0)], vec![])).expect("a wing");
    let raised = reference(&aircraft(vec![wing(20.0)], vec![])).expect("a wing");
    let cosine = (20.0 * DEG).cos();
    close("area", raised.area_m2, flat.area_m2 * cosine, 1e-12);
    close("span", raised.span_m, flat.span_m * cosine, 1e-12);
    close("mean chord", raised.mean_chord_m, flat.mean_chord_m, 1e-12);
}

/// Two panels: area and chord integrals add. Rectangle 0.3 x 0.4 and taper 0.3 to 0.15 over 0.3.
#[test]
fn a_wing_of_two_panels_adds_their_integrals() {
    let mut wing = panel(Role::Wing, true, [0.0; 3], 0.4, 0.0, [0.3, 0.3], 0.0);
    let mut tip = wing.stations[1].clone();
    tip.along_m = 0.7;
    tip.leading_edge_m.y = 0.7;
    tip.leading_edge_m.x = 0.06;
    tip.chord_m = 0.15;
    wing.stations.push(tip);
    let got = reference(&aircraft(vec![wing], vec![])).expect("a wing");
    let half = 0.3 * 0.4 + 0.225 * 0.3;
    let squares = 0.09 * 0.4 + (0.09 + 0.045 + 0.0225) / 3.0 * 0.3;
    close("area", got.area_m2, 2.0 * half, 1e-12);
    close("mean chord", got.mean_chord_m, squares / half, 1e-12);
    // ∫ c x dy over the outer panel with u from 0 to 1: 0.3 ∫ (0.3 - 0.15 u)(0.06 u) du = 0.3 (0.009 - 0.003).
    close("leading edge", got.mean_chord_x_m, 0.3 * 0.006 / half, 1e-12);
}

#[test]
fn tail_volumes_are_area_times_lever_over_wing() {
    let wing = panel(Role::Wing, true, [0.2, 0.0, 0.0], 0.7, 0.0, [0.2, 0.2], 0.0);
    let tail = panel(Role::Tailplane, true, [0.9, 0.0, 0.0], 0.2, 0.0, [0.12, 0.12], 0.0);
    let fin = panel(Role::Fin, false, [0.9, 0.0, 0.0], 0.15, 90.0 * DEG, [0.16, 0.16], 0.0);
    let plane = aircraft(vec![wing.clone(), tail, fin], vec![]);
    let volumes = tail_volumes(&plane).expect("a wing");
    // Quarter chords: wing 0.25, tail 0.93, fin 0.94.
    close("horizontal", volumes.horizontal.expect("tail"), 0.048 * 0.68 / (0.28 * 0.2), 1e-12);
    close("vertical", volumes.vertical.expect("fin"), 0.024 * 0.69 / (0.28 * 1.4), 1e-12);
    close("lever of the tail", lever_arm_m(&plane, &plane.surfaces[1]).expect("area"), 0.68, 1e-12);
    assert_eq!(volumes.foreplane, None);

    // A V-tail works as cos² of its area in pitch and sin² in yaw (Purser & Campbell, NACA Report 823, 1945).
    let v = panel(Role::VTail, true, [0.9, 0.0, 0.0], 0.2, 35.0 * DEG, [0.12, 0.12], 0.0);
    let volumes = tail_volumes(&aircraft(vec![wing.clone(), v], vec![])).expect("a wing");
    let (s, c) = (35.0 * DEG).sin_cos();
    close("V, pitch", volumes.horizontal.expect("v"), c * c * 0.048 * 0.68 / (0.28 * 0.2), 1e-12);
    close("V, yaw", volumes.vertical.expect("v"), s * s * 0.048 * 0.68 / (0.28 * 1.4), 1e-12);

    let fore = panel(Role::Foreplane, true, [-0.3, 0.0, 0.0], 0.2, 0.0, [0.12, 0.12], 0.0);
    let volumes = tail_volumes(&aircraft(vec![wing, fore], vec![])).expect("a wing");
    close("ahead is positive", volumes.foreplane.expect("fore"), 0.048 * 0.52 / (0.28 * 0.2), 1e-12);
}

#[test]
fn without_a_wing_there_is_no_reference() {
    assert_eq!(reference(&aircraft(vec![], vec![])), None);
}
