//! How long does a whole aircraft take, and which library factors its matrix faster?
#![expect(clippy::expect_used, reason = "a measurement without its subject stops")]

use predict::lattice::{Density, Lattice, Spacing};

#[path = "../tests/lattice/aircraft_model.rs"]
mod aircraft_model;
#[path = "../tests/lattice/section_tables.rs"]
mod section_tables;

fn main() {
    divan::main();
}

/// A lattice of the trainer, about 600 panels.
fn lattice() -> Lattice {
    let aircraft = aircraft_model::trainer(0.07);
    let flaps: Vec<_> = aircraft.movables.iter().map(Into::into).collect();
    let density = Density { across: 26, along: 6, spacing: Spacing::Cosine };
    Lattice::lay(&aircraft.surfaces, &flaps, density, 0.0).expect("the trainer can be cut")
}

#[divan::bench]
fn whole_aircraft(bencher: divan::Bencher<'_, '_>) {
    let aircraft = aircraft_model::trainer(0.07);
    let air = predict::air::Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
    bencher.bench(|| {
        predict::lattice::solve(&aircraft, numerics::Vec3::new(0.08, 0.0, 0.0), &air, 14.0).map(|s| s.panels)
    });
}

#[divan::bench]
fn influence_matrix(bencher: divan::Bencher<'_, '_>) {
    let lattice = lattice();
    bencher.bench(|| lattice.influence());
}

#[divan::bench]
fn factor_with_faer(bencher: divan::Bencher<'_, '_>) {
    let matrix = lattice().influence();
    bencher.bench(|| matrix.partial_piv_lu());
}

#[divan::bench]
fn factor_with_nalgebra(bencher: divan::Bencher<'_, '_>) {
    let matrix = lattice().influence();
    let same = nalgebra::DMatrix::from_fn(matrix.nrows(), matrix.ncols(), |i, j| matrix[(i, j)]);
    bencher.bench(|| same.clone().lu());
}

/// Section tables for the trainer, thin with a stall, hinges of all its movables, five Reynolds numbers' worth of reading.
fn tables() -> predict::lattice::Tables {
    let slope = 2.0 * std::f64::consts::PI;
    let mut tables = predict::lattice::Tables::new();
    for hinge in [None, Some(0.75), Some(0.65), Some(0.6)] {
        let worth = hinge.map_or(0.0, |h: f64| predict::sections::flap_effectiveness(1.0 - h));
        tables.insert(
            "four digits",
            section_tables::table(&section_tables::Form {
                cl: &|a, d| section_tables::stalling_lift(a + 0.02 + worth * d, slope, 0.24, 0.02),
                cd: 0.012,
                cm: &|_, d| -0.04 - 0.5 * d,
                range_deg: [-20, 24],
                hinge,
                deflections: if hinge.is_some() { &[-0.35, -0.17, 0.0, 0.17, 0.35] } else { &[0.0] },
            }),
        );
    }
    tables
}

#[divan::bench]
fn whole_aircraft_coupled(bencher: divan::Bencher<'_, '_>) {
    let aircraft = aircraft_model::trainer(0.07);
    let air = predict::air::Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
    let tables = tables();
    bencher.bench(|| {
        predict::lattice::solve_with(&aircraft, numerics::Vec3::new(0.08, 0.0, 0.0), &air, 14.0, &tables)
            .map(|s| s.panels)
    });
}

/// Trimmed level flight at twenty-five speeds, from near the stall to three times it, each to a millionth of lift.
#[divan::bench]
fn twenty_five_speeds_coupled(bencher: divan::Bencher<'_, '_>) {
    let aircraft = aircraft_model::trainer(0.07);
    let air = predict::air::Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
    let solved =
        predict::lattice::solve_with(&aircraft, numerics::Vec3::new(0.08, 0.0, 0.0), &air, 14.0, &tables())
            .expect("the trainer can be solved");
    let coupled = solved.coupled.expect("the tables are used");
    let weight = 18.0;
    let slowest = (2.0 * weight / (1.225 * 0.388 * coupled.clean.cl_max.value)).sqrt();
    bencher.bench(|| {
        let mut near = None;
        let mut reached = 0;
        for i in 0..25 {
            let speed = slowest * (3.0 - 1.95 * f64::from(i) / 24.0);
            if let Ok(state) = coupled.coupling.level(weight, speed, near.as_ref()) {
                near = Some(state);
                reached += 1;
            }
        }
        assert!(reached >= 24, "{reached}");
    });
}
