//! How long does it take to predict a whole aircraft of about 600 panels, its sections known? The goals: 150 ms on one core,
//! 40 ms when only a mass or a throw has changed.

use predict::coupled::Tables;
use predict::section_table::SectionTable;
use predict::{Conditions, Prepared, predict, predict_prepared, predict_with};

const FILE: &str = include_str!("../../../../examples/wheatear.toml");

fn main() {
    divan::main();
}

fn tables() -> Tables {
    let mut tables = Tables::new();
    for (name, text) in [
        ("naca 3410", include_str!("../../../shell/eyas/sections/naca-3410-76.txt")),
        ("naca 3409", include_str!("../../../shell/eyas/sections/naca-3409-76.txt")),
        ("naca 0008", include_str!("../../../shell/eyas/sections/naca-0008-62.txt")),
    ] {
        if let Ok(table) = SectionTable::from_text(text) {
            tables.insert(name, table);
        }
    }
    tables
}

#[divan::bench]
fn everything_with_sections(bencher: divan::Bencher) {
    let Ok(aircraft) = aircraft::schema::read(FILE, &|_| None) else {
        return;
    };
    let tables = tables();
    bencher.bench(|| predict_with(&aircraft, &Conditions::default(), &tables));
}

#[divan::bench]
fn again_with_another_mass_and_throw(bencher: divan::Bencher) {
    let Ok(mut aircraft) = aircraft::schema::read(FILE, &|_| None) else {
        return;
    };
    let Ok(prepared) = Prepared::new(&aircraft, &tables()) else {
        return;
    };
    if let Some(total) = aircraft.weighed.as_mut().and_then(|w| w.total_kg.as_mut()) {
        total.value *= 1.1;
    }
    for movable in &mut aircraft.movables {
        movable.throw_up_rad *= 1.1;
    }
    bencher.bench(|| predict_prepared(&prepared, &aircraft, &Conditions::default()));
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
