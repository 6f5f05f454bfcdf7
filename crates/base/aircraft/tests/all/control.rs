//! Signs of every kind of panel; linkages against closed forms.

use aircraft::control::{
    Axis, axis_throw_rad, deflection_from_trailing_edge_m, panel_gain, panel_normal,
    trailing_edge_m_from_deflection,
};
use aircraft::movable::{Linkage, Mix, Movable, Panels};
use aircraft::surface::{Role, Surface};
use numerics::Vec3;
use proptest::prelude::*;

use crate::sample::{aircraft, close, movable, panel, servo};

const DEG: f64 = std::f64::consts::PI / 180.0;

fn all_ways() -> Mix {
    Mix { roll: 1.0, pitch: 1.0, yaw: 1.0, flap: 1.0 }
}

fn surface(role: Role, mirrored: bool, dihedral_deg: f64) -> Surface {
    panel(role, mirrored, [0.5, 0.0, 0.0], 0.4, dihedral_deg * DEG, [0.1, 0.1], 0.02)
}

fn gains(surface: Surface, panels: Panels, left: bool) -> [f64; 4] {
    let aircraft = aircraft(vec![surface], vec![movable("m", 0, panels, all_ways())]);
    Axis::ALL.map(|axis| panel_gain(&aircraft, &aircraft.movables[0], axis, left))
}

/// The expected signs follow from the force on the panel: a panel deflected against its normal is pushed along the
/// normal. Moment = arm x force about a centre of gravity ahead of (foreplane: behind) the panel; a positive axis
/// deflection has to give a negative moment. Derived per row in the comment.
#[test]
fn every_panel_moves_the_way_that_gives_a_negative_moment() {
    #[track_caller]
    fn check(case: &str, surface: Surface, panels: Panels, right: [f64; 4], left: [f64; 4]) {
        assert_eq!(gains(surface.clone(), panels, false), right, "{case}, right or only panel");
        assert_eq!(gains(surface, panels, true), left, "{case}, left panel");
    }
    // Right panel down lifts the right wing: rolls left. Both down behind the balance point: nose down. Slight
    // dihedral: the right panel's normal leans left (n_y < 0), so down pushes left of a tail: the nose goes right,
    // positive; therefore up for rudder.
    check(
        "wing of 5 degrees",
        surface(Role::Wing, true, 5.0),
        Panels::Pair,
        [1.0, 1.0, -1.0, 1.0],
        [-1.0, 1.0, 1.0, 1.0],
    );
    check(
        "flat wing does not yaw",
        surface(Role::Wing, true, 0.0),
        Panels::Pair,
        [1.0, 1.0, 0.0, 1.0],
        [-1.0, 1.0, 0.0, 1.0],
    );
    check(
        "V-tail of 40 degrees",
        surface(Role::VTail, true, 40.0),
        Panels::Pair,
        [1.0, 1.0, -1.0, 1.0],
        [-1.0, 1.0, 1.0, 1.0],
    );
    // Below the boom the right panel's normal leans right: rudder the other way round.
    check(
        "inverted V of -40 degrees",
        surface(Role::VTail, true, -40.0),
        Panels::Pair,
        [1.0, 1.0, 1.0, 1.0],
        [-1.0, 1.0, -1.0, 1.0],
    );
    // Normal points left, so trailing edge left (positive rudder) is along it.
    check("single fin", surface(Role::Fin, false, 90.0), Panels::One, [0.0, 0.0, -1.0, 0.0], [0.0; 4]);
    // Two fins turn the same way in space: the left one's normal points right.
    check(
        "twin fins on one servo",
        surface(Role::Fin, true, 90.0),
        Panels::One,
        [0.0, 0.0, -1.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    );
    // Ahead of the balance point, down lifts the nose.
    check(
        "foreplane",
        surface(Role::Foreplane, true, 0.0),
        Panels::One,
        [0.0, -1.0, 0.0, 1.0],
        [0.0, -1.0, 0.0, 1.0],
    );
    check(
        "plain elevator as one piece",
        surface(Role::Tailplane, true, 0.0),
        Panels::One,
        [0.0, 1.0, 0.0, 1.0],
        [0.0, 1.0, 0.0, 1.0],
    );
    // Fin below the boom, described from its root down: its normal points right.
    check("fin below", surface(Role::Fin, false, -90.0), Panels::One, [0.0, 0.0, 1.0, 0.0], [0.0; 4]);
}

#[test]
fn the_normal_of_a_panel_is_that_of_its_dihedral_and_the_left_one_its_image() {
    let surface = surface(Role::VTail, true, 35.0);
    let movable = movable("m", 0, Panels::Pair, all_ways());
    let (s, c) = (35.0 * DEG).sin_cos();
    assert!((panel_normal(&surface, &movable, false) - Vec3::new(0.0, -s, c)).norm() < 1e-12);
    assert!((panel_normal(&surface, &movable, true) - Vec3::new(0.0, s, c)).norm() < 1e-12);
}

#[test]
fn throws_of_an_axis_come_from_the_panels_that_take_part() {
    let roll = |share| Mix { roll: share, ..Mix::default() };
    let wing = surface(Role::Wing, true, 3.0);
    let plain = aircraft(vec![wing.clone()], vec![movable("aileron", 0, Panels::Pair, roll(1.0))]);
    // One panel 20 degrees up, the other 12 down: right trailing edge down less left, halved, is 16.
    let throw = axis_throw_rad(&plain, Axis::Roll).expect("ailerons");
    close("differential, stick right", throw.positive_demand_rad / DEG, 16.0, 1e-12);
    close("differential, stick left", throw.negative_demand_rad / DEG, 16.0, 1e-12);
    assert!(axis_throw_rad(&plain, Axis::Pitch).is_none());

    let tail = aircraft(
        vec![surface(Role::Tailplane, true, 0.0)],
        vec![movable("elevator", 0, Panels::One, Mix { pitch: 1.0, ..Mix::default() })],
    );
    let throw = axis_throw_rad(&tail, Axis::Pitch).expect("elevator");
    close("stick back, trailing edge up", throw.positive_demand_rad / DEG, 20.0, 1e-12);
    close("stick forward, trailing edge down", throw.negative_demand_rad / DEG, 12.0, 1e-12);

    // Gain 0.5 times 16 degrees is the half share of both throws: 10 up, 6 down, halved 8.
    let elevon = aircraft(vec![wing], vec![movable("elevon", 0, Panels::Pair, roll(0.5))]);
    let throw = axis_throw_rad(&elevon, Axis::Roll).expect("elevons");
    let gain = panel_gain(&elevon, &elevon.movables[0], Axis::Roll, false);
    close("half share", gain * throw.positive_demand_rad / DEG, 8.0, 1e-12);

    let flaps = aircraft(
        vec![surface(Role::Wing, true, 0.0)],
        vec![movable("flap", 0, Panels::Pair, Mix { flap: 1.0, ..Mix::default() })],
    );
    let throw = axis_throw_rad(&flaps, Axis::Flap).expect("flaps");
    close("flaps go down on demand", throw.positive_demand_rad / DEG, 12.0, 1e-12);
}

/// Geometry of the arc: derived in `control`; numbers recomputed independently (asin and atan would give the wrong
/// 13.8865 and 13.4957 for the first row).
#[test]
fn trailing_edge_movement_is_measured_along_the_chord_of_the_arc() {
    for (chord_mm, moved_mm, expected_deg) in
        [(50.0, 12.0, 13.7842), (40.0, 10.0, 14.3615), (60.0, 15.0, 14.3615)]
    {
        let angle =
            deflection_from_trailing_edge_m(moved_mm / 1000.0, chord_mm / 1000.0).expect("within reach");
        close("2 asin(d/2c)", angle / DEG, expected_deg, 1e-3);
        close(
            "and back",
            trailing_edge_m_from_deflection(angle, chord_mm / 1000.0),
            moved_mm / 1000.0,
            1e-15,
        );
    }
    assert_eq!(deflection_from_trailing_edge_m(0.1, 0.04), None, "further than the arc reaches");
    assert_eq!(deflection_from_trailing_edge_m(0.01, 0.0), None, "no chord");
}

fn linkage(arm_mm: f64, horn_mm: f64, base_mm: f64) -> Linkage {
    Linkage {
        arm_m: arm_mm / 1000.0,
        horn_m: horn_mm / 1000.0,
        base_m: base_mm / 1000.0,
        thread_pitch_m: 0.0004,
    }
}

/// Exact loop closure solved numerically elsewhere (a general root finder on the rod length), tolerance that of
/// the printed digits.
#[test]
fn a_four_bar_with_a_finite_rod_is_not_symmetric() {
    let linkage = linkage(12.0, 15.0, 100.0);
    for (servo_deg, expected_deg) in [
        (-45.0, -34.5873),
        (-30.0, -23.6246),
        (-15.0, -11.9597),
        (15.0, 11.9398),
        (30.0, 23.5304),
        (45.0, 34.3052),
    ] {
        let surface = linkage.surface_from_servo(servo_deg * DEG).expect("closes");
        close("four-bar", surface / DEG, expected_deg, 1e-4);
    }
}

/// Long-rod limit: arm sin φ = horn sin θ. At a base of 100 m the rod's tilt adds less than 1e-4 rad.
#[test]
fn a_long_rod_gives_the_ratio_of_sines() {
    let linkage = linkage(12.0, 15.0, 1e5);
    for (servo_deg, expected_deg) in [(15.0, 11.9498), (30.0, 23.5782), (45.0, 34.4499)] {
        let surface = linkage.surface_from_servo(servo_deg * DEG).expect("closes");
        close("long rod", surface / DEG, expected_deg, 1e-3);
    }
}

/// A parallelogram: opposite sides stay parallel, so both levers turn by the same angle.
#[test]
fn equal_arms_turn_by_equal_angles() {
    let linkage = linkage(14.0, 14.0, 90.0);
    for servo_deg in [-60.0, -20.0, 0.0, 35.0, 60.0] {
        let surface = linkage.surface_from_servo(servo_deg * DEG).expect("closes");
        close("parallelogram", surface, servo_deg * DEG, 1e-9);
    }
}

/// One turn of a 0.4 mm thread on a 12 mm horn: 0.4/12 rad = 1.91 degrees.
#[test]
fn a_turn_of_the_clevis_moves_the_surface_by_the_pitch_over_the_horn() {
    close("long rod", linkage(0.0, 12.0, 0.0).clevis_turns(1.91 * DEG).expect("horn"), 1.0, 0.005);
    close("four-bar", linkage(12.0, 12.0, 100.0).clevis_turns(1.91 * DEG).expect("horn"), 1.0, 0.005);
    assert_eq!(linkage(12.0, 0.0, 0.0).clevis_turns(0.1), None, "horn not measured");
}

#[test]
fn a_linkage_that_cannot_close_is_refused() {
    // An arm of 30 mm drives a horn of 10 mm: at 60 degrees it asks for 26 mm of a lever that moves 10.
    assert_eq!(linkage(30.0, 10.0, 80.0).surface_from_servo(60.0 * DEG), None);
}

fn with_linkage(linkage: Linkage) -> Movable {
    Movable { linkage, ..movable("m", 0, Panels::One, Mix::default()) }
}

/// Definition: 0.1 degree a microsecond, so 200 µs from centre are 20 degrees of the arm.
#[test]
fn a_pulse_turns_the_arm_in_proportion() {
    let movable = with_linkage(linkage(12.0, 12.0, 80.0));
    let servo = servo();
    close("1700 µs", movable.deflection_from_pulse(&servo, 1700.0).expect("closes") / DEG, 20.0, 1e-9);
    let mut reversed = servo.clone();
    reversed.reversed = true;
    close("reversed", movable.deflection_from_pulse(&reversed, 1700.0).expect("closes") / DEG, -20.0, 1e-9);
    let plain = with_linkage(Linkage::default());
    close(
        "not measured: the larger throw at full travel",
        plain.deflection_from_pulse(&servo, 2000.0).expect("proportional") / DEG,
        20.0,
        1e-9,
    );
    let mut dead = servo;
    dead.travel_us = 0.0;
    assert_eq!(plain.deflection_from_pulse(&dead, 1600.0), None);
    assert_eq!(plain.pulse_from_deflection(&dead, 0.1), None);
}

proptest! {
    #[test]
    fn pulse_and_deflection_are_each_others_inverse(
        arm in 6.0..20.0_f64, ratio in 0.8..2.0_f64, base in 60.0..400.0_f64,
        pulse in 1100.0..1900.0_f64, measured: bool, is_reversed: bool,
    ) {
        let movable = with_linkage(if measured { linkage(arm, arm * ratio, base) } else { Linkage::default() });
        let mut servo = servo();
        servo.reversed = is_reversed;
        let deflection = movable.deflection_from_pulse(&servo, pulse).expect("an ordinary linkage closes");
        let back = movable.pulse_from_deflection(&servo, deflection).expect("and opens");
        prop_assert!((back - pulse).abs() < 1e-6, "{} to {} and back to {}", pulse, deflection, back);
    }

    #[test]
    fn the_rod_keeps_its_length(
        arm in 6.0..20.0_f64, ratio in 0.8..2.0_f64, base in 60.0..400.0_f64, servo_deg in -45.0..45.0_f64,
    ) {
        let (horn, angle) = (arm * ratio, servo_deg * DEG);
        let surface = linkage(arm, horn, base).surface_from_servo(angle).expect("closes");
        let rod = (base + horn * surface.sin() - arm * angle.sin())
            .hypot(horn * surface.cos() - arm * angle.cos());
        prop_assert!((rod - base.hypot(horn - arm)).abs() < 1e-9 * base);
    }
}
