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
