//! A whole aircraft: signs, sizes, invariances, trim.

use aircraft::Aircraft;
use numerics::Vec3;
use predict::air::Air;
use predict::lattice::{Solved, solve};
use predict::prediction::NotPredicted;
use predict::trim::{elevator_left_at_stall_rad, forward_limit_x_m, trim};

use crate::aircraft_model::trainer;
use crate::wings::near;

const AIR: Air = Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
const CG: Vec3 = Vec3::new(0.08, 0.0, 0.02);

fn solved(aircraft: &Aircraft) -> Solved {
    solve(aircraft, CG, &AIR, 14.0).unwrap()
}

#[test]
fn the_trainer_has_the_signs_of_a_stable_aircraft() {
    let s = solved(&trainer(0.07));
    let d = s.aerodynamics.derivatives;
    eprintln!("{:#?}", s.aerodynamics);
    eprintln!(
        "np {} cla {} a0 {} e {} clmax {:?} cd0 {:?} panels {} stall {:?} {} ref {} {:?}",
        s.neutral_point_x_m,
        s.cl_slope_per_rad,
        s.zero_lift_alpha_rad.to_degrees(),
        s.span_efficiency,
        s.cl_max,
        s.cd0,
        s.panels,
        s.first_stall,
        s.stall_alpha_rad.to_degrees(),
        s.reference_alpha_rad.to_degrees(),
        s.remarks
    );
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
    ] {
        assert!(value > 0.0, "{name} = {value} must be positive");
    }
    // A rudder above the axis rolls with its side force: trailing edge left pushes the tail right and rolls right.
    assert!(d.Cldr > 0.0);
}

#[test]
fn panels_are_about_six_hundred() {
    let s = solved(&trainer(0.07));
    assert!((450..=750).contains(&s.panels), "{}", s.panels);
}
