//! How long does a section take with friction, at all Reynolds numbers of a model?

use aircraft::section::{Section, Shape};
use predict::section_flow::{Settings, table};

fn main() {
    divan::main();
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn one_section(bencher: divan::Bencher<'_, '_>) {
    let shape = Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 };
    let section = Section { name: "naca 2412".into(), shape };
    bencher.bench(|| table(&section, None, &Settings::default()).0);
}
