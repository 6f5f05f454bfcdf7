//! The lattice coupled to section tables: thin sections give the lattice back, a nonlinear lifting line agrees at the
//! stall, elliptic wings stall all at once, and surfaces are worth what their tables say.

use std::f64::consts::PI;

use aircraft::Aircraft;
use aircraft::surface::Surface;
use numerics::Vec3;
use predict::air::Air;
use predict::coupled::{Coupled, Flight};
use predict::lattice::{Solved, Tables, solve, solve_with};
use predict::sections::{SectionData, flap_effectiveness};

use crate::aircraft_model::trainer;
use crate::section_tables::{Form, stalling_lift, table};
use crate::wings::{elliptic, near, plate, tapered};

const AIR: Air = Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
const CG: Vec3 = Vec3::new(0.08, 0.0, 0.02);
const DIHEDRAL: f64 = 0.07;
const SLOPE: f64 = 2.0 * PI;
/// Where the sections of these tests stall, rad past zero lift, and how gently.
const STALL: (f64, f64) = (0.24, 0.02);
/// A sharper stall, for sections that are thin up to it.
const SHARP: f64 = 0.008;

/// Greatest lift of a stalling section and the angle past zero lift there, by a fine scan.
fn greatest(slope: f64, at: f64, width: f64) -> (f64, f64) {
    (0..40_000)
        .map(|i| f64::from(i) * 1e-5)
        .map(|x| (stalling_lift(x, slope, at, width), x))
        .fold((0.0, 0.0), |best, here| if here.0 > best.0 && here.1 < at + 4.0 * width { here } else { best })
}

/// An aircraft that is a bare wing.
fn bare(surface: Surface) -> Aircraft {
    let mut aircraft = trainer(0.0);
    aircraft.surfaces = vec![surface];
    aircraft.movables.clear();
    aircraft.fuselages.clear();
    aircraft
}

/// Tables for every section name in use, from a lift over the angle past zero lift and the deflection.
fn tables(aircraft: &Aircraft, cl: &dyn Fn(f64) -> f64, range_deg: i32) -> Tables {
    let mut tables = Tables::new();
    for surface in &aircraft.surfaces {
        let section = &surface.stations[0].section;
        let data = SectionData::of(section);
        tables.insert(
            &name_of(surface),
            table(&Form {
                cl: &|alpha, _| cl(alpha - data.zero_lift_rad),
                cd: 0.012,
                cm: &|_, _| data.moment,
                range_deg: [-range_deg, range_deg],
                hinge: None,
                deflections: &[0.0],
            }),
        );
    }
    tables
}

fn name_of(surface: &Surface) -> String {
    surface.stations[0].section.name.clone()
}

/// The trainer with a name of its own for each surface's section.
fn named() -> Aircraft {
    let mut aircraft = trainer(DIHEDRAL);
    // Enough elevator for the stall.
    aircraft.movables[2].throw_up_rad = 0.6;
    for surface in &mut aircraft.surfaces {
        for station in &mut surface.stations {
            station.section.name = surface.name.clone();
        }
    }
    aircraft
}

fn coupled(solved: &Solved) -> &Coupled {
    solved.coupled.as_ref().unwrap_or_else(|| panic!("not coupled: {:?}", solved.remarks))
}

fn stalling(past_zero: f64) -> f64 {
    stalling_lift(past_zero, SLOPE, STALL.0, STALL.1)
}

#[test]
fn tables_of_thin_sections_give_the_lattice_back() {
    // With cl = 2π sin α and the thin section's moment no strip is turned. 1e-4: how the table is read between points.
    let mut wing = plate(&[(0.0, 0.0, 0.25), (0.9, 0.25, 0.15)]);
    wing.stations[1].twist_rad = -0.04;
    let aircraft = bare(wing);
    let thin = solve(&aircraft, CG, &AIR, 14.0).unwrap();
    let lift = |x: f64| stalling_lift(x, SLOPE, 0.21, 0.004);
    let with = solve_with(&aircraft, CG, &AIR, 14.0, &tables(&aircraft, &lift, 30)).unwrap();
    let c = &coupled(&with).coupling;
    for alpha in [-0.03, 0.0, 0.05, 0.1, 0.14] {
        let state = c.state(alpha, 0.0, 0.0, 14.0, None);
        assert!(state.converged);
        near("lift", state.cl, thin.lift(alpha, 0.0), 1e-4);
        // Slopes averaged over three degrees of a sine either way: 5e-4 of them.
        near("linear lift", with.lift(alpha, 0.0), thin.lift(alpha, 0.0), 5e-4);
        near(
            "linear moment",
            with.pitching_moment_about(CG, alpha, 0.0),
            thin.pitching_moment_about(CG, alpha, 0.0),
            5e-4,
        );
    }
    // Taken at another angle of attack, since the stall is another: 1 mm.
    near("neutral point", with.neutral_point_x_m, thin.neutral_point_x_m, 1e-3);
}

#[test]
fn thin_sections_with_flaps_give_the_derivatives_of_the_lattice() {
    // The table has Glauert's flaps; on six panels a strip has 6 % less (25 % flap: 0.574 instead of 0.609, by solving five
    // and two panels in numpy). Control derivatives more, by up to 7 %; others the same within 1 or 2 %.
    let aircraft = named();
    let thin = solve(&aircraft, CG, &AIR, 14.0).unwrap();
    let with = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 1.0)).unwrap();
    let (a, b) = (thin.aerodynamics.derivatives, with.aerodynamics.derivatives);
    for (name, x, y, tolerance) in [
        ("CLa", a.CLa, b.CLa, 0.01),
        ("Cmq", a.Cmq, b.Cmq, 0.01),
        ("Clp", a.Clp, b.Clp, 0.01),
        ("Cnb", a.Cnb, b.Cnb, 0.02),
        ("CYb", a.CYb, b.CYb, 0.02),
        ("Clda", a.Clda, b.Clda, 0.07),
        ("Cmde", a.Cmde, b.Cmde, 0.07),
        ("Cndr", a.Cndr, b.Cndr, 0.07),
        ("CLdf", a.CLdf, b.CLdf, 0.07),
    ] {
        near(name, y / x, 1.0, tolerance);
        assert!(tolerance < 0.05 || y / x > 1.0, "{name}");
    }
    // Every strip has the lift that its table says.
    let c = &coupled(&with).coupling;
    for (alpha, elevator, flap) in [(0.05, 0.0, 0.0), (0.1, -0.1, 0.0), (0.04, 0.05, 0.15), (0.14, -0.2, 0.0)]
    {
        let state = c.state(alpha, elevator, flap, 14.0, None);
        assert!(state.converged);
        for strip in c.strips(&state).iter().filter(|s| s.angle_rad.abs() < 0.2) {
            near("strip", strip.cl, strip.section_cl, 2e-4);
        }
    }
}

#[test]
fn a_lower_slope_of_the_section_lowers_that_of_the_wing_by_the_lifting_lines_rule() {
    // Downwash per lift stays: 1/a_wing - 1/a_section is the same for both sections (Prandtl; exact for elliptic
    // loading). 0.3 %.
    let (wing, _) = elliptic(8.0);
    let aircraft = bare(wing);
    let thin = solve(&aircraft, Vec3::zeros(), &AIR, 14.0).unwrap();
    let slope = 0.88 * SLOPE;
    let lift = |x: f64| stalling_lift(x, slope, STALL.0, SHARP);
    let with = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &lift, 30)).unwrap();
    let of = |s: &Solved| (s.lift(0.06, 0.0) - s.lift(0.04, 0.0)) / 0.02;
    let _ = coupled(&with);
    near("slope", of(&with) * (1.0 / of(&thin) + 1.0 / slope - 1.0 / SLOPE), 1.0, 0.003);
}

#[test]
fn an_elliptic_wing_stalls_everywhere_at_once() {
    // Constant downwash CL/(π A): every section works at the same angle, so that the wing's greatest lift is that of
    // its section, at the section's angle plus the induced one. 2 %: a lifting surface of elliptic planform is loaded
    // nearly, not exactly, elliptically.
    let (wing, _) = elliptic(8.0);
    let aircraft = bare(wing);
    let s = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &stalling, 30)).unwrap();
    let c = coupled(&s);
    let (most, at) = greatest(SLOPE, STALL.0, STALL.1);
    near("greatest lift", c.clean.cl_max.value / most, 1.0, 0.02);
    // The induced angle per lift from the lattice's own slope. Half a degree: the curve is walked in steps of one.
    let thin = solve(&aircraft, Vec3::zeros(), &AIR, 14.0).unwrap();
    let induced = 1.0 / thin.cl_slope_per_rad - 1.0 / SLOPE;
    near("angle", c.clean.alpha_at_max_rad, at + most * induced, 0.009);
    assert_eq!(c.clean.unsettled, 0);
    // Its induced drag below the stall is CL²/(π A), 2 %.
    let below = c.coupling.state(0.12, 0.0, 0.0, 14.0, None);
    near("induced", below.cd_induced / (below.cl.powi(2) / (PI * 8.0)), 1.0, 0.02);
}

/// Prandtl's lifting line of a rectangular wing with a section of any lift curve, written for this test alone: sine
/// series of the circulation collocated in the angle, sections satisfied by relaxation. Gives the lift coefficient.
struct LiftingLine {
    n: usize,
    aspect: f64,
    load: Vec<f64>,
}

impl LiftingLine {
    fn lift_at(&mut self, alpha: f64, section: &dyn Fn(f64) -> f64) -> f64 {
        let n = self.n;
        let angle = |i: usize| PI * (i as f64 + 0.5) / n as f64;
        // cl at the stations -> sine coefficients of cl c/(4 b) = Σ A_m sin mθ -> induced angle Σ m A_m sin mθ / sin θ.
        for _ in 0..6000 {
            let coefficients: Vec<f64> = (1..=n / 2)
                .map(|m| {
                    2.0 / n as f64
                        * (0..n)
                            .map(|i| self.load[i] / (4.0 * self.aspect) * (m as f64 * angle(i)).sin())
                            .sum::<f64>()
                })
                .collect();
            let mut most = 0.0_f64;
            for i in 0..n {
                let induced: f64 = coefficients
                    .iter()
                    .enumerate()
                    .map(|(m, a)| (m + 1) as f64 * a * ((m + 1) as f64 * angle(i)).sin())
                    .sum::<f64>()
                    / angle(i).sin();
                let change = section(alpha - induced) - self.load[i];
                most = most.max(change.abs());
                self.load[i] += 0.03 * change;
            }
            if most < 1e-5 {
                break;
            }
        }
        let area: f64 = (0..n).map(|i| angle(i).sin()).sum();
        (0..n).map(|i| self.load[i] * angle(i).sin()).sum::<f64>() / area
    }
}

#[test]
fn a_rectangular_wing_stalls_as_prandtls_line_with_the_same_section() {
    // The line has no chordwise extent, so its lift slope is higher (2 % at this aspect ratio of 20), and so is the greatest
    // lift of a section that stalls gently: 3 %.
    let aircraft = bare(tapered(4.0, 0.2, 0.2));
    let s = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &stalling, 30)).unwrap();
    let c = coupled(&s);
    let mut line = LiftingLine { n: 40, aspect: 20.0, load: vec![0.0; 40] };
    let mut most = (0.0, 0.0);
    for i in 0..44 {
        let alpha = 0.01 * f64::from(i);
        let lift = line.lift_at(alpha, &stalling);
        if lift > most.0 {
            most = (lift, alpha);
        }
    }
    near("greatest lift", c.clean.cl_max.value / most.0, 1.0, 0.03);
    near("angle", c.clean.alpha_at_max_rad, most.1, 0.02);
    // Full in the middle, so it stalls there first; less than the section's greatest lift.
    let first = c.clean.first_stall.as_ref().unwrap();
    assert!(first.half_span_share < 0.25, "{first:?}");
    assert!(c.clean.cl_max.value < greatest(SLOPE, STALL.0, STALL.1).0);
    assert_eq!(c.clean.unsettled, 0);
}

#[test]
fn beyond_the_stall_there_are_no_teeth() {
    // Second differences of the lift along the half span, summed, over the lift: a smooth load of a stalled wing.
    for width in [0.02, 0.008] {
        let aircraft = bare(tapered(2.0, 0.25, 0.15));
        let lift = |x: f64| stalling_lift(x, SLOPE, STALL.0, width);
        let s = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &lift, 30)).unwrap();
        let c = coupled(&s);
        assert_eq!(c.clean.unsettled, 0);
        for state in &c.clean.states {
            let strips = c.coupling.strips(state);
            let loads: Vec<f64> = strips.iter().map(|s| s.cl).collect();
            let turns = loads
                .windows(3)
                .filter(|w| (w[1] - w[0]) * (w[2] - w[1]) < 0.0 && (w[1] - w[0]).abs() > 0.02)
                .count();
            assert!(turns <= 3, "{turns} turns at {:.1} deg: {loads:?}", state.alpha_rad.to_degrees());
        }
    }
}

#[test]
fn taper_brings_the_stall_outboard_and_washout_back() {
    // Textbook (Anderson, Abbott & von Doenhoff): rectangular at the root, strongly tapered near the tip.
    let first = |root: f64, tip: f64, twist: f64| {
        let mut wing = tapered(2.0, root, tip);
        wing.stations[1].twist_rad = twist;
        let aircraft = bare(wing);
        let s = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &stalling, 30)).unwrap();
        coupled(&s).clean.first_stall.as_ref().unwrap().half_span_share
    };
    let (straight, pointed, washed) = (first(0.2, 0.2, 0.0), first(0.3, 0.09, 0.0), first(0.3, 0.09, -0.07));
    assert!(straight < 0.3 && pointed > 0.5, "{straight} {pointed}");
    assert!(washed < pointed - 0.15, "{washed}");
}

/// Lift of a flapped section: a share `effect` of the thin section's flap.
fn flapped(effect: f64, hinge: f64) -> impl Fn(f64, f64) -> f64 {
    let worth = effect * flap_effectiveness(1.0 - hinge);
    move |past_zero: f64, deflection: f64| {
        stalling_lift(past_zero + worth * deflection, SLOPE, STALL.0 + 0.5 * worth * deflection, SHARP)
    }
}

/// Tables of the trainer with all hinges, flaps worth `effect` of the thin ones.
fn with_flaps(aircraft: &Aircraft, effect: f64) -> Tables {
    let mut all = tables(aircraft, &|x| stalling_lift(x, SLOPE, STALL.0, SHARP), 30);
    for movable in &aircraft.movables {
        let surface = &aircraft.surfaces[movable.surface];
        let data = SectionData::of(&surface.stations[0].section);
        let hinge = movable.hinge_inner;
        let angle = (1.0 - 2.0 * hinge).acos();
        let moment = -0.5 * angle.sin() * (1.0 - angle.cos());
        let lift = flapped(effect, hinge);
        all.insert(
            &name_of(surface),
            table(&Form {
                cl: &|alpha, d| lift(alpha - data.zero_lift_rad, d),
                cd: 0.012,
                cm: &|_, d| data.moment + effect * moment * d,
                range_deg: [-30, 30],
                hinge: Some(hinge),
                deflections: &[-0.6, -0.25, -0.1, 0.0, 0.1, 0.25, 0.5],
            }),
        );
    }
    all
}

#[test]
fn surfaces_are_worth_what_their_tables_say() {
    // A flap worth 70 % of the thin one in lift and moment: control derivatives are 70 % of those with whole flaps. Two per
    // cent more is left: the load that a flap brings lies aft, where a short span costs it less than the even turning that
    // takes the loss away.
    let aircraft = named();
    let whole = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 1.0)).unwrap();
    let part = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 0.7)).unwrap();
    let (a, b) = (whole.aerodynamics.derivatives, part.aerodynamics.derivatives);
    for (name, x, y) in [
        ("Clda", a.Clda, b.Clda),
        ("CLde", a.CLde, b.CLde),
        ("Cmde", a.Cmde, b.Cmde),
        ("Cndr", a.Cndr, b.Cndr),
        ("CYdr", a.CYdr, b.CYdr),
        ("CLdf", a.CLdf, b.CLdf),
    ] {
        near(name, y / x, 0.71, 0.015);
    }
    for ratio in &coupled(&part).effectiveness {
        near("told", ratio.unwrap(), 0.7, 0.01);
    }
    // Flaps down lift more, and less angle of attack reaches it.
    let c = coupled(&whole);
    let down = c.flaps_down.as_ref().unwrap();
    assert!(down.cl_max.value > c.clean.cl_max.value + 0.1, "{} {}", down.cl_max.value, c.clean.cl_max.value);
    assert!(down.alpha_at_max_rad < c.clean.alpha_at_max_rad);
}

#[test]
fn the_trimmed_curve_balances_and_its_greatest_lift_goes_to_the_coefficients() {
    let aircraft = named();
    let s = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 0.8)).unwrap();
    let c = coupled(&s);
    assert_eq!(c.clean.unsettled, 0);
    for state in c.clean.states.iter().filter(|s| s.trimmed) {
        assert!(state.cm.abs() < 3e-4);
        // Strips, elevator and angle found together are those that the strips alone find from rest. 2e-6: both are home
        // within 1e-7 of a strip's lift, of which the aircraft has thirty.
        if state.alpha_rad < c.clean.alpha_at_max_rad - 0.06 {
            let alone = c.coupling.state(state.alpha_rad, state.elevator_rad, 0.0, state.speed_m_s, None);
            near("lift", alone.cl, state.cl, 2e-6);
            near("drag", alone.cd, state.cd, 2e-6);
            near("moment", alone.cm, state.cm, 2e-6);
        }
    }
    assert!(c.clean.trimmed_at_max && c.flaps_down.as_ref().unwrap().trimmed_at_max);
    near("cl_max", s.aerodynamics.cl_max, c.clean.cl_max.value, 1e-12);
    let greatest_of_section = greatest(SLOPE, STALL.0, STALL.1).0;
    assert!(s.aerodynamics.cl_max > 0.7 * greatest_of_section && s.aerodynamics.cl_max < greatest_of_section);
    assert!(s.aerodynamics.cl_min < -0.5);
    // Constant profile drag of 0.012 on all surfaces, a tenth for gaps, and the body's: least drag.
    let thin = solve(&aircraft, CG, &AIR, 14.0).unwrap();
    assert!(s.aerodynamics.cd0 > 1.1 * 0.012 && s.aerodynamics.cd0 < thin.aerodynamics.cd0 + 0.012);
    // Level flight at a speed: lift and moment hold.
    let weight = 18.0;
    for speed in [11.0, 14.0, 22.0] {
        let state = c.coupling.level(weight, speed, None).unwrap();
        near("lift", state.cl * 0.5 * 1.225 * speed * speed * s.aerodynamics.area_m2, weight, 1e-4 * weight);
        near("moment", state.cm, 0.0, 1e-6);
    }
    assert!(c.coupling.level(weight, 6.0, None).is_err());
}

#[test]
fn moving_the_datum_changes_nothing_of_the_coupled_answer() {
    let aircraft = named();
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
    let tables = with_flaps(&aircraft, 0.8);
    let a = solve_with(&aircraft, CG, &AIR, 14.0, &tables).unwrap();
    let b = solve_with(&there, CG + by, &AIR, 14.0, &tables).unwrap();
    for (name, x, y) in [
        ("cl_max", a.cl_max.value, b.cl_max.value),
        ("Cma", a.aerodynamics.derivatives.Cma, b.aerodynamics.derivatives.Cma),
        ("Clda", a.aerodynamics.derivatives.Clda, b.aerodynamics.derivatives.Clda),
        ("cd0", a.aerodynamics.cd0, b.aerodynamics.cd0),
    ] {
        near(name, x, y, 1e-5);
    }
}

#[test]
fn the_coupled_answer_is_the_same_bits_on_any_number_of_threads() {
    let aircraft = named();
    let tables = with_flaps(&aircraft, 0.8);
    let with = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| solve_with(&aircraft, CG, &AIR, 14.0, &tables).unwrap().aerodynamics)
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn moving_the_balance_point_moves_the_greatest_lift_as_solving_there_does() {
    // `about` moves the trimmed greatest lift by the elevator that trims elsewhere. 1.5 % of lift: the wing's stall moves a
    // little with the tail's load too. The last case runs out of elevator there.
    let aircraft = named();
    let short = {
        let mut aircraft = aircraft.clone();
        aircraft.movables[2].throw_up_rad = 0.3;
        aircraft
    };
    for (aircraft, tables, by) in [
        (&aircraft, Tables::new(), -0.05),
        (&aircraft, with_flaps(&aircraft, 0.8), -0.03),
        (&short, with_flaps(&aircraft, 0.8), -0.05),
    ] {
        let there = CG + Vec3::new(by, 0.0, 0.0);
        let here = solve_with(aircraft, CG, &AIR, 14.0, &tables).unwrap();
        let other = solve_with(aircraft, there, &AIR, 14.0, &tables).unwrap();
        let moved = here.about(there);
        near("cl_max", moved.cl_max / other.aerodynamics.cl_max, 1.0, 0.015);
        // Nose-heavier: more download on the tail, less lift.
        assert!(other.aerodynamics.cl_max < here.aerodynamics.cl_max);
        assert!(moved.cl_max < here.aerodynamics.cl_max);
    }
}

#[test]
fn twice_the_speed_reads_other_reynolds_numbers() {
    let aircraft = named();
    let s = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 0.8)).unwrap();
    let c = &coupled(&s).coupling;
    let (slow, fast) = (c.state(0.03, 0.0, 0.0, 10.0, None), c.state(0.03, 0.0, 0.0, 20.0, None));
    let (slow, fast) = (c.strips(&slow), c.strips(&fast));
    for (a, b) in slow.iter().zip(&fast) {
        near("Reynolds number", b.reynolds / a.reynolds, 2.0, 1e-12);
    }
    // A chord of 0.26 m at 10 m/s: 1.225 x 10 x 0.26 / 1.789e-5 = 178 000.
    near("root", slow[0].reynolds, 178_000.0, 1_000.0);
}

#[test]
fn a_wing_without_tables_stays_thin_and_says_so() {
    let aircraft = named();
    let mut tables = Tables::new();
    tables.insert(
        "tailplane",
        table(&Form {
            cl: &|a, _| stalling(a),
            cd: 0.012,
            cm: &|_, _| 0.0,
            range_deg: [-30, 30],
            hinge: None,
            deflections: &[0.0],
        }),
    );
    let s = solve_with(&aircraft, CG, &AIR, 14.0, &tables).unwrap();
    assert!(s.coupled.is_none());
    assert!(s.remarks.iter().any(|r| r.contains("section tables for every section of surface wing")));
}

#[test]
fn washed_in_ailerons_are_told_to_stall() {
    let mut aircraft = named();
    for station in &mut aircraft.surfaces[0].stations {
        station.twist_rad = 0.0;
    }
    aircraft.surfaces[0].stations[2].twist_rad = 0.16;
    let s = solve_with(&aircraft, CG, &AIR, 14.0, &with_flaps(&aircraft, 0.8)).unwrap();
    let c = coupled(&s);
    assert!(c.clean.first_stall.as_ref().unwrap().half_span_share > 0.6);
    assert!(c.clean.starts_at_aileron && c.clean.aileron_share.unwrap() > 0.2);
    assert!(s.remarks.iter().any(|r| r.contains("with the ailerons is stalled")), "{:?}", s.remarks);
}

#[test]
fn a_curve_at_one_speed_and_one_in_level_flight_differ_only_by_reynolds_numbers() {
    // These tables do not depend on it: the same lift.
    let aircraft = bare(plate(&[(0.0, 0.0, 0.25), (0.9, 0.02, 0.18)]));
    let s = solve_with(&aircraft, Vec3::zeros(), &AIR, 14.0, &tables(&aircraft, &stalling, 30)).unwrap();
    let c = &coupled(&s).coupling;
    let at = c.curve(0.0, Flight::At(9.0), 1.0).unwrap();
    let level = c.curve(0.0, Flight::Level { weight_n: 15.0, fastest_m_s: 30.0 }, 1.0).unwrap();
    near("greatest lift", at.cl_max.value, level.cl_max.value, 1e-6);
    let slowest = level.states.iter().map(|s| s.speed_m_s).fold(f64::INFINITY, f64::min);
    let area = 0.9 * (0.25 + 0.18);
    near("stall speed", slowest, (2.0 * 15.0 / (1.225 * area * at.cl_max.value)).sqrt(), 0.3);
}
