//! How long does it take to predict a whole aircraft of about 600 panels? The goal is 0.2 s on two cores.

use predict::{Conditions, predict};

const FILE: &str = include_str!("../../../../examples/wheatear.toml");

fn main() {
    divan::main();
}

#[divan::bench]
fn everything_of_the_demo_aircraft(bencher: divan::Bencher) {
    let Ok(aircraft) = aircraft::schema::read(FILE, &|_| None) else {
        return;
    };
    bencher.bench(|| predict(&aircraft, &Conditions::default()));
}

#[divan::bench]
fn the_lattice_alone(bencher: divan::Bencher) {
    let Ok(aircraft) = aircraft::schema::read(FILE, &|_| None) else {
        return;
    };
    let Ok(balance) = aircraft::balance::balance(&aircraft) else {
        return;
    };
    let air = predict::air::Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
    bencher.bench(|| predict::lattice::solve(&aircraft, balance.cg_m, &air, 13.0));
}

#[divan::bench]
fn the_table_of_the_drive(bencher: divan::Bencher) {
    let Ok(aircraft) = aircraft::schema::read(FILE, &|_| None) else {
        return;
    };
    let Some(drive) = aircraft.drive else {
        return;
    };
    let Ok((running, _)) = predict::drive::running(&drive, predict::drive::CHARGE, 1.225, 1.789e-5) else {
        return;
    };
    bencher.bench(|| running.table(&drive, drive.pull_direction, 30.0));
}
