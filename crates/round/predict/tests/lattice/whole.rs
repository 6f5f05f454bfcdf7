//! A whole aircraft: signs, sizes, invariances, trim.

use aircraft::Aircraft;
use aircraft::movable::{Mix, Panels};
use aircraft::surface::Role;
use numerics::Vec3;
use predict::air::Air;
use predict::lattice::{Solved, solve};
use predict::prediction::NotPredicted;
use predict::trim::{elevator_left_at_stall_rad, forward_limit_x_m, trim};

use crate::aircraft_model::{four_digits, movable, surface, trainer};
use crate::wings::near;

const AIR: Air = Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
const CG: Vec3 = Vec3::new(0.08, 0.0, 0.02);
/// Dihedral of the trainer's wing, rad.
const DIHEDRAL: f64 = 0.07;

fn solved(aircraft: &Aircraft) -> Solved {
    solve(aircraft, CG, &AIR, 14.0).unwrap()
}

#[test]
fn the_trainer_has_the_signs_of_a_stable_aircraft() {
    let s = solved(&trainer(DIHEDRAL));
    let d = s.aerodynamics.derivatives;
    for (name, value) in [
        ("Cma", d.Cma),
        ("Cmq", d.Cmq),
        ("Cm_alphadot", d.Cm_alphadot),
        ("Clp", d.Clp),
        ("Cnr", d.Cnr),
        ("Clb", d.Clb),
        ("CYb", d.CYb),
        ("Clda", d.Clda),
        ("Cmde", d.Cmde),
        ("Cndr", d.Cndr),
        ("Cnp", d.Cnp),
    ] {
        assert!(value < 0.0, "{name} = {value} must be negative");
    }
    for (name, value) in [
        ("CLa", d.CLa),
        ("CLq", d.CLq),
        ("CLde", d.CLde),
        ("CLdf", d.CLdf),
        ("Cnb", d.Cnb),
        ("Clr", d.Clr),
        ("CYr", d.CYr),
        ("CYdr", d.CYdr),
        // Trailing edge left: the tail is pushed right, above the axis, so it also rolls right.
        ("Cldr", d.Cldr),
    ] {
        assert!(value > 0.0, "{name} = {value} must be positive");
    }
}

#[test]
fn sizes_agree_with_the_textbook_estimates() {
    let aircraft = trainer(DIHEDRAL);
    let s = solved(&aircraft);
    let d = s.aerodynamics.derivatives;
    let reference = aircraft::geometry::reference(&aircraft).unwrap();
    let volumes = aircraft::geometry::tail_volumes(&aircraft).unwrap();
    let arm =
        aircraft::geometry::lever_arm_m(&aircraft, &aircraft.surfaces[1]).unwrap() / reference.mean_chord_m;
    // Tail's own lift slope by the swept-wing formula of Helmbold and Polhamus, aspect ratio 3.86: 3.8 per rad.
    let tail_slope = 3.8;
    let volume = volumes.horizontal.unwrap();
    // Pitch damping of the tail: Cmq = -2 at V l/c (Etkin & Reid, ch. 5); the wing adds up to a fifth.
    near("Cmq", d.Cmq / (-2.0 * tail_slope * volume * arm), 1.05, 0.15);
    // Lag of downwash: Cm_alphadot = Cmq of the tail times dε/dα; at this aspect ratio dε/dα is 0.3 to 0.5.
    let lag = d.Cm_alphadot / (-2.0 * tail_slope * volume * arm);
    assert!((0.28..0.55).contains(&lag), "downwash slope by lag {lag}");
    // Elevator: Cmde = -at V τ with τ of a 35 % flap, 0.71 (Glauert); strips near tip and root lose little.
    near("Cmde", d.Cmde / (-tail_slope * volume * 0.71), 1.0, 0.12);
    // Dihedral: strip theory for a straight taper, Clb = -(a Γ/6)(1 + 2λ)/(1 + λ), λ 0.8, with the slope of half the
    // aspect ratio for a (3.3, Helmbold: 3.5), as an antisymmetric load feels the induced loss of one half.
    let flat = solved(&trainer(0.0)).aerodynamics.derivatives;
    near("Clb by dihedral", (d.Clb - flat.Clb) / (-3.5 * DIHEDRAL / 6.0 * 2.6 / 1.8), 1.0, 0.15);
}

#[test]
fn the_neutral_point_is_where_the_moment_slope_vanishes() {
    let s = solved(&trainer(DIHEDRAL));
    let there = s.about(Vec3::new(s.neutral_point_x_m, 0.0, CG.z));
    near("Cma", there.derivatives.Cma, 0.0, 1e-9);
    // A stable aircraft: behind the quarter of the mean chord, ahead of its trailing edge.
    assert!(s.neutral_point_x_m > 0.08 && s.neutral_point_x_m < 0.24, "{}", s.neutral_point_x_m);
}

#[test]
fn about_another_point_equals_solving_about_it() {
    let aircraft = trainer(DIHEDRAL);
    let moved = Vec3::new(0.11, 0.0, 0.035);
    let turned = solved(&aircraft).about(moved).derivatives;
    // The stall and with it the reference angle hang weakly on the balance point through the trim: 2.5 %.
    let again = solve(&aircraft, moved, &AIR, 14.0).unwrap().aerodynamics.derivatives;
    for (name, a, b) in [
        ("Cma", turned.Cma, again.Cma),
        ("Cmq", turned.Cmq, again.Cmq),
        ("Cm_alphadot", turned.Cm_alphadot, again.Cm_alphadot),
        ("Cnb", turned.Cnb, again.Cnb),
        ("Cnr", turned.Cnr, again.Cnr),
        ("Clb", turned.Clb, again.Clb),
        ("Clp", turned.Clp, again.Clp),
        ("Cmde", turned.Cmde, again.Cmde),
        ("Cndr", turned.Cndr, again.Cndr),
    ] {
        assert!((a / b - 1.0).abs() < 0.025, "{name}: {a} {b}");
    }
}

#[test]
fn moving_the_datum_changes_nothing() {
    let aircraft = trainer(DIHEDRAL);
    let by = Vec3::new(1.3, 0.0, -0.4);
    let mut there = aircraft.clone();
    for surface in &mut there.surfaces {
        for station in &mut surface.stations {
            station.leading_edge_m += by;
        }
    }
    for body in &mut there.fuselages {
        for station in &mut body.stations {
            station.centre_m += by;
        }
    }
    let (a, b) = (solved(&aircraft), solve(&there, CG + by, &AIR, 14.0).unwrap());
    near("neutral point", b.neutral_point_x_m - by.x, a.neutral_point_x_m, 1e-8);
    for (x, y) in [
        (a.aerodynamics.derivatives.Cma, b.aerodynamics.derivatives.Cma),
        (a.aerodynamics.derivatives.Cnb, b.aerodynamics.derivatives.Cnb),
        (a.aerodynamics.derivatives.Cnp, b.aerodynamics.derivatives.Cnp),
        (a.aerodynamics.cd0, b.aerodynamics.cd0),
        (a.cl_max.value, b.cl_max.value),
    ] {
        near("coefficient", x, y, 1e-7);
    }
}

#[test]
fn the_same_aircraft_gives_the_same_bits_on_any_number_of_threads() {
    let aircraft = trainer(DIHEDRAL);
    let with = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| solved(&aircraft).aerodynamics)
    };
    let one = with(1);
    for threads in [2, 3, 8] {
        assert_eq!(one, with(threads), "{threads} threads");
    }
}

#[test]
fn panels_are_about_six_hundred_and_more_change_little() {
    let s = solved(&trainer(DIHEDRAL));
    assert!((450..=750).contains(&s.panels), "{}", s.panels);
}

#[test]
fn the_fuselage_takes_stability_away_in_pitch_and_yaw() {
    // Munk: bodies alone are unstable.
    let with = solved(&trainer(DIHEDRAL));
    let mut bare = trainer(DIHEDRAL);
    bare.fuselages.clear();
    let without = solved(&bare);
    assert!(with.neutral_point_x_m < without.neutral_point_x_m);
    let (a, b) = (with.aerodynamics.derivatives, without.aerodynamics.derivatives);
    assert!(a.Cnb < b.Cnb && a.CYb < b.CYb);
    assert!(with.cd0.value > without.cd0.value);
}

#[test]
fn trim_balances_the_moment_and_asks_up_elevator_for_more_lift() {
    let s = solved(&trainer(DIHEDRAL));
    let slow = trim(&s, CG, 0.8).unwrap();
    let fast = trim(&s, CG, 0.2).unwrap();
    assert!(slow.elevator_rad < fast.elevator_rad && slow.alpha_rad > fast.alpha_rad);
    near("moment", s.pitching_moment_about(CG, slow.alpha_rad, slow.elevator_rad), 0.0, 1e-8);
    near("lift", s.lift(slow.alpha_rad, slow.elevator_rad), 0.8, 1e-8);
    assert!(matches!(trim(&s, CG, 3.0), Err(NotPredicted::NoSolution { .. })));
    // Elevator per lift: d δ/dCL = -(Cma/CLa)/(Cmde - CLde Cma/CLa), the textbook slope (Etkin & Reid, ch. 2).
    let d = s.aerodynamics.derivatives;
    let expected = -d.Cma / (d.CLa * d.Cmde - d.Cma * d.CLde);
    near("slope", (slow.elevator_rad - fast.elevator_rad) / 0.6 / expected, 1.0, 0.1);
}

#[test]
fn the_forward_limit_is_where_the_elevator_just_reaches_the_stall() {
    let s = solved(&trainer(DIHEDRAL));
    let limit = forward_limit_x_m(&s, 1.0).unwrap();
    assert!(limit < s.neutral_point_x_m);
    // There the elevator left at the stall is nearly none (the stall angle moves a little with the elevator).
    let left = elevator_left_at_stall_rad(&s, Vec3::new(limit, 0.0, CG.z)).unwrap();
    near("elevator left", left, 0.0, 0.03);
    // Less throw, less room ahead.
    assert!(forward_limit_x_m(&s, 0.7).unwrap() > limit);
}

#[test]
fn washed_in_tips_stall_before_the_root_and_washed_out_tips_after() {
    let with_tip_twist = |twist: f64| {
        let mut aircraft = trainer(DIHEDRAL);
        for station in &mut aircraft.surfaces[0].stations {
            station.twist_rad = 0.0;
        }
        aircraft.surfaces[0].stations[2].twist_rad = twist;
        solved(&aircraft).first_stall.unwrap()
    };
    let (out, inward) = (with_tip_twist(-0.05), with_tip_twist(0.14));
    assert!(out.half_span_share < inward.half_span_share, "{out:?} {inward:?}");
    assert!(inward.half_span_share > 0.6 && out.half_span_share < 0.5);
}

#[test]
fn every_arrangement_has_answers_of_the_right_sign() {
    // V-tail: ruddervators as a pair that answer pitch and yaw.
    let both = Mix { pitch: 1.0, yaw: 1.0, ..Mix::default() };
    for (name, dihedral, height) in [("V-tail", 0.65, 0.03), ("inverted V", -0.65, 0.2)] {
        let mut aircraft = trainer(DIHEDRAL);
        aircraft.surfaces.truncate(1);
        aircraft.movables.truncate(2);
        let length: f64 = 0.33;
        aircraft.surfaces.push(surface(
            name,
            Role::VTail,
            true,
            &[
                (0.0, Vec3::new(0.82, 0.0, height), 0.17, 0.0),
                (
                    length,
                    Vec3::new(0.86, length * f64::cos(dihedral), height + length * f64::sin(dihedral)),
                    0.13,
                    0.0,
                ),
            ],
            &four_digits(0.0, 0.09),
        ));
        aircraft.movables.push(movable("ruddervator", 1, Panels::Pair, [0.01, length], 0.65, both));
        let d = solved(&aircraft).aerodynamics.derivatives;
        assert!(d.Cmde < 0.0 && d.Cndr < 0.0 && d.Clda < 0.0, "{name}: {d:?}");
        assert!(d.Cma < 0.0 && d.Cnb > 0.0 && d.Cnr < 0.0 && d.Cmq < 0.0, "{name}: {d:?}");
    }

    // Flying wing: elevons that answer roll and pitch, swept, fins at the tips.
    let mut aircraft = trainer(0.0);
    let ribs = [(0.0, Vec3::new(0.0, 0.0, 0.0), 0.3, 0.0), (0.65, Vec3::new(0.35, 0.65, 0.0), 0.18, -0.03)];
    aircraft.surfaces = vec![
        surface("wing", Role::Wing, true, &ribs, &four_digits(0.01, 0.1)),
        surface(
            "winglet",
            Role::Fin,
            true,
            &[(0.0, Vec3::new(0.36, 0.65, 0.0), 0.17, 0.0), (0.12, Vec3::new(0.42, 0.65, 0.12), 0.09, 0.0)],
            &four_digits(0.0, 0.09),
        ),
    ];
    aircraft.movables = vec![movable(
        "elevon",
        0,
        Panels::Pair,
        [0.2, 0.63],
        0.78,
        Mix { roll: 1.0, pitch: 1.0, ..Mix::default() },
    )];
    aircraft.fuselages.clear();
    let s = solve(&aircraft, Vec3::new(0.2, 0.0, 0.0), &AIR, 15.0).unwrap();
    let d = s.aerodynamics.derivatives;
    assert!(d.Cmde < 0.0 && d.Clda < 0.0 && d.Cnb > 0.0 && d.Clb < 0.0 && d.Cmq < 0.0, "{d:?}");
    assert!(s.neutral_point_x_m > 0.2 && s.neutral_point_x_m < 0.35, "{}", s.neutral_point_x_m);

    // Canard: elevator on the foreplane, balanced ahead of the wing.
    let mut aircraft = trainer(DIHEDRAL);
    aircraft.surfaces[1].role = Role::Foreplane;
    for station in &mut aircraft.surfaces[1].stations {
        station.leading_edge_m.x -= 1.5;
    }
    let s = solve(&aircraft, Vec3::new(-0.1, 0.0, 0.0), &AIR, 14.0).unwrap();
    let d = s.aerodynamics.derivatives;
    assert!(d.Cmde < 0.0, "{d:?}");
    assert!(s.neutral_point_x_m < 0.03, "{}", s.neutral_point_x_m);
}

#[test]
fn what_cannot_be_solved_says_what_is_missing() {
    let mut aircraft = trainer(DIHEDRAL);
    aircraft.surfaces.clear();
    aircraft.movables.clear();
    assert!(matches!(solve(&aircraft, CG, &AIR, 14.0), Err(NotPredicted::Missing { .. })));
    let mut aircraft = trainer(DIHEDRAL);
    aircraft.surfaces[1].stations[1].chord_m = 0.0;
    let Err(NotPredicted::Missing { what }) = solve(&aircraft, CG, &AIR, 14.0) else {
        panic!("a chord of nothing must be refused");
    };
    assert!(what.contains("tailplane"), "{what}");
    assert!(solve(&trainer(DIHEDRAL), CG, &AIR, 0.0).is_err());
}
