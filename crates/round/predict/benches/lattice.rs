//! How long does a whole aircraft take, and which library factors its matrix faster?
#![expect(clippy::expect_used, reason = "a measurement without its subject stops")]

use predict::lattice::{Density, Lattice, Spacing};

#[path = "../tests/lattice/aircraft_model.rs"]
mod aircraft_model;

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
