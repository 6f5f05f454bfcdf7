//! How long does a section take with friction: one curve, all Reynolds numbers of a model, and those with a flap?

use aircraft::section::{Section, Shape};
use predict::section_flow::{Settings, table};

fn main() {
    divan::main();
}

fn section() -> Section {
    let shape = Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 };
    Section { name: "naca 2412".into(), shape }
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn one_polar(bencher: divan::Bencher<'_, '_>) {
    let settings = Settings { reynolds: vec![2.0e5], ..Settings::default() };
    bencher.bench(|| table(&section(), None, &settings).0);
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn one_section(bencher: divan::Bencher<'_, '_>) {
    bencher.bench(|| table(&section(), None, &Settings::default()).0);
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn one_section_with_a_flap(bencher: divan::Bencher<'_, '_>) {
    let deflections_rad = [-16.0_f64, -8.0, 0.0, 8.0, 16.0].map(f64::to_radians).to_vec();
    let settings = Settings { deflections_rad, ..Settings::default() };
    bencher.bench(|| table(&section(), Some(0.75), &settings).0);
}
